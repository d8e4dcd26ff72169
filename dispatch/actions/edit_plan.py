"""Editing the plan of a week by hand: a short read, the times anew, a short write.

Nothing is saved half: the steps of one call become one new version of the plan, or nothing does.
Nothing is refused silently: a broken rule comes back as data, with its amount.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING

from sqlalchemy import Engine
from sqlmodel import Session

from dispatch.actions.plan_versions import check_version, number_present
from dispatch.actions.week_desk import Desk, open_desk, open_problem, written
from dispatch.clock import IsoWeek, weekday_short
from dispatch.edits.compare import Difference, compare
from dispatch.edits.words import Names, sentence_of, subjects_of
from dispatch.planning.plan import WeekPlan
from dispatch.settings import Settings
from dispatch.store import plan_versions as store
from dispatch.store.book import read_sites, read_technicians
from dispatch.store.db import transaction
from dispatch.store.plan_versions import KeptPlan
from dispatch.store.plans import read_plan, read_plan_upkeep
from dispatch.words import _

if TYPE_CHECKING:  # compiled code, slow to import
    from dispatch.edits.moves import Edit
    from dispatch.planning.check import Violation

LONGEST_WORDS = 400  # characters of what was done, in the history


@dataclass(frozen=True, slots=True)
class Edited:
    """A plan after an edit, saved or only tried.

    `version` is that of the plan as it is stored now. `broken` are all rules that the plan breaks,
    `sentences` the same in words, `new` those of them that the plan before did not break; `what`
    says what was done; `left_out` are visits and upkeep not due any more that went with it.
    """

    version: int
    plan: WeekPlan
    difference: Difference
    broken: tuple[Violation, ...]
    sentences: tuple[str, ...]
    new: tuple[str, ...]
    what: str
    left_out: tuple[str, ...]


def edit_plan(
    engine: Engine,
    settings: Settings,
    week: IsoWeek,
    edits: Sequence[Edit],
    *,
    version: int,
    who: str,
    at: datetime,
    today: date,
    save: bool = True,
) -> Edited:
    """Edit the plan of `week`, step by step, as one new version.

    Parameters
    ----------
    version
        The version that whoever edits has seen; 0 for a plan from before versions were kept.
    save
        Whether to keep the plan; otherwise only to tell what it would be.

    Raises
    ------
    ChangedMeanwhile
        When another version is the present one; it tells who did what.
    InvalidValue
        When a step cannot be written down at all; nothing is changed.
    WeekInPast, NotFound, NoMap
        When the week is over, has no plan, or there is no street map.
    """
    from dispatch.edits.draft import draft_of
    from dispatch.edits.moves import edited

    with transaction(engine, read_only=True) as session:
        desk = open_desk(session, settings, week, today)
        check_version(session, week, version)
        before = set(store.broken_rules(session, week))
    problem = open_problem(settings, desk)
    draft = draft_of(desk.plan.routes)
    for edit in edits:
        draft = edited(problem, draft, edit)
    done = written(desk, problem, draft)
    what = _words(desk, edits)
    if save:
        kept = KeptPlan(
            plan=done.plan,
            upkeep=tuple(desk.upkeep.values()),
            inputs_digest=desk.inputs.digest,
            broken=done.broken,
            what=what,
            who=who,
            at=at,
        )
        with transaction(engine) as session:
            check_version(session, week, version)
            first = number_present(session, week, at)
            version = store.add_version(session, kept, undo_to=first)
    names = names_of(desk, done.plan)
    return Edited(
        version=version,
        plan=done.plan,
        difference=compare(desk.plan, done.plan),
        broken=done.broken,
        sentences=tuple(sentence_of(one, names) for one in done.broken),
        new=tuple(sentence_of(one, names) for one in done.broken if one not in before),
        what=what,
        left_out=done.left_out,
    )


def broken_sentences(session: Session, week: IsoWeek) -> list[str]:
    """The rules that the present plan of `week` broke when it was made, in words."""
    broken = store.broken_rules(session, week)
    if not broken:
        return []
    names = Names(
        technicians={one.id: one.name for one in read_technicians(session)},
        sites={one.id: one.name for one in read_sites(session)},
        site_of=subjects_of(read_plan(session, week)),
        titles={one.id: _(one.title) for one in read_plan_upkeep(session, week).values()},
    )
    return [sentence_of(one, names) for one in broken]


def names_of(desk: Desk, plan: WeekPlan) -> Names:
    """What a person calls the technicians, sites, visits and upkeep of a week."""
    return Names(
        technicians={one.id: one.name for one in desk.inputs.technicians},
        sites={one.id: one.name for one in desk.inputs.sites},
        site_of=subjects_of(desk.plan) | subjects_of(plan),
        titles={one.id: _(one.title) for one in desk.upkeep.values()},
    )


def _words(desk: Desk, edits: Sequence[Edit]) -> str:
    names = names_of(desk, desk.plan)
    told = "; ".join(_word(names, edit) for edit in edits)
    return (
        told
        if len(told) <= LONGEST_WORDS
        else _("{number} steps: {told}…").format(number=len(edits), told=told[:LONGEST_WORDS])
    )


def _word(names: Names, edit: Edit) -> str:
    from dispatch.edits.moves import Carry, TakeOut

    if isinstance(edit, Carry):
        where = names.subject(edit.visit_id) if edit.visit_id else ""
        said = _("{upkeep} put on the visit") if where else _("{upkeep} put off")
        return said.format(upkeep=names.subject(edit.upkeep_id))
    customer = names.subject(edit.visit_id)
    if isinstance(edit, TakeOut):
        return _("{customer} taken out").format(customer=customer)
    day = _("{weekday} {day}").format(weekday=weekday_short(edit.day), day=edit.day.day)
    technician = names.technician(edit.technician_id)
    if edit.position is None:
        said = _("{customer} to {technician}, {day}")
        return said.format(customer=customer, technician=technician, day=day)
    said = _("{customer} to {technician}, {day}, stop {position}")
    return said.format(
        customer=customer, technician=technician, day=day, position=edit.position + 1
    )
