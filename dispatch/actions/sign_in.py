"""Signing in and out, one-time links and passwords.

These take the engine and not a session: hashing a password takes a tenth of a second, in which no
transaction may be open, because a writing one keeps every other writer waiting.
"""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import Engine
from sqlmodel import Session

from dispatch.actions.audit import note
from dispatch.errors import LinkOver, WrongSignIn
from dispatch.passwords import hash_password, is_password, new_secret
from dispatch.people import SESSION_LASTS, Caller, LinkUse, Person, Role
from dispatch.store import people
from dispatch.store.db import transaction
from dispatch.words import N_, _

WRONG = N_(
    "The sign-in name and the password do not belong together. Check both; capital letters "
    "count in the password. An owner can send a link to set a new one."
)


def caller_of_cookie(engine: Engine, secret: str, now: datetime) -> Caller:
    """Who is signed in with a browser; raises NotSignedIn when nobody is."""
    with transaction(engine, read_only=True) as session:
        return people.caller_of_session(session, secret, now)


def caller_of_token(engine: Engine, secret: str, now: datetime) -> Caller:
    """Who calls with an API token; raises NotSignedIn when it is unknown or over."""
    with transaction(engine, read_only=True) as session:
        return people.caller_of_token(session, secret, now)


def sign_in(
    engine: Engine, person_id: str, password: str, *, now: datetime, device: str, old: str = ""
) -> str:
    """Sign a browser in and return its new secret; what it held before (`old`) ends.

    Raises
    ------
    WrongSignIn
        When name and password do not belong together; which of the two is wrong is not told.
    """
    with transaction(engine, read_only=True) as session:
        kept = people.read_password_hash(session, person_id)
    fits = is_password(password, kept)
    with transaction(engine) as session:
        # The password may have been changed while it was being compared.
        if not fits or people.read_password_hash(session, person_id) != kept:
            raise WrongSignIn(WRONG)
        person = people.read_person(session, person_id)
        people.end_session(session, old)
        secret = new_secret()
        _open_session(session, secret, person, now, device, "sign in")
        return secret


def sign_out(engine: Engine, caller: Caller, secret: str, now: datetime) -> None:
    """Sign one browser out."""
    with transaction(engine) as session:
        people.end_session(session, secret)
        note(session, caller.person, now, "sign out", caller.person.id)


def change_password(
    engine: Engine, caller: Caller, old: str, new: str, *, now: datetime, here: str
) -> None:
    """Set a new password and sign the person out everywhere but `here`.

    Raises
    ------
    WrongSignIn
        When `old` is not the password.
    InvalidValue
        When the new one cannot be used.
    """
    person = caller.person
    with transaction(engine, read_only=True) as session:
        kept = people.read_password_hash(session, person.id)
    if not is_password(old, kept):
        raise WrongSignIn(_("The password you have now was not this one; nothing was changed."))
    hashed = hash_password(new, person_id=person.id)
    with transaction(engine) as session:
        people.write_password_hash(session, person.id, hashed)
        people.end_sessions(session, person.id, but=here)
        note(session, person, now, "change password", person.id)


def follow_link(engine: Engine, secret: str, now: datetime) -> tuple[LinkUse, Person | None]:
    """What a one-time link is for, and whose it is (nobody's for the first owner).

    Raises
    ------
    LinkOver
        When it was used or is over.
    """
    with transaction(engine, read_only=True) as session:
        use, person_id = people.read_link(session, secret, now)
        return use, None if person_id is None else people.read_person(session, person_id)


def sign_in_by_link(engine: Engine, link: str, *, now: datetime, device: str) -> str:
    """Use up a sign-in link and return the new secret of the browser; raises as `follow_link`."""
    with transaction(engine) as session:
        use, person_id = people.read_link(session, link, now)
        if use is not LinkUse.SIGN_IN or person_id is None:
            raise LinkOver(_("This link is for setting a password, not for signing in."))
        person = people.read_person(session, person_id)
        people.remove_link(session, link)
        secret = new_secret()
        _open_session(session, secret, person, now, device, "sign in by link")
        return secret


def set_password(engine: Engine, link: str, new: str, *, now: datetime, device: str) -> str:
    """Use up a link to set a password; ends all sessions, opens one, returns its secret.

    Raises
    ------
    LinkOver
        When the link was used or is over.
    InvalidValue
        When the password cannot be used; the link still works.
    """
    use, person = follow_link(engine, link, now)
    if use is not LinkUse.SET_PASSWORD or person is None:
        raise LinkOver(_("This link is not for setting a password."))
    hashed = hash_password(new, person_id=person.id)
    with transaction(engine) as session:
        people.read_link(session, link, now)  # it may have been used while the hash was made
        people.end_sessions(session, person.id)
        return _begin(session, link, person, hashed, now, device)


def make_first_owner(
    engine: Engine, link: str, person: Person, password: str, *, now: datetime, device: str
) -> str:
    """Use up the link of a new company and make its first owner; raises as `set_password`."""
    use, _rest = follow_link(engine, link, now)
    if use is not LinkUse.FIRST_OWNER or person.role is not Role.OWNER:
        raise LinkOver(_("This link is not for making the first owner."))
    hashed = hash_password(password, person_id=person.id)
    with transaction(engine) as session:
        people.read_link(session, link, now)
        if people.read_people(session):
            raise LinkOver(_("This company has people already: an owner can add more of them."))
        people.write_person(session, person, now)
        return _begin(session, link, person, hashed, now, device)


def _begin(
    session: Session, link: str, person: Person, hashed: str, now: datetime, device: str
) -> str:
    """Use up the link, keep the password and sign the browser in."""
    people.remove_link(session, link)
    people.write_password_hash(session, person.id, hashed)
    secret = new_secret()
    _open_session(session, secret, person, now, device, "set password by link")
    return secret


def _open_session(
    session: Session, secret: str, person: Person, now: datetime, device: str, deed: str
) -> None:
    until = now + SESSION_LASTS
    people.write_session(session, secret, person.id, now=now, until=until, device=device)
    note(session, person, now, deed, person.id)
