"""Which sites are near an address."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query

from api.deps import ReadSession, SettingsDep
from api.schemas.reach import WithinOut
from dispatch.actions.reach import sites_within

router = APIRouter(prefix="/map", tags=["map"])

MOST_MINUTES = 240.0  # half a working day; nobody drives further to a pool


@router.get("/within")
def list_sites_within(
    session: ReadSession,
    settings: SettingsDep,
    address: Annotated[str, Query(min_length=1, examples=["12 Oak Street, Millbrook"])],
    minutes: Annotated[float, Query(ge=0, le=MOST_MINUTES, description="of driving")] = 10.0,
) -> WithinOut:
    """Sites within some minutes of an address, the nearest first."""
    return WithinOut.of(sites_within(session, settings, address, round(minutes * 60)))
