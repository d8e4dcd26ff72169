"""The day sheet: a route as the technician reads it, with all that is needed at the gate."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date

from dispatch.clock import weekday_name
from dispatch.day.moments import clock_has_changed
from dispatch.one_offs import OneOff, work_id_of
from dispatch.planning.plan import Route, Stop
from dispatch.settings import Settings
from dispatch.sites import Hold, Site
from dispatch.technicians import Technician
from dispatch.upkeep import Part, UpkeepDue
from dispatch.windows import ALL_DAY
from dispatch.words import N_, _, counted, gettext

USUAL_CAUTIONS = (
    N_(
        "These are general figures. The product label, the safety data sheet, the equipment "
        "maker's manual, local codes and a licensed professional come first. Test before "
        "dosing; add less than computed, circulate, retest."
    ),
    N_(
        "Never mix or store together acid and chlorine, or two kinds of dry chlorine. Add acid "
        "to water, never water to acid. Goggles and gloves on, nobody in the pool, wind at "
        "your back."
    ),
    N_(
        "Pump and heater off and power isolated before moving a filter valve, opening a "
        "filter, pump or cell. Release pressure first. Electrical bonding, gas and mains work: "
        "licensed trade only."
    ),
    N_(
        "Loose, cracked or missing drain cover: close the pool and report. Cannot see the main "
        "drain: close the pool."
    ),
    N_(
        "Thunder: stop, take shelter, wait 30 minutes after the last. Heat: water, shade, "
        "breaks; report dizziness."
    ),
)

CLOCK_CHANGE = N_(
    "The clocks change in this night. Times are told as clocks show them, but time windows after "
    "the change were kept by the hours that pass, and may lie an hour off: look at them."
)


@dataclass(frozen=True, slots=True)
class SheetStop:
    """One stop with its site and its upkeep; `number` counts from 1.

    `work` is the one-off job it is made for, None on a regular visit; `hold` that of the customer
    on the day.
    """

    number: int
    stop: Stop
    site: Site
    upkeep: tuple[UpkeepDue, ...]
    work: OneOff | None = None
    hold: Hold | None = None

    @property
    def crew(self) -> int:
        """How many persons are needed at once: for the visit or the job, and for the upkeep."""
        agreed = self.site.plan.crew if self.work is None else self.work.crew
        return max([agreed, *(one.crew for one in self.upkeep)])

    @property
    def crew_words(self) -> str:
        """That nobody does it alone, in words; empty where one person does."""
        if self.crew < 2:
            return ""
        return counted(
            "{n} person is needed here: with fewer do not begin, and tell the office.",
            "{n} persons are needed here at once: with fewer do not begin, and tell the office.",
            self.crew,
        )

    @property
    def hold_words(self) -> str:
        """What to do about the hold, in words; empty without one."""
        if self.hold is None:
            return ""
        words = _(
            "The customer has a hold from {first_day} to {last_day}: ask the office before you "
            "drive there."
        ).format(first_day=self.hold.first_day, last_day=self.hold.last_day)
        return f"{words} {self.hold.reason}".rstrip()


@dataclass(frozen=True, slots=True)
class DaySheet:
    """One technician's day.

    `load` is what to put on the truck: parts of all stops, of upkeep and of jobs, summed by name,
    with the mass of each sum. `waste_kg` is what comes back. On a day without a route `route` is
    None, `stops` is empty and `why_empty` says why in a sentence.
    """

    technician: Technician
    day: date
    route: Route | None
    stops: tuple[SheetStop, ...]
    load: tuple[Part, ...]
    waste_kg: float
    why_empty: str = ""

    @property
    def load_kg(self) -> float:
        """Mass of all parts to load, kg."""
        return sum(part.mass_kg for part in self.load)


def full_sheet(
    technician: Technician,
    route: Route,
    sites: Mapping[str, Site],
    upkeep: Mapping[str, UpkeepDue],
    works: Mapping[str, OneOff],
    holds: Iterable[Hold] = (),
) -> DaySheet:
    """The sheet of a route; sites, upkeep and one-off work are found by the ids of its stops.

    One-off work that was deleted since is shown as a regular visit.
    """
    held = {one.site_id: one for one in holds if one.covers(route.day)}
    stops = tuple(
        SheetStop(
            number=number,
            stop=stop,
            site=sites[stop.site_id],
            upkeep=tuple(upkeep[upkeep_id] for upkeep_id in stop.upkeep_ids),
            work=works.get(work_id_of(stop.visit_id)),
            hold=held.get(stop.site_id),
        )
        for number, stop in enumerate(route.stops, start=1)
    )
    carried = [one for stop in stops for one in stop.upkeep]
    return DaySheet(
        technician=technician,
        day=route.day,
        route=route,
        stops=stops,
        load=load_list([*(part for one in carried for part in one.parts), *_parts_of_jobs(stops)]),
        waste_kg=sum(one.waste_kg for one in carried),
    )


def empty_sheet(technician: Technician, day: date, holidays: Mapping[date, str]) -> DaySheet:
    """The sheet of a day without a route, saying why there is none."""
    weekday = weekday_name(day)
    if day in technician.days_off:
        why = _("{name} has {weekday}, {day}, off.").format(
            name=technician.name, weekday=weekday, day=day
        )
    elif technician.shift_on(day) is None:
        why = _("{name} has no shift on a {weekday}.").format(name=technician.name, weekday=weekday)
    elif day in holidays:
        why = _("{weekday}, {day}, is a holiday: {holidays}.").format(
            weekday=weekday, day=day, holidays=holidays[day]
        )
    else:
        why = _("No visit is planned for {name} on {weekday}, {day}.").format(
            name=technician.name, weekday=weekday, day=day
        )
    return DaySheet(technician, day, None, (), (), 0.0, why)


def _parts_of_jobs(stops: Iterable[SheetStop]) -> Iterator[Part]:
    """What one-off work takes along, as the office named it, else by its name; and for whom."""
    for row in stops:
        work = row.work
        if work is not None and (work.parts or work.mass_kg):
            yield Part(f"{work.parts or work.title} ({row.site.name})", 1, work.mass_kg)


def load_list(parts: Iterable[Part]) -> tuple[Part, ...]:
    """Sum parts of the same name, quantities and masses (kg) alike; heaviest sum first."""
    quantity: dict[str, float] = defaultdict(float)
    mass_kg: dict[str, float] = defaultdict(float)
    for part in parts:
        quantity[part.name] += part.quantity
        mass_kg[part.name] += part.mass_kg
    summed = (Part(name, quantity[name], mass_kg[name]) for name in quantity)
    return tuple(sorted(summed, key=lambda part: (-part.mass_kg, part.name)))


def cautions_of(settings: Settings, sheet: DaySheet) -> tuple[str, ...]:
    """The usual cautions, and before them one of windows after the clocks have changed."""
    usual = tuple(map(gettext, USUAL_CAUTIONS))
    off = any(
        row.site.plan.windows != ALL_DAY
        and clock_has_changed(sheet.day, row.stop.start_s, settings.zone)
        for row in sheet.stops
    )
    return (_(CLOCK_CHANGE), *usual) if off else usual
