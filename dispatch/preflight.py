"""What is wrong with a week before it is planned, so that nobody waits for a search to say it.

Each finding names the thing, the value and the mend. A finding stops nothing: the rest of the
week is planned, and a visit that cannot be placed stands in the plan with its reason.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from dispatch.clock import DAY_S, IsoWeek
from dispatch.due_visits import VisitsDue
from dispatch.preflight_rules import Cause, WorkDay, broken, work_days
from dispatch.preflight_words import blocked_words
from dispatch.sites import Site
from dispatch.technicians import Technician
from dispatch.words import _

__all__ = ["Cause", "Finding", "findings"]


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that is wrong: which, its value, and what to do about it.

    `thing` is in words; `value` is what it has; `mend` is one or more whole sentences.
    """

    cause: Cause
    thing: str
    value: str
    mend: str

    @property
    def sentence(self) -> str:
        """The finding in words."""
        return f"{self.thing}: {self.value}. {self.mend}"


def findings(
    week: IsoWeek,
    sites: Sequence[Site],
    technicians: Sequence[Technician],
    due: Sequence[VisitsDue],
    *,
    closed_days: Collection[date] = (),
    no_drive: Mapping[str, str] | None = None,
) -> tuple[Finding, ...]:
    """Look at a week before it is planned.

    For each demand that nobody can serve, the first rule that leaves nobody is named, in the order
    lock, wanted technicians, skill, days, persons, length, window, loads, and every later one that
    would leave nobody by itself. Driving between stops and the work of others are for the search
    to weigh.

    Parameters
    ----------
    sites, technicians
        The book.
    due
        What the week owes.
    closed_days
        Days on which nobody works.
    no_drive
        Sentence by place id (`site:…`, `start:…`, `end:…`, `supply:…`) for places without drive
        times.
    """
    by_id = {site.id: site for site in sites}
    days = [day for day in week.days if day not in closed_days]
    cells = work_days(technicians, days)
    found = list(_about_shifts(week, technicians, cells, due))
    found += _about_nights(technicians, days, closed_days)
    found += [
        Finding(Cause.DRIVE, _place_words(place), _("no drive times"), sentence)
        for place, sentence in (no_drive or {}).items()
    ]
    for visits in due:
        name = by_id[visits.site_id].name if visits.site_id in by_id else visits.site_id
        thing = f"{name} ({visits.title or visits.demand_id})"
        found += _about_names(thing, visits, technicians)
        found += [
            Finding(cause, thing, *blocked_words(cause, visits, technicians))
            for cause in (broken(visits, cells) if cells else ())
        ]
        found += _about_count(thing, visits)
    return tuple(found)


def _about_shifts(
    week: IsoWeek,
    technicians: Sequence[Technician],
    cells: Sequence[WorkDay],
    due: Sequence[VisitsDue],
) -> Iterator[Finding]:
    if not technicians:
        yield Finding(
            Cause.NO_SHIFT,
            _("Week {week}").format(week=week),
            _("there are no technicians in the book"),
            _("Enter or import them: until then every visit is unplaced."),
        )
        return
    if not cells:
        yield Finding(
            Cause.NO_SHIFT,
            _("Week {week}").format(week=week),
            _("none of {number} technicians works on any day of it").format(
                number=len(technicians)
            ),
            _("Give somebody a shift, or take back a day off: until then every visit is unplaced."),
        )
        return
    service_h = sum(minutes for visits in due for minutes in visits.service_min) / 60
    shift_h = sum(_shift_h(cell) for cell in cells)
    if service_h > shift_h:
        yield Finding(
            Cause.OVERLOAD,
            _("Week {week}").format(week=week),
            _("{service_h:.0f} h of service are due and the shifts have {shift_h:.0f} h").format(
                service_h=service_h, shift_h=shift_h
            ),
            _("Add shifts or put visits off: some will be unplaced, and driving comes on top."),
        )


def _about_nights(
    technicians: Iterable[Technician], days: Sequence[date], closed_days: Collection[date]
) -> Iterator[Finding]:
    """A night shift that has not ended when the same technician's next shift begins."""
    for technician in technicians:
        for day in days:
            next_day = day + timedelta(days=1)
            shift = technician.shift_on(day)
            coming = None if next_day in closed_days else technician.shift_on(next_day)
            if shift is None or coming is None or shift.end_s - DAY_S <= coming.start_s:
                continue
            yield Finding(
                Cause.OVERLAP,
                _("{name} on {day}").format(name=technician.name, day=day),
                _("the shift {shift} goes on when the next day's {coming} begins").format(
                    shift=shift, coming=coming
                ),
                _("Let one end earlier or the other begin later, or give a day off."),
            )


def _shift_h(cell: WorkDay) -> float:
    meal = cell.technician.meal
    free = 1 - cell.technician.slack_share
    return cell.longest_s / 3600 * free - (0 if meal is None else meal.minutes / 60)


def _place_words(place_id: str) -> str:
    kind, _rest, owner = place_id.partition(":")
    words = {
        "site": _("Site {owner}"),
        "start": _("Start of {owner}"),
        "end": _("End of {owner}"),
        "supply": _("Supply stop of {owner}"),
    }
    return words.get(kind, "{kind} {owner}").format(kind=kind, owner=owner)


def _about_names(
    thing: str, visits: VisitsDue, technicians: Iterable[Technician]
) -> Iterator[Finding]:
    """A technician who is named but not in the book."""
    usual = visits.usual_technician_id
    if usual is not None and all(usual != one.id for one in technicians):
        yield Finding(
            Cause.UNKNOWN_TECHNICIAN,
            thing,
            _("technician '{usual}' is named and not in the book").format(usual=usual),
            _("Import the technician, or name another one."),
        )


def _about_count(thing: str, visits: VisitsDue) -> Iterator[Finding]:
    """Fewer visits than were agreed, because too few days are open."""
    if visits.lacking:
        yield Finding(
            Cause.FEWER_VISITS,
            thing,
            _("{count} of {owed} visits have a day").format(
                count=visits.count, owed=visits.count + visits.lacking
            ),
            _("{note} Allow more weekdays, or leave it so for this week.").format(note=visits.note),
        )
