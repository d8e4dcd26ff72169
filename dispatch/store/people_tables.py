"""Tables of people: who may sign in, where they are signed in, and what they did."""

from __future__ import annotations

from sqlalchemy import Index, UniqueConstraint

from dispatch.store.metadata import METADATA
from dispatch.store.people_fields import (
    ApiTokenFields,
    AuditFields,
    PersonFields,
    PersonLinkFields,
    PersonRightFields,
    PersonSessionFields,
)

assert METADATA.naming_convention  # noqa: S101 - keys of tables made without it have no names


class PersonRow(PersonFields, table=True):
    """Table of the people."""

    __tablename__ = "person"


class PersonRightRow(PersonRightFields, table=True):
    """Table of the rights of people in branches."""

    __tablename__ = "person_right"


class PersonSessionRow(PersonSessionFields, table=True):
    """Table of the signed-in browsers."""

    __tablename__ = "person_session"
    __table_args__ = (Index("ix_person_session_person_id", "person_id"),)


class PersonLinkRow(PersonLinkFields, table=True):
    """Table of the one-time links."""

    __tablename__ = "person_link"


class ApiTokenRow(ApiTokenFields, table=True):
    """Table of the API tokens."""

    __tablename__ = "api_token"
    __table_args__ = (UniqueConstraint("digest"),)


class AuditRow(AuditFields, table=True):
    """Table of the audit log; nothing is ever taken out of it."""

    __tablename__ = "audit"
    __table_args__ = (Index("ix_audit_target", "target"),)
