"""One step of editing by hand: bring a visit somewhere, take it out, move its upkeep.

A step never looks whether a rule is broken: that is told afterwards, with amounts, and whoever
edits decides. Only what cannot be written down at all is refused, in a sentence.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from dispatch.clock import weekday_name
from dispatch.edits.draft import CellKey, Draft, Item, orders_of
from dispatch.errors import InvalidValue
from dispatch.measures import measured
from dispatch.planning.problem import NO_DRIVE_S, Cell, Demand, Problem
from dispatch.planning.timetable import Call, Times, times_of
from dispatch.planning.week import filled_cell
from dispatch.words import _


@dataclass(frozen=True, slots=True)
class Move:
    """Bring a visit to a technician's day, from wherever it is, or from the unplaced.

    `position` is the number of stops before it there, itself not counted; None: where it breaks
    and costs least.
    """

    visit_id: str
    technician_id: str
    day: date
    position: int | None = None

    def __post_init__(self) -> None:
        if self.position is not None and self.position < 0:
            raise InvalidValue(
                _(
                    "A position of {position} is below zero: give the number of stops before it."
                ).format(position=self.position)
            )


@dataclass(frozen=True, slots=True)
class TakeOut:
    """Take a visit out of its route; it is unplaced then, with the upkeep it carried put off."""

    visit_id: str


@dataclass(frozen=True, slots=True)
class Carry:
    """Let upkeep ride on a visit of its site, or put it off (None)."""

    upkeep_id: str
    visit_id: str | None


Edit = Move | TakeOut | Carry


def edited(problem: Problem, draft: Draft, edit: Edit) -> Draft:
    """The draft after one step.

    Raises
    ------
    InvalidValue
        When there is no such visit or upkeep to edit, or the technician has no truck out that day.
    """
    if isinstance(edit, Carry):
        return _carried(problem, draft, edit)
    demand = _demand(problem, edit.visit_id)
    item = next(
        (one for items in draft.values() for one in items if one.visit_id == edit.visit_id),
        Item(edit.visit_id),
    )
    without = {
        key: tuple(one for one in items if one.visit_id != edit.visit_id)
        for key, items in draft.items()
    }
    if isinstance(edit, TakeOut):
        return without
    cell = _cell(problem, edit.technician_id, edit.day)
    if problem.drive_s[cell.start, demand.place] >= NO_DRIVE_S:
        raise InvalidValue(
            _(
                "There is no way to drive to site {site} from where {technician_name} starts: "
                "correct the place of one of the two."
            ).format(site=demand.site_id, technician_name=cell.technician_name)
        )
    key = (cell.technician_id, cell.day)
    there = without.get(key, ())
    at = _best_position(problem, without, cell, item) if edit.position is None else edit.position
    return {**without, key: (*there[:at], item, *there[at:])}


def where_is(draft: Draft, visit_id: str) -> CellKey | None:
    """The technician and day of a visit; None for one without a place."""
    for key, items in draft.items():
        if any(one.visit_id == visit_id for one in items):
            return key
    return None


def _best_position(problem: Problem, draft: Draft, cell: Cell, item: Item) -> int:
    """Where the visit breaks least, then costs least."""
    key = (cell.technician_id, cell.day)
    n = problem.cells.index(cell)
    there = filled_cell(problem, cell, orders_of(problem, draft)[n]).calls
    (new,) = filled_cell(problem, cell, orders_of(problem, {key: (item,)})[n]).calls
    return cheapest_place(problem, cell, there, new)[0]


def cheapest_place(
    problem: Problem, cell: Cell, calls: Sequence[Call], new: Call
) -> tuple[int, Times]:
    """Where a new stop breaks least, then costs least: stops before it, and the day's times then.

    It costs what the day is paid longer: driving, waiting, overtime at its price.
    """

    def price(tried: tuple[int, Times]) -> tuple[int, float]:
        times = tried[1]
        return times.broken_s, times.work_s + cell.pay_factor * times.overtime_s

    orders = ((at, (*calls[:at], new, *calls[at:])) for at in range(len(calls) + 1))
    return min(((at, times_of(cell, order, problem.drive_s)) for at, order in orders), key=price)


def _carried(problem: Problem, draft: Draft, edit: Carry) -> Draft:
    owner = next(
        (
            demand
            for demand in problem.demands
            if any(item.id == edit.upkeep_id for item in demand.upkeep)
        ),
        None,
    )
    if owner is None:
        raise InvalidValue(
            _(
                "There is no upkeep '{upkeep}' that a visit of this week could carry. The list "
                "of upkeep due shows what there is."
            ).format(upkeep=edit.upkeep_id)
        )
    if edit.visit_id is not None and (
        edit.visit_id not in owner.visit_ids or where_is(draft, edit.visit_id) is None
    ):
        raise InvalidValue(
            _(
                "The upkeep {upkeep} is for site {site}, and '{visit}' is no placed visit "
                "there: place the visit first, or name another one."
            ).format(upkeep=edit.upkeep_id, site=owner.site_id, visit=edit.visit_id)
        )
    return {
        key: tuple(_with_upkeep(one, edit.upkeep_id, one.visit_id == edit.visit_id) for one in row)
        for key, row in draft.items()
    }


def _with_upkeep(item: Item, upkeep_id: str, rides: bool) -> Item:
    others = tuple(one for one in item.upkeep_ids if one != upkeep_id)
    return Item(item.visit_id, (*others, upkeep_id) if rides else others)


def _demand(problem: Problem, visit_id: str) -> Demand:
    found = problem.demand_of.get(visit_id)
    if found is None:
        reason = next((one.reason for one in problem.undrivable if one.visit_id == visit_id), "")
        raise InvalidValue(
            _("The visit '{visit}' cannot be moved: {reason}").format(
                visit=visit_id,
                reason=measured(reason) or _("it is not due in this week, or its day is over."),
            )
        )
    return found


def _cell(problem: Problem, technician_id: str, day: date) -> Cell:
    cell = problem.cell_of.get((technician_id, day))
    if cell is None:
        name = next(
            (one.technician_name for one in problem.cells if one.technician_id == technician_id),
            _("Technician '{technician}'").format(technician=technician_id),
        )
        raise InvalidValue(
            _(
                "{name} has no truck out on {weekday} {day}, or that day is over: choose "
                "another day or technician, or change the shifts first."
            ).format(name=name, weekday=weekday_name(day), day=day)
        )
    return cell
