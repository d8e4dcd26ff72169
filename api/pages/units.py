"""Lengths, masses and volumes in the units of the reader."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from fastapi import Request

from dispatch.measures import CUSTOMARY_COUNTRIES, told, unit_in
from dispatch.people import Caller, Measures, Person
from dispatch.readings import LIMITS, ReadingKind
from dispatch.units import FOOT_M, GALLON_L, MILE_M, fahrenheit
from dispatch.water.answer import Input
from dispatch.words import worded, written


@dataclass(frozen=True, slots=True)
class Units:
    """US customary or metric units; either way, values inside the program stay metric."""

    customary: bool

    @classmethod
    def of(cls, person: Person | None, country: str | None) -> Units:
        """The units that a person chose, or those of the company's country."""
        if person is None or person.units is Measures.COUNTRY:
            return cls.of_country(country)
        return cls(person.units is Measures.CUSTOMARY)

    @classmethod
    def of_country(cls, country: str | None) -> Units:
        """The units people of `country` (ISO 3166-1) read; metric without a country."""
        return cls(country in CUSTOMARY_COUNTRIES)

    def of_reading(self, kept: str) -> tuple[str, Callable[[float], float]]:
        """The unit in which a reading kept in the unit `kept` is shown, and how it becomes so."""
        return unit_in(kept, customary=self.customary)

    def reading(self, kind: ReadingKind, value: float) -> str:
        """A reading with its name and unit, as 'filter pressure 22 psi'."""
        unit, shown = self.of_reading(LIMITS[kind].unit)
        return f"{worded(kind)} {written(f'{round(shown(value), 1):g}')} {unit}".rstrip()

    def input(self, one: Input) -> str:
        """A figure that went into an answer about water, as 'Volume 9,500 gal'."""
        if self.customary and one.unit == "l":
            one = replace(one, value=round(one.value / GALLON_L, -2), unit="gal")
        elif self.customary and one.unit == "°C":
            one = replace(one, value=round(fahrenheit(one.value), 1), unit="°F")
        return one.words

    @property
    def way(self) -> str:
        """The unit of a way driven."""
        return "mi" if self.customary else "km"

    @property
    def way_m(self) -> float:
        """Metres of the unit of a way driven."""
        return MILE_M if self.customary else 1000.0

    def length(self, metres: float) -> str:
        """A way driven, as '12.4 mi' or '20.0 km'."""
        return told(metres / 1000, "km", customary=self.customary)

    @property
    def near(self) -> str:
        """The unit of a short distance, as around a closed road."""
        return "ft" if self.customary else "m"

    @property
    def near_m(self) -> float:
        """Metres of the unit of a short distance."""
        return FOOT_M if self.customary else 1.0

    def distance(self, metres: float) -> str:
        """A short distance, as '650 ft' or '200 m'."""
        return told(metres, "m", customary=self.customary)

    def mass(self, kilograms: float) -> str:
        """A mass to carry, as '300 lb' or '136 kg'; one decimal below ten."""
        return told(kilograms, "kg", customary=self.customary)

    def liquid(self, litres: float) -> str:
        """A volume to carry, as '7.9 gal' or '30 l'."""
        return told(litres, "l", customary=self.customary)

    def pressure(self, kpa: float) -> str:
        """A pressure, as '10 psi' or '69 kPa'."""
        return told(kpa, "kPa", customary=self.customary)

    def volume(self, litres: float) -> str:
        """A pool's volume, as '15,000 gal' or '56,800 l'; rounded to hundreds."""
        value = litres / GALLON_L if self.customary else litres
        return written(f"{round(value, -2):,.0f} {'gal' if self.customary else 'l'}")


def units_of(request: Request) -> Units:
    """The units of whoever reads the page."""
    caller = getattr(request.state, "caller", None)
    person = caller.person if isinstance(caller, Caller) else None
    return Units.of(person, request.app.state.settings.country)
