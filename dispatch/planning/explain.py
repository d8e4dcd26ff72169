"""Why a visit is unplaced: every cell, the rules it would break there and by how much."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from dispatch.clock import WEEKDAY_NAMES
from dispatch.planning.plan import Broken, Rule
from dispatch.planning.problem import NO_DRIVE_S, Cell, Demand, Problem
from dispatch.planning.timetable import Call, Times, best_place, chemicals_over_kg, times_of
from dispatch.upkeep import UpkeepDue

FIRM = frozenset(
    {
        *(Rule.DAY, Rule.SKILL, Rule.TECHNICIAN_LOCK, Rule.GAP, Rule.DRIVE),
        *(Rule.UNWANTED, Rule.CREW, Rule.KEPT),
    }
)
# What to say of a cell in which bending this one firm rule is enough.
WAYS_OUT = {
    Rule.TECHNICIAN_LOCK: "without the lock",
    Rule.DAY: "on another day",
    Rule.SKILL: "without the skill",
    Rule.UNWANTED: "if the customer agrees,",
    Rule.CREW: "with one more person aboard",
}


@dataclass(frozen=True, slots=True)
class Filled:
    """A cell with what already stands in it."""

    cell: Cell
    calls: tuple[Call, ...]
    load_kg: float


@dataclass(frozen=True, slots=True)
class Wanted:
    """A visit looking for a place: its demand, its own days, and what it would carry."""

    demand: Demand
    days: frozenset[date]
    taken_days: frozenset[date]  # days of the site's other visits
    riders: tuple[UpkeepDue, ...] = ()
    visit: int = 0

    @property
    def minutes(self) -> int:
        """Service minutes, riders included."""
        return self.demand.seconds_of(self.visit) // 60 + sum(i.minutes for i in self.riders)

    @property
    def skills(self) -> frozenset[str]:
        """Skills needed, riders included."""
        return self.demand.skills | {item.skill for item in self.riders if item.skill}

    @property
    def mass_kg(self) -> float:
        """Payload needed in kg, riders included."""
        return self.demand.load_kg + sum(item.mass_kg for item in self.riders)

    @property
    def call(self) -> Call:
        """The visit as a stop to be timed."""
        return Call(
            self.demand.place, self.minutes * 60, self.demand.windows, self.demand.chemicals_kg
        )


Tried = tuple[Filled, tuple[Broken, ...]]  # a cell, and the rules that the visit breaks there


def broken_in(
    wanted: Wanted, filled: Filled, week: Sequence[Filled], problem: Problem
) -> tuple[Broken, ...]:
    """The rules the visit would break in this cell at its best position there."""
    cell, demand = filled.cell, wanted.demand
    found = []

    def broken(rule: Rule, amount: float = 0.0, detail: str = "") -> None:
        found.append(Broken(rule, cell.technician_id, cell.day, amount, detail))

    for rule, amount in _people_broken(demand, cell):
        broken(rule, amount)
    if cell.day not in wanted.days:
        broken(Rule.DAY)
    if cell.day in wanted.taken_days:
        broken(Rule.GAP)
    if demand.technician_locked and demand.usual_technician_id != cell.technician_id:
        broken(Rule.TECHNICIAN_LOCK, detail=demand.usual_technician_id or "")
    for skill in sorted(wanted.skills - cell.skills):
        broken(Rule.SKILL, detail=skill)
    over_kg = filled.load_kg + wanted.mass_kg - cell.payload_kg
    if over_kg > 1e-6:
        broken(Rule.PAYLOAD, round(over_kg, 1))
    for rule, amount in _time_broken(wanted.call, filled, week, problem):
        broken(rule, amount)
    return tuple(found)


def _people_broken(demand: Demand, cell: Cell) -> list[tuple[Rule, float]]:
    """Who must not come, who is missing aboard, and who has the visit already."""
    found = list[tuple[Rule, float]]()
    if cell.technician_id in demand.unwanted_technician_ids:
        found.append((Rule.UNWANTED, 0.0))
    if demand.crew > cell.crew:
        found.append((Rule.CREW, demand.crew - cell.crew))
    if any(kept and kept[1] == cell.day and kept[0] != cell.technician_id for kept in demand.kept):
        found.append((Rule.KEPT, 0.0))
    return found


def _time_broken(
    call: Call, filled: Filled, week: Sequence[Filled], problem: Problem
) -> list[tuple[Rule, float]]:
    """Window, shift, meal, chemicals and hours at the position that breaks the times least."""
    there = problem.drive_s[filled.cell.start, call.place]
    back = problem.drive_s[call.place, filled.cell.end]
    if max(there, back) >= NO_DRIVE_S:
        return [(Rule.DRIVE, 0)]
    position, best = best_place(filled.cell, filled.calls, call, problem.drive_s)
    calls = (*filled.calls[:position], call, *filled.calls[position:])
    over_kg = round(chemicals_over_kg(filled.cell, calls, best), 1)
    amounts: tuple[tuple[Rule, float], ...] = (
        (Rule.CHEMICALS, over_kg),
        (Rule.WINDOW, sum(best.late_s)),
        (Rule.OVERFULL, best.overfull_s),
        (Rule.BREAK, best.break_late_s),
        (Rule.HOURS, _hours_over_s(filled, best, week, problem)),
    )
    return [(rule, amount) for rule, amount in amounts if amount > 0]


def _hours_over_s(filled: Filled, day: Times, week: Sequence[Filled], problem: Problem) -> int:
    """By how much the technician's week is too long when `filled` becomes `day`, in seconds."""
    name, over_s = filled.cell.technician_id, 0
    for rule in problem.hours:
        if rule.technician_id == name and rule.most_s is not None:
            others = [
                times_of(one.cell, one.calls, problem.drive_s).work_s
                for one in week
                if one.calls and one.cell.technician_id == name and one.cell.day != filled.cell.day
            ]
            over_s = max(over_s, rule.spent_s + sum(others) + day.work_s - rule.most_s)
    return over_s


