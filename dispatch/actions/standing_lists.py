"""The moves of a study of standing routes as a table."""

from __future__ import annotations

from dispatch.actions.lists import ListTable
from dispatch.actions.standing import DESIGN, MovesFigures


def move_list(found: MovesFigures) -> ListTable:
    """The moves in their rank; minutes a week, rounded to one decimal.

    Those of a design have neither rank nor gain.
    """
    if found.name == DESIGN:
        design = tuple((one.site_id, one.site, one.old, one.new) for one in found.moves)
        return ListTable(("site_id", "site", "from", "to"), design)
    columns = ("rank", "site_id", "site", "from", "to", "drive_min_a_week", "spread_min")
    rows = tuple(
        (
            one.rank,
            one.site_id,
            one.site,
            one.old,
            one.new,
            _minutes(one.drive_s),
            _minutes(one.spread_s),
            round(one.after.drive_s / 3600, 2),
            round(one.after.spread_s / 60, 1),
        )
        for one in found.moves
    )
    return ListTable((*columns, "then_drive_h_a_week", "then_spread_min"), rows)


def _minutes(seconds: int | None) -> float | None:
    return None if seconds is None else round(seconds / 60, 1)
