"""What a rule about a route says, and the words to write one in `api/rights.py`."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from dispatch.people import Role, Scope


class Own(StrEnum):
    """What must be a technician's own in a call for it to be answered."""

    ROUTE = "route"  # `technician_id` in the path
    SITE = "site"  # `site_id` in the path stands in one of his routes
    RECORD = "record"  # `record_id` in the path is a record that he made
    PHOTO = "photo"  # `photo_id` in the path belongs to a record that he made
    SENT = "sent"  # `technician_id` in what was sent is his, and `site_id` in one of his routes
    SENT_OF_SITE = "sent-of-site"  # both of SITE and SENT
    SENT_OF_RECORD = "sent-of-record"  # both of RECORD and SENT


@dataclass(frozen=True, slots=True)
class Rule:
    """Who may call a route; without `roles` everybody may, signed in or not."""

    roles: frozenset[Role]
    scope: Scope | None = None
    own: Own | None = None

    @property
    def is_public(self) -> bool:
        """Whether nobody need be signed in."""
        return not self.roles


PUBLIC = Rule(frozenset())


def everybody(scope: Scope | None = None) -> Rule:
    """Whoever is signed in."""
    return Rule(frozenset(Role), scope)


def office(scope: Scope | None = None) -> Rule:
    """Owners and dispatchers."""
    return Rule(frozenset({Role.OWNER, Role.DISPATCHER}), scope)


def owner(scope: Scope | None = None) -> Rule:
    """Owners alone."""
    return Rule(frozenset({Role.OWNER}), scope)


def field(own: Own, scope: Scope | None = None) -> Rule:
    """Owners and dispatchers, and technicians for what is their own."""
    return Rule(frozenset(Role), scope, own)
