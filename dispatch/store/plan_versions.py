"""Versions of a week's plan as rows and back: what was, who changed it, what undo brings back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import Any

from sqlalchemy import delete, func, insert, select
from sqlmodel import Session

from dispatch.clock import IsoWeek
from dispatch.edits.locks import Lock, LockKind
from dispatch.errors import NotFound
from dispatch.planning.check import Violation
from dispatch.planning.plan import WeekPlan
from dispatch.store.days import read_published_days, read_published_routes
from dispatch.store.desk_tables import PlanLockRow, PlanProposalRow, PlanVersionRow
from dispatch.store.kept_plans import broken_columns, broken_of, packed, unpacked
from dispatch.store.plans import write_plan
from dispatch.store.tables import RouteRow, StopRow, read_rows, table_of, write_rows
from dispatch.upkeep import UpkeepDue
from dispatch.words import _

KEPT_VERSIONS = 200  # of a week; an older one cannot be gone back to any more
NOTED = ("number", "what", "who", "at", "step", "undo_to", "redo_to")
Columns = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class KeptPlan:
    """A whole plan as it stood, with who made it and in what words; `at` is aware UTC."""

    plan: WeekPlan
    upkeep: tuple[UpkeepDue, ...]
    inputs_digest: str
    broken: tuple[Violation, ...]
    what: str
    who: str
    at: datetime


@dataclass(frozen=True, slots=True)
class VersionNote:
    """What is known of a version without opening its plan."""

    number: int
    what: str
    who: str
    at: datetime
    step: str = ""
    undo_to: int | None = None
    redo_to: int | None = None


def version_notes(session: Session, week: IsoWeek) -> list[VersionNote]:
    """The versions of a week's plan that are kept, earliest first."""
    table = table_of(PlanVersionRow)
    columns = [table.c[name] for name in NOTED]
    query = select(*columns).where(table.c.week == str(week)).order_by(table.c.number)
    return [
        VersionNote(**{**row, "at": row["at"].replace(tzinfo=UTC)})
        for row in session.execute(query).mappings()
    ]


def present_version(session: Session, week: IsoWeek) -> int:
    """Number of the present version; 0 for a plan without any, or for none."""
    table = table_of(PlanVersionRow)
    query = select(func.max(table.c.number)).where(table.c.week == str(week))
    return int(session.execute(query).scalar() or 0)


def read_version(session: Session, week: IsoWeek, number: int) -> KeptPlan:
    """A version of a week's plan; raises NotFound where it was never made or is kept no more."""
    table = table_of(PlanVersionRow)
    rows = read_rows(session, PlanVersionRow, table.c.week == str(week), table.c.number == number)
    if not rows:
        raise NotFound(
            _(
                "There is no version {number} of the plan of week {week}: the last "
                "{kept_versions} are kept."
            ).format(number=number, week=week, kept_versions=KEPT_VERSIONS),
            command=f"dispatch week history {week}",
        )
    return _kept_of(rows[0])


def broken_rules(session: Session, week: IsoWeek) -> tuple[Violation, ...]:
    """The rules that the present plan of a week broke when it was made."""
    table = table_of(PlanVersionRow)
    query = (
        select(table.c.broken)
        .where(table.c.week == str(week))
        .order_by(table.c.number.desc())
        .limit(1)
    )
    return broken_of(session.execute(query).scalar() or [])


def add_version(
    session: Session,
    kept: KeptPlan,
    *,
    step: str = "",
    undo_to: int | None = None,
    redo_to: int | None = None,
) -> int:
    """Make a plan the present one of its week, as a new version; return its number.

    `step` are the words for what led to it, those of the plan where it is empty.
    """
    week = kept.plan.week
    number = present_version(session, week) + 1
    write_plan(session, kept.plan, kept.upkeep, kept.inputs_digest)
    columns = {"week": str(week), "number": number, "step": step or kept.what}
    columns |= {"undo_to": undo_to, "redo_to": redo_to}
    table = table_of(PlanVersionRow)
    session.execute(insert(table), [columns | _kept_columns(kept)])
    too_old = table.c.number <= number - KEPT_VERSIONS
    session.execute(delete(table).where(table.c.week == str(week), too_old))
    return number


