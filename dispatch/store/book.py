"""The company's book in the database: sites, technicians and holds, read and written whole."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from pydantic import ValidationError
from sqlmodel import Session, SQLModel

from dispatch.errors import InvalidValue, NotFound
from dispatch.one_offs import OneOff
from dispatch.sites import Hold, Site
from dispatch.store.fields import HoldFields, SiteFields, TechnicianFields
from dispatch.store.reading import read_once
from dispatch.store.rows import (
    hold_columns,
    hold_of,
    site_columns,
    site_of,
    technician_columns,
    technician_of,
)
from dispatch.store.service_plan_fields import OneOffFields
from dispatch.store.service_plan_rows import one_off_columns, one_off_of
from dispatch.store.tables import (
    HoldRow,
    OneOffRow,
    SiteRow,
    TechnicianRow,
    read_among,
    read_row,
    read_rows,
    write_rows,
)
from dispatch.technicians import Technician
from dispatch.words import _


def read_sites(session: Session) -> list[Site]:
    """All sites, ordered by id."""
    return read_once(session, "sites", lambda: list(map(site_of, read_rows(session, SiteRow))))


def read_some_sites(session: Session, ids: Iterable[str]) -> dict[str, Site]:
    """Those of the sites named that the book holds, by id."""
    rows = read_among(session, SiteRow, "id", sorted(set(ids)))
    return {row["id"]: site_of(row) for row in rows}


def read_site(session: Session, site_id: str) -> Site:
    """The site of this id; raises NotFound when the book has none."""
    row = read_row(session, SiteRow, id=site_id)
    if row is None:
        raise NotFound(
            _("There is no site '{site}'. The list of sites shows the ids.").format(site=site_id)
        )
    return site_of(row)


def read_technicians(session: Session) -> list[Technician]:
    """All technicians, ordered by id."""
    return [technician_of(row) for row in read_rows(session, TechnicianRow)]


def read_technician(session: Session, technician_id: str) -> Technician | None:
    """The technician of this id; None where there is none."""
    row = read_row(session, TechnicianRow, id=technician_id)
    return None if row is None else technician_of(row)


def read_holds(session: Session) -> list[Hold]:
    """All holds, ordered by site and first day."""
    return [hold_of(row) for row in read_rows(session, HoldRow)]


def write_sites(session: Session, sites: Sequence[Site]) -> None:
    """Add the sites; one whose id is known is replaced whole."""
    columns = [site_columns(site) for site in sites]
    _check(SiteFields, columns)
    write_rows(session, SiteRow, columns)


def write_technicians(session: Session, technicians: Sequence[Technician]) -> None:
    """Add the technicians; one whose id is known is replaced whole."""
    columns = [technician_columns(technician) for technician in technicians]
    _check(TechnicianFields, columns)
    write_rows(session, TechnicianRow, columns)


def write_holds(session: Session, holds: Sequence[Hold]) -> None:
    """Add the holds; one of the same site and first day is replaced."""
    columns = [hold_columns(hold) for hold in holds]
    _check(HoldFields, columns)
    write_rows(session, HoldRow, columns)


def read_one_offs(session: Session) -> list[OneOff]:
    """All one-off work, finished or not, ordered by id."""
    return [one_off_of(row) for row in read_rows(session, OneOffRow)]


def write_one_offs(session: Session, works: Sequence[OneOff]) -> None:
    """Add the one-off work; what has a known id is replaced whole."""
    columns = [one_off_columns(work) for work in works]
    _check(OneOffFields, columns)
    write_rows(session, OneOffRow, columns)


def _check(fields: type[SQLModel], rows: Sequence[dict[str, Any]]) -> None:
    """Raise InvalidValue at the first row beyond a limit (rows do not check themselves)."""
    for row in rows:
        try:
            fields.model_validate(row)
        except ValidationError as error:
            detail = error.errors()[0]
            column, value = detail["loc"][0], str(detail["input"])[:60]
            raise InvalidValue(
                _("The {column} of {id} is '{value}', which cannot be stored: {msg}.").format(
                    column=column,
                    id=row.get("id", row.get("site_id")),
                    value=value,
                    msg=detail["msg"].lower(),
                )
            ) from error
