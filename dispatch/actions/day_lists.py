"""Lists of a day: its stops, its history, and the options of a repair."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, datetime

from dispatch.actions.day_now import DayNow
from dispatch.actions.day_repair import Offer
from dispatch.actions.lists import Cell, ListTable
from dispatch.day.events import DayEvent
from dispatch.day.moments import clock_time
from dispatch.words import _

STOP_COLUMNS = (
    *("technician", "number", "visit", "site", "name", "state", "planned", "expected"),
    *("started_at", "left_at", "late", "reason", "note", "to_day", "in_hold"),
)
EVENT_COLUMNS = ("number", "at", "received_at", "kind", "who", "technician", "visit", "why")
OPTION_COLUMNS = (
    *("key", "title", "cost_min", "extra_drive_min", "works_late", "new_times"),
    *("other_day", "unplaced", "violations", "changed"),
)


def day_stop_list(now: DayNow) -> ListTable:
    """One line for each due visit: the routes in their order, then what stands in none."""
    rows: list[tuple[Cell, ...]] = [
        (
            one.technician_id,
            row.number,
            row.stop.visit_id,
            row.stop.site_id,
            row.site_name,
            str(row.now.state),
            clock_time(now.day, row.stop.start_s),
            "" if row.projected is None else clock_time(now.day, row.projected.start_s),
            _moment(row.now.started_at),
            _moment(row.now.left_at),
            row.is_late,
            row.now.reason,
            row.now.why,
            None,
            row.hold is not None,
        )
        for one in now.technicians
        for row in one.stops
    ]
    rows += [
        ("", 0, one.work.visit_id, one.work.site_id, name, str(one.state), "", "", "", "", False,
         one.reason, one.why, one.to_day, False)
        for name, one in now.others
    ]  # fmt: skip
    return ListTable(STOP_COLUMNS, tuple(rows))


def event_list(events: Iterable[DayEvent]) -> ListTable:
    """One line for each event, in the order in which it was learnt; moments are UTC."""
    rows = tuple(
        (
            one.number,
            _moment(one.at),
            _moment(one.received_at),
            str(one.kind),
            one.who,
            one.technician_id or "",
            one.visit_id or "",
            one.why,
        )
        for one in events
    )
    return ListTable(EVENT_COLUMNS, rows)


def option_list(offer: Offer) -> ListTable:
    """One line for each option, cheapest first; prices in minutes."""
    rows = tuple(
        (
            one.key,
            one.title,
            round(one.cost_s / 60),
            round(one.extra_drive_s / 60),
            "; ".join(
                _("{technician} {over} min").format(
                    technician=who.technician_id, over=-(-who.over_s // 60)
                )
                for who in one.late_workers
            ),
            "; ".join(change.visit_id for change in one.new_times),
            "; ".join(f"{place.visit_id} {place.day}" for place in one.other_days),
            "; ".join(left.visit_id for left in one.unplaced),
            "; ".join(f"{broken.rule} {broken.subject}" for broken in one.violations),
            "; ".join(one.changed),
        )
        for one in offer.options
    )
    return ListTable(OPTION_COLUMNS, rows)


def _moment(at: datetime | None) -> str:
    return "" if at is None else at.astimezone(UTC).isoformat(timespec="seconds")
