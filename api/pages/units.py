"""Lengths, masses and volumes in the units of the company's country."""

from __future__ import annotations

from dataclasses import dataclass

MILE_M = 1609.344  # metres, international mile (NIST Special Publication 811, appendix B)
POUND_KG = 0.45359237  # kg, avoirdupois pound (the same)
GALLON_L = 3.785411784  # litres, US gallon (the same)
CUSTOMARY_COUNTRIES = frozenset({"US"})


@dataclass(frozen=True, slots=True)
class Units:
    """US customary or metric units; either way, values inside the program stay metric."""

    customary: bool

    @classmethod
    def of_country(cls, country: str | None) -> Units:
        """The units people of `country` (ISO 3166-1) read; metric without a country."""
        return cls(country in CUSTOMARY_COUNTRIES)

    def length(self, metres: float) -> str:
        """A way driven, as '12.4 mi' or '20.0 km'."""
        return f"{metres / MILE_M:,.1f} mi" if self.customary else f"{metres / 1000:,.1f} km"

    def mass(self, kilograms: float) -> str:
        """A mass to carry, as '300 lb' or '136 kg'; one decimal below ten."""
        value = kilograms / POUND_KG if self.customary else kilograms
        figure = f"{value:.1f}" if 0 < value < 10 else f"{value:,.0f}"
        return f"{figure} {'lb' if self.customary else 'kg'}"

    def volume(self, litres: float) -> str:
        """A pool's volume, as '15,000 gal' or '56,800 l'; rounded to hundreds."""
        value = litres / GALLON_L if self.customary else litres
        return f"{round(value, -2):,.0f} {'gal' if self.customary else 'l'}"
