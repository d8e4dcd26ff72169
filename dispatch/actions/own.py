"""Holding a technician to what is his own."""

from __future__ import annotations

from datetime import date

from sqlmodel import Session

from dispatch.errors import NotAllowed
from dispatch.people import Person, Role
from dispatch.store import own
from dispatch.words import _


def check_own_route(person: Person, technician_id: str) -> None:
    """Refuse a technician another technician's route; others may see all.

    Raises
    ------
    NotAllowed
        When the route is not the technician's own.
    """
    if person.role is Role.TECHNICIAN and person.technician_id != technician_id:
        raise NotAllowed(
            _(
                "{name} may see the days of technician '{technician}' only, not those of "
                "'{other_technician}'."
            ).format(
                name=person.name,
                technician=person.technician_id,
                other_technician=technician_id[:60],
            )
        )


def check_own_site(session: Session, person: Person, site_id: str, today: date) -> None:
    """Refuse a technician a site of none of his routes; raises as `check_own_route`."""
    if person.role is not Role.TECHNICIAN:
        return
    if not own.is_own_site(session, person.technician_id or "", site_id, today):
        raise NotAllowed(
            _(
                "The site '{site}' is in no route of {name}, from four weeks ago on: the "
                "dispatcher can say more about it."
            ).format(site=site_id[:60], name=person.name)
        )


def check_own_record(session: Session, person: Person, record_id: str) -> None:
    """Refuse a technician a record somebody else made; raises as `check_own_route`."""
    if person.role is not Role.TECHNICIAN:
        return
    if not own.is_own_record(session, person.technician_id or "", record_id):
        raise NotAllowed(
            _("{name} may see and correct his own records only.").format(name=person.name)
        )


def check_own_photo(session: Session, person: Person, photo_id: str) -> None:
    """Refuse a technician a photo of somebody else's record; raises as `check_own_route`."""
    if person.role is not Role.TECHNICIAN:
        return
    if not own.is_own_photo(session, person.technician_id or "", photo_id):
        raise NotAllowed(
            _("{name} may see the photos of his own records only.").format(name=person.name)
        )
