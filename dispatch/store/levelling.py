"""The latest spreading of upkeep over the weeks, written whole and read whole."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date

from sqlalchemy import delete
from sqlmodel import Session

from dispatch.clock import IsoWeek
from dispatch.levelling.values import Levelling
from dispatch.store.tables import (
    LevelLoadRow,
    LevelRunRow,
    LevelSlotRow,
    read_rows,
    table_of,
    write_rows,
)

ONLY = 1  # id of the one run that is kept


@dataclass(frozen=True, slots=True)
class KeptSlot:
    """One upkeep in its week, as it was set."""

    site_id: str
    kind: str
    number: int
    title: str
    week: IsoWeek
    day: date
    technician_id: str
    earliest_on: date
    due_on: date
    latest_on: date
    minutes: int
    mass_kg: float


@dataclass(frozen=True, slots=True)
class KeptLoad:
    """A technician's week: what it has room for and what upkeep takes of it, in minutes."""

    technician_id: str
    week: IsoWeek
    shift_min: int
    visit_min: int
    drive_min: int
    room_min: int
    upkeep_min: int
    mass_kg: float


@dataclass(frozen=True, slots=True)
class KeptLevelling:
    """The latest spreading; `left_out` holds a sentence for each upkeep without a week."""

    first_week: IsoWeek
    weeks: int
    made_on: date
    cost: float
    bound: float
    left_out: tuple[str, ...]
    slots: tuple[KeptSlot, ...]
    loads: tuple[KeptLoad, ...]

    @property
    def gap(self) -> float:
        """How far the cost may at most lie above the best possible, as a share of the bound."""
        return max(0.0, (self.cost - self.bound) / max(self.bound, 1.0))


def write_levelling(session: Session, made: Levelling, made_on: date, digest: str) -> None:
    """Keep a spreading in place of the one before it."""
    for row in (LevelSlotRow, LevelLoadRow, LevelRunRow):
        session.execute(delete(table_of(row)))
    run = {
        "id": ONLY,
        "first_week": str(made.first_week),
        "weeks": made.weeks,
        "made_on": made_on,
        "cost": made.cost,
        "bound": made.bound,
        "inputs_digest": digest,
        "late": [{"reason": one.reason, "job": one.job.id} for one in made.left_out],
    }
    write_rows(session, LevelRunRow, [run])
    write_rows(
        session,
        LevelSlotRow,
        [
            {
                "site_id": slot.job.site_id,
                "kind": slot.job.kind,
                "number": slot.job.number,
                "title": slot.job.title,
                "week": str(slot.week),
                "day": slot.day,
                "technician_id": slot.technician_id,
                "earliest_on": slot.job.earliest_on,
                "due_on": slot.job.due_on,
                "latest_on": slot.job.latest_on,
                "minutes": slot.job.minutes,
                "mass_kg": slot.job.mass_kg,
            }
            for slot in made.slots
        ],
    )
    _write_loads(session, made)


def read_levelling(session: Session) -> KeptLevelling | None:
    """The latest spreading; None while there has been none."""
    runs = read_rows(session, LevelRunRow)
    if not runs:
        return None
    run = runs[0]
    loads = [
        KeptLoad(**{**row, "week": IsoWeek.parse(row["week"])})
        for row in read_rows(session, LevelLoadRow)
    ]
    return KeptLevelling(
        first_week=IsoWeek.parse(run["first_week"]),
        weeks=run["weeks"],
        made_on=run["made_on"],
        cost=run["cost"],
        bound=run["bound"],
        left_out=tuple(one["reason"] for one in run["late"]),
        slots=tuple(read_slots(session)),
        loads=tuple(loads),
    )


def read_slots(session: Session) -> list[KeptSlot]:
    """All upkeep that has its week, by site, kind and number."""
    return [
        KeptSlot(**{**row, "week": IsoWeek.parse(row["week"])})
        for row in read_rows(session, LevelSlotRow)
    ]


def _write_loads(session: Session, made: Levelling) -> None:
    minutes: dict[tuple[str, IsoWeek], int] = defaultdict(int)
    masses: dict[tuple[str, IsoWeek], float] = defaultdict(float)
    for slot in made.slots:
        minutes[slot.technician_id, slot.week] += slot.job.minutes
        masses[slot.technician_id, slot.week] += slot.job.mass_kg
    rows = [
        {
            "technician_id": room.technician_id,
            "week": str(room.week),
            "shift_min": room.shift_min,
            "visit_min": room.visit_min,
            "drive_min": room.drive_min,
            "room_min": room.room_min,
            "upkeep_min": minutes[room.technician_id, room.week],
            "mass_kg": round(masses[room.technician_id, room.week], 1),
        }
        for room in made.rooms
    ]
    write_rows(session, LevelLoadRow, rows)
