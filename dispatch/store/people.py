"""People in the database, with their rights, sessions, one-time links and API tokens.

The session is one of the directory (`store.directory`): the tables are those of the installation,
and what is read and written is what the people are, and where they are signed in, in one branch.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from typing import Any

from sqlalchemy import BindParameter, Select, bindparam, delete, insert, select, update
from sqlmodel import Session

from dispatch.errors import LinkOver, NotFound, NotSignedIn
from dispatch.passwords import digest_of
from dispatch.people import Caller, LinkUse, Measures, Person, Right, Role, Scope, Token
from dispatch.store.directory import branch_of
from dispatch.store.people_tables import (
    ApiTokenRow,
    PersonLinkRow,
    PersonRightRow,
    PersonRow,
    PersonSessionRow,
)
from dispatch.store.records import aware, naive
from dispatch.store.tables import read_rows, table_of
from dispatch.words import _

Columns = Mapping[Any, Any]


@dataclass(frozen=True, slots=True)
class SignedIn:
    """A browser somebody is signed in with, to one branch; moments in UTC."""

    digest: str
    branch: str
    made_at: datetime
    expires_at: datetime
    device: str


def read_people(session: Session) -> list[Person]:
    """Everybody who may sign in to the branch, ordered by sign-in name."""
    query = _people_here(session).order_by(table_of(PersonRow).c.id)
    return [_person_of(row) for row in session.execute(query).mappings()]


def read_person(session: Session, person_id: str) -> Person:
    """One person; raises NotFound when nobody of that sign-in name may enter the branch."""
    query = _people_here(session).where(table_of(PersonRow).c.id == person_id)
    for row in session.execute(query).mappings():
        return _person_of(row)
    raise NotFound(
        _(
            "There is nobody with the sign-in name '{person}'. The list of people shows everybody."
        ).format(person=person_id[:60]),
        command="dispatch people list",
    )


def read_name(session: Session, person_id: str) -> str:
    """The name of a person of any branch; empty where nobody has that sign-in name."""
    people = table_of(PersonRow)
    return str(session.scalar(select(people.c.name).where(people.c.id == person_id)) or "")


def read_rights(session: Session, person_id: str) -> list[Right]:
    """What a person is in every branch, ordered by branch."""
    rights = table_of(PersonRightRow)
    return [
        Right(row["person_id"], row["branch"], Role(row["role"]), row["technician_id"])
        for row in read_rows(session, PersonRightRow, rights.c.person_id == person_id)
    ]


def read_password_hash(session: Session, person_id: str) -> str:
    """The kept hash of a password; empty where nobody of that name may enter, or has none."""
    query = _people_here(session).where(table_of(PersonRow).c.id == person_id)
    row = session.execute(query).mappings().first()
    return "" if row is None else str(row["password_hash"])


def write_person(session: Session, person: Person, now: datetime) -> None:
    """Add a person with rights in the branch, or change one and keep the password."""
    people = table_of(PersonRow)
    facts = {"name": person.name, "units": str(person.units), "language": person.language}
    is_new = not read_name(session, person.id)
    if is_new:
        new = {"id": person.id, "password_hash": "", "made_at": naive(now), **facts}
        session.execute(insert(people).values(new))
    else:
        session.execute(update(people).where(people.c.id == person.id).values(facts))
    right = Right(person.id, branch_of(session), person.role, person.technician_id)
    write_right(session, right)


def write_right(session: Session, right: Right) -> None:
    """Say what a person, who is known, is in a branch from now on."""
    rights = table_of(PersonRightRow)
    here = (rights.c.person_id == right.person_id) & (rights.c.branch == right.branch)
    session.execute(delete(rights).where(here))
    columns = {
        "person_id": right.person_id,
        "branch": right.branch,
        "role": str(right.role),
        "technician_id": right.technician_id,
    }
    session.execute(insert(rights).values(columns))


def write_units(session: Session, person_id: str, units: Measures) -> None:
    """Keep which units a person reads."""
    people = table_of(PersonRow)
    session.execute(update(people).where(people.c.id == person_id).values(units=str(units)))


def write_language(session: Session, person_id: str, language: str) -> None:
    """Keep which language a person reads; empty for what the browser asks for."""
    people = table_of(PersonRow)
    session.execute(update(people).where(people.c.id == person_id).values(language=language))


def write_password_hash(session: Session, person_id: str, kept: str) -> None:
    """Keep the hash of a new password."""
    people = table_of(PersonRow)
    session.execute(update(people).where(people.c.id == person_id).values(password_hash=kept))


def remove_person(session: Session, person_id: str) -> None:
    """Take a person's rights in the branch away, with sessions, links and tokens of it.

    Who has no rights left anywhere is taken out altogether. Raises NotFound as `read_person`.
    """
    read_person(session, person_id)
    branch = branch_of(session)
    for row in (PersonRightRow, PersonSessionRow, PersonLinkRow, ApiTokenRow):
        table = table_of(row)
        theirs = (table.c.person_id == person_id) & (table.c.branch == branch)
        session.execute(delete(table).where(theirs))
    if not read_rights(session, person_id):
        people = table_of(PersonRow)
        session.execute(delete(people).where(people.c.id == person_id))


def write_session(
    session: Session, secret: str, person_id: str, *, now: datetime, until: datetime, device: str
) -> None:
    """Keep a browser signed in to the branch; those that are over are forgotten."""
    rows = table_of(PersonSessionRow)
    session.execute(delete(rows).where(rows.c.expires_at <= naive(now)))
    columns = {
        "digest": digest_of(secret),
        "person_id": person_id,
        "branch": branch_of(session),
        "made_at": naive(now),
        "expires_at": naive(until),
        "device": device[:200],
    }
    session.execute(insert(rows).values(columns))


def read_sessions(session: Session, person_id: str, now: datetime) -> list[SignedIn]:
    """Where somebody is signed in, in every branch, newest first."""
    rows = table_of(PersonSessionRow)
    query = (
        select(rows)
        .where(rows.c.person_id == person_id, rows.c.expires_at > naive(now))
        .order_by(rows.c.made_at.desc())
    )
    return [
        SignedIn(row.digest, row.branch, aware(row.made_at), aware(row.expires_at), row.device)
        for row in session.execute(query)
    ]


def end_session(session: Session, secret: str) -> None:
    """Sign one browser out; nothing happens where it was not signed in."""
    rows = table_of(PersonSessionRow)
    session.execute(delete(rows).where(rows.c.digest == digest_of(secret)))


def end_sessions(
    session: Session, person_id: str, *, but: str = "", left: Collection[str] = ()
) -> None:
    """Sign somebody out in every branch but those `left`, except where the secret is `but`."""
    rows = table_of(PersonSessionRow)
    theirs = (rows.c.person_id == person_id) & rows.c.branch.not_in(list(left))
    session.execute(delete(rows).where(theirs, rows.c.digest != digest_of(but)))


def caller_of_session(session: Session, secret: str, now: datetime) -> Caller:
    """Who is signed in to the branch with a browser.

    Raises
    ------
    NotSignedIn
        When nobody is, it is over, or it is another branch that the browser is signed in to.
    """
    told = {"digest": digest_of(secret), "here": branch_of(session), "now": naive(now)}
    for row in session.execute(_signed_in_query(), told).mappings():
        return Caller(_person_of(row))
    raise NotSignedIn(_("You are signed out: sign in again."))


@cache
def _signed_in_query() -> Select[Any]:
    """Whose session it is; every call asks this, and making it takes longer than running it."""
    rows = table_of(PersonSessionRow)
    return (
        _people_at(bindparam("here"))
        .join(rows, rows.c.person_id == table_of(PersonRow).c.id)
        .where(
            rows.c.digest == bindparam("digest"),
            rows.c.branch == bindparam("here"),
            rows.c.expires_at > bindparam("now"),
        )
    )


def caller_of_token(session: Session, secret: str, now: datetime) -> Caller:
    """Who calls with an API token of the branch; raises NotSignedIn when unknown or over."""
    tokens, here = table_of(ApiTokenRow), branch_of(session)
    query = (
        _people_here(session)
        .add_columns(tokens.c.id.label("token_id"), tokens.c.scopes)
        .join(tokens, tokens.c.person_id == table_of(PersonRow).c.id)
        .where(
            tokens.c.digest == digest_of(secret),
            tokens.c.branch == here,
            tokens.c.expires_at > naive(now),
        )
    )
    for row in session.execute(query).mappings():
        return Caller(_person_of(row), frozenset(map(Scope, row["scopes"])), row["token_id"])
    raise NotSignedIn(
        _("The API token is unknown, was taken back or is over: an owner can make a new one.")
    )


def write_token(session: Session, token: Token, secret: str) -> None:
    """Keep an API token of the branch."""
    columns = {
        "id": token.id,
        "name": token.name,
        "digest": digest_of(secret),
        "person_id": token.person_id,
        "branch": branch_of(session),
        "scopes": sorted(token.scopes),
        "made_at": naive(token.made_at),
        "expires_at": naive(token.expires_at),
    }
    session.execute(insert(table_of(ApiTokenRow)).values(columns))


def read_tokens(session: Session) -> list[Token]:
    """All API tokens of the branch, those that are over among them, ordered by id."""
    here = table_of(ApiTokenRow).c.branch == branch_of(session)
    return [
        Token(
            row["id"],
            row["name"],
            row["person_id"],
            frozenset(map(Scope, row["scopes"])),
            aware(row["made_at"]),
            aware(row["expires_at"]),
        )
        for row in read_rows(session, ApiTokenRow, here)
    ]


def remove_token(session: Session, token_id: str) -> None:
    """Take an API token back; raises NotFound when there is none of that id."""
    tokens = table_of(ApiTokenRow)
    this = (tokens.c.id == token_id) & (tokens.c.branch == branch_of(session))
    if not read_rows(session, ApiTokenRow, this):
        raise NotFound(
            _("There is no API token '{token}': the list of tokens shows them.").format(
                token=token_id[:60]
            )
        )
    session.execute(delete(tokens).where(this))


def write_link(
    session: Session, secret: str, use: LinkUse, person_id: str | None, until: datetime
) -> None:
    """Keep a one-time link; older ones of the same person and use no longer work."""
    links, branch = table_of(PersonLinkRow), branch_of(session)
    same = links.c.person_id == person_id
    if person_id is None:
        same = links.c.person_id.is_(None) & (links.c.branch == branch)
    session.execute(delete(links).where(same, links.c.use == str(use)))
    columns = {
        "digest": digest_of(secret),
        "branch": branch,
        "use": str(use),
        "person_id": person_id,
        "expires_at": naive(until),
    }
    session.execute(insert(links).values(columns))


def read_link(session: Session, secret: str, now: datetime) -> tuple[LinkUse, str | None]:
    """What a link is for and whose it is.

    Raises
    ------
    LinkOver
        When it was used already, is over, was never made or is one of another branch.
    """
    links = table_of(PersonLinkRow)
    this = (links.c.digest == digest_of(secret)) & (links.c.branch == branch_of(session))
    for row in read_rows(session, PersonLinkRow, this):
        if row["expires_at"] > naive(now):
            return LinkUse(row["use"]), row["person_id"]
    raise LinkOver(
        _(
            "This link was used already or is over; each works once. Ask for a new one: "
            "'dispatch people invite' on the machine of the service makes it."
        )
    )


def remove_link(session: Session, secret: str) -> None:
    """Take a link away, because it has been used."""
    links = table_of(PersonLinkRow)
    session.execute(delete(links).where(links.c.digest == digest_of(secret)))


def _people_here(session: Session) -> Select[Any]:
    """The people with rights in the branch of the session, with these rights."""
    return _people_at(branch_of(session))


def _people_at(branch: str | BindParameter[str]) -> Select[Any]:
    people, rights = table_of(PersonRow), table_of(PersonRightRow)
    return (
        select(people, rights.c.role, rights.c.technician_id)
        .join(rights, rights.c.person_id == people.c.id)
        .where(rights.c.branch == branch)
    )


def _person_of(row: Columns) -> Person:
    role, units = Role(row["role"]), Measures(row["units"])
    return Person(row["id"], row["name"], role, row["technician_id"], units, row["language"])
