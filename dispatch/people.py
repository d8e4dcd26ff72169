"""The people who use the service: who they are, what role they have, and what a caller may do."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum

from dispatch.errors import InvalidValue
from dispatch.words import N_, _

SESSION_LASTS = timedelta(days=30)  # common practice for a phone that is one person's own
INVITATION_LASTS = timedelta(hours=48)  # common practice; long enough for a weekend
TOKEN_LASTS_DAYS = 365  # most that an API token may be good for, common practice
_ID = re.compile(r"[a-z0-9][a-z0-9._-]{0,39}")


class Role(StrEnum):
    """What somebody is in the company."""

    OWNER = "owner"  # everything, people and tokens among it
    DISPATCHER = "dispatcher"  # everything but people, tokens and the audit log
    TECHNICIAN = "technician"  # his own routes and their sites


class Scope(StrEnum):
    """What an API token may do, always within the rights of the person it belongs to."""

    READ = "read"  # whatever only reads
    BOOK = "book"  # sites, technicians, holds, one-off work, upkeep, the street map
    PLAN = "plan"  # plan weeks and spread upkeep, publish and change days
    RECORDS = "records"  # take in records, photos and what became of them
    FEEDS = "feeds"  # calendars and other feeds


class Measures(StrEnum):
    """The units that somebody reads; the book and all reckoning stay metric."""

    COUNTRY = ""  # those of the company's country
    CUSTOMARY = "customary"  # US customary: miles, pounds, gallons, psi, degrees Fahrenheit
    METRIC = "metric"

    @property
    def words(self) -> str:
        """What a form calls it."""
        return {
            Measures.COUNTRY: N_("those of the company's country"),
            Measures.CUSTOMARY: N_("US units (mi, lb, gal, psi, °F)"),
            Measures.METRIC: N_("metric units (km, kg, l, bar, °C)"),
        }[self]


class LinkUse(StrEnum):
    """What a one-time link is for."""

    FIRST_OWNER = "first-owner"  # make the first owner of a company that has nobody yet
    SET_PASSWORD = "set-password"  # noqa: S105 - the name of a use
    SIGN_IN = "sign-in"  # the demo's way in


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody who may sign in, with the rights in the branch at hand.

    `id` is the name typed when signing in, the same in every branch, as are name, password,
    units and language; role and technician are rights, and those of one branch say nothing in
    another. `technician_id` is the technician of the book that the person is, and a technician
    must be one. `language` is the code of a catalogue, or empty: then the browser says what its
    reader reads.
    """

    id: str
    name: str
    role: Role
    technician_id: str | None = None
    units: Measures = Measures.COUNTRY
    language: str = ""

    def __post_init__(self) -> None:
        if not _ID.fullmatch(self.id):
            raise InvalidValue(
                _(
                    "The sign-in name '{id}' cannot be used: write 1 to 40 small letters, "
                    "digits, dots, dashes or underscores, as alma or ben.2."
                ).format(id=self.id[:60])
            )
        if not self.name.strip() or len(self.name) > 200:
            raise InvalidValue(
                _(
                    "The person '{id}' needs a name of 1 to 200 characters, as it is to be shown."
                ).format(id=self.id)
            )
        if self.role is Role.TECHNICIAN and not self.technician_id:
            raise InvalidValue(
                _(
                    "{name} is to sign in as a technician: say which technician of the book, "
                    "by the id that the list of technicians shows."
                ).format(name=self.name)
            )


@dataclass(frozen=True, slots=True)
class Right:
    """What a person is in one branch; the branch is empty where a company has one only."""

    person_id: str
    branch: str
    role: Role
    technician_id: str | None = None


@dataclass(frozen=True, slots=True)
class Caller:
    """Who calls: a person, with everything the role allows, or only with a token's `scopes`."""

    person: Person
    scopes: frozenset[Scope] | None = None
    token_id: str = ""

    def has(self, scope: Scope | None) -> bool:
        """Whether the way of calling allows `scope`; pages have none and want a person."""
        return self.scopes is None or (scope is not None and scope in self.scopes)


@dataclass(frozen=True, slots=True)
class Token:
    """An API token as lists show it; its secret is shown once, when it is made."""

    id: str
    name: str
    person_id: str
    scopes: frozenset[Scope]
    made_at: datetime
    expires_at: datetime

    def __post_init__(self) -> None:
        if not self.name.strip() or len(self.name) > 200:
            raise InvalidValue(
                _("An API token needs a name of 1 to 200 characters: what it is for.")
            )
        if not self.scopes:
            names = ", ".join(Scope)
            raise InvalidValue(
                _("An API token needs at least one scope: {names}.").format(names=names)
            )


@dataclass(frozen=True, slots=True)
class Noted:
    """One line of the audit log: who did what to what, and when (UTC)."""

    at: datetime
    person_id: str
    person_name: str
    via: str
    deed: str
    target: str
    number: int = 0
