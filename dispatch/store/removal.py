"""Taking things out of the book, unless plans or records need them."""

from __future__ import annotations

from datetime import date

from sqlalchemy import Table, delete, func, select
from sqlmodel import Session

from dispatch.errors import InUse
from dispatch.store.calendars import delete_mark
from dispatch.store.metadata import METADATA
from dispatch.store.tables import (
    HoldRow,
    OneOffRow,
    SiteRow,
    TechnicianRow,
    table_of,
)
from dispatch.words import _


def delete_site(session: Session, site_id: str) -> None:
    """Delete a site with its holds and one-off work.

    Raises
    ------
    InUse
        When plans, records or anything else refer to it.
    """
    _refuse_if_used(
        session,
        table_of(SiteRow),
        site_id,
        _("Site {site}").format(site=site_id),
        _(
            "Give it a hold that does not end instead; then it gets no visits, and what was "
            "done there stays known."
        ),
    )
    sites = table_of(SiteRow)
    session.execute(delete(sites).where(sites.c.id == site_id))


def delete_technician(session: Session, technician_id: str) -> None:
    """Delete a technician with the calendar's address; sites that name this one keep the name.

    Raises
    ------
    InUse
        When plans, records or anything else refer to the technician.
    """
    _refuse_if_used(
        session,
        table_of(TechnicianRow),
        technician_id,
        _("Technician {technician}").format(technician=technician_id),
        _(
            "Give days off instead; then nothing is planned for this technician, and what was "
            "done stays known."
        ),
    )
    delete_mark(session, technician_id)
    technicians = table_of(TechnicianRow)
    session.execute(delete(technicians).where(technicians.c.id == technician_id))


def delete_hold(session: Session, site_id: str, first_day: date) -> None:
    """Delete a hold; nothing happens when it is not there."""
    holds = table_of(HoldRow)
    session.execute(delete(holds).where(holds.c.site_id == site_id, holds.c.first_day == first_day))


def delete_one_off(session: Session, work_id: str) -> None:
    """Delete one-off work; nothing happens when it is not there."""
    works = table_of(OneOffRow)
    session.execute(delete(works).where(works.c.id == work_id))


def _refuse_if_used(session: Session, table: Table, row_id: str, thing: str, mend: str) -> None:
    """Raise InUse when a row that would not go with it refers to the row of `table`."""
    uses: list[str] = []
    for other in METADATA.sorted_tables:
        for key in other.foreign_keys:
            if key.column.table is not table or key.ondelete == "CASCADE":
                continue
            count = session.execute(
                select(func.count()).select_from(other).where(key.parent == row_id)
            ).scalar_one()
            if count:
                uses.append(
                    _("{count} in '{name}'").format(count=count, name=other.name.replace("_", " "))
                )
    if uses:
        raise InUse(
            _(
                "{thing} cannot be deleted, because plans or records refer to it ({uses}). {mend}"
            ).format(thing=thing, uses=", ".join(uses), mend=mend)
        )
