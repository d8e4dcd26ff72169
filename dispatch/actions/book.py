"""The company's book: what is imported, and what is in it."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from sqlmodel import Session

from dispatch.actions.gate_codes import sealed_sites
from dispatch.actions.lists import cells_by_id, site_list, technician_list
from dispatch.actions.maps import road_map
from dispatch.errors import InUse
from dispatch.intake.hold_rows import read_holds as read_hold_rows
from dispatch.intake.site_rows import read_sites as read_site_rows
from dispatch.intake.technician_rows import read_technicians as read_technician_rows
from dispatch.people import Person
from dispatch.places import Place
from dispatch.settings import Settings
from dispatch.sites import Hold, Site
from dispatch.store import book, removal
from dispatch.store.site_moves import with_moved_since
from dispatch.technicians import Technician, unknown_technician
from dispatch.words import _


def import_sites(session: Session, settings: Settings, text: str) -> int:
    """Take in a table of sites, all or nothing.

    Of a site whose id is known, a column that the table lacks leaves what is there, and an empty
    cell empties; only a gate code is kept then too, because exported tables never show it. What
    records have moved since the table was written, as the last visit, stays as they left it.

    Parameters
    ----------
    text
        The table as CSV, columns as in `intake.site_rows.SITE_COLUMNS`.

    Returns
    -------
    int
        Number of sites taken in.

    Raises
    ------
    ImportRejected
        With every bad row in `problems`; a usual technician that the book does not hold is one,
        once it holds any technician at all.
    NoMap
        When a row has an address but no place, and there is no street map to find it on.
    """
    found = sites_of_table(session, settings, text)
    codes = {site.id: site.gate_code for site in book.read_sites(session)}
    kept = sealed_sites(settings, found, codes)
    book.write_sites(session, kept)
    return len(kept)


def import_technicians(session: Session, settings: Settings, text: str) -> int:
    """Take in a table of technicians, all or nothing; as `import_sites`."""
    found = technicians_of_table(session, settings, text)
    book.write_technicians(session, found)
    return len(found)


def sites_of_table(session: Session, settings: Settings, text: str) -> list[Site]:
    """The sites of a table, as `import_sites` would take them in; raises as it does."""
    staff = {technician.id for technician in book.read_technicians(session)}
    there = {site.id: site for site in book.read_sites(session)}
    found = read_site_rows(
        text,
        address_finder(settings),
        known_technicians=staff or None,
        today=settings.today(),
        known=cells_by_id(site_list(there.values())),
    )
    return [
        with_moved_since(session, site, there[site.id]) if site.id in there else site
        for site in found
    ]


def technicians_of_table(session: Session, settings: Settings, text: str) -> list[Technician]:
    """The technicians of a table, as `import_technicians` would take them in."""
    known = cells_by_id(technician_list(book.read_technicians(session)))
    return read_technician_rows(text, address_finder(settings), known=known)


def import_holds(session: Session, settings: Settings, text: str) -> int:  # noqa: ARG001
    """Take in a table of holds, all or nothing; one of the same site and first day is replaced.

    Without a column of reasons, those that are known stay.

    Raises
    ------
    ImportRejected
        With every bad row in `problems`, those of unknown sites among them.
    """
    known = {site.id for site in book.read_sites(session)}
    found = read_hold_rows(text, known, known=book.read_holds(session))
    book.write_holds(session, found)
    return len(found)


def delete_site(session: Session, site_id: str) -> None:
    """Take a site out of the book, with its holds and one-off work.

    Raises
    ------
    NotFound
        When there is no such site.
    InUse
        When plans or records refer to it.
    """
    book.read_site(session, site_id)
    removal.delete_site(session, site_id)


def delete_technician(session: Session, technician_id: str, people: Iterable[Person]) -> None:
    """Take a technician out of the book, and the calendar's address with it.

    `people` are those who may sign in to the branch. One who signs in as the technician would have
    the stops and gate codes of whoever is given this id next. Raises as `delete_site` does.
    """
    if book.read_technician(session, technician_id) is None:
        raise unknown_technician(technician_id)
    for one in people:
        if one.technician_id == technician_id:
            raise InUse(
                _(
                    "Technician {technician} cannot be deleted, because {name} ('{person}') signs "
                    "in as this technician. Let an owner take {name} out, or give another "
                    "technician, on the page 'People' first."
                ).format(technician=technician_id, name=one.name, person=one.id),
                command="dispatch people",
            )
    removal.delete_technician(session, technician_id)


def sites(session: Session) -> list[Site]:
    """All sites, ordered by id."""
    return book.read_sites(session)


def technicians(session: Session) -> list[Technician]:
    """All technicians, ordered by id."""
    return book.read_technicians(session)


def holds(session: Session) -> list[Hold]:
    """All holds, ordered by site and first day."""
    return book.read_holds(session)


def address_finder(settings: Settings) -> Callable[[str], Place]:
    """Find an address on the built map; the map is read only when there is one to find."""

    def find(words: str) -> Place:
        from dispatch.drive.geocode import find_place

        return find_place(
            words,
            road_map(settings),
            settings.geocoder,
            domain=settings.geocoder_domain,
            scheme=settings.geocoder_scheme,
            may_be_private=settings.online_private,
        )

    return find
