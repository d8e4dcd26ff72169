"""Lists as CSV downloads."""

from __future__ import annotations

from fastapi.responses import Response

from api.downloads import disposition
from dispatch.actions.lists import ListTable, as_csv


def csv_answer(name: str, table: ListTable) -> Response:
    """The list as a file `name`.csv (RFC 4180, UTF-8)."""
    return Response(
        as_csv(table).encode("utf-8"),
        media_type="text/csv; charset=utf-8",
        headers={"Content-Disposition": disposition(f"{name}.csv")},
    )