def write_proposal(session: Session, kept: KeptPlan, base: int) -> None:
    """Keep a plan beside the present one, made from version `base`; it replaces an older one."""
    columns = {"week": str(kept.plan.week), "base": base}
    write_rows(session, PlanProposalRow, [columns | _kept_columns(kept)])


def read_proposal(session: Session, week: IsoWeek) -> tuple[KeptPlan, int]:
    """The proposal of a week and the version it was made from; raises NotFound."""
    table = table_of(PlanProposalRow)
    rows = read_rows(session, PlanProposalRow, table.c.week == str(week))
    if not rows:
        raise NotFound(
            _("There is no proposal for week {week}: plan the week again to have one.").format(
                week=week
            ),
            command=f"dispatch week again {week}",
        )
    return _kept_of(rows[0]), int(rows[0]["base"])


def delete_proposal(session: Session, week: IsoWeek) -> None:
    """Throw the proposal of a week away; nothing happens where there is none."""
    table = table_of(PlanProposalRow)
    session.execute(delete(table).where(table.c.week == str(week)))


def read_locks(session: Session, week: IsoWeek) -> list[Lock]:
    """The locks of a week, by kind and subject."""
    rows = read_rows(session, PlanLockRow, table_of(PlanLockRow).c.week == str(week))
    return [Lock.of_subject(LockKind(row["kind"]), row["subject"]) for row in rows]


def write_lock(session: Session, week: IsoWeek, lock: Lock) -> None:
    """Add a lock; twice does no harm."""
    delete_lock(session, week, lock)
    columns = {"week": str(week), "kind": str(lock.kind), "subject": lock.subject}
    session.execute(insert(table_of(PlanLockRow)), [columns])


def delete_lock(session: Session, week: IsoWeek, lock: Lock) -> None:
    """Take a lock away; nothing happens where there is none."""
    table = table_of(PlanLockRow)
    session.execute(
        delete(table).where(
            table.c.week == str(week),
            table.c.kind == str(lock.kind),
            table.c.subject == lock.subject,
        )
    )


def keeps_something(session: Session, week: IsoWeek, today: date) -> bool:
    """Whether a part of the plan of `week` is locked, published, or on days before `today`."""
    table = table_of(RouteRow)
    routes = read_rows(session, RouteRow, table.c.week == str(week))
    if not routes:
        return False
    past = any(row["day"] < today and row["service_s"] for row in routes)
    published = set(read_published_days(session)) & set(week.days)
    return past or bool(published) or bool(read_locks(session, week))


def kept_upkeep(session: Session, week: IsoWeek) -> frozenset[str]:
    """Ids of the upkeep on routes of the plan of `week` that are published or locked."""
    published, locks = read_published_routes(session, week.days), read_locks(session, week)
    routes = published | {(one.technician_id, one.day) for one in locks}
    days = {one.day for one in locks if one.kind is LockKind.DAY}
    stops = read_rows(session, StopRow, table_of(StopRow).c.week == str(week))
    return frozenset(
        upkeep_id
        for stop in stops
        if stop["day"] in days or (stop["technician_id"], stop["day"]) in routes
        for upkeep_id in stop["upkeep_ids"]
    )


def _kept_columns(kept: KeptPlan) -> dict[str, Any]:
    return {
        "at": kept.at.astimezone(UTC).replace(tzinfo=None),
        "who": kept.who,
        "what": kept.what,
        "inputs_digest": kept.inputs_digest,
        "plan": packed(kept.plan, kept.upkeep),
        "broken": broken_columns(kept.broken),
    }


def _kept_of(row: Columns) -> KeptPlan:
    plan, upkeep = unpacked(row["plan"])
    return KeptPlan(
        plan=plan,
        upkeep=upkeep,
        inputs_digest=row["inputs_digest"],
        broken=broken_of(row["broken"]),
        what=row["what"],
        who=row["who"],
        at=row["at"].replace(tzinfo=UTC),
    )
