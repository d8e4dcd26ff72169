"""Links that customers are given, one for each visit."""

from __future__ import annotations

from fastapi import APIRouter
from pydantic import BaseModel, Field

from api.deps import DayPath, SettingsDep, WriteSession
from api.given_out import address_of
from dispatch.actions.visit_link import visit_token

router = APIRouter(tags=["feeds"])


class VisitLinkIn(BaseModel):
    """The visit that a link is wanted for."""

    visit_id: str = Field(max_length=200, examples=["S017/2026-W49/1"])


class VisitLinkOut(BaseModel):
    """Where the customer looks; whoever knows the address sees the visit."""

    address: str


@router.post("/days/{day}/visit-links", status_code=201)
def make_visit_link(
    session: WriteSession, settings: SettingsDep, day: DayPath, visit: VisitLinkIn
) -> VisitLinkOut:
    """Make the link of a visit, published or planned: when to expect it, then what was done."""
    token = visit_token(session, settings, day, visit.visit_id)
    return VisitLinkOut(address=address_of(settings, f"/visit/{token}"))
