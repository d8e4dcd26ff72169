"""Doses by mass balance: so many grams for so many litres and mg/L.

1 mg/L in 1 litre is 1 mg of the substance; a pound for a thousand gallons and one ppm is
0.00834540 of a pound (computed). A table in circulation that says otherwise is wrong.
"""

from __future__ import annotations

import math

from dispatch.errors import InvalidValue
from dispatch.readings import LIMITS
from dispatch.units import PPM_KG_PER_L
from dispatch.water.amounts import Amount, bag_amount, bags_note, jug_amount
from dispatch.water.answer import GENERAL_CAUTION, Answer, Input
from dispatch.water.products import (
    FACTS,
    Product,
    ProductFacts,
    check_strength,
    pure_kg_per_litre,
)
from dispatch.words import N_, _

METHOD = N_("mass balance")
SOURCE = N_("computed from the chemistry; strength from the label")


def facts_of(product: Product) -> ProductFacts:
    """Facts of a product that can be dosed; raises InvalidValue for 'other'."""
    if product not in FACTS:
        raise InvalidValue(
            _(
                "Nothing is known of the product 'other', so no dose can be computed: follow "
                "its label."
            )
        )
    return FACTS[product]


def pure_kg(product: Product, volume_l: float, change_ppm: float) -> float:
    """Pure substance for a change of its reading, kg; `change_ppm` without sign.

    Raises
    ------
    InvalidValue
        When the volume or the change is none.
    """
    if not (math.isfinite(volume_l) and volume_l > 0):
        raise InvalidValue(
            _(
                "A pool of {volume:g} litres cannot be dosed: give its volume, measured or "
                "estimated."
            ).format(volume=volume_l)
        )
    if not (math.isfinite(change_ppm) and change_ppm > 0):
        raise InvalidValue(
            _(
                "A change of {change_ppm:g} ppm is none: give how much the reading shall move."
            ).format(change_ppm=change_ppm)
        )
    return volume_l * change_ppm * PPM_KG_PER_L * facts_of(product).per_ppm


def dose_kg(
    product: Product, volume_l: float, change_ppm: float, strength: float | None = None
) -> float:
    """Mass of a solid product, kg."""
    facts = facts_of(product)
    used = facts.strength if strength is None else strength
    check_strength(facts, used)
    return pure_kg(product, volume_l, change_ppm) / (used / 100)


def dose_l(
    product: Product, volume_l: float, change_ppm: float, strength: float | None = None
) -> float:
    """Volume of a liquid product, litres."""
    facts = facts_of(product)
    used = facts.strength if strength is None else strength
    return pure_kg(product, volume_l, change_ppm) / pure_kg_per_litre(facts, used)


def dose(
    product: Product,
    volume_l: float,
    change_ppm: float,
    strength: float | None = None,
    *,
    customary: bool = True,
) -> Answer:
    """How much of `product` moves its reading by `change_ppm`, in the unit on the jug or bag.

    Parameters
    ----------
    product
        The product; it is dosed for the reading named in its facts.
    volume_l
        Volume of the pool, litres.
    change_ppm
        How far the reading shall move, ppm; up or down as the product does.
    strength
        As on the label, in the unit of the facts; the usual one when None.
    customary
        Whether to answer in US customary units.

    Raises
    ------
    InvalidValue
        When volume, change or strength are none.
    """
    facts = facts_of(product)
    used = facts.strength if strength is None else strength
    amount, notes = _amount(product, facts, volume_l, change_ppm, used, customary=customary)
    besides = [
        _("Raises {name} by about {share:,.1f} ppm too.").format(
            name=_(name), share=share * change_ppm
        )
        for name, share in facts.besides
    ]
    title = _("{title} to raise {effect}") if facts.raises else _("{title} to lower {effect}")
    return Answer(
        title=title.format(title=_(facts.title), effect=_(LIMITS[facts.effect].title).lower()),
        value=amount.value,
        unit=amount.unit,
        inputs=(
            Input(_("Volume"), volume_l, "l"),
            Input(_("Change"), change_ppm, "ppm"),
            Input(_("Strength"), used, facts.strength_unit, assumed=strength is None),
        ),
        method=METHOD,
        source=SOURCE,
        cautions=(GENERAL_CAUTION, *facts.cautions),
        notes=(*notes, *besides),
    )


def _amount(
    product: Product,
    facts: ProductFacts,
    volume_l: float,
    change_ppm: float,
    strength: float,
    *,
    customary: bool,
) -> tuple[Amount, list[str]]:
    """The amount as sold, and what to say of bags and of the other system of units."""
    if facts.liquid:
        litres = dose_l(product, volume_l, change_ppm, strength)
        other = jug_amount(litres, customary=not customary)
        return jug_amount(litres, customary=customary), [
            _("The same is {text}.").format(text=other.text)
        ]
    mass_kg = dose_kg(product, volume_l, change_ppm, strength)
    notes = [
        _("The same is {text}.").format(text=bag_amount(mass_kg, customary=not customary).text)
    ]
    if facts.bag_kg is not None and mass_kg > facts.bag_kg / 2:
        notes.append(bags_note(mass_kg, facts.bag_kg, customary=customary))
    return bag_amount(mass_kg, customary=customary), notes
