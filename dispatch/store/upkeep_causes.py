"""Why upkeep is due, as JSON and back."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

from dispatch.upkeep_causes import Cause, DueBy, Figure
from dispatch.upkeep_kinds import Trigger


def cause_dict(cause: Cause) -> dict[str, Any]:
    """A cause as JSON."""
    return {
        "by": str(cause.by),
        "on": cause.on.isoformat(),
        "trigger": cause.trigger and str(cause.trigger),
        "figures": [[one.name, one.value, one.unit] for one in cause.figures],
        "found": cause.found,
    }


def cause_of(row: Mapping[str, Any]) -> Cause:
    """The cause of its JSON."""
    return Cause(
        by=DueBy(row["by"]),
        on=date.fromisoformat(row["on"]),
        trigger=row["trigger"] and Trigger(row["trigger"]),
        figures=tuple(Figure(name, value, unit) for name, value, unit in row["figures"]),
        found=row["found"],
    )
