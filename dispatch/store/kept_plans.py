"""Whole plans as compressed JSON and back; a plan read is equal to the plan kept."""

from __future__ import annotations

import json
import zlib
from collections.abc import Sequence
from dataclasses import asdict
from datetime import date
from typing import Any

from pydantic import TypeAdapter

from dispatch.planning.check import Violation
from dispatch.planning.plan import WeekPlan
from dispatch.store.plans import upkeep_columns, upkeep_of
from dispatch.upkeep import UpkeepDue

PLANS = TypeAdapter(WeekPlan)
BROKEN = TypeAdapter(tuple[Violation, ...])
UPKEEP_DAYS = ("earliest_on", "due_on", "latest_on", "set_for")


def packed(plan: WeekPlan, upkeep: Sequence[UpkeepDue]) -> bytes:
    """A plan with the upkeep it was made with, as bytes."""
    content = {
        "plan": PLANS.dump_python(plan, mode="json"),
        "upkeep": [upkeep_columns(one) for one in upkeep],
    }
    return zlib.compress(json.dumps(content, default=_plain).encode(), level=6)


def unpacked(data: bytes) -> tuple[WeekPlan, tuple[UpkeepDue, ...]]:
    """The plan and the upkeep of these bytes."""
    content = json.loads(zlib.decompress(data))
    upkeep = [_with_days(columns) for columns in content["upkeep"]]
    return PLANS.validate_python(content["plan"]), tuple(upkeep_of(one) for one in upkeep)


def broken_columns(broken: Sequence[Violation]) -> list[dict[str, Any]]:
    """Broken rules as JSON."""
    found: list[dict[str, Any]] = BROKEN.dump_python(tuple(broken), mode="json")
    return list(found)


def broken_of(columns: Sequence[dict[str, Any]]) -> tuple[Violation, ...]:
    """Broken rules of their JSON."""
    return BROKEN.validate_python(columns)


def _with_days(columns: dict[str, Any]) -> dict[str, Any]:
    days = {name: columns[name] and date.fromisoformat(columns[name]) for name in UPKEEP_DAYS}
    return columns | days


def _plain(value: Any) -> Any:
    return value.isoformat() if isinstance(value, date) else asdict(value)
