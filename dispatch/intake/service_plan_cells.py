"""The service plan of a site, read from the cells of its row."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace
from datetime import date

from dispatch.errors import InvalidValue
from dispatch.intake.cells import Cells, check_known
from dispatch.intake.parse import (
    parse_choice,
    parse_id,
    parse_list,
    parse_minutes,
    parse_number,
    parse_weekdays,
)
from dispatch.intake.parse_agreed import parse_count, parse_ids, parse_seasons, parse_windows
from dispatch.intake.table import nearest
from dispatch.rhythms import Rhythm, Season
from dispatch.service_plan import MONDAY_TO_FRIDAY, Priority, ServicePlan
from dispatch.windows import ALL_DAY
from dispatch.words import _

LOCKS = {
    "none": (False, False),
    "technician": (True, False),
    "weekday": (False, True),
    "both": (True, True),
}


@dataclass(frozen=True, slots=True)
class ReadingRules:
    """What a table of sites is held against besides itself.

    `today` bounds the dates, and technicians must be among `technician_ids`; None leaves either
    unchecked.
    """

    today: date | None = None
    technician_ids: Collection[str] | None = None


def read_service_plan(cells: Cells, rules: ReadingRules) -> ServicePlan | None:
    """Build the plan step by step, so that each rule it breaks is told of its own column.

    None where a problem was noted in `cells`.
    """
    check_known(cells, "usual_technician", "technician", rules.technician_ids)
    plan = ServicePlan(
        rhythm=Rhythm.WEEKLY,
        service_min=1,
        windows=cells.read("windows", parse_windows, ALL_DAY),
        usual_technician_id=cells.read("usual_technician", parse_id, None),
        skills=cells.read("skills", parse_list, frozenset[str]()),
        last_visit_on=cells.past_day("last_visit_on", rules.today),
        anchor_on=cells.coming_day("anchor_on", rules.today),
        priority=cells.read("priority", parse_choice(Priority), Priority.NORMAL),
        started_on=cells.coming_day("started_on", rules.today),
    )
    plan = _with_numbers(cells, plan)
    plan = _with_locks(cells, _with_weekdays(cells, plan))
    plan = _with_unwanted(cells, plan, rules.technician_ids)
    return None if cells.problems else plan


def _with_numbers(cells: Cells, plan: ServicePlan) -> ServicePlan:
    minutes = cells.read("service_min", parse_minutes, 1)
    plan = cells.attempt("service_min", lambda: replace(plan, service_min=minutes), plan)
    first = cells.read("first_service_min", parse_minutes, None)
    plan = cells.attempt("first_service_min", lambda: replace(plan, first_service_min=first), plan)
    persons = cells.read("persons", parse_count, 1)
    plan = cells.attempt("persons", lambda: replace(plan, crew=persons), plan)
    mass_kg = cells.read("chemicals_kg", parse_number, 0.0)
    plan = cells.attempt("chemicals_kg", lambda: replace(plan, chemicals_kg=mass_kg), plan)
    price = cells.read("monthly_price", parse_number, None)
    return cells.attempt("monthly_price", lambda: replace(plan, monthly_price=price), plan)


def _with_weekdays(cells: Cells, plan: ServicePlan) -> ServicePlan:
    allowed = cells.read("allowed_weekdays", parse_weekdays, MONDAY_TO_FRIDAY)
    usual = cells.read("usual_weekday", parse_weekdays, frozenset[int]())
    rhythm = cells.read("rhythm", parse_choice(Rhythm), Rhythm.WEEKLY)
    seasons = cells.read("seasons", parse_seasons, tuple[Season, ...]())
    plan = replace(plan, allowed_weekdays=allowed)
    if cells.failed("allowed_weekdays"):  # nothing can be held against it
        return plan
    plan = cells.attempt("allowed_weekdays", lambda: replace(plan, rhythm=rhythm), plan)
    plan = cells.attempt("seasons", lambda: replace(plan, seasons=seasons), plan)
    return cells.attempt("usual_weekday", lambda: replace(plan, usual_weekdays=usual), plan)


def _with_locks(cells: Cells, plan: ServicePlan) -> ServicePlan:
    technician, weekday = cells.read("lock", _parse_lock, (False, False))
    if not cells.failed("usual_technician"):
        plan = cells.attempt("lock", lambda: replace(plan, technician_locked=technician), plan)
    if not cells.failed("usual_weekday") and not cells.failed("allowed_weekdays"):
        plan = cells.attempt("lock", lambda: replace(plan, weekday_locked=weekday), plan)
    return plan


def _with_unwanted(cells: Cells, plan: ServicePlan, known: Collection[str] | None) -> ServicePlan:
    unwanted = cells.read("unwanted_technicians", parse_ids, frozenset[str]())
    for stray in sorted(unwanted if known is None else unwanted.difference(known)):
        if known is not None:
            cells.complain(
                "unwanted_technicians",
                _(
                    "There is no technician '{stray}' in the book: correct the id, or take it "
                    "out.{nearest}"
                ).format(stray=stray, nearest=nearest(stray, known)),
            )
    return cells.attempt(
        "unwanted_technicians", lambda: replace(plan, unwanted_technician_ids=unwanted), plan
    )


def _parse_lock(text: str) -> tuple[bool, bool]:
    """Whether the technician and whether the weekday is locked."""
    if text.casefold() not in LOCKS:
        raise InvalidValue(
            _(
                "'{text}' is no lock: write technician, weekday or both, or leave the cell empty."
            ).format(text=text)
        )
    return LOCKS[text.casefold()]
