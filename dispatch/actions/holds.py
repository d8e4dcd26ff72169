"""Holds, one at a time: added, ended, deleted."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from sqlmodel import Session

from dispatch.errors import InvalidValue, NotFound
from dispatch.sites import Hold
from dispatch.store import book
from dispatch.store.removal import delete_hold as delete_row
from dispatch.words import _


def add_hold(session: Session, hold: Hold) -> Hold:
    """Add a hold.

    Raises
    ------
    NotFound
        When the book has no such site.
    InvalidValue
        When a hold of the site begins on the same day.
    """
    book.read_site(session, hold.site_id)
    for other in book.read_holds(session):
        if (other.site_id, other.first_day) == (hold.site_id, hold.first_day):
            raise InvalidValue(
                _(
                    "Site {site} has a hold from {first_day} to {last_day} already: end or "
                    "delete that one first."
                ).format(site=hold.site_id, first_day=hold.first_day, last_day=other.last_day)
            )
    book.write_holds(session, [hold])
    return hold


def end_hold(session: Session, site_id: str, first_day: date, last_day: date) -> Hold:
    """End a hold on another day than was said, that day included; earlier or later.

    Raises
    ------
    NotFound
        When the site has no hold from that day.
    InvalidValue
        When the new last day lies before the first: such a hold is deleted instead.
    """
    hold = _hold(session, site_id, first_day)
    if last_day < first_day:
        raise InvalidValue(
            _(
                "A hold from {first_day} cannot end on {last_day}: delete it, or end it later."
            ).format(first_day=first_day, last_day=last_day)
        )
    ended = replace(hold, last_day=last_day)
    book.write_holds(session, [ended])
    return ended


def delete_hold(session: Session, site_id: str, first_day: date) -> None:
    """Take a hold out of the book; raises NotFound."""
    _hold(session, site_id, first_day)
    delete_row(session, site_id, first_day)


def _hold(session: Session, site_id: str, first_day: date) -> Hold:
    for hold in book.read_holds(session):
        if (hold.site_id, hold.first_day) == (site_id, first_day):
            return hold
    raise NotFound(
        _(
            "Site '{site}' has no hold that begins on {first_day}. The list of holds shows them."
        ).format(site=site_id, first_day=first_day)
    )
