"""Invented records, as bare and as full as they come."""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import Any
from uuid import NAMESPACE_URL, uuid5

from dispatch.records.content import record_of
from dispatch.records.record import VisitRecord

DAY = date(2026, 11, 23)  # a Monday, two days before the tests' today


def record_id(number: int) -> str:
    return str(uuid5(NAMESPACE_URL, f"invented record {number}"))


def content(number: int = 1, **fields: Any) -> dict[str, Any]:
    """A bare record with some fields."""
    return {
        "id": record_id(number),
        "site_id": "S1",
        "technician_id": "T1",
        "day": DAY.isoformat(),
        "arrived_at": "2026-11-23T16:00:00Z",
        "left_at": "2026-11-23T16:32:00Z",
        **fields,
    }


def record(number: int = 1, **fields: Any) -> VisitRecord:
    """The value of `content`."""
    return record_of(content(number, **fields), UTC)


def full_content(number: int = 1) -> dict[str, Any]:
    """A record with something in every list."""
    return content(
        number,
        site_id="S2",
        visit_id="S2/2026-W48/1",
        readings=[
            {"kind": "free-chlorine", "value": 2.5, "unit": "ppm", "method": "drops"},
            {"kind": "ph", "value": 7.5},
            {"kind": "filter-pressure", "value": 29, "unit": "psi", "method": "gauge"},
            {"kind": "filter-pressure", "value": 18, "unit": "psi", "method": "gauge"},
            {"kind": "pump-speed", "value": 2400},
        ],
        work=["brushed", "vacuumed"],
        products=[
            {"product": "bleach", "amount": 32, "unit": "fl oz", "strength": 125},
            {"product": "salt", "amount": 2, "unit": "bag"},
        ],
        upkeep=[{"kind": "backwash", "note": "ran clear after two minutes"}],
        seen=["leak"],
        parts_to_order=["Lid o-ring"],
        photos=["ab" * 32],
        note="Gate sticks.",
    )


NOW = datetime(2026, 11, 25, 20, tzinfo=UTC)
