"""What may travel on a service truck: the US rule for materials of trade, as numbers.

49 CFR 173.6: of classes 3, 8, 9, 4.1, 5.1, 5.2 and 6.1 a package of packing group II or III may
hold 30 kg or 30 litres, of group I 0.5 kg or 0.5 litres, and all of them together on one vehicle
may weigh 200 kg gross. The text of (a)(1) and the total were read on stored pages, the rest of
the section is from memory. States and insurers ask for more; the shipping papers and the safety
data sheet decide, not this table.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from dispatch.measures import kept_amount, measured
from dispatch.units import POUND_KG
from dispatch.water.products import Product
from dispatch.words import N_, _

MOST_TOTAL_KG = 200.0  # kg gross, 440 lb; 49 CFR 173.6(d), by an interpretation page
PACKAGE_KG, PACKAGE_L = 30.0, 30.0  # groups II and III; 49 CFR 173.6(a)(1)(ii)
GREAT_DANGER_KG, GREAT_DANGER_L = 0.5, 0.5  # group I; 49 CFR 173.6(a)(1)(i)
RULE_WORDS = N_("the rule for materials of trade (49 CFR 173.6)")


class Tub(StrEnum):
    """What may stand together on a truck: acid and chlorine never do."""

    ACID = "acid"
    LIQUID_CHLORINE = N_("liquid chlorine")
    DRY_CHLORINE = N_("dry chlorine")
    OTHER = N_("everything else")


@dataclass(frozen=True, slots=True)
class Carriage:
    """How a product travels.

    `regulated` says whether it counts towards the total of materials of trade. `pack` is the usual
    package, in litres for a liquid and kg otherwise, and `tare` the share that the empty package
    adds to its mass (common practice).
    """

    tub: Tub
    regulated: bool
    pack: float
    tare: float
    number: str = ""
    division: str = ""
    group: str = ""
    source: str = ""


CARRIAGE: Mapping[Product, Carriage] = {
    Product.MURIATIC_ACID: Carriage(
        Tub.ACID, True, 3.785, 0.05, "UN1789", "8", "II", N_("PHMSA interpretation 13-0111")
    ),
    Product.DRY_ACID: Carriage(
        Tub.ACID, False, 11.3, 0.05, source=N_("mostly not regulated while dry: safety data sheet")
    ),
    Product.LIQUID_CHLORINE: Carriage(
        Tub.LIQUID_CHLORINE,
        True,
        9.46,
        0.05,
        "UN1791",
        "8",
        "III",
        N_("PHMSA interpretation 13-0111"),
    ),
    Product.CAL_HYPO: Carriage(
        Tub.DRY_CHLORINE, True, 11.3, 0.05, "UN1748", "5.1", "II", N_("hazardous materials table")
    ),
    Product.TRICHLOR: Carriage(
        Tub.DRY_CHLORINE, True, 11.3, 0.05, "UN2468", "5.1", "II", N_("from memory")
    ),
    Product.DICHLOR: Carriage(
        Tub.DRY_CHLORINE,
        True,  # the dihydrate usually is not; counted until the safety data sheet says so
        11.3,
        0.05,
        "UN2465",
        "5.1",
        "II",
        N_("from memory; dihydrate by safety data sheet"),
    ),
    Product.SALT: Carriage(Tub.OTHER, False, 40 * POUND_KG, 0.01, source=N_("not regulated")),
    Product.BICARBONATE: Carriage(
        Tub.OTHER, False, 50 * POUND_KG, 0.01, source=N_("not regulated")
    ),
    Product.SODA_ASH: Carriage(Tub.OTHER, False, 50 * POUND_KG, 0.01, source=N_("not regulated")),
    Product.CALCIUM_CHLORIDE: Carriage(
        Tub.OTHER, False, 50 * POUND_KG, 0.01, source=N_("not regulated")
    ),
    Product.CYANURIC_ACID: Carriage(Tub.OTHER, False, 20.0, 0.02, source=N_("not regulated")),
    Product.OTHER: Carriage(
        Tub.OTHER,
        True,
        10.0,
        0.05,
        source=N_("unknown: counted until its data sheet says otherwise"),
    ),
}

TUB_CAUTIONS: Mapping[Tub, str] = {
    Tub.ACID: N_(
        "Acid: a tub of its own, low, on the side away from any chlorine, tarped, never in the "
        "cab. Acid and chlorine together give off poisonous gas."
    ),
    Tub.LIQUID_CHLORINE: N_(
        "Liquid chlorine: a tub of its own, low, upright, in the shade, on the side away from "
        "the acid."
    ),
    Tub.DRY_CHLORINE: N_(
        "Dry chlorine: dry, closed, each kind apart from the other, no liquid above it, no oil "
        "or fuel near it."
    ),
}


class TooMuch(StrEnum):
    """A limit of a truck-day that is passed."""

    PACKAGE = "package"
    TOTAL = "total"
    PAYLOAD = "payload"


@dataclass(frozen=True, slots=True)
class LoadViolation:
    """A limit passed: by how much (kg, or litres for a package of liquid), and why in words."""

    limit: TooMuch
    amount: float
    most: float
    reason: str


def check_package(
    name: str, group: str, gross_kg: float, litres: float = 0.0
) -> tuple[LoadViolation, ...]:
    """Whether one package of a regulated product is too large.

    Parameters
    ----------
    name
        The product, for the sentence.
    group
        Packing group: I, II or III.
    gross_kg
        Mass of the package with its content, kg.
    litres
        What it holds, 0 for a solid. A liquid is measured by volume, a solid by mass.
    """
    most_kg, most_l = (GREAT_DANGER_KG, GREAT_DANGER_L) if group == "I" else (PACKAGE_KG, PACKAGE_L)
    if litres > most_l:
        reason = _("A package of {name} holds {held}; {rule_words} allows {most}.").format(
            name=name, held=_told(litres, "l"), rule_words=_(RULE_WORDS), most=_told(most_l, "l")
        )
        return (LoadViolation(TooMuch.PACKAGE, litres, most_l, reason),)
    if not litres and gross_kg > most_kg:
        reason = _("A package of {name} has {gross}; {rule_words} allows {most}.").format(
            name=name, gross=_told(gross_kg), rule_words=_(RULE_WORDS), most=_told(most_kg)
        )
        return (LoadViolation(TooMuch.PACKAGE, gross_kg, most_kg, reason),)
    return ()


def check_total(gross_kg: float, most_kg: float = MOST_TOTAL_KG) -> tuple[LoadViolation, ...]:
    """Whether the regulated products of one vehicle are too heavy together, kg gross.

    `most_kg` is the limit of the law, or one that the company has set for the truck.
    """
    if gross_kg <= most_kg:
        return ()
    words = (
        _(
            "The regulated chemicals weigh {gross} gross; {rule_words} allows {most} "
            "on one vehicle. Refill on the way, or give a stop to another truck."
        )
        if most_kg == MOST_TOTAL_KG
        else _(
            "The regulated chemicals weigh {gross} gross; {most} is allowed on this truck. "
            "Refill on the way, or give a stop to another truck."
        )
    )
    reason = words.format(gross=_told(gross_kg), rule_words=_(RULE_WORDS), most=_told(most_kg))
    return (LoadViolation(TooMuch.TOTAL, gross_kg, most_kg, reason),)


def check_payload(mass_kg: float, most_kg: float) -> tuple[LoadViolation, ...]:
    """Whether parts and products together are too heavy for the truck, kg."""
    if mass_kg <= most_kg:
        return ()
    reason = _("Parts and products weigh {mass}; the truck carries {most}.").format(
        mass=_told(mass_kg), most=_told(most_kg)
    )
    return (LoadViolation(TooMuch.PAYLOAD, mass_kg, most_kg, reason),)


def _told(value: float, unit: str = "kg") -> str:
    return measured(kept_amount(value, unit))
