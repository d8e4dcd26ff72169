"""JSON of people, API tokens and the audit log."""

from __future__ import annotations

from datetime import datetime

from pydantic import BaseModel, Field

from dispatch.people import TOKEN_LASTS_DAYS, Noted, Person, Role, Scope, Token


class PersonOut(BaseModel):
    """Somebody who may sign in."""

    id: str
    name: str
    role: Role
    technician_id: str | None

    @classmethod
    def of(cls, person: Person) -> PersonOut:
        """The JSON of a person."""
        return cls(
            id=person.id,
            name=person.name,
            role=person.role,
            technician_id=person.technician_id,
        )


class PersonIn(BaseModel):
    """Somebody who is to sign in; a technician needs the id of the technician of the book."""

    id: str = Field(examples=["alma"])
    name: str
    role: Role
    technician_id: str | None = None

    def value(self) -> Person:
        """The person; raises InvalidValue."""
        return Person(self.id, self.name.strip(), self.role, self.technician_id or None)


class RightIn(BaseModel):
    """What somebody is to be in this branch."""

    role: Role
    technician_id: str | None = None


class LinkOut(BaseModel):
    """A one-time link to set a password."""

    address: str


class TokenIn(BaseModel):
    """An API token to be made."""

    name: str = Field(examples=["payroll"])
    person_id: str
    scopes: list[Scope]
    days: int = Field(default=90, ge=1, le=TOKEN_LASTS_DAYS)


class TokenOut(BaseModel):
    """An API token; moments in UTC."""

    id: str
    name: str
    person_id: str
    scopes: list[Scope]
    made_at: datetime
    expires_at: datetime

    @classmethod
    def of(cls, token: Token) -> TokenOut:
        """The JSON of a token."""
        return cls(
            id=token.id,
            name=token.name,
            person_id=token.person_id,
            scopes=sorted(token.scopes),
            made_at=token.made_at,
            expires_at=token.expires_at,
        )


class NewTokenOut(BaseModel):
    """A new API token with its secret, which is shown this once."""

    token: TokenOut
    secret: str


class NotedOut(BaseModel):
    """One line of the audit log: who did what to what, and when (UTC)."""

    number: int
    at: datetime
    person_id: str
    person_name: str
    via: str
    deed: str
    target: str

    @classmethod
    def of(cls, one: Noted) -> NotedOut:
        """The JSON of a line."""
        return cls(
            number=one.number,
            at=one.at,
            person_id=one.person_id,
            person_name=one.person_name,
            via=one.via,
            deed=one.deed,
            target=one.target,
        )
