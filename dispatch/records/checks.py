"""A record beside what is known: what refuses it, and what is only odd.

A refused record is set aside by whoever takes it in, so that nothing is lost; an odd one is kept
with its flags, and somebody looks at them.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta, tzinfo

from dispatch.clock import is_of_day
from dispatch.errors import InvalidValue
from dispatch.records.record import VisitRecord
from dispatch.words import _, catalogues, reading_in

CLOCK_SLACK = timedelta(minutes=10)  # phones' clocks differ by a little; common practice
LONG_VISIT_MIN = 240.0  # minutes; a longer stay is most likely a forgotten check-out
LONG_SERVICE_MIN = 150.0  # minutes of a visit without upkeep or note; the same
SHORT_VISIT_MIN = 3.0  # minutes; nobody tests and brushes a pool in less
OLDEST = timedelta(days=3650)  # a record of more than ten years ago is a slip of the pen


@dataclass(frozen=True, slots=True)
class Known:
    """What a record is checked against.

    `planned` names the technician and day of each planned visit, `recorded` the record of each
    visit that has one, `photos` the references that have been received.
    """

    site_ids: Collection[str]
    technician_ids: Collection[str]
    planned: Mapping[str, tuple[str, date]]
    recorded: Mapping[str, str]
    photos: Collection[str]
    today: date
    now: datetime
    zone: tzinfo


def check_record(record: VisitRecord, known: Known) -> None:
    """Raise InvalidValue where the record cannot be what happened.

    That is an unknown site or technician, a day in the future, a time in the future, or a visit
    that was planned for another technician and not taken over.
    """
    if record.site_id not in known.site_ids:
        raise InvalidValue(
            _("There is no site '{site}' in the book: correct the id, or add the site.").format(
                site=record.site_id
            )
        )
    if record.technician_id not in known.technician_ids:
        raise InvalidValue(
            _("There is no technician '{technician}' in the book: correct the id.").format(
                technician=record.technician_id
            )
        )
    if record.day > known.today:
        raise InvalidValue(
            _("The day {day} lies after today, {today}: give the day of the visit.").format(
                day=record.day, today=known.today
            )
        )
    if known.today - record.day > OLDEST:
        raise InvalidValue(
            _("The day {day} is more than ten years ago: check the year.").format(day=record.day)
        )
    _check_not_ahead(record, known)
    _check_whose(record, known)


def odd_about(record: VisitRecord, known: Known) -> tuple[str, ...]:
    """Sentences about what is possible but odd, the readings' own ones first.

    What stays so is kept with the record; `photos_missing` says what passes.
    """
    flags = [one.odd for one in record.readings if one.odd]
    minutes = record.minutes
    explained = bool(record.upkeep or record.note)
    most = LONG_VISIT_MIN if explained else LONG_SERVICE_MIN
    if minutes is not None and minutes > most:
        flags.append(
            _("{minutes:.1f} hours at the pool: was the check-out forgotten?").format(
                minutes=minutes / 60
            )
        )
    if minutes is not None and minutes < SHORT_VISIT_MIN and not record.skipped:
        flags.append(_("{minutes:.0f} minutes at the pool is very short.").format(minutes=minutes))
    if record.arrived_at is None and not record.skipped:
        flags.append(_("The arrival is missing."))
    elif record.left_at is None and not record.skipped:
        flags.append(_("The departure is missing: was the check-out forgotten?"))
    if record.arrived_at and not is_of_day(record.arrived_at.astimezone(known.zone), record.day):
        flags.append(
            _("The arrival does not lie on {day}, the day of the visit.").format(day=record.day)
        )
    if record.visit_id is not None:
        flags += _odd_visit(record, record.visit_id, known)
    return tuple(flags)


def photos_missing(record: VisitRecord, received: Collection[str]) -> tuple[str, ...]:
    """A sentence where photos of the record have not arrived; to be asked anew, for they follow.

    `received` are the references of photos that have come.
    """
    missing = sum(photo not in received for photo in record.photos)
    return (_missing_words(missing, len(record.photos)),) if missing else ()


def without_photos(record: VisitRecord, flags: Iterable[str]) -> tuple[str, ...]:
    """Flags without what was said of missing photos, in whatever language, when it was kept."""
    count = len(record.photos)
    said = set()
    for code in catalogues() if count else ():
        with reading_in(code):
            said |= {_missing_words(missing, count) for missing in range(1, count + 1)}
    return tuple(flag for flag in flags if flag not in said)


def _missing_words(missing: int, count: int) -> str:
    return _("{missing} of {all} photos have not arrived yet.").format(missing=missing, all=count)


def _odd_visit(record: VisitRecord, visit_id: str, known: Known) -> list[str]:
    flags = []
    if visit_id not in known.planned:
        flags.append(_("No plan has the visit {visit}.").format(visit=visit_id))
    else:
        technician_id, day = known.planned[visit_id]
        if technician_id != record.technician_id:
            flags.append(
                _("{technician} took the visit over from {other_technician}.").format(
                    technician=record.technician_id, other_technician=technician_id
                )
            )
        if day != record.day:
            flags.append(_("The visit was planned for {day}.").format(day=day))
    other = known.recorded.get(visit_id)
    if other is not None and other != record.id:
        flags.append(_("The visit has another record already, {other}.").format(other=other))
    return flags


def _check_not_ahead(record: VisitRecord, known: Known) -> None:
    for name, at in (("arrival", record.arrived_at), ("departure", record.left_at)):
        if at is not None and at > known.now + CLOCK_SLACK:
            raise InvalidValue(
                _(
                    "The {name} {at:%Y-%m-%d %H:%M} UTC lies in the future: check the phone's "
                    "clock."
                ).format(name=name, at=at)
            )


def _check_whose(record: VisitRecord, known: Known) -> None:
    if record.visit_id is None or record.visit_id not in known.planned or record.took_over:
        return
    planned_for, day = known.planned[record.visit_id]
    if planned_for != record.technician_id:
        raise InvalidValue(
            _(
                "The visit {visit} on {day} is planned for technician {planned_for}, not "
                "{technician}: correct the technician, or say took_over where {technician} did "
                "it instead."
            ).format(
                visit=record.visit_id,
                day=day,
                planned_for=planned_for,
                technician=record.technician_id,
            )
        )
