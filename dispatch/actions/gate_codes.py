"""Gate codes: shown on the day to whoever serves, and to the office that asks for one."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date

from sqlalchemy import Engine
from sqlmodel import Session

from dispatch.actions.day_sheet import DaySheet, SheetStop
from dispatch.actions.working_day import served_days
from dispatch.errors import KeyLost, NotAllowed
from dispatch.gate_keys import add_key, keep_newest_key, open_sealed, seal
from dispatch.people import Caller, Role
from dispatch.settings import Settings
from dispatch.sites import Site
from dispatch.store.book import read_site
from dispatch.store.db import transaction
from dispatch.store.gate_codes import reseal
from dispatch.words import _

NO_CODE = frozenset({"-", "none"})  # what stands in a table for a gate that has no code any more


def may_see_codes(
    session: Session, settings: Settings, caller: Caller, technician_id: str, day: date
) -> bool:
    """Whether a signed-in person serves the gates of that route, and does so today.

    A night shift is served until it ends, also after midnight.
    """
    is_own = caller.person.technician_id == technician_id
    if caller.scopes is not None or not is_own:
        return False
    return day == settings.today() or day in served_days(session, settings, technician_id)


def check_print_of_codes(
    session: Session, settings: Settings, caller: Caller, technician_id: str, day: date
) -> None:
    """Refuse to print gate codes to API tokens, and to technicians but for their own today.

    Raises
    ------
    NotAllowed
        When the caller may not see them.
    """
    if caller.scopes is not None:
        raise NotAllowed(_("An API token gets no gate codes: sign in, and print the sheet there."))
    is_office = caller.person.role is not Role.TECHNICIAN
    if not is_office and not may_see_codes(session, settings, caller, technician_id, day):
        raise NotAllowed(
            _("Gate codes are for the technician who serves there, on the day itself.")
        )


def opened_sheet(session: Session, settings: Settings, caller: Caller, sheet: DaySheet) -> DaySheet:
    """A day sheet as the caller may read it: with its gate codes, or without."""
    shown = may_see_codes(session, settings, caller, sheet.technician.id, sheet.day)
    return sheet_with_codes(settings, sheet, shown=shown)


def with_codes(settings: Settings, row: SheetStop, *, shown: bool) -> SheetStop:
    """A stop with its gate code opened, or without it; raises KeyLost as `open_sealed`."""
    code = open_sealed(row.site.gate_code, settings.gate_keys) if shown else ""
    return replace(row, site=replace(row.site, gate_code=code))


def sheet_with_codes(settings: Settings, sheet: DaySheet, *, shown: bool) -> DaySheet:
    """A day sheet with its gate codes opened, or without them; raises as `with_codes`."""
    stops = tuple(with_codes(settings, row, shown=shown) for row in sheet.stops)
    return replace(sheet, stops=stops)


def reveal(session: Session, settings: Settings, site_id: str) -> str:
    """The gate code of a site for the office, empty where it has none; the caller notes it.

    Raises
    ------
    NotFound
        When there is no such site.
    KeyLost
        When the key of the code is not there.
    """
    return open_sealed(read_site(session, site_id).gate_code, settings.gate_keys)


def sealed_sites(settings: Settings, read: Iterable[Site], kept: dict[str, str]) -> list[Site]:
    """Imported sites with their codes sealed.

    `kept` holds the sealed codes of the book by site; where the table has none, or the same, that
    of the book stays as it is, so that exported tables, which never show a code, wipe out none. A
    code is taken away by one of `NO_CODE` in its cell.
    """
    return [
        replace(site, gate_code=_sealed(settings, site.gate_code, kept.get(site.id, "")))
        for site in read
    ]


def with_new_codes(settings: Settings, read: Iterable[Site], kept: dict[str, str]) -> set[str]:
    """Ids of imported sites whose table gives another code than the book has; as `sealed_sites`."""
    return {site.id for site in read if _is_new(settings, site.gate_code, kept.get(site.id, ""))}


def rotate_keys(engine: Engine, settings: Settings) -> int:
    """Seal every gate code with a new key and forget the old ones; returns how many codes.

    Broken off at any point it can simply be given again: both keys are there until all is done.
    """
    file = settings.gate_keys
    add_key(file)
    with transaction(engine) as session:
        number = reseal(session, file)
    keep_newest_key(file)
    return number


def _sealed(settings: Settings, code: str, kept: str) -> str:
    if code.casefold() in NO_CODE:
        return ""
    return seal(code, settings.gate_keys) if _is_new(settings, code, kept) else kept


def _is_new(settings: Settings, code: str, kept: str) -> bool:
    """Whether a table gives a code that is not the one of the book, or takes that one away."""
    if code.casefold() in NO_CODE:
        return bool(kept)
    try:
        return bool(code) and (not kept or open_sealed(kept, settings.gate_keys) != code)
    except KeyLost:  # nobody can read the old one; this is how it is entered anew
        return True
