"""Records in and out as files: CSV tables, and JSON lines as phones send them."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, tzinfo

from sqlmodel import Session

from dispatch.actions.lists import ListTable
from dispatch.actions.take_in import Outcome, TakenIn, judge, take_in_records
from dispatch.errors import ImportRejected
from dispatch.intake.table import RowProblem, rejected
from dispatch.measures import measured
from dispatch.readings import LIMITS, ReadingAt
from dispatch.records.content import content_of
from dispatch.records.follow_ups import FollowUp
from dispatch.records.record import VisitRecord
from dispatch.records.rows import RECORD_COLUMNS, read_record_rows, record_cells
from dispatch.settings import Settings
from dispatch.store.record_lists import Aside
from dispatch.store.records import KeptRecord, read_some_records
from dispatch.words import _


@dataclass(frozen=True, slots=True)
class FileTakenIn:
    """What became of a file: records kept, known before, and set aside with their reasons."""

    kept: int
    known: int
    aside: tuple[TakenIn, ...]


def import_record_table(session: Session, settings: Settings, text: str) -> FileTakenIn:
    """Take in a CSV table of records, all of it or nothing; known records count once.

    A row says less than a record (no methods, and no photos in tables of earlier versions), so a
    row whose id is known counts as known where the record says the same as far as the row does.

    Raises
    ------
    ImportRejected
        With every bad row in `problems`; nothing is lost, because the file is still there.
    """
    rows, problems = read_record_rows(text, settings.zone)
    zone = settings.zone
    kept = read_some_records(session, [row.record.id for row in rows], zone)
    there = {one.record.id: one.record for one in kept}
    new = [row for row in rows if not _is_known(row.record, there.get(row.record.id), zone)]
    known, rows = len(rows) - len(new), new
    verdicts = judge(session, settings, [row.content for row in rows])
    problems += [
        RowProblem(row.line, "", "", str(error))
        for row, error in zip(rows, verdicts, strict=True)
        if error is not None
    ]
    if problems:
        raise rejected(problems)
    found = _counted(take_in_records(session, settings, [row.content for row in rows]))
    return replace(found, known=found.known + known)


def import_record_lines(session: Session, settings: Settings, text: str) -> FileTakenIn:
    """Take in JSON lines, one record on each; what cannot be kept is set aside word for word.

    Raises
    ------
    ImportRejected
        When a line is no JSON: then nothing of the file is taken in.
    """
    contents: list[object] = []
    problems = []
    for number, line in enumerate(text.splitlines(), start=1):
        if not line.strip():
            continue
        try:
            contents.append(json.loads(line))
        except ValueError as error:
            problems.append(
                RowProblem(number, "", "", _("The line is no JSON: {error}.").format(error=error))
            )
    if problems:
        raise rejected(problems)
    if not contents:
        raise ImportRejected(_("The file holds no record: give one JSON object on each line."))
    return _counted(take_in_records(session, settings, contents))


def record_lines(kept: Iterable[KeptRecord]) -> str:
    """Records as JSON lines, which can be taken in again."""
    return "".join(json.dumps(content_of(one.record), ensure_ascii=False) + "\n" for one in kept)


def record_list(kept: Iterable[KeptRecord], zone: tzinfo) -> ListTable:
    """Records in the columns of their import."""
    names = tuple(column.name for column in RECORD_COLUMNS)
    rows = [record_cells(one.record, zone) for one in kept]
    return ListTable(names, tuple(tuple(row.get(name, "") for name in names) for row in rows))


def reading_list(history: Iterable[ReadingAt], zone: tzinfo) -> ListTable:
    """Readings with their local time, unit, method and what was odd."""
    rows = tuple(
        (
            one.site_id,
            one.at.astimezone(zone).isoformat(timespec="minutes"),
            str(one.reading.kind),
            one.reading.value,
            LIMITS[one.reading.kind].unit,
            one.reading.method,
            measured(one.reading.odd),
        )
        for one in history
    )
    return ListTable(("site_id", "at", "reading", "value", "unit", "method", "odd"), rows)


def follow_up_list(follow_ups: Iterable[FollowUp], today: date) -> ListTable:
    """Follow-ups, urgent ones first as they come, with whether they are late."""
    columns = ("id", "site_id", "kind", "due_on", "urgent", "late", "minutes", "reason")
    rows = tuple(
        (
            one.id,
            one.site_id,
            str(one.kind),
            one.due_on,
            "yes" if one.urgent else "no",
            "yes" if one.is_late(today) else "no",
            one.minutes,
            one.reason,
        )
        for one in follow_ups
    )
    return ListTable(columns, rows)


def aside_list(asides: Sequence[Aside], zone: tzinfo) -> ListTable:
    """What was set aside, with the reason and when it came."""
    rows = tuple(
        (one.id, one.record_id, _stamp(one.received_at, zone), one.code, one.reason)
        for one in asides
    )
    return ListTable(("id", "record_id", "received", "code", "reason"), rows)


def _is_known(sent: VisitRecord, kept: VisitRecord | None, zone: tzinfo) -> bool:
    """Whether the record that is kept says all that the one of a row does."""
    if kept is None:
        return False
    seen = kept if sent.photos else replace(kept, photos=())
    return record_cells(seen, zone) == record_cells(sent, zone)


def _stamp(at: datetime, zone: tzinfo) -> str:
    return at.astimezone(zone).isoformat(timespec="minutes")


def _counted(answers: Sequence[TakenIn]) -> FileTakenIn:
    return FileTakenIn(
        sum(one.outcome is Outcome.KEPT for one in answers),
        sum(one.outcome is Outcome.KNOWN for one in answers),
        tuple(one for one in answers if one.outcome is Outcome.ASIDE),
    )
