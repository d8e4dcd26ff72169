"""The usual products, what one part of each does to water, and how it is sold.

Effects come from the chemistry through equivalents (computed); a test for alkalinity or hardness
counts everything as CaCO3, of which one equivalent is 50.04 g. The strength is an input: it is
what the label says today, and hypochlorite loses about half of its own in a few weeks of heat
(common practice).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from dispatch.errors import InvalidValue
from dispatch.readings import ReadingKind
from dispatch.units import POUND_KG
from dispatch.water.alkalinity import CACO3_EQUIVALENT_G
from dispatch.water.answer import ACID_CAUTION, CHLORINE_CAUTION, LIFTING_CAUTION
from dispatch.words import N_, _

CACO3_MOLAR_G = 100.09  # g/mol
ACID_PER_CACO3 = 36.461 / CACO3_EQUIVALENT_G  # g HCl for 1 g of alkalinity
ACID_GRAVITY_STEP = 0.160 / 31.45  # specific gravity above 1 for each percent of HCl; 31.45 % is
# 20 degrees Baumé, 145 / (145 - 20) = 1.160, from memory; straight line to water's 1 (calc)


class Product(StrEnum):
    """A product as a technician carries it."""

    SALT = "salt"
    BICARBONATE = "bicarbonate"
    SODA_ASH = "soda-ash"
    MURIATIC_ACID = "muriatic-acid"
    DRY_ACID = "dry-acid"
    CALCIUM_CHLORIDE = "calcium-chloride"
    LIQUID_CHLORINE = "liquid-chlorine"
    CAL_HYPO = "cal-hypo"
    DICHLOR = "dichlor"
    TRICHLOR = "trichlor"
    CYANURIC_ACID = "cyanuric-acid"
    OTHER = "other"


class StrengthUnit(StrEnum):
    """How a label states strength."""

    PERCENT = "%"  # by mass; of available chlorine where it is a chlorine
    GRAMS_PER_LITRE = "g/L"  # of available chlorine; '12.5 %' trade percent is 125 g/L


@dataclass(frozen=True, slots=True)
class ProductFacts:
    """What one product does.

    `effect` is the kind of reading it is dosed for and `per_ppm` the mass of the pure substance
    for 1 mg/L of it (g per g). `raises` is False where it lowers the reading. `besides` says what
    else rises, in ppm for each ppm of the effect. `bag_kg` is the usual bag, None where the
    product is poured by the jug.
    """

    title: str
    effect: ReadingKind
    per_ppm: float
    strength: float
    strength_unit: StrengthUnit
    raises: bool = True
    bag_kg: float | None = None
    density_kg_per_l: float | None = None  # None where it is no liquid
    besides: tuple[tuple[str, float], ...] = ()
    cautions: tuple[str, ...] = ()
    names: tuple[str, ...] = ()  # other words for it on records

    @property
    def liquid(self) -> bool:
        """Whether it is poured from a jug."""
        return self.density_kg_per_l is not None


FACTS: Mapping[Product, ProductFacts] = {
    Product.SALT: ProductFacts(
        N_("Salt"),
        ReadingKind.SALT,
        1.0,
        100,
        StrengthUnit.PERCENT,
        bag_kg=40 * POUND_KG,  # the usual bag; common practice
        cautions=(LIFTING_CAUTION, N_("Brush it in; generator off until it is dissolved.")),
        names=(N_("sodium chloride"), "NaCl"),
    ),
    Product.BICARBONATE: ProductFacts(
        N_("Sodium bicarbonate"),
        ReadingKind.TOTAL_ALKALINITY,
        84.007 / CACO3_EQUIVALENT_G,
        100,
        StrengthUnit.PERCENT,
        bag_kg=50 * POUND_KG,  # common practice
        cautions=(LIFTING_CAUTION, N_("Not within hours of calcium (common practice).")),
        names=(N_("baking soda"), N_("alkalinity up")),
    ),
    Product.SODA_ASH: ProductFacts(
        N_("Soda ash"),
        ReadingKind.TOTAL_ALKALINITY,
        105.99 / 2 / CACO3_EQUIVALENT_G,
        100,
        StrengthUnit.PERCENT,
        bag_kg=50 * POUND_KG,  # common practice
        cautions=(N_("It raises pH strongly; not within hours of calcium (common practice)."),),
        names=(N_("sodium carbonate"), N_("pH up")),
    ),
    Product.MURIATIC_ACID: ProductFacts(
        N_("Muriatic acid"),
        ReadingKind.TOTAL_ALKALINITY,
        ACID_PER_CACO3,
        31.45,
        StrengthUnit.PERCENT,
        raises=False,
        density_kg_per_l=1.160,  # kg/l at 31.45 %, 20 degrees Baumé, from memory
        cautions=(
            ACID_CAUTION,
            N_(
                "At most one quart for each 10,000 gal (1 l for 40,000 l) at a time (common "
                "practice)."
            ),
        ),
        names=("acid", N_("hydrochloric acid"), "HCl"),
    ),
    Product.DRY_ACID: ProductFacts(
        N_("Dry acid"),
        ReadingKind.TOTAL_ALKALINITY,
        120.06 / CACO3_EQUIVALENT_G,
        93.2,
        StrengthUnit.PERCENT,
        raises=False,
        cautions=(ACID_CAUTION,),
        names=(N_("sodium bisulfate"), N_("pH down")),
    ),
    Product.CALCIUM_CHLORIDE: ProductFacts(
        N_("Calcium chloride"),
        ReadingKind.CALCIUM_HARDNESS,
        110.98 / CACO3_MOLAR_G,
        77,  # % by mass, the flake form; 94 and 100 are sold too
        StrengthUnit.PERCENT,
        bag_kg=50 * POUND_KG,  # common practice
        cautions=(LIFTING_CAUTION, N_("It heats the water it dissolves in; not with bicarbonate.")),
        names=("calcium", N_("hardness up")),
    ),
    Product.LIQUID_CHLORINE: ProductFacts(
        N_("Liquid chlorine"),
        ReadingKind.FREE_CHLORINE,
        1.0,
        125,  # g/L available chlorine: '12.5 %' trade percent, from memory
        StrengthUnit.GRAMS_PER_LITRE,
        density_kg_per_l=1.165,  # kg/l at 125 g/L, from memory
        besides=((N_("salt"), 1.65),),  # ppm for each ppm of chlorine (calc)
        cautions=(CHLORINE_CAUTION,),
        names=(N_("sodium hypochlorite"), "bleach", "chlorine"),
    ),
    Product.CAL_HYPO: ProductFacts(
        N_("Calcium hypochlorite"),
        ReadingKind.FREE_CHLORINE,
        1.0,
        65,  # % available chlorine; 73 is sold too
        StrengthUnit.PERCENT,
        besides=((N_("calcium hardness"), 0.706),),  # (calc)
        cautions=(CHLORINE_CAUTION,),
        names=(N_("calcium hypochlorite"),),
    ),
    Product.DICHLOR: ProductFacts(
        N_("Dichlor"),
        ReadingKind.FREE_CHLORINE,
        1.0,
        55,  # % available chlorine of the dihydrate
        StrengthUnit.PERCENT,
        besides=((N_("cyanuric acid"), 0.910),),  # (calc)
        cautions=(CHLORINE_CAUTION,),
    ),
    Product.TRICHLOR: ProductFacts(
        N_("Trichlor"),
        ReadingKind.FREE_CHLORINE,
        1.0,
        90,  # % available chlorine; common practice
        StrengthUnit.PERCENT,
        besides=((N_("cyanuric acid"), 0.607),),  # (calc)
        cautions=(CHLORINE_CAUTION,),
        names=("tablets", "tabs"),
    ),
    Product.CYANURIC_ACID: ProductFacts(
        N_("Cyanuric acid"),
        ReadingKind.CYANURIC_ACID,
        1.0,
        100,
        StrengthUnit.PERCENT,
        cautions=(N_("It dissolves in days: test again after a week (common practice)."),),
        names=("stabilizer", "conditioner"),
    ),
}


def product_of(words: str) -> Product:
    """The product that `words` mean: its name, its title or another usual word for it.

    Raises
    ------
    InvalidValue
        When no product goes by that name.
    """
    wanted = words.strip().casefold().replace("_", "-")
    if wanted in set(Product):
        return Product(wanted)
    for product, facts in FACTS.items():
        if wanted in {name.casefold() for name in (facts.title, *facts.names)}:
            return product
    raise InvalidValue(
        _(
            "There is no product '{words}': give one of {product}; 'other' with words in the "
            "note for anything else."
        ).format(words=words, product=", ".join(Product))
    )


def pure_kg_per_litre(facts: ProductFacts, strength: float) -> float:
    """Pure substance in one litre of a liquid product, kg.

    Raises
    ------
    InvalidValue
        When the strength is none.
    """
    check_strength(facts, strength)
    if facts.strength_unit is StrengthUnit.GRAMS_PER_LITRE:
        return strength / 1000
    return strength / 100 * (1 + ACID_GRAVITY_STEP * strength)


def check_strength(facts: ProductFacts, strength: float) -> None:
    """Raise InvalidValue unless `strength` can be that of the product."""
    most = 250 if facts.strength_unit is StrengthUnit.GRAMS_PER_LITRE else 100
    if not 0 < strength <= most:
        raise InvalidValue(
            _(
                "{title} of {strength:g} {strength_unit} is not possible: read the strength "
                "off the label, above 0 to {most}."
            ).format(
                title=_(facts.title),
                strength=strength,
                strength_unit=facts.strength_unit,
                most=most,
            )
        )
