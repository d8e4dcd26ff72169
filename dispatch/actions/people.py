"""People and API tokens: add, list, invite, remove.

The session is one of the directory (`store.directory`), and what happens is about the branch it
is seen from: an owner of one branch says what people are in that one and no other.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime, timedelta

from sqlmodel import Session

from dispatch.actions.lists import ListTable
from dispatch.errors import InUse, InvalidValue, NotAllowed, NotFound
from dispatch.passwords import digest_of, new_secret
from dispatch.people import (
    INVITATION_LASTS,
    TOKEN_LASTS_DAYS,
    LinkUse,
    Measures,
    Person,
    Right,
    Role,
    Scope,
    Token,
)
from dispatch.store import people as store
from dispatch.store.directory import branch_of
from dispatch.words import _, known_language

__all__ = ["Person", "everybody", "person_of"]
TOKEN_ID_LENGTH = 8  # characters; enough to tell the tokens of a company apart


def everybody(session: Session) -> list[Person]:
    """All who may sign in to the branch, ordered by sign-in name."""
    return store.read_people(session)


def person_of(session: Session, person_id: str) -> Person:
    """One person; raises NotFound when there is none of that sign-in name."""
    return store.read_person(session, person_id)


def rights_of(session: Session, person_id: str) -> list[Right]:
    """What somebody is in every branch, ordered by branch."""
    return store.read_rights(session, person_id)


def add_person(
    session: Session, person: Person, now: datetime, *, technicians: Iterable[str]
) -> None:
    """Let somebody sign in, once a password is set by the link of `invite`.

    `technicians` are the ids of the technicians of the branch's book.

    Raises
    ------
    InvalidValue
        When the sign-in name is taken, here or in another branch, or the technician is not in the
        book.
    """
    if any(one.id == person.id for one in store.read_people(session)):
        raise InvalidValue(
            _("The sign-in name '{id}' is taken: choose another.").format(id=person.id)
        )
    if name := store.read_name(session, person.id):
        raise InvalidValue(
            _(
                "'{id}' is the sign-in name of {name}, who works for another branch. Is it the "
                "same person, give rights in this branch too instead of adding; else choose "
                "another sign-in name."
            ).format(id=person.id, name=name)
        )
    _check_technician(person, technicians)
    store.write_person(session, person, now)


def grant(
    session: Session,
    person_id: str,
    role: Role,
    technician_id: str | None,
    *,
    technicians: Iterable[str],
) -> Person:
    """Give somebody who signs in to another branch rights in this one; the password stays.

    Raises
    ------
    NotFound
        When no branch has anybody of that sign-in name.
    InvalidValue
        When the person has rights here already, or as `add_person`.
    """
    name = store.read_name(session, person_id)
    if not name:
        raise NotFound(
            _("No branch has anybody with the sign-in name '{person}': add them.").format(
                person=person_id[:60]
            )
        )
    if any(one.id == person_id for one in store.read_people(session)):
        raise InvalidValue(
            _("{name} has rights in this branch already: change those.").format(name=name)
        )
    person = Person(person_id, name, role, technician_id)
    _check_technician(person, technicians)
    store.write_right(session, Right(person_id, branch_of(session), role, technician_id))
    return person


def change_person(
    session: Session, person: Person, now: datetime, *, technicians: Iterable[str], by: str
) -> None:
    """Give somebody another name, or another role or technician in this branch.

    `by` is the sign-in name of the owner who does.

    Raises
    ------
    NotFound
        When there is nobody of that sign-in name.
    NotAllowed
        When the name is to be another one and stands in a branch of which `by` is no owner.
    InUse
        When the company would be left without an owner.
    """
    known = store.read_person(session, person.id)
    _check_technician(person, technicians)
    if person.role is not Role.OWNER:
        _keep_an_owner(session, person.id)
    if person.name != known.name and (missing := _not_owned(session, person.id, by)):
        raise NotAllowed(
            _(
                "'{person}' is called {name} in other branches too ({missing}), in what was done "
                "there as well: an owner of all of them can change the name. Role and technician "
                "of this branch can be changed with the name as it is."
            ).format(person=person.id, name=known.name, missing=", ".join(map(_called, missing)))
        )
    store.write_person(session, replace(person, units=known.units, language=known.language), now)


def choose_units(session: Session, person_id: str, units: Measures) -> None:
    """Let somebody read these units from now on, in every branch."""
    store.read_person(session, person_id)
    store.write_units(session, person_id, units)


def choose_language(session: Session, person_id: str, language: str) -> None:
    """Let somebody read this language from now on, in every branch; empty for the browser's.

    Raises
    ------
    InvalidValue
        When there is no catalogue of it.
    """
    store.read_person(session, person_id)
    known = known_language(language) if language else ""
    if known is None:
        raise InvalidValue(
            _("There is no catalogue of the language '{language}': choose one of the list.").format(
                language=language[:16]
            )
        )
    store.write_language(session, person_id, known)


def remove_person(session: Session, person_id: str) -> None:
    """Take somebody out of this branch, with sessions, links and tokens; raises as `change_person`.

    Who has rights in no other branch is taken out altogether.
    """
    _keep_an_owner(session, person_id)
    store.remove_person(session, person_id)


def invite(session: Session, person_id: str, now: datetime, *, by: str | None = None) -> str:
    """Make the secret of a one-time link by which the person sets a password.

    `by` is the sign-in name of the owner who does; None on the machine of the service, where
    whoever gives commands may reach everything anyway.

    Raises
    ------
    NotFound
        When there is nobody of that sign-in name.
    NotAllowed
        When the person has rights in a branch of which `by` is no owner: the password opens that
        one as well.
    """
    store.read_person(session, person_id)
    if by is not None:
        _check_owns_all(session, person_id, by)
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
        raise InUse(_("This company has people already: name the one to invite."))
    return _link(session, LinkUse.FIRST_OWNER, None, now + INVITATION_LASTS)


def sign_in_link(session: Session, person_id: str, now: datetime) -> str:
    """Make the secret of a one-time link that signs the person in at once; for the demo."""
    store.read_person(session, person_id)
    return _link(session, LinkUse.SIGN_IN, person_id, now + INVITATION_LASTS)


def sessions_of(session: Session, person_id: str, now: datetime) -> list[store.SignedIn]:
    """Where somebody is signed in, newest first."""
    return store.read_sessions(session, person_id, now)


def sign_out_everywhere(session: Session, person_id: str, *, by: str) -> list[str]:
    """End every session of a person; raises NotFound as `person_of`.

    `by` is the sign-in name of who does: the person, or an owner. An owner does so in the own
    branches alone, because anybody could be granted a right and then be kept out of work elsewhere.

    Returns
    -------
    branches
        Those in which the person stays signed in, as people call them.
    """
    store.read_person(session, person_id)
    left = [] if by == person_id else _not_owned(session, person_id, by)
    store.end_sessions(session, person_id, left=left)
    return [_called(one) for one in left]


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
            _("An API token cannot last {days} days: give 1 to {token_lasts_days} of them.").format(
                days=days, token_lasts_days=TOKEN_LASTS_DAYS
            )
        )
    store.read_person(session, person_id)
    secret = new_secret()
    until = now + timedelta(days=days)
    short_id = digest_of(secret)[:TOKEN_ID_LENGTH]
    token = Token(short_id, name.strip(), person_id, frozenset(scopes), now, until)
    store.write_token(session, token, secret)
    return token, secret


def tokens(session: Session) -> list[Token]:
    """All API tokens of the branch, without their secrets."""
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


def _not_owned(session: Session, person_id: str, by: str) -> list[str]:
    """The branches in which a person has rights and `by` is no owner."""
    owned = {one.branch for one in store.read_rights(session, by) if one.role is Role.OWNER}
    others = [one.branch for one in store.read_rights(session, person_id)]
    return [branch for branch in others if branch not in owned]


def _called(branch: str) -> str:
    return branch or _("the main one")


def _check_owns_all(session: Session, person_id: str, by: str) -> None:
    if missing := _not_owned(session, person_id, by):
        raise NotAllowed(
            _(
                "'{person}' has rights in other branches too ({missing}), and a new password "
                "would open those: an owner of all of them can make the link, or 'dispatch "
                "people invite {person}' on the machine of the service."
            ).format(person=person_id, missing=", ".join(map(_called, missing)))
        )


def _check_technician(person: Person, technicians: Iterable[str]) -> None:
    known = set(technicians)
    if person.technician_id is not None and person.technician_id not in known:
        raise InvalidValue(
            _(
                "There is no technician '{technician}' in the book: the list of technicians "
                "shows the ids."
            ).format(technician=person.technician_id[:60])
        )


def _keep_an_owner(session: Session, person_id: str) -> None:
    """Refuse to take the only owner away."""
    owners = [one.id for one in store.read_people(session) if one.role is Role.OWNER]
    if owners == [person_id]:
        raise InUse(
            _(
                "'{person}' is the only owner here, and somebody must be able to add people: "
                "make somebody else an owner first."
            ).format(person=person_id)
        )
