"""Saturation index in named variants: whether water dissolves plaster or leaves scale.

Below zero water takes calcium up, above zero it lets it fall out. Two variants are given. Each
figure carries the name of its variant, because on the same water they differ by 0.1 and more;
figures of different variants are never compared.

The trade's table of factors is log10(calcium hardness) - 0.4 and log10(alkalinity) rounded to a
tenth. Copies in circulation have misprints, so the logarithms are used and no table is copied.
Its temperature factors are a table without a formula; values between its rows are interpolated.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from dataclasses import dataclass
from enum import StrEnum

from dispatch.errors import InvalidValue
from dispatch.units import fahrenheit
from dispatch.water.alkalinity import LEAST_PPM, carbonate_ppm
from dispatch.water.answer import GENERAL_CAUTION, Answer, Input
from dispatch.words import N_, _

ASSUMED_TDS_PPM = 1000.0  # ppm; a fresh pool, where neither solids nor salt were read
TEMPERATURE_FACTORS = (  # °F, factor: five stored pages of the trade agree on the table
    (32, 0.0),
    (37, 0.1),
    (46, 0.2),
    (53, 0.3),
    (60, 0.4),
    (66, 0.5),
    (76, 0.6),
    (84, 0.7),
    (94, 0.8),
    (105, 0.9),
    (128, 1.0),
)
TABLE_CONSTANTS = ((1000, 12.1), (2000, 12.2), (math.inf, 12.3))  # TDS in ppm up to; a page (a)
TABLE_SOURCE = N_("table form of the trade through its logarithms; five pages agree on the form")
CARRIER_SOURCE = N_("closed form after Carrier, as printed on two pages")


class Variant(StrEnum):
    """A named way to compute the index."""

    TRADE_TABLE = "trade-table"
    CARRIER = "carrier"


@dataclass(frozen=True, slots=True)
class Water:
    """What an index needs to know of the water.

    Concentrations are ppm (alkalinity and hardness as CaCO3, borate as boron), the temperature
    °C. `tds_ppm` may be None; salt is then taken for it, or 1,000 ppm assumed.

    Raises
    ------
    InvalidValue
        When a value cannot be that of liquid pool water.
    """

    ph: float
    temperature_c: float
    calcium_ppm: float
    total_alkalinity_ppm: float
    cya_ppm: float = 0.0
    borate_ppm: float = 0.0
    tds_ppm: float | None = None
    salt_ppm: float | None = None

    def __post_init__(self) -> None:
        if not 0 <= self.temperature_c <= 100:
            raise InvalidValue(
                _(
                    "Water of {temperature_c:g} °C has no saturation index: give 0 to 100 °C."
                ).format(temperature_c=self.temperature_c)
            )
        if not 3 <= self.ph <= 11:
            raise InvalidValue(
                _("A pH of {ph:g} is no pool water: test it again.").format(ph=self.ph)
            )
        if min(self.calcium_ppm, self.total_alkalinity_ppm) < LEAST_PPM:
            raise InvalidValue(
                _(
                    "Without calcium hardness or alkalinity there is no saturation index: give "
                    "at least 1 ppm of each, or test again."
                )
            )

    @property
    def carbonate_ppm(self) -> float:
        """Carbonate alkalinity, ppm as CaCO3."""
        return carbonate_ppm(self.total_alkalinity_ppm, self.ph, self.cya_ppm, self.borate_ppm)

    @property
    def solids_ppm(self) -> float:
        """Dissolved solids: as read, else the salt as read, else 1,000 ppm."""
        return self.tds_ppm or self.salt_ppm or ASSUMED_TDS_PPM


def saturation_index(water: Water, variant: Variant = Variant.TRADE_TABLE) -> Answer:
    """The index of `water` by `variant`, with inputs, method and cautions.

    Raises
    ------
    InvalidValue
        When cyanurate and borate make up the whole alkalinity, so that no carbonate is left.
    """
    if water.carbonate_ppm < LEAST_PPM:
        raise InvalidValue(
            _(
                "Cyanuric acid and borate make up the whole alkalinity, so the water has no "
                "saturation index: raise the alkalinity first, or test again."
            )
        )
    value = _table_form(water) if variant is Variant.TRADE_TABLE else _carrier_form(water)
    table = variant is Variant.TRADE_TABLE
    return Answer(
        title=_("Saturation index"),
        value=value,
        unit="",
        inputs=_inputs(water),
        method=_("{method}, with carbonate alkalinity {ppm:.0f} ppm").format(
            method=_("trade table") if table else _("Carrier closed form"), ppm=water.carbonate_ppm
        ),
        source=TABLE_SOURCE if table else CARRIER_SOURCE,
        cautions=(GENERAL_CAUTION,),
        notes=(meaning(value), _("Compare it only with figures of the same method.")),
        signed=True,
    )


def meaning(index: float) -> str:
    """What an index says; limits -0.3 to +0.5 as the trade press states them."""
    if index < -0.3:
        return _(
            "Below -0.3: the water takes calcium up and can etch plaster (Service Industry "
            "News, 2021)."
        )
    if index > 0.5:
        return _(
            "Above +0.5: the water can leave scale, first in heaters and salt cells "
            "(Service Industry News, 2021)."
        )
    return _("Within -0.3 to +0.5: balanced (Service Industry News, 2021).")


def temperature_factor(temperature_c: float) -> float:
    """Factor of the trade's table between its rows; the end rows beyond them."""
    degrees_f = fahrenheit(temperature_c)
    steps = [row[0] for row in TEMPERATURE_FACTORS]
    right = bisect_right(steps, degrees_f)
    if right == 0:
        return TEMPERATURE_FACTORS[0][1]
    if right == len(steps):
        return TEMPERATURE_FACTORS[-1][1]
    (low_f, low), (high_f, high) = TEMPERATURE_FACTORS[right - 1], TEMPERATURE_FACTORS[right]
    return low + (high - low) * (degrees_f - low_f) / (high_f - low_f)


