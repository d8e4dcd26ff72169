"""How a customer is told: the e-mail address of a site and what it is wanted for."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace

from sqlmodel import Session

from dispatch.contacts import NoticeWish, parse_email
from dispatch.sites import Site
from dispatch.store.book import read_site, write_sites


def set_contact(
    session: Session, site_id: str, email: str, notices: Collection[NoticeWish]
) -> Site:
    """Write down where a customer is told of visits, and of what; an empty address ends both.

    Raises
    ------
    NotFound
        When there is no such site.
    InvalidValue
        When the address is none, or something is wished without one.
    """
    site = read_site(session, site_id)
    address = parse_email(email.strip()) if email.strip() else ""
    after = replace(site, email=address, notices=frozenset(notices))
    write_sites(session, [after])
    return after
