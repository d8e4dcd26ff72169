"""What was learnt from records, as lists."""

from __future__ import annotations

from collections.abc import Iterable

from dispatch.actions.learnt import LearntDrives, SitePlannedActual, VisitMinutes
from dispatch.actions.lists import ListTable
from dispatch.records.learnt_minutes import LearntMinutes


def minutes_list(rows: Iterable[SitePlannedActual]) -> ListTable:
    """Each site's minutes agreed, planned, actual and learnt, with the 80 % interval."""
    columns = (
        "site_id",
        "name",
        "visits",
        "agreed_min",
        "planned_min",
        "actual_min",
        "learnt_min",
        "low_min",
        "high_min",
        "words",
    )
    cells = tuple(
        (
            one.site.id,
            one.site.name,
            one.minutes.visits,
            round(one.minutes.agreed_min),
            _rounded(one.planned_min),
            _rounded(one.minutes.actual_min),
            round(one.minutes.learnt_min, 1),
            round(one.minutes.low_min, 1),
            round(one.minutes.high_min, 1),
            one.minutes.words,
        )
        for one in rows
    )
    return ListTable(columns, cells)


def visit_minutes_list(rows: Iterable[VisitMinutes]) -> ListTable:
    """Planned and actual minutes, visit by visit."""
    columns = ("day", "site_id", "technician_id", "planned_min", "actual_min", "upkeep")
    cells = tuple(
        (
            one.day,
            one.site_id,
            one.technician_id,
            _rounded(one.planned_min),
            _rounded(one.actual_min),
            "; ".join(one.upkeep_kinds),
        )
        for one in rows
    )
    return ListTable(columns, cells)


def pace_list(found: LearntMinutes) -> ListTable:
    """Technicians' paces; 1.10 takes a tenth longer than others at the same pools."""
    rows = tuple((one.technician_id, round(one.factor, 2), one.visits) for one in found.paces)
    return ListTable(("technician_id", "pace", "visits"), rows)


def upkeep_minutes_list(found: LearntMinutes) -> ListTable:
    """Minutes by which each upkeep lengthens a visit: in the table, and learnt."""
    rows = tuple(
        (one.kind, one.table_min, round(one.learnt_min, 1), one.visits) for one in found.upkeep
    )
    return ListTable(("upkeep", "table_min", "learnt_min", "visits"), rows)


def drive_list(found: LearntDrives) -> ListTable:
    """Factors of drive times by region and part of the day, with the words on how each came."""
    rows = tuple(
        (one.region, one.part, one.drives, one.observed or None, one.factor, one.words)
        for one in found.learnt
    )
    return ListTable(("region", "part", "drives", "observed", "factor", "words"), rows)


def _rounded(minutes: float | None) -> float | None:
    return None if minutes is None else round(minutes, 1)
