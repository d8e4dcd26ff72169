"""Rules of upkeep: what ages at a site, how fast, and what it takes to put it right.

Every number carries where it comes from:
(a) a published page of the trade was read; (b) published, value from memory; (c) common practice
of the trade, no source; (calc) computed here. None was measured in the field, and the maker's
manual comes before all of them: a company changes the table to its own experience.

Intervals are the calendar backstop. A reading beats the calendar (a filter that no longer comes
back to its clean pressure, scale seen on a cell); the date then simply comes earlier.

What was settled
    Sand: pages read give 3-5, 5, 5-6, 5-7 and about 7 years (a), a realistic span is 4-6 (c);
    due after 5 years, not before 4 1/2, not after 6.
    Cartridge: pages read give 1-2, 3-5 and 2-5 years (a); due after 3, latest after 4. It is
    lifted out and swapped, so it needs no skill beyond a technician's own.
    DE: the filter is taken apart once a year (a), its grids cleaned and recharged.
    Anode: swapped after about 3 years (a; another page says 4-5), earlier in hard service (c),
    at the latest half a year on. Between swaps it is looked at every 3-6 months (c) and the film
    brushed off once a season (c); both are one handling of the same part, so the cleaning comes
    every 6 months, a season being half a year of use.
    Cell inspection: every 3 months (a; another page says monthly). It carries the decision: a
    cell is cleaned when scale is seen, and needless acid strips its coating (c).
    Cell cleaning: no calendar is published, because scale decides. A year is the backstop for
    a cell in which nobody has reported scale (c); whoever finds no scale leaves the acid shut.
    Minutes are what the visit grows by, not how long the job lasts: a soaking cell (20-30 min
    gross, 10-15 net) bubbles while the pool is brushed.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from dateutil.relativedelta import relativedelta

from dispatch.errors import InvalidValue

SAND_BAG_KG = 22.7  # kg; 50 lb (c), 1 lb = 0.45359237 kg exactly (NIST SP 811)
MEDIA_SKILL = "media"  # filter media changes: heavy, long, a tank to be opened and rebuilt


class CountsFrom(StrEnum):
    """The date of a piece of equipment from which an interval runs: the day it was last done."""

    SAND = "sand"  # the filter's media, where it is sand
    CARTRIDGE = "cartridge"  # the filter's media, where it is a cartridge
    DE = "de"  # the filter's media, where it is diatomaceous earth
    ANODE = "anode"  # when the anode was put in
    ANODE_FILM = "anode-film"  # when it was last cleaned, or put in
    CELL_LOOK = "cell-look"  # when the cell was last inspected, cleaned or put in
    CELL_SCALE = "cell-scale"  # when the cell was last cleaned or put in


@dataclass(frozen=True, slots=True)
class Interval:
    """A span of calendar months and days.

    Months keep the day of the month and are cut to the month's end where it has no such day:
    six months after 31 August is 28 February. (A recurrence rule would skip that month.)
    """

    months: int
    days: int = 0

    def __post_init__(self) -> None:
        if self.months < 0 or self.days < 0 or self.months + self.days == 0:
            raise InvalidValue(
                f"An interval of {self.months} months and {self.days} days leads nowhere: give at "
                "least one day."
            )

    def after(self, day: date) -> date:
        """The day this long after `day`; months are added first, then days."""
        return day + relativedelta(months=self.months) + relativedelta(days=self.days)


@dataclass(frozen=True, slots=True)
class Part:
    """A part or material to load: how many of it and its mass altogether, in kg."""

    name: str
    quantity: float
    mass_kg: float


@dataclass(frozen=True, slots=True)
class MediaLoad:
    """The filling of a filter as a part to load.

    The mass is that of the site's filter, `default_kg` where it is not known. `unit_kg` is the
    mass of one bag and whole bags are loaded; without it the filling is one piece. The old
    filling comes back wet, `wet_factor` times as heavy as the dry one.
    """

    name: str
    default_kg: float
    wet_factor: float
    unit_kg: float | None = None

    def part(self, filling_kg: float | None) -> Part:
        """What to load for a filling of `filling_kg` (None: not known)."""
        mass_kg = filling_kg or self.default_kg
        if self.unit_kg is None:
            return Part(self.name, 1, round(mass_kg, 1))
        spare = 0.05  # of a bag: nobody loads another bag for a scoop of sand; common practice
        bags = max(1, -int(-(mass_kg / self.unit_kg - spare) // 1))
        return Part(self.name, bags, round(bags * self.unit_kg, 1))

    def waste_kg(self, filling_kg: float | None) -> float:
        """Mass of the old filling, wet, that the truck brings back; kg."""
        return round((filling_kg or self.default_kg) * self.wet_factor, 1)


@dataclass(frozen=True, slots=True)
class UpkeepRule:
    """One kind of upkeep.

    `earliest`, `due` and `latest` run from the day the same upkeep was last done. `minutes` is
    what a visit grows by. `media` is the filling that is renewed, `parts` what is needed besides
    it. `spares` names kinds that are needless when this one is due before they must be done (a
    new anode wants no cleaning). `caution` is what the technician reads; `source` says where the
    numbers come from.

    Raises
    ------
    InvalidValue
        When the three intervals do not rise, or the minutes are not believable.
    """

    kind: str
    title: str
    counts_from: CountsFrom
    earliest: Interval
    due: Interval
    latest: Interval
    minutes: int
    caution: str
    source: str
    skill: str | None = None
    media: MediaLoad | None = None
    parts: tuple[Part, ...] = ()
    spares: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        day = date(2026, 1, 1)  # any day that no month's end cuts short
        if not self.earliest.after(day) <= self.due.after(day) <= self.latest.after(day):
            raise InvalidValue(
                f"The upkeep '{self.kind}' has intervals that do not rise: give the earliest "
                "first, then the due, then the latest."
            )
        if not 1 <= self.minutes <= 480:
            raise InvalidValue(
                f"The upkeep '{self.kind}' of {self.minutes} minutes does not fit into a day: give "
                "1 to 480 minutes."
            )


PRESSURE_CAUTION = (
    "Pump and heater off and power isolated, pressure released, before the filter is opened."
)
CELL_CAUTION = "Power and pump off and pressure released before the unions are opened."

DEFAULT_RULES: tuple[UpkeepRule, ...] = (
    UpkeepRule(
        kind="sand-change",
        title="Sand change",
        counts_from=CountsFrom.SAND,
        earliest=Interval(54),  # months; 4 1/2 years, inside the realistic 4-6 (c)
        due=Interval(60),  # months; 5 years (a)
        latest=Interval(72),  # months; 6 years, end of the realistic span (c)
        minutes=150,  # 90-180 added; the drain alone can take an hour (a)
        skill=MEDIA_SKILL,
        media=MediaLoad(
            "Filter sand, bag of 22.7 kg",
            default_kg=136.0,  # kg; 300 lb, a filter of 24 in (c), where the mass is not known
            wet_factor=1.2,  # 300 lb of sand out come back as 350 lb and more (c)
            unit_kg=SAND_BAG_KG,
        ),
        parts=(
            # kg; laterals, o-ring, tape and hose (list (c)), mass is common practice
            Part("Laterals, o-ring, drain hose, tape", 1, 4.0),
            Part("Wet vacuum", 1, 9.0),  # kg; common practice
        ),
        caution=(
            f"{PRESSURE_CAUTION} Keep sand out of the standpipe. Lift with two, or bag by bag: wet "
            "sand is heavy. Backwash to a place where local rules allow it."
        ),
        source="Interval (a) 3-7 years by page, 4-6 (c); minutes 90-180 (c), drain (a)",
    ),
    UpkeepRule(
        kind="cartridge-change",
        title="Cartridge change",
        counts_from=CountsFrom.CARTRIDGE,
        earliest=Interval(30),  # months; half a year before due, common practice
        due=Interval(36),  # months; inside 2-5 years (a)
        latest=Interval(48),  # months; 4 years, inside 3-5 (a)
        minutes=20,  # 15-25 added (c)
        media=MediaLoad(
            "Filter cartridge",
            default_kg=4.0,  # kg; common practice
            wet_factor=1.5,  # soaked and dirty; common practice
        ),
        parts=(Part("Lid o-ring", 1, 0.1),),  # kg; common practice
        caution=(
            f"{PRESSURE_CAUTION} Bleed the air before the pump starts and stand clear of the lid "
            "and its clamp."
        ),
        source="Interval (a) 1-2 to 3-5 years by page; minutes 15-25 (c)",
    ),
    UpkeepRule(
        kind="de-change",
        title="DE filter teardown and recharge",
        counts_from=CountsFrom.DE,
        earliest=Interval(10),  # months; common practice
        due=Interval(12),  # months; yearly (a)
        latest=Interval(14),  # months; common practice
        minutes=90,  # 60-120 added (c)
        skill=MEDIA_SKILL,
        media=MediaLoad(
            "Diatomaceous earth",
            default_kg=2.2,  # kg; 4.8 lb for 48 ft2 at 1 lb per 10 ft2 (a)
            wet_factor=2.0,  # a drained cake holds about its own mass of water; common practice
        ),
        parts=(Part("Spare grid, manifold o-ring", 1, 1.5),),  # kg; list (c), mass common practice
        caution=(
            f"{PRESSURE_CAUTION} Wear a dust mask with dry powder. Bag the old cake; where it may "
            "be washed away is a local rule."
        ),
        source="Interval (a) yearly; minutes 60-120 (c); charge (a) 1 lb per 10 ft2",
    ),
    UpkeepRule(
        kind="anode-swap",
        title="Anode swap",
        counts_from=CountsFrom.ANODE,
        earliest=Interval(30),  # months; half a year before due, common practice
        due=Interval(36),  # months; about 3 years (a)
        latest=Interval(42),  # months; half a year after due, common practice
        minutes=15,  # 10-20 added (c)
        parts=(Part("Zinc anode with o-ring", 1, 1.0),),  # kg; common practice
        spares=("anode-cleaning",),
        caution=(
            "Pump off and pressure released. The anode must stay on the bonding wire; the wire "
            "itself is a matter for a licensed person where the law says so."
        ),
        source="Interval (a) about 3 years, another page 4-5, hard service 1-2 (c); minutes (c)",
    ),
    UpkeepRule(
        kind="anode-cleaning",
        title="Anode cleaning",
        counts_from=CountsFrom.ANODE_FILM,
        earliest=Interval(4),  # months; inside the 3-6 of a look (c)
        due=Interval(6),  # months; once a season (c)
        latest=Interval(8),  # months; common practice
        minutes=10,  # a look takes 5 (c), brushing as long again; common practice
        caution=(
            "Pump off and pressure released. Brush the film off, leave the bonding wire on; an "
            "anode that is half gone is to be swapped, so say so in the record."
        ),
        source="Look every 3-6 months (c), film once a season (c); minutes 5 for a look (c)",
    ),
    UpkeepRule(
        kind="cell-inspection",
        title="Salt cell inspection",
        counts_from=CountsFrom.CELL_LOOK,
        earliest=Interval(2, 15),  # two weeks before due, common practice
        due=Interval(3),  # months; every 3 months (a)
        latest=Interval(4),  # months; common practice
        minutes=5,  # minutes added (c)
        caution=f"{CELL_CAUTION} Scale seen: clean the cell, on this visit or a soon one.",
        source="Interval (a) every 3 months, another page monthly; minutes 5 (c)",
    ),
    UpkeepRule(
        kind="cell-cleaning",
        title="Salt cell cleaning",
        counts_from=CountsFrom.CELL_SCALE,
        earliest=Interval(10),  # months; common practice
        due=Interval(12),  # months; backstop, common practice: scale decides, not the calendar
        latest=Interval(15),  # months; common practice
        minutes=15,  # net 10-15 of 20-30 gross (c): the soak runs while the pool is brushed
        parts=(Part("Cell acid, cleaning stand, bucket", 1, 3.0),),  # kg; common practice
        caution=(
            "Only when scale is seen: needless acid strips the coating; no scale, no acid. "
            f"{CELL_CAUTION} One part acid into four parts water, acid into water, never the other "
            "way; goggles and gloves on, never near chlorine; rinse when the fizzing stops."
        ),
        source="Only when scaled; 1 : 4 acid into water and 10-15 min soak (a); minutes (c)",
    ),
)
