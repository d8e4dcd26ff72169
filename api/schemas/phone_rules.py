"""JSON of what the phone computes with: limits, ranges, products and cautions, as used here."""

from __future__ import annotations

from collections.abc import Mapping

from pydantic import BaseModel, Field

from api.pages.units import Units
from dispatch.readings import LIMITS, ReadingKind, reading_words
from dispatch.readings import Reading as ReadingValue
from dispatch.records.record import Seen
from dispatch.sites import Site
from dispatch.upkeep_conditions import SAME_SPEED
from dispatch.water.advice import (
    COMBINED_MOST_PPM,
    OLDEST_DAYS,
    OTHERS_OLDEST_DAYS,
    RAISED_BY,
)
from dispatch.water.answer import (
    CLOSE_CAUTION,
    DRAIN_CAUTION,
    GENERAL_CAUTION,
    ONE_AT_A_TIME_CAUTION,
)
from dispatch.water.dilution import ONLY_BY_DILUTION
from dispatch.water.products import FACTS, ProductFacts, pure_kg_per_litre
from dispatch.water.ranges import UNSAFE, Range
from dispatch.words import _, worded

OTHER_UNITS = {"°C": "°F", "kPa": "psi", "L/min": "gpm"}


class LimitsOut(BaseModel):
    """Believable values of one kind, in the unit it is kept in."""

    title: str
    unit: str
    possible: tuple[float, float]
    usual: tuple[float, float]
    units: list[str] = Field(description="units to enter it in, the one offered first at front")


class RangeOut(BaseModel):
    """The company's range of one reading, in its unit."""

    kind: str
    least: float | None
    ideal_low: float | None
    ideal_high: float | None
    most: float | None
    source: str


class ProductOut(BaseModel):
    """What one product does, at its usual strength."""

    title: str
    effect: str
    effect_title: str
    per_ppm: float
    strength: float
    strength_unit: str
    raises: bool
    bag_kg: float | None
    pure_kg_per_l: float | None = Field(description="None where it is no liquid")
    besides: list[tuple[str, float]]
    cautions: list[str]
    units: list[str]

    @classmethod
    def of(cls, facts: ProductFacts, *, customary: bool) -> ProductOut:
        """The JSON of a product."""
        return cls(
            title=_(facts.title),
            effect=facts.effect,
            effect_title=_(LIMITS[facts.effect].title).lower(),
            per_ppm=facts.per_ppm,
            strength=facts.strength,
            strength_unit=facts.strength_unit,
            raises=facts.raises,
            bag_kg=facts.bag_kg,
            pure_kg_per_l=pure_kg_per_litre(facts, facts.strength) if facts.liquid else None,
            besides=[(_(name), share) for name, share in facts.besides],
            cautions=[_(one) for one in facts.cautions],
            units=_amount_units(facts, customary=customary),
        )


class RulesOut(BaseModel):
    """All that the phone needs to say what readings mean."""

    limits: dict[str, LimitsOut]
    targets: list[RangeOut]
    products: dict[str, ProductOut]
    raised_by: dict[str, str]
    only_by_dilution: list[str]
    oldest_days: dict[str, int]
    others_oldest_days: int
    combined_most_ppm: float
    general_caution: str
    close_caution: str
    one_at_a_time_caution: str
    unsafe_ph: tuple[float, float]
    drain_caution: str
    same_speed: float
    seen: list[tuple[str, str]]

    @classmethod
    def of(cls, targets: Mapping[ReadingKind, Range], *, customary: bool) -> RulesOut:
        """The JSON of the rules with the company's own ranges."""
        return cls(
            limits={
                kind: LimitsOut(
                    title=_(one.title),
                    unit=one.unit,
                    possible=one.possible,
                    usual=one.usual,
                    units=_units(one.unit, customary=customary),
                )
                for kind, one in LIMITS.items()
            },
            targets=[
                RangeOut(
                    kind=kind,
                    least=one.least,
                    ideal_low=one.ideal_low,
                    ideal_high=one.ideal_high,
                    most=one.most,
                    source=one.told,
                )
                for kind, one in targets.items()
            ],
            products={
                product: ProductOut.of(facts, customary=customary)
                for product, facts in FACTS.items()
            },
            raised_by={kind: str(product) for kind, product in RAISED_BY.items()},
            only_by_dilution=sorted(ONLY_BY_DILUTION),
            oldest_days={str(kind): days for kind, days in OLDEST_DAYS.items()},
            others_oldest_days=OTHERS_OLDEST_DAYS,
            combined_most_ppm=COMBINED_MOST_PPM,
            general_caution=_(GENERAL_CAUTION),
            close_caution=_(CLOSE_CAUTION),
            one_at_a_time_caution=_(ONE_AT_A_TIME_CAUTION),
            unsafe_ph=UNSAFE[ReadingKind.PH],
            drain_caution=_(DRAIN_CAUTION),
            same_speed=SAME_SPEED,
            seen=[(str(one), worded(one).capitalize()) for one in Seen],
        )


def facts_of_site(site: Site, *, customary: bool) -> list[str]:
    """The pool and its equipment in short sentences, what nobody knows left out."""
    units, has = Units(customary), site.equipment
    facts = [_("Sanitizer: {sanitizer}").format(sanitizer=worded(site.sanitizer))]
    if site.pool_volume_l is not None:
        kind = _("measured") if has.shell.volume_measured else _("estimated")
        facts.append(
            _("Volume: {volume}, {kind}").format(volume=units.volume(site.pool_volume_l), kind=kind)
        )
    if has.shell.surface is not None:
        facts.append(_("Surface: {surface}").format(surface=worded(has.shell.surface)))
    if has.filter is not None:
        facts.append(_("Filter: {media}").format(media=worded(has.filter.media)))
        if has.filter.clean_kpa is not None:
            clean = ReadingValue(ReadingKind.FILTER_PRESSURE, has.filter.clean_kpa)
            said = (
                _("Clean pressure: {pressure} at {speed:.0f} rpm")
                if has.filter.clean_rpm
                else _("Clean pressure: {pressure}")
            )
            pressure = reading_words(clean, customary=customary)
            facts.append(said.format(pressure=pressure, speed=has.filter.clean_rpm))
    if has.pump is not None and has.pump.variable_speed:
        facts.append(_("Pump: variable speed"))
    if has.salt_cell is not None:
        facts.append(_("Salt cell"))
    if has.heater is not None:
        facts.append(
            _("Heater: {fuel}").format(
                fuel=worded(has.heater.fuel) if has.heater.fuel else _("fuel unknown")
            )
        )
    if has.covers is not None and has.covers.state is not None:
        facts.append(_("Drain covers: {state}").format(state=worded(has.covers.state)))
    return facts


def _units(unit: str, *, customary: bool) -> list[str]:
    if unit == "share":
        return ["%"]
    other = OTHER_UNITS.get(unit)
    if other is None:
        return [unit]
    return [other, unit] if customary else [unit, other]


def _amount_units(facts: ProductFacts, *, customary: bool) -> list[str]:
    usual, other = (
        (["fl oz", "qt", "gal"], ["ml", "l"]) if facts.liquid else (["lb", "oz"], ["kg", "g"])
    )
    ordered = [*usual, *other] if customary else [*other, *usual]
    return [*ordered, "bag"] if facts.bag_kg is not None else ordered
