"""Dated changes of standing routes, written and read; and the latest studies of the loads."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from sqlmodel import Session

from dispatch.standing.values import ChangeState, Habit, StandingChange
from dispatch.store.standing_tables import StandingChangeRow, StudyRow
from dispatch.store.tables import read_rows, table_of, write_rows

Columns = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Study:
    """The latest outcome of a long reckoning: its name, what it is about, when, and the figures."""

    name: str
    subject: str
    made_at: datetime
    result: dict[str, Any]


def write_changes(session: Session, changes: Sequence[StandingChange]) -> None:
    """Add the changes; one whose id is known is replaced whole."""
    write_rows(session, StandingChangeRow, [change_columns(one) for one in changes])


def read_changes(session: Session) -> list[StandingChange]:
    """All changes, whatever has become of them, by first day and site."""
    found = [change_of(row) for row in read_rows(session, StandingChangeRow)]
    return sorted(found, key=lambda one: (one.from_on, one.site_id, one.made_on, one.id))


def read_planned_changes(session: Session) -> list[StandingChange]:
    """The changes that are still to come about, by first day and site."""
    return [one for one in read_changes(session) if one.state is ChangeState.PLANNED]


def change_columns(change: StandingChange) -> dict[str, Any]:
    """Columns of a change, as in `StandingChangeFields`."""
    return {
        "id": change.id,
        "batch": change.batch,
        "site_id": change.site_id,
        "from_on": change.from_on,
        **_habit_columns("old", change.old),
        **_habit_columns("new", change.new),
        "why": change.why,
        "who": change.who,
        "made_on": change.made_on,
        "state": str(change.state),
        "ended_on": change.ended_on,
        "ended_by": change.ended_by,
    }


def change_of(row: Columns) -> StandingChange:
    """The change of its columns."""
    return StandingChange(
        id=row["id"],
        batch=row["batch"],
        site_id=row["site_id"],
        from_on=row["from_on"],
        old=_habit_of("old", row),
        new=_habit_of("new", row),
        why=row["why"],
        who=row["who"],
        made_on=row["made_on"],
        state=ChangeState(row["state"]),
        ended_on=row["ended_on"],
        ended_by=row["ended_by"],
    )


def write_study(session: Session, study: Study) -> None:
    """Keep a study in place of the one before it."""
    row = {
        "name": study.name,
        "subject": study.subject,
        "made_at": study.made_at.astimezone(UTC).replace(tzinfo=None),
        "result": study.result,
    }
    write_rows(session, StudyRow, [row])


def read_study(session: Session, name: str, subject: str = "") -> Study | None:
    """The latest study of this name and subject; None where there has been none."""
    table = table_of(StudyRow)
    rows = read_rows(session, StudyRow, table.c.name == name, table.c.subject == subject)
    if not rows:
        return None
    row = rows[0]
    return Study(row["name"], row["subject"], row["made_at"].replace(tzinfo=UTC), row["result"])


def _habit_columns(prefix: str, habit: Habit) -> dict[str, Any]:
    return {
        f"{prefix}_technician_id": habit.technician_id,
        f"{prefix}_weekdays": sorted(habit.weekdays),
        f"{prefix}_anchor_on": habit.anchor_on,
    }


def _habit_of(prefix: str, row: Columns) -> Habit:
    return Habit(
        row[f"{prefix}_technician_id"],
        frozenset(row[f"{prefix}_weekdays"]),
        row[f"{prefix}_anchor_on"],
    )
