"""How a customer may be told of visits: an e-mail address and what it is wanted for."""

from __future__ import annotations

import re
from enum import StrEnum

from dispatch.errors import InvalidValue
from dispatch.words import _

LONGEST_EMAIL = 254  # characters; a path of 256 with its angle brackets (RFC 5321, 4.5.3.1.3)
SHAPE = re.compile("[!-?A-~]+@[!-?A-~]+")  # letters that show, of ASCII, and one @


class NoticeWish(StrEnum):
    """What a customer may wish to be told; nothing unless it was asked for."""

    DAY_BEFORE = "day-before"  # when to expect the technician, and what changes afterwards
    DONE = "done"  # where to read what was done


def parse_email(text: str) -> str:
    """An e-mail address that any mail server takes: a domain in other letters is in punycode.

    No name server is asked whether the domain is there.

    Raises
    ------
    InvalidValue
        When the text is no address, or has other letters than ASCII before the @.
    """
    from email_validator import EmailNotValidError, validate_email  # takes a third of a second

    try:
        found = validate_email(text, check_deliverability=False, allow_smtputf8=False)
    except EmailNotValidError as error:
        raise InvalidValue(
            _("'{text}' is no e-mail address: {why} Write one, as office@example.org.").format(
                text=text[:LONGEST_EMAIL], why=error
            )
        ) from error
    return found.ascii_email or found.normalized


def check_contact(email: str, notices: frozenset[NoticeWish]) -> None:
    """Refuse an address that cannot stand in a letter's head, and wishes without an address.

    Raises
    ------
    InvalidValue
        The address itself is not repeated, because it is personal.
    """
    if email and (len(email) > LONGEST_EMAIL or SHAPE.fullmatch(email) is None):
        raise InvalidValue(_("The e-mail address cannot be used: write one, as a@example.org."))
    if notices and not email:
        raise InvalidValue(
            _("Messages are wished for, and there is no e-mail address: give one, or no wish.")
        )
