"""Why a visit is unplaced: every cell, the rules it would break there and by how much."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from dispatch.clock import weekday_name
from dispatch.measures import kept_amount
from dispatch.planning.plan import Broken, Rule
from dispatch.planning.problem import NO_DRIVE_S, TRIFLE_KG, Cell, Demand, Problem
from dispatch.planning.timetable import Call, Times, best_place, chemicals_over_kg, times_of
from dispatch.upkeep import UpkeepDue
from dispatch.words import N_, _, joined, ngettext

FIRM = frozenset(
    {
        *(Rule.DAY, Rule.SKILL, Rule.TECHNICIAN_LOCK, Rule.GAP, Rule.DRIVE),
        *(Rule.UNWANTED, Rule.CREW, Rule.KEPT),
    }
)
# What to say of a cell in which bending this one firm rule is enough.
WAYS_OUT = {
    Rule.TECHNICIAN_LOCK: N_("without the lock"),
    Rule.DAY: N_("on another day"),
    Rule.SKILL: N_("without the skill"),
    Rule.UNWANTED: N_("if the customer agrees,"),
}


SOME, OTHERS = "own-and-others", "others"  # whose windows are broken; nothing: its own alone
OWN_LATE = N_("{minutes} min after its time window")
LATE = {
    SOME: N_("{minutes} min after time windows, its own and those of other stops"),
    OTHERS: N_("{minutes} min after the time windows of other stops"),
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


TimeBroken = tuple[Rule, float, str]  # a rule, its amount, and of a window whose it is
Tried = tuple[Filled, tuple[Broken, ...]]  # a cell, and the rules that the visit breaks there


def broken_in(
    wanted: Wanted, filled: Filled, week: Sequence[Filled], problem: Problem
) -> tuple[Broken, ...]:
    """The rules the visit would break in this cell at its best position there."""
    cell, demand = filled.cell, wanted.demand
    found = []

    def broken(rule: Rule, amount: float = 0.0, detail: str = "") -> None:
        found.append(Broken(rule, cell.technician_id, cell.day, amount, detail))

    for rule, amount in _people_broken(wanted, cell):
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
    if over_kg > TRIFLE_KG:
        broken(Rule.PAYLOAD, _tenths_kg(over_kg))
    for rule, amount, detail in _time_broken(wanted.call, filled, week, problem):
        broken(rule, amount, detail)
    return tuple(found)


def _people_broken(wanted: Wanted, cell: Cell) -> list[tuple[Rule, float]]:
    """Who must not come, who is missing aboard, and who has the visit or its day already."""
    demand, where = wanted.demand, (cell.technician_id, cell.day)
    found = list[tuple[Rule, float]]()
    if cell.technician_id in demand.unwanted_technician_ids:
        found.append((Rule.UNWANTED, 0.0))
    if demand.crew > cell.crew:
        found.append((Rule.CREW, demand.crew - cell.crew))
    own = demand.kept[wanted.visit] if demand.kept else None
    others = [kept for kept in demand.kept if kept and kept[1] == cell.day]
    if (own and own != where) or any(kept != where for kept in others):
        found.append((Rule.KEPT, 0.0))
    return found


def _time_broken(
    call: Call, filled: Filled, week: Sequence[Filled], problem: Problem
) -> list[TimeBroken]:
    """Window, shift, meal, chemicals and hours at the position that breaks the times least."""
    there = problem.drive_s[filled.cell.start, call.place]
    back = problem.drive_s[call.place, filled.cell.end]
    if max(there, back) >= NO_DRIVE_S:
        return [(Rule.DRIVE, 0, "")]
    position, best = best_place(filled.cell, filled.calls, call, problem.drive_s)
    found = _broken_at(position, best, call, filled, week, problem)
    if not found or best.broken_s > 0:
        return found
    ways = []  # at another position the day may be shorter, or its chemicals better shared
    for n in range(len(filled.calls) + 1):
        calls = (*filled.calls[:n], call, *filled.calls[n:])
        times = times_of(filled.cell, calls, problem.drive_s)
        ways.append(_broken_at(n, times, call, filled, week, problem))
    return min(ways, key=lambda way: (len(way), sum(one[1] for one in way)))


def _broken_at(
    position: int,
    best: Times,
    call: Call,
    filled: Filled,
    week: Sequence[Filled],
    problem: Problem,
) -> list[TimeBroken]:
    calls = (*filled.calls[:position], call, *filled.calls[position:])
    over_kg = _tenths_kg(chemicals_over_kg(filled.cell, calls, best))
    late_s, own_s = sum(best.late_s), best.late_s[position]
    whose = "" if own_s == late_s else SOME if own_s else OTHERS
    amounts: tuple[TimeBroken, ...] = (
        (Rule.CHEMICALS, over_kg, ""),
        (Rule.WINDOW, late_s, whose),
        (Rule.OVERFULL, best.overfull_s, ""),
        (Rule.BREAK, best.break_late_s, ""),
        (Rule.HOURS, _hours_over_s(filled.cell, calls, week, problem), ""),
    )
    return [one for one in amounts if one[1] > 0]


def _tenths_kg(over_kg: float) -> float:
    """An excess in whole tenths of a kg, the next above, so that none is told as nothing."""
    return math.ceil(10 * (over_kg - TRIFLE_KG)) / 10


def _hours_over_s(
    cell: Cell, calls: Sequence[Call], week: Sequence[Filled], problem: Problem
) -> int:
    """By how much a week is too long with these calls in the cell, all days as short as can be."""
    name, over_s = cell.technician_id, 0
    for rule in problem.hours:
        if rule.technician_id == name and rule.most_s is not None:
            others = [
                (one.cell, one.calls)
                for one in week
                if one.calls and one.cell.technician_id == name and one.cell.day != cell.day
            ]
            days = [
                times_of(on, there, problem.drive_s, shortest=True)
                for on, there in [*others, (cell, calls)]
            ]
            over_s = max(over_s, rule.spent_s + sum(day.work_s for day in days) - rule.most_s)
    return over_s


def why_unplaced(
    wanted: Wanted, filled: Sequence[Filled], problem: Problem
) -> tuple[str, tuple[Broken, ...]]:
    """The reason in words, and the rules broken in every cell as data."""
    tried = [(one, broken_in(wanted, one, filled, problem)) for one in filled]
    cells = tuple(broken for _, found in tried for broken in found)
    off = tuple(
        Broken(Rule.SHIFT, name, day) for name, day in problem.technicians_off if day in wanted.days
    )
    return in_words(wanted, tried, problem), cells + off


def in_words(wanted: Wanted, tried: Sequence[Tried], problem: Problem) -> str:
    """What a visit that fits into none of the cells tried needs, and its easiest way out."""
    return f"{_needs(wanted)}; {_way_out(wanted, tried, problem)}."


def _needs(wanted: Wanted) -> str:
    amounts = {"minutes": wanted.minutes, "mass": kept_amount(wanted.mass_kg, "kg")}
    if not wanted.skills and wanted.mass_kg:
        return _("Needs {minutes} min, {mass} on the truck").format(**amounts)
    if not wanted.skills:
        return _("Needs {minutes} min").format(**amounts)
    if wanted.mass_kg:
        words = ngettext(
            "Needs {minutes} min and the skill {names}, {mass} on the truck",
            "Needs {minutes} min and the skills {names}, {mass} on the truck",
            len(wanted.skills),
        )
    else:
        words = ngettext(
            "Needs {minutes} min and the skill {names}",
            "Needs {minutes} min and the skills {names}",
            len(wanted.skills),
        )
    names = joined([f"'{name}'" for name in sorted(wanted.skills)])
    return words.format(**amounts, names=names)


def _way_out(wanted: Wanted, tried: Sequence[Tried], problem: Problem) -> str:
    """Who may take the visit at all and what is missing there, or which rule to bend."""
    if not tried:
        return _("nobody works this week")
    open_cells = [pair for pair in tried if not FIRM & {one.rule for one in pair[1]}]
    if not open_cells:
        return _nobody(wanted, tried, problem)
    filled, broken = min(open_cells, key=lambda pair: _hardness(pair[1]))
    who = sorted({pair[0].cell.technician_name for pair in open_cells})
    lead = (
        _("only {who} may take it").format(who=who[0])
        if len(who) == 1
        else _("{number} technicians may take it").format(number=len(who))
    )
    if not broken:
        return _("{lead}, and {cell} still has room: plan again with more time").format(
            lead=lead, cell=_cell_name(filled.cell)
        )
    return _("{lead}; closest is {cell}, {broken}").format(
        lead=lead, cell=_cell_name(filled.cell), broken=_amounts(broken)
    )


def _nobody(wanted: Wanted, tried: Sequence[Tried], problem: Problem) -> str:
    """Words for a visit that no cell may take as agreed: why, and each single rule to bend."""
    everybody = {filled.cell.technician_id for filled, _ in tried}
    lacking = {one.technician_id for _, found in tried for one in found if one.rule is Rule.SKILL}
    if everybody == lacking:
        return _("no technician on shift has what it needs")
    ways = []
    for rule in (*WAYS_OUT, Rule.CREW):
        alone = [pair for pair in tried if {one.rule for one in pair[1]} == {rule}]
        if alone:
            filled, broken = min(alone, key=lambda pair: _hardness(pair[1]))
            ways.append(
                _("{way} {cell} has room").format(
                    way=_bent(broken[0]), cell=_cell_name(filled.cell)
                )
            )
    if not ways:
        filled, broken = min(tried, key=lambda pair: _hardness(pair[1]))
        ways = [
            _("closest is {cell}, {broken}").format(
                cell=_cell_name(filled.cell), broken=_amounts(broken)
            )
        ]
    return _("nobody may take it as agreed{wanted}; {ways}").format(
        wanted=_lock(wanted, tried, problem), ways="; ".join(ways)
    )


def _bent(broken: Broken) -> str:
    """What it takes to bend a firm rule."""
    if broken.rule is not Rule.CREW:
        return _(WAYS_OUT[broken.rule])
    persons = int(broken.amount)
    return ngettext(
        "with one more person aboard", "with {number} more persons aboard", persons
    ).format(number=persons)


def _lock(wanted: Wanted, tried: Sequence[Tried], problem: Problem) -> str:
    """Who the visit is locked to, and on which of its days that technician is off."""
    if not wanted.demand.technician_locked:
        return ""
    locked_to = wanted.demand.usual_technician_id
    names = [one.cell.technician_name for one, _ in tried if one.cell.technician_id == locked_to]
    if not names:
        return _(": it is locked to {locked_to}, who does not work this week").format(
            locked_to=locked_to
        )
    off = sorted(day for name, day in problem.technicians_off if name == names[0])
    days = [weekday_name(day) for day in off if day in wanted.days]
    if not days:
        return _(": it is locked to {name}").format(name=names[0])
    return _(": it is locked to {name}, who is off on {days}").format(
        name=names[0], days=joined(days)
    )


def _hardness(broken: Sequence[Broken]) -> tuple[int, float]:
    return len(broken), sum(one.amount for one in broken)


def _cell_name(cell: Cell) -> str:
    return _("{technician} on {weekday}").format(
        technician=cell.technician_name, weekday=weekday_name(cell.day)
    )


def _amounts(broken: Sequence[Broken]) -> str:
    return ", ".join(amount_in_words(one) for one in broken)


def amount_in_words(broken: Broken) -> str:
    """One broken rule as part of a sentence, with its amount: minutes rounded up, or a mass."""
    minutes, mass = -(-int(broken.amount) // 60), kept_amount(broken.amount, "kg")
    words = {
        Rule.DAY: _("which is not one of its days"),
        Rule.SHIFT: _("who is off that day"),
        Rule.TECHNICIAN_LOCK: _("but it is locked to technician {detail}").format(
            detail=broken.detail
        ),
        Rule.SKILL: _("who lacks the skill '{detail}'").format(detail=broken.detail),
        Rule.WINDOW: _(LATE.get(broken.detail, OWN_LATE)).format(minutes=minutes),
        Rule.OVERFULL: _("{minutes} min beyond the shift").format(minutes=minutes),
        Rule.BREAK: _("{minutes} min too late for the meal").format(minutes=minutes),
        Rule.PAYLOAD: _("{mass} over the payload").format(mass=mass),
        Rule.CHEMICALS: _("{mass} over what may be aboard of chemicals").format(mass=mass),
        Rule.CREW: ngettext(
            "with {number} person too few aboard",
            "with {number} persons too few aboard",
            int(broken.amount),
        ).format(number=int(broken.amount)),
        Rule.UNWANTED: _("whom the customer does not want"),
        Rule.HOURS: _("{minutes} min over the hours of the week").format(minutes=minutes),
        Rule.KEPT: _("while it is kept with somebody else"),
        Rule.GAP: _("where the site already has a visit"),
        Rule.DRIVE: _("from where there is no way to drive"),
        Rule.COUNT: _("where it already stands"),
        Rule.FALSE: _("where the plan is false: {detail}").format(detail=broken.detail),
    }
    return words[broken.rule]
