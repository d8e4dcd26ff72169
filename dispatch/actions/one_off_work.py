"""One-off work: taken in as a table, added by itself, visited, finished, deleted."""

from __future__ import annotations

from datetime import date

from sqlmodel import Session

from dispatch.actions.lists import cells_by_id, one_off_list
from dispatch.errors import InvalidValue, NotFound
from dispatch.intake.one_off_rows import read_one_offs as read_one_off_rows
from dispatch.one_offs import OneOff
from dispatch.settings import Settings
from dispatch.store import book
from dispatch.store.one_off_stops import read_ids_used
from dispatch.store.removal import delete_one_off as delete_row
from dispatch.technicians import unknown_technician
from dispatch.words import _


def one_offs(session: Session) -> list[OneOff]:
    """All one-off work, finished or not, ordered by id."""
    return book.read_one_offs(session)


def one_off(session: Session, work_id: str) -> OneOff:
    """The work of an id; raises NotFound."""
    for work in book.read_one_offs(session):
        if work.id == work_id:
            return work
    raise NotFound(
        _("There is no one-off work '{work}'. The list of one-off work shows the ids.").format(
            work=work_id
        )
    )


def import_one_offs(session: Session, settings: Settings, text: str) -> int:
    """Take in a table of one-off work, all or nothing.

    Of work whose id is known, a column that the table lacks leaves what is there, and an empty
    cell empties: a table that grows and is taken in again reopens nothing that was finished.

    Raises
    ------
    ImportRejected
        With every bad row in `problems`, those of unknown sites and technicians among them.
    """
    known = {site.id for site in book.read_sites(session)}
    staff = {technician.id for technician in book.read_technicians(session)}
    found = read_one_off_rows(
        text,
        known,
        known_technicians=staff or None,
        today=settings.today(),
        known=cells_by_id(one_off_list(book.read_one_offs(session))),
    )
    book.write_one_offs(session, found)
    return len(found)


def add_one_off(session: Session, work: OneOff) -> OneOff:
    """Add one piece of work; `next_one_off_id` has an id for it.

    Raises
    ------
    InvalidValue
        When its id is taken.
    NotFound
        When the book has no such site or technician.
    """
    book.read_site(session, work.site_id)
    wanted = work.technician_id
    if wanted is not None and book.read_technician(session, wanted) is None:
        raise unknown_technician(wanted)
    if any(other.id == work.id for other in book.read_one_offs(session)):
        raise InvalidValue(
            _("There is one-off work '{id}' already: give it another id.").format(id=work.id)
        )
    book.write_one_offs(session, [work])
    return work


def next_one_off_id(session: Session) -> str:
    """An id that no one-off work has or had, as 'J12'.

    Deleted work lives on in plans and records; new work of its id would take their visits for its
    own, as planned or done.
    """
    taken = {work.id for work in book.read_one_offs(session)} | read_ids_used(session)
    number = len(taken) + 1
    while f"J{number}" in taken:
        number += 1
    return f"J{number}"


def visit_one_off(session: Session, work_id: str, on: date) -> OneOff:
    """Note that a visit of the work took place; the last one finishes it. Raises NotFound."""
    work = one_off(session, work_id).visited(on)
    book.write_one_offs(session, [work])
    return work


def finish_one_off(session: Session, work_id: str, on: date) -> OneOff:
    """Note that the work was finished, or given up, on a day. Raises NotFound."""
    work = one_off(session, work_id).finished(on)
    book.write_one_offs(session, [work])
    return work


def delete_one_off(session: Session, work_id: str) -> None:
    """Take the work out of the book; plans that have visits of it keep them. Raises NotFound."""
    one_off(session, work_id)
    delete_row(session, work_id)
