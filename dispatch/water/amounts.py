"""Amounts in the unit on the jug or the bag, US customary or metric."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from dispatch.errors import InvalidValue
from dispatch.units import FLUID_OUNCE_L, GALLON_L, OUNCE_KG, POUND_KG, QUART_L
from dispatch.words import _, written

if TYPE_CHECKING:
    from dispatch.water.products import ProductFacts

VOLUME_L = {"fl oz": FLUID_OUNCE_L, "qt": QUART_L, "gal": GALLON_L, "ml": 0.001, "l": 1.0}
MASS_KG = {"oz": OUNCE_KG, "lb": POUND_KG, "g": 0.001, "kg": 1.0}


@dataclass(frozen=True, slots=True)
class Amount:
    """So much of a product; `value` in `unit`, as 25.6 fl oz."""

    value: float
    unit: str

    @property
    def text(self) -> str:
        """With one decimal."""
        return written(f"{self.value:,.1f} {self.unit}")


def jug_amount(litres: float, *, customary: bool) -> Amount:
    """A liquid in fluid ounces up to a quart, in quarts up to a gallon, else in gallons."""
    if not customary:
        return Amount(litres, "l") if litres >= 1 else Amount(litres * 1000, "ml")
    unit = "fl oz" if litres < QUART_L else "qt" if litres < GALLON_L else "gal"
    return Amount(litres / VOLUME_L[unit], unit)


def bag_amount(mass_kg: float, *, customary: bool) -> Amount:
    """A solid in ounces up to a pound, else in pounds; grams and kilograms likewise."""
    if not customary:
        return Amount(mass_kg, "kg") if mass_kg >= 1 else Amount(mass_kg * 1000, "g")
    unit = "oz" if mass_kg < POUND_KG else "lb"
    return Amount(mass_kg / MASS_KG[unit], unit)


def bags_note(mass_kg: float, bag_kg: float, *, customary: bool) -> str:
    """Whole bags and what they are over, as '10 bags of 40 lb are 32.8 lb over'."""
    bags = max(1, math.ceil(mass_kg / bag_kg - 1e-9))
    over = bag_amount(max(0.0, bags * bag_kg - mass_kg), customary=customary)
    bag = bag_kg / POUND_KG if customary else bag_kg
    size = _("{bag:.0f} lb").format(bag=bag) if customary else _("{bag:.1f} kg").format(bag=bag)
    return _("{bags} bag{s} of {size}: {text} more than computed.").format(
        bags=bags, s="s" if bags > 1 else "", size=size, text=over.text
    )


def kilograms_of(value: float, unit: str, facts: ProductFacts | None) -> float:
    """Mass in kg of an amount as written on a record; 'bag' takes the usual bag of the product.

    Parameters
    ----------
    value, unit
        The amount; units are those of `VOLUME_L`, `MASS_KG`, and 'bag'.
    facts
        The product, None where it is none of the table; a volume of it counts as water.

    Raises
    ------
    InvalidValue
        When the unit is unknown, or a bag is meant of what is not sold in bags.
    """
    if unit in MASS_KG:
        return value * MASS_KG[unit]
    if unit in VOLUME_L:
        density = facts.density_kg_per_l if facts is not None else None
        return value * VOLUME_L[unit] * (density or 1.0)
    if unit == "bag" and facts is not None and facts.bag_kg is not None:
        return value * facts.bag_kg
    raise InvalidValue(
        _(
            "An amount cannot be given in '{unit}': use {value}, or bag where the product is "
            "sold in bags."
        ).format(unit=unit, value=", ".join((*VOLUME_L, *MASS_KG)))
    )
