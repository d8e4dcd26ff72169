"""Columns of people, rights, sessions, one-time links, API tokens and the audit log.

Moments are UTC, in columns that do not say so. Of every secret only a digest is kept.
"""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import JSON, DateTime, String
from sqlmodel import Field, SQLModel

from dispatch.people import LinkUse, Measures, Role

ID_LENGTH = 64
NAME_LENGTH = 200
LANGUAGE_LENGTH = 16  # characters; the longest codes of languages have about eleven
DIGEST_LENGTH = 64  # characters; SHA-256 in hexadecimal digits
HASH_LENGTH = 500  # characters; an argon2id hash with its parameters has about 100
TARGET_LENGTH = 500


class PersonFields(SQLModel):
    """Somebody who may sign in somewhere; the hash is empty until a password has been set."""

    id: str = Field(primary_key=True, max_length=ID_LENGTH)
    name: str = Field(max_length=NAME_LENGTH)
    units: Measures = Field(sa_type=String)
    language: str = Field(max_length=LANGUAGE_LENGTH)
    password_hash: str = Field(max_length=HASH_LENGTH)
    made_at: datetime = Field(sa_type=DateTime)


class PersonRightFields(SQLModel):
    """What a person is in one branch; whoever has no row for a branch may see nothing of it."""

    person_id: str = Field(
        primary_key=True, foreign_key="person.id", ondelete="CASCADE", max_length=ID_LENGTH
    )
    branch: str = Field(primary_key=True, max_length=ID_LENGTH)
    role: Role = Field(sa_type=String)
    technician_id: str | None = Field(default=None, max_length=ID_LENGTH)


class PersonSessionFields(SQLModel):
    """A browser signed in to one branch."""

    digest: str = Field(primary_key=True, max_length=DIGEST_LENGTH)
    person_id: str = Field(foreign_key="person.id", ondelete="CASCADE", max_length=ID_LENGTH)
    branch: str = Field(max_length=ID_LENGTH)
    made_at: datetime = Field(sa_type=DateTime)
    expires_at: datetime = Field(sa_type=DateTime)
    device: str = Field(max_length=NAME_LENGTH)


class PersonLinkFields(SQLModel):
    """A one-time link of one branch that has not been used; using it takes it away."""

    digest: str = Field(primary_key=True, max_length=DIGEST_LENGTH)
    branch: str = Field(max_length=ID_LENGTH)
    use: LinkUse = Field(sa_type=String)
    person_id: str | None = Field(
        default=None, foreign_key="person.id", ondelete="CASCADE", max_length=ID_LENGTH
    )
    expires_at: datetime = Field(sa_type=DateTime)


class ApiTokenFields(SQLModel):
    """An API token of a person, for one branch."""

    id: str = Field(primary_key=True, max_length=ID_LENGTH)
    name: str = Field(max_length=NAME_LENGTH)
    digest: str = Field(max_length=DIGEST_LENGTH)
    person_id: str = Field(foreign_key="person.id", ondelete="CASCADE", max_length=ID_LENGTH)
    branch: str = Field(max_length=ID_LENGTH)
    scopes: list[str] = Field(sa_type=JSON)
    made_at: datetime = Field(sa_type=DateTime)
    expires_at: datetime = Field(sa_type=DateTime)


class AuditFields(SQLModel):
    """One line of the audit log; it names people without pointing at them and outlives them."""

    number: int | None = Field(default=None, primary_key=True)
    branch: str = Field(max_length=ID_LENGTH)
    at: datetime = Field(sa_type=DateTime)
    person_id: str = Field(max_length=ID_LENGTH)
    person_name: str = Field(max_length=NAME_LENGTH)
    via: str = Field(max_length=NAME_LENGTH)
    deed: str = Field(max_length=NAME_LENGTH)
    target: str = Field(max_length=TARGET_LENGTH)