def why_unplaced(
    wanted: Wanted, filled: Sequence[Filled], problem: Problem
) -> tuple[str, tuple[Broken, ...]]:
    """The reason in words, and the rules broken in every cell as data."""
    by_cell = [(one, broken_in(wanted, one, filled, problem)) for one in filled]
    cells = tuple(broken for _, found in by_cell for broken in found)
    off = tuple(
        Broken(Rule.SHIFT, name, day) for name, day in problem.technicians_off if day in wanted.days
    )
    return f"{_needs(wanted)}; {_way_out(wanted, by_cell, problem)}.", cells + off


def _needs(wanted: Wanted) -> str:
    words = f"Needs {wanted.minutes} min"
    if wanted.skills:
        names = " and ".join(f"'{name}'" for name in sorted(wanted.skills))
        words += (
            f" and the skill {names}" if len(wanted.skills) == 1 else f" and the skills {names}"
        )
    if wanted.mass_kg:
        words += f", {wanted.mass_kg:.0f} kg on the truck"
    return words


def _way_out(wanted: Wanted, tried: Sequence[Tried], problem: Problem) -> str:
    """Who may take the visit at all and what is missing there, or which rule to bend."""
    if not tried:
        return "nobody works this week"
    open_cells = [pair for pair in tried if not FIRM & {one.rule for one in pair[1]}]
    if not open_cells:
        return _nobody(wanted, tried, problem)
    filled, broken = min(open_cells, key=lambda pair: _hardness(pair[1]))
    who = sorted({pair[0].cell.technician_name for pair in open_cells})
    lead = f"only {who[0]}" if len(who) == 1 else f"{len(who)} technicians"
    lead += " may take it"
    if not broken:
        return f"{lead}, and {_cell_name(filled.cell)} still has room: plan again with more time"
    return f"{lead}; closest is {_cell_name(filled.cell)}, {_amounts(broken)}"


def _nobody(wanted: Wanted, tried: Sequence[Tried], problem: Problem) -> str:
    """Words for a visit that no cell may take as agreed: why, and each single rule to bend."""
    everybody = {filled.cell.technician_id for filled, _ in tried}
    lacking = {one.technician_id for _, found in tried for one in found if one.rule is Rule.SKILL}
    if everybody == lacking:
        return "no technician on shift has what it needs"
    ways = []
    for rule, words in WAYS_OUT.items():
        cells = [filled.cell for filled, found in tried if {one.rule for one in found} == {rule}]
        if cells:
            ways.append(f"{words} {_cell_name(cells[0])} has room")
    if not ways:
        filled, broken = min(tried, key=lambda pair: _hardness(pair[1]))
        ways = [f"closest is {_cell_name(filled.cell)}, {_amounts(broken)}"]
    return f"nobody may take it as agreed{_lock(wanted, tried, problem)}; {'; '.join(ways)}"


def _lock(wanted: Wanted, tried: Sequence[Tried], problem: Problem) -> str:
    """Who the visit is locked to, and on which of its days that technician is off."""
    if not wanted.demand.technician_locked:
        return ""
    locked_to = wanted.demand.usual_technician_id
    names = [one.cell.technician_name for one, _ in tried if one.cell.technician_id == locked_to]
    if not names:
        return f": it is locked to {locked_to}, who does not work this week"
    off = sorted(day for name, day in problem.technicians_off if name == names[0])
    days = [WEEKDAY_NAMES[day.weekday()] for day in off if day in wanted.days]
    return f": it is locked to {names[0]}" + (
        f", who is off on {' and '.join(days)}" if days else ""
    )


def _hardness(broken: Sequence[Broken]) -> tuple[int, float]:
    return len(broken), sum(one.amount for one in broken)


def _cell_name(cell: Cell) -> str:
    return f"{cell.technician_name} on {WEEKDAY_NAMES[cell.day.weekday()]}"


def _amounts(broken: Sequence[Broken]) -> str:
    return ", ".join(amount_in_words(one) for one in broken)


def amount_in_words(broken: Broken) -> str:
    """One broken rule as part of a sentence, with its amount rounded up to the minute or kg."""
    minutes = -(-int(broken.amount) // 60)
    words = {
        Rule.DAY: "which is not one of its days",
        Rule.SHIFT: "who is off that day",
        Rule.TECHNICIAN_LOCK: f"but it is locked to technician {broken.detail}",
        Rule.SKILL: f"who lacks the skill '{broken.detail}'",
        Rule.WINDOW: f"{minutes} min after its time window",
        Rule.OVERFULL: f"{minutes} min beyond the shift",
        Rule.BREAK: f"{minutes} min too late for the meal",
        Rule.PAYLOAD: f"{broken.amount:.0f} kg over the payload",
        Rule.CHEMICALS: f"{broken.amount:.0f} kg over what may be aboard of chemicals",
        Rule.CREW: f"with {broken.amount:.0f} person too few aboard",
        Rule.UNWANTED: "whom the customer does not want",
        Rule.HOURS: f"{minutes} min over the hours of the week",
        Rule.KEPT: "while it is kept with somebody else",
        Rule.GAP: "where the site already has a visit",
        Rule.DRIVE: "from where there is no way to drive",
        Rule.COUNT: "where it already stands",
    }
    return words[broken.rule]
