"""People in the database, with their sessions, one-time links and API tokens."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import delete, func, insert, select, update
from sqlmodel import Session

from dispatch.errors import LinkOver, NotFound, NotSignedIn
from dispatch.passwords import digest_of
from dispatch.people import Caller, LinkUse, Person, Role, Scope, Token
from dispatch.store.people_tables import ApiTokenRow, PersonLinkRow, PersonRow, PersonSessionRow
from dispatch.store.records import aware, naive
from dispatch.store.tables import read_rows, table_of

Columns = Mapping[Any, Any]


@dataclass(frozen=True, slots=True)
class SignedIn:
    """A browser somebody is signed in with; moments in UTC."""

    digest: str
    made_at: datetime
    expires_at: datetime
    device: str


def read_people(session: Session) -> list[Person]:
    """Everybody who may sign in, ordered by sign-in name."""
    return [_person_of(row) for row in read_rows(session, PersonRow)]


def read_person(session: Session, person_id: str) -> Person:
    """One person; raises NotFound when there is none of that sign-in name."""
    return _person_of(_person_row(session, person_id))


def read_password_hash(session: Session, person_id: str) -> str:
    """The kept hash of a password; empty where there is no such person or no password."""
    people = table_of(PersonRow)
    found = session.scalar(select(people.c.password_hash).where(people.c.id == person_id))
    return str(found or "")


def write_person(session: Session, person: Person, now: datetime) -> None:
    """Add a person, or change one and keep the password."""
    people = table_of(PersonRow)
    facts = {"name": person.name, "role": str(person.role), "technician_id": person.technician_id}
    here = people.c.id == person.id
    if session.scalar(select(func.count()).select_from(people).where(here)):
        session.execute(update(people).where(here).values(facts))
        return
    new = {"id": person.id, "password_hash": "", "made_at": naive(now), **facts}
    session.execute(insert(people).values(new))


def write_password_hash(session: Session, person_id: str, kept: str) -> None:
    """Keep the hash of a new password."""
    people = table_of(PersonRow)
    session.execute(update(people).where(people.c.id == person_id).values(password_hash=kept))


def remove_person(session: Session, person_id: str) -> None:
    """Take a person out, with sessions, links and tokens; raises NotFound as `read_person`."""
    _person_row(session, person_id)
    people = table_of(PersonRow)
    session.execute(delete(people).where(people.c.id == person_id))


def write_session(
    session: Session, secret: str, person_id: str, *, now: datetime, until: datetime, device: str
) -> None:
    """Keep a signed-in browser; those that are over are forgotten."""
    rows = table_of(PersonSessionRow)
    session.execute(delete(rows).where(rows.c.expires_at <= naive(now)))
    columns = {
        "digest": digest_of(secret),
        "person_id": person_id,
        "made_at": naive(now),
        "expires_at": naive(until),
        "device": device[:200],
    }
    session.execute(insert(rows).values(columns))


def read_sessions(session: Session, person_id: str, now: datetime) -> list[SignedIn]:
    """Where somebody is signed in, newest first."""
    rows = table_of(PersonSessionRow)
    query = (
        select(rows)
        .where(rows.c.person_id == person_id, rows.c.expires_at > naive(now))
        .order_by(rows.c.made_at.desc())
    )
    return [
        SignedIn(row.digest, aware(row.made_at), aware(row.expires_at), row.device)
        for row in session.execute(query)
    ]


def end_session(session: Session, secret: str) -> None:
    """Sign one browser out; nothing happens where it was not signed in."""
    rows = table_of(PersonSessionRow)
    session.execute(delete(rows).where(rows.c.digest == digest_of(secret)))


def end_sessions(session: Session, person_id: str, *, but: str = "") -> None:
    """Sign somebody out everywhere, except where the secret is `but`."""
    rows = table_of(PersonSessionRow)
    theirs = rows.c.person_id == person_id
    session.execute(delete(rows).where(theirs, rows.c.digest != digest_of(but)))


def caller_of_session(session: Session, secret: str, now: datetime) -> Caller:
    """Who is signed in with a browser.

    Raises
    ------
    NotSignedIn
        When nobody is, or it is over.
    """
    rows, people = table_of(PersonSessionRow), table_of(PersonRow)
    query = (
        select(people)
        .join(rows, rows.c.person_id == people.c.id)
        .where(rows.c.digest == digest_of(secret), rows.c.expires_at > naive(now))
    )
    for row in session.execute(query).mappings():
        return Caller(_person_of(row))
    raise NotSignedIn("You are signed out: sign in again.")


def caller_of_token(session: Session, secret: str, now: datetime) -> Caller:
    """Who calls with an API token; raises NotSignedIn when it is unknown or over."""
    tokens, people = table_of(ApiTokenRow), table_of(PersonRow)
    query = (
        select(tokens.c.id.label("token_id"), tokens.c.scopes, people)
        .join(people, people.c.id == tokens.c.person_id)
        .where(tokens.c.digest == digest_of(secret), tokens.c.expires_at > naive(now))
    )
    for row in session.execute(query).mappings():
        return Caller(_person_of(row), frozenset(map(Scope, row["scopes"])), row["token_id"])
    raise NotSignedIn(
        "The API token is unknown, was taken back or is over: an owner can make a new one."
    )


def write_token(session: Session, token: Token, secret: str) -> None:
    """Keep an API token."""
    columns = {
        "id": token.id,
        "name": token.name,
        "digest": digest_of(secret),
        "person_id": token.person_id,
        "scopes": sorted(token.scopes),
        "made_at": naive(token.made_at),
        "expires_at": naive(token.expires_at),
    }
    session.execute(insert(table_of(ApiTokenRow)).values(columns))


def read_tokens(session: Session) -> list[Token]:
    """All API tokens, those that are over among them, ordered by id."""
    return [
        Token(
            row["id"],
            row["name"],
            row["person_id"],
            frozenset(map(Scope, row["scopes"])),
            aware(row["made_at"]),
            aware(row["expires_at"]),
        )
        for row in read_rows(session, ApiTokenRow)
    ]


def remove_token(session: Session, token_id: str) -> None:
    """Take an API token back; raises NotFound when there is none of that id."""
    tokens = table_of(ApiTokenRow)
    if not read_rows(session, ApiTokenRow, tokens.c.id == token_id):
        raise NotFound(f"There is no API token '{token_id[:60]}': the list of tokens shows them.")
    session.execute(delete(tokens).where(tokens.c.id == token_id))


def write_link(
    session: Session, secret: str, use: LinkUse, person_id: str | None, until: datetime
) -> None:
    """Keep a one-time link; older ones of the same person and use no longer work."""
    links = table_of(PersonLinkRow)
    same = links.c.person_id.is_(None) if person_id is None else links.c.person_id == person_id
    session.execute(delete(links).where(same, links.c.use == str(use)))
    columns = {
        "digest": digest_of(secret),
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
        When it was used already, is over or was never made.
    """
    links = table_of(PersonLinkRow)
    for row in read_rows(session, PersonLinkRow, links.c.digest == digest_of(secret)):
        if row["expires_at"] > naive(now):
            return LinkUse(row["use"]), row["person_id"]
    raise LinkOver(
        "This link was used already or is over; each works once. Ask for a new one: "
        "'dispatch people invite' on the machine of the service makes it."
    )


def remove_link(session: Session, secret: str) -> None:
    """Take a link away, because it has been used."""
    links = table_of(PersonLinkRow)
    session.execute(delete(links).where(links.c.digest == digest_of(secret)))


def _person_row(session: Session, person_id: str) -> Columns:
    for row in read_rows(session, PersonRow, table_of(PersonRow).c.id == person_id):
        return row
    raise NotFound(
        f"There is nobody with the sign-in name '{person_id[:60]}': 'dispatch people list' lists "
        "everybody."
    )


def _person_of(row: Columns) -> Person:
    return Person(row["id"], row["name"], Role(row["role"]), row["technician_id"])