def _table_form(water: Water) -> float:
    constant = next(value for limit, value in TABLE_CONSTANTS if water.solids_ppm <= limit)
    calcium = math.log10(water.calcium_ppm) - 0.4
    alkalinity = math.log10(water.carbonate_ppm)
    return water.ph + temperature_factor(water.temperature_c) + calcium + alkalinity - constant


def _carrier_form(water: Water) -> float:
    """The index is pH - ((9.3 + A + B) - (C + D)); 9.3, the factors and 273 as printed."""
    solids = (math.log10(water.solids_ppm) - 1) / 10
    heat = -13.12 * math.log10(water.temperature_c + 273) + 34.55
    calcium = math.log10(water.calcium_ppm) - 0.4
    return water.ph - (9.3 + solids + heat) + calcium + math.log10(water.carbonate_ppm)


def _inputs(water: Water) -> tuple[Input, ...]:
    inputs = [
        Input(_("pH"), water.ph),
        Input(_("Water temperature"), water.temperature_c, "°C"),
        Input(_("Calcium hardness"), water.calcium_ppm, "ppm"),
        Input(_("Total alkalinity"), water.total_alkalinity_ppm, "ppm"),
    ]
    if water.cya_ppm:
        inputs.append(Input(_("Cyanuric acid"), water.cya_ppm, "ppm"))
    if water.borate_ppm:
        inputs.append(Input(_("Borate"), water.borate_ppm, "ppm"))
    if water.tds_ppm:
        return (*inputs, Input(_("Dissolved solids"), water.tds_ppm, "ppm"))
    if water.salt_ppm:
        return (*inputs, Input(_("Dissolved solids, salt taken for them"), water.salt_ppm, "ppm"))
    return (*inputs, Input(_("Dissolved solids"), ASSUMED_TDS_PPM, "ppm", assumed=True))
