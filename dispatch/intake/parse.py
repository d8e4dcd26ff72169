"""Single cells read into values; InvalidValue says what is wrong and how to write it."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date
from enum import StrEnum
from typing import TypeVar

from dispatch.clock import DASH, WEEKDAY_NAMES, WEEKDAYS, parse_day
from dispatch.contacts import NoticeWish
from dispatch.errors import InvalidValue
from dispatch.intake.table import nearest
from dispatch.words import _

E = TypeVar("E", bound=StrEnum)

UNKNOWN = "unknown"  # written for the date of equipment that is there but of unknown age


def parse_id(text: str) -> str:
    """An id: letters, digits, '_', '.' and '-', beginning with a letter, digit or '_'."""
    if re.fullmatch(r"\w[\w.\-]{0,63}", text) is None:
        raise InvalidValue(
            _(
                "'{text}' is no id: write up to 64 letters, digits, '_', '.' or '-', without "
                "spaces, as S017."
            ).format(text=text)
        )
    return text


def parse_number(text: str) -> float:
    """A decimal number with a point; no thousands separator, no unit."""
    if re.fullmatch(r"[+-]?(\d+(\.\d*)?|\.\d+)", text, re.ASCII) is None:
        raise InvalidValue(
            _(
                "'{text}' is no number: write digits with a decimal point, without unit and "
                "without a separator between thousands, as 15000 or 33.4502."
            ).format(text=text)
        )
    return float(text)


def parse_minutes(text: str) -> int:
    """Whole minutes, zero or more."""
    if re.fullmatch(r"\d+", text, re.ASCII) is None:
        raise InvalidValue(
            _("'{text}' is no number of minutes: write a whole number, as 25.").format(text=text)
        )
    if len(text.lstrip("0")) > 5:
        raise InvalidValue(
            _("{text} minutes are not believable: write a whole number up to 99999, as 25.").format(
                text=text[:20]
            )
        )
    return int(text)


def parse_choice(kinds: type[E]) -> Callable[[str], E]:
    """A reader of one of the values of `kinds`, in any case."""

    def parse(text: str) -> E:
        wanted = "-".join(text.casefold().replace("-", " ").split())
        for kind in kinds:
            if kind.value == wanted:
                return kind
        values = ", ".join(kind.value for kind in kinds)
        hint = nearest(wanted, [kind.value for kind in kinds])
        raise InvalidValue(
            _("'{text}' is not known here: write one of {values}.{hint}").format(
                text=text, values=values, hint=hint
            )
        )

    return parse


def parse_list(text: str) -> frozenset[str]:
    """Words separated by ';' or ',', in lower case."""
    words = (" ".join(word.split()).casefold() for word in re.split(r"[;,]", text))
    return frozenset(filter(None, words))


def parse_wishes(text: str) -> frozenset[NoticeWish]:
    """What a customer wishes to be told, separated by ';' or ','; 'none' is nothing."""
    words = parse_list(text) - {"no", "none"}
    return frozenset(parse_choice(NoticeWish)(word) for word in sorted(words))


def parse_days(text: str) -> frozenset[date]:
    """Dates separated by ';', ',' or spaces."""
    return frozenset(parse_day(word) for word in re.split(r"[;,\s]+", text) if word)


def parse_weekdays(text: str) -> frozenset[int]:
    """Weekdays as 'Mon;Tue;Fri', 'Mon-Fri' or 'Sat-Mon'; 0 is Monday. Full names do as well."""
    found: set[int] = set()
    for word in re.split(r"[;,\s]+", re.sub(rf"\s*{DASH}\s*", "-", text.strip())):
        first, _rest, last = word.partition("-")
        if not word:
            continue
        start = _weekday(first, text)
        end = _weekday(last, text) if last or "-" in word else start
        found.update((start + step) % 7 for step in range((end - start) % 7 + 1))
    if not found:
        raise InvalidValue(
            _("'{text}' names no weekday: write one or several, as Mon;Thu or Mon-Fri.").format(
                text=text
            )
        )
    return frozenset(found)


def _weekday(word: str, text: str) -> int:
    for number, (short, full) in enumerate(zip(WEEKDAYS, WEEKDAY_NAMES, strict=True)):
        if word.casefold() in (short.casefold(), full.casefold()):
            return number
    raise InvalidValue(
        _(
            "'{word}' in '{text}' is no weekday: write Mon, Tue, Wed, Thu, Fri, Sat or Sun, "
            "several as Mon;Thu or Mon-Fri."
        ).format(word=word, text=text)
    )


def parse_equipment_day(text: str) -> date | None:
    """A date, or None for the word 'unknown' (it is there, but nobody knows its age)."""
    return None if text.casefold() == UNKNOWN else parse_day(text)


def parse_yes_no(text: str) -> bool:
    """True of 'yes', False of 'no', in any case."""
    answers = {"yes": True, "y": True, "true": True, "no": False, "n": False, "false": False}
    if text.casefold() not in answers:
        raise InvalidValue(
            _("'{text}' is neither yes nor no: write one of the two.").format(text=text)
        )
    return answers[text.casefold()]


def parse_hours(text: str) -> list[float]:
    """Hours a day: one figure for the whole year, or four separated by ';', December first."""
    figures = [parse_number(word.strip()) for word in text.split(";")]
    if len(figures) not in (1, 4):
        raise InvalidValue(
            _(
                "'{text}' gives {number} figures of hours a day: write one for the whole year, "
                "or four for Dec-Feb, Mar-May, Jun-Aug and Sep-Nov, as 4;8;12;8."
            ).format(text=text, number=len(figures))
        )
    return figures
