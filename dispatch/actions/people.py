"""People and API tokens: add, list, invite, remove."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta

from sqlmodel import Session

from dispatch.actions.lists import ListTable
from dispatch.errors import InUse, InvalidValue
from dispatch.passwords import digest_of, new_secret
from dispatch.people import (
    INVITATION_LASTS,
    TOKEN_LASTS_DAYS,
    LinkUse,
    Person,
    Role,
    Scope,
    Token,
)
from dispatch.store import book
from dispatch.store import people as store

__all__ = ["Person", "everybody", "person_of"]
TOKEN_ID_LENGTH = 8  # characters; enough to tell the tokens of a company apart


def everybody(session: Session) -> list[Person]:
    """All who may sign in, ordered by sign-in name."""
    return store.read_people(session)


def person_of(session: Session, person_id: str) -> Person:
    """One person; raises NotFound when there is none of that sign-in name."""
    return store.read_person(session, person_id)


def add_person(session: Session, person: Person, now: datetime) -> None:
    """Let somebody sign in, once a password is set by the link of `invite`.

    Raises
    ------
    InvalidValue
        When the sign-in name is taken, or the technician is not in the book.
    """
    if any(one.id == person.id for one in store.read_people(session)):
        raise InvalidValue(f"The sign-in name '{person.id}' is taken: choose another.")
    _check_technician(session, person)
    store.write_person(session, person, now)


def change_person(session: Session, person: Person, now: datetime) -> None:
    """Give somebody another name, role or technician.

    Raises
    ------
    NotFound
        When there is nobody of that sign-in name.
    InUse
        When the company would be left without an owner.
    """
    store.read_person(session, person.id)
    _check_technician(session, person)
    if person.role is not Role.OWNER:
        _keep_an_owner(session, person.id)
    store.write_person(session, person, now)


def remove_person(session: Session, person_id: str) -> None:
    """Take somebody out, with sessions, links and tokens; raises as `change_person`."""
    _keep_an_owner(session, person_id)
    store.remove_person(session, person_id)


def invite(session: Session, person_id: str, now: datetime) -> str:
    """Make the secret of a one-time link by which the person sets a password.

    Raises
    ------
    NotFound
        When there is nobody of that sign-in name.
    """
    store.read_person(session, person_id)
    return _link(session, LinkUse.SET_PASSWORD, person_id, now + INVITATION_LASTS)


def reset(session: Session, person_id: str, now: datetime) -> str:
    """Void the password, end every session, and invite anew; raises as `invite`."""
    secret = invite(session, person_id, now)
    store.write_password_hash(session, person_id, "")
    store.end_sessions(session, person_id)
    return secret


def invite_first_owner(session: Session, now: datetime) -> str:
    """Make the secret of the one-time link by which a new company gets its first owner.

    Raises
    ------
    InUse
        When the company has people already.
    """
    if store.read_people(session):
        raise InUse("This company has people already: name the one to invite.")
    return _link(session, LinkUse.FIRST_OWNER, None, now + INVITATION_LASTS)


def sign_in_link(session: Session, person_id: str, now: datetime) -> str:
    """Make the secret of a one-time link that signs the person in at once; for the demo."""
    store.read_person(session, person_id)
    return _link(session, LinkUse.SIGN_IN, person_id, now + INVITATION_LASTS)


def sessions_of(session: Session, person_id: str, now: datetime) -> list[store.SignedIn]:
    """Where somebody is signed in, newest first."""
    return store.read_sessions(session, person_id, now)


def sign_out_everywhere(session: Session, person_id: str) -> None:
    """End every session of a person; raises NotFound as `person_of`."""
    store.read_person(session, person_id)
    store.end_sessions(session, person_id)


def make_token(
    session: Session,
    person_id: str,
    name: str,
    scopes: Iterable[Scope],
    *,
    days: int,
    now: datetime,
) -> tuple[Token, str]:
    """Make an API token of a person; the secret is shown now and never again.

    Raises
    ------
    InvalidValue
        When it has no name or scope, or is to last longer than a year.
    NotFound
        When there is nobody of that sign-in name.
    """
    if not 1 <= days <= TOKEN_LASTS_DAYS:
        raise InvalidValue(
            f"An API token cannot last {days} days: give 1 to {TOKEN_LASTS_DAYS} of them."
        )
    store.read_person(session, person_id)
    secret = new_secret()
    until = now + timedelta(days=days)
    short_id = digest_of(secret)[:TOKEN_ID_LENGTH]
    token = Token(short_id, name.strip(), person_id, frozenset(scopes), now, until)
    store.write_token(session, token, secret)
    return token, secret


def tokens(session: Session) -> list[Token]:
    """All API tokens, without their secrets."""
    return store.read_tokens(session)


def remove_token(session: Session, token_id: str) -> None:
    """Take an API token back; raises NotFound when there is none of that id."""
    store.remove_token(session, token_id)


def people_list(people: Iterable[Person]) -> ListTable:
    """People as a list."""
    columns = ("person", "name", "role", "technician")
    rows = tuple((one.id, one.name, str(one.role), one.technician_id) for one in people)
    return ListTable(columns, rows)


def token_list(found: Iterable[Token]) -> ListTable:
    """API tokens as a list; moments in UTC."""
    columns = ("token", "name", "person", "scopes", "made_at", "expires_at")
    rows = tuple(
        (
            one.id,
            one.name,
            one.person_id,
            ";".join(sorted(one.scopes)),
            one.made_at.isoformat(timespec="seconds"),
            one.expires_at.isoformat(timespec="seconds"),
        )
        for one in found
    )
    return ListTable(columns, rows)


def _link(session: Session, use: LinkUse, person_id: str | None, until: datetime) -> str:
    secret = new_secret()
    store.write_link(session, secret, use, person_id, until)
    return secret


def _check_technician(session: Session, person: Person) -> None:
    known = {one.id for one in book.read_technicians(session)}
    if person.technician_id is not None and person.technician_id not in known:
        raise InvalidValue(
            f"There is no technician '{person.technician_id[:60]}' in the book: the list of "
            "technicians shows the ids."
        )


def _keep_an_owner(session: Session, person_id: str) -> None:
    """Refuse to take the only owner away."""
    owners = [one.id for one in store.read_people(session) if one.role is Role.OWNER]
    if owners == [person_id]:
        raise InUse(
            f"'{person_id}' is the only owner, and somebody must be able to add people: make "
            "somebody else an owner first."
        )
