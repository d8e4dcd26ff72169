"""Matching the columns of somebody's table with ours: guesses, which a person corrects.

A heading is compared with our names, with their meanings in plain words, and with what other
tables are likely to say. Nothing is guessed from the cells.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from rapidfuzz import fuzz

from dispatch.errors import InvalidValue
from dispatch.intake.table import Column, RowProblem, first_records, rejected
from dispatch.words import _

CLOSE = 84.0  # of 100; less alike is left for a person (tried on made-up headings)
SAMPLES = 3

# Plain words for our columns, besides their own names (made up by ourselves).
SYNONYMS: Mapping[str, tuple[str, ...]] = {
    "id": ("number", "account", "account number", "customer number", "code", "key", "no"),
    "name": ("customer", "customer name", "client", "full name", "account name", "technician"),
    "address": ("street", "street address", "service address", "location", "site address"),
    "lat": ("latitude", "y", "gps lat"),
    "lon": ("longitude", "lng", "long", "x", "gps lon"),
    "rhythm": ("frequency", "how often", "interval", "schedule", "visits"),
    "service_min": ("minutes", "duration", "service minutes", "time on site", "service time"),
    "allowed_weekdays": ("days", "possible days", "weekdays", "service days"),
    "usual_technician": ("technician", "assigned to", "serviced by", "worker", "employee"),
    "usual_weekdays": ("day", "service day", "route day", "visit day"),
    "gate_note": ("access", "access notes", "entry", "gate", "how to get in"),
    "gate_code": ("code of the gate", "gate code", "access code", "lock code"),
    "dog": ("pets", "dogs", "pet", "animals"),
    "email": ("e mail", "mail", "email address", "e mail address"),
    "pool_volume_gal": ("gallons", "pool gallons", "pool size", "volume in gallons"),
    "pool_volume_l": ("litres", "liters", "volume in litres", "volume"),
    "sanitizer": ("sanitiser", "chemistry", "water treatment", "salt or chlorine"),
    "monthly_price": ("price", "rate", "monthly rate", "monthly fee", "fee"),
    "last_visit_on": ("last visit", "last service", "last serviced"),
    "started_on": ("start date", "customer since", "start of service"),
    "skills": ("qualifications", "abilities", "certificates"),
    "start_address": ("home", "home address", "depot", "yard", "start"),
    "payload_kg": ("payload", "truck payload", "capacity"),
    "days_off": ("vacation", "absences", "holidays", "time off"),
    "mon": ("monday",),
    "tue": ("tuesday",),
    "wed": ("wednesday",),
    "thu": ("thursday",),
    "fri": ("friday",),
    "sat": ("saturday",),
    "sun": ("sunday",),
    "break_min": ("lunch minutes", "break", "lunch"),
}


@dataclass(frozen=True, slots=True)
class Guess:
    """One heading of a table: the column it seems to be (empty: none), and its first values."""

    heading: str
    column: str
    score: float
    samples: tuple[str, ...]


def guesses(text: str, columns: Sequence[Column]) -> tuple[Guess, ...]:
    """What each heading of a CSV text seems to be; a column is guessed for one heading at most.

    Raises
    ------
    ImportRejected
        When the text has no heading.
    """
    headings, rows = first_records(text, SAMPLES)
    scored = sorted(
        (
            (_alike(heading, column), -at, heading_at, column.name)
            for heading_at, heading in enumerate(headings)
            for at, column in enumerate(columns)
        ),
        reverse=True,
    )
    chosen: dict[int, tuple[str, float]] = {}
    taken = set[str]()
    for score, _rest, at, name in scored:
        if score >= CLOSE and at not in chosen and name not in taken:
            chosen[at] = (name, score)
            taken.add(name)
    return tuple(
        Guess(
            heading,
            *chosen.get(at, ("", 0.0)),
            tuple(row[at] for row in rows if at < len(row) and row[at]),
        )
        for at, heading in enumerate(headings)
    )


def renamed(text: str, chosen: Sequence[str]) -> str:
    """The CSV text with our names for its columns, without those that are left out (empty).

    Lines stay where they are, so that a problem names the line of the file.

    Raises
    ------
    InvalidValue
        When a column is chosen twice, or the number of choices is not that of the headings.
    ImportRejected
        When the text has no heading, or none is chosen to be a column.
    """
    headings, _rest = first_records(text, 0)
    if len(chosen) != len(headings):
        raise InvalidValue(
            _(
                "The table has {columns} columns and {matched} are matched: match each, or leave "
                "it out."
            ).format(columns=len(headings), matched=len(chosen))
        )
    named = [name for name in chosen if name]
    twice = sorted({name for name in named if named.count(name) > 1})
    if twice:
        raise InvalidValue(
            _("The column '{column}' is chosen twice: leave one of the two out.").format(
                column=twice[0]
            )
        )
    kept = [at for at, name in enumerate(chosen) if name]
    if not kept:  # the next line would be taken for the headings
        mend = _(
            "No heading is matched with a column: choose what each of them is. Where the file "
            "begins with a title, take it out, so that the headings stand on the first line."
        )
        raise rejected([RowProblem(1, "", "", mend)])
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\n")
    before, is_first = 0, True
    for line, cells in _all_records(text):
        out.write("\n" * (line - 1 - before))
        if is_first:
            writer.writerow(named)
        else:
            extra = [cell for cell in cells[len(headings) :] if cell.strip()]
            flat = [_one_line(cells[at]) if at < len(cells) else "" for at in kept]
            writer.writerow([*flat, *extra])
        before, is_first = line, False
    return out.getvalue()


def _all_records(text: str) -> list[tuple[int, list[str]]]:
    from dispatch.intake.table import records_of

    return records_of(text)


def _one_line(cell: str) -> str:
    """A cell whose line breaks are spaces, so that line numbers stay true."""
    return " ".join(cell.split("\n")) if "\n" in cell else cell


def _alike(heading: str, column: Column) -> float:
    """How alike a heading and a column are, 0 to 100."""
    said = _plain(heading)
    if not said:
        return 0.0
    own = _plain(column.name)
    if said == own:
        return 101.0
    words = (own, *SYNONYMS.get(column.name, ()))
    if said in words:
        return 100.0
    return max(fuzz.token_sort_ratio(said, word) for word in words) - 1.0


def _plain(words: str) -> str:
    return " ".join(words.replace("_", " ").replace("-", " ").casefold().split())
