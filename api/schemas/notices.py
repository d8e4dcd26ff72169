"""JSON of messages to customers; addresses stand with their sites alone."""

from __future__ import annotations

from datetime import date, datetime

from pydantic import BaseModel, Field

from dispatch.actions.notices import DayNotices, ShownNotice
from dispatch.contacts import LONGEST_EMAIL, NoticeWish
from dispatch.notices.notice import NoticeKind, NoticeState


class ContactIn(BaseModel):
    """Where a customer is told of visits, and of what."""

    email: str = Field(
        max_length=LONGEST_EMAIL, description="empty: nowhere", examples=["office@example.org"]
    )
    notices: list[NoticeWish] = Field(max_length=len(NoticeWish))


class NoticeOut(BaseModel):
    """One message; `window_s` are seconds of its day, null where there is no time or none now."""

    visit_id: str
    kind: NoticeKind
    number: int
    site_id: str
    site_name: str
    day: date
    from_day: date | None
    window_s: tuple[int, int] | None
    state: NoticeState
    tries: int
    made_at: datetime
    sent_at: datetime | None
    why: str

    @classmethod
    def of(cls, shown: ShownNotice) -> NoticeOut:
        """The JSON of a message."""
        one = shown.notice
        return cls(
            visit_id=one.visit_id,
            kind=one.kind,
            number=one.number,
            site_id=one.site_id,
            site_name=shown.site_name,
            day=one.day,
            from_day=one.from_day,
            window_s=shown.window_s,
            state=one.state,
            tries=one.tries,
            made_at=one.made_at,
            sent_at=one.sent_at,
            why=one.why,
        )


class DayNoticesOut(BaseModel):
    """Who would be told about a day if it were told now, and what was decided on before."""

    day: date
    sends_mail: bool = Field(description="whether a mail server is set")
    due: list[NoticeOut]
    kept: list[NoticeOut]

    @classmethod
    def of(cls, found: DayNotices, *, sends_mail: bool) -> DayNoticesOut:
        """The JSON of a day's messages."""
        return cls(
            day=found.day,
            sends_mail=sends_mail,
            due=[NoticeOut.of(one) for one in found.due],
            kept=[NoticeOut.of(one) for one in found.kept],
        )
