"""Telling customers that their pool was serviced: written with the record, sent afterwards."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from sqlmodel import Session

from dispatch.notices.due import notice_of_record
from dispatch.records.record import VisitRecord
from dispatch.settings import Settings
from dispatch.sites import Site
from dispatch.store.notices import add_notices, read_notices_of


def tell_done(
    session: Session,
    settings: Settings,
    records: Iterable[VisitRecord],
    sites: Mapping[str, Site],
) -> None:
    """Put into the outbox that visits were done, where their sites wish it and mail can go out."""
    if not settings.sends_mail:
        return
    wished = [one for one in records if one.visit_id and sites[one.site_id].notices]
    if not wished:
        return
    told = read_notices_of(session, {one.visit_id for one in wished if one.visit_id})
    now, today = settings.now(), settings.today()
    for record in wished:
        made = notice_of_record(record, sites[record.site_id], told, now, today)
        if made is not None:
            add_notices(session, [made])
            told.append(made)
