"""What a record asks for by itself: a job of its own, due within one to three days.

Unsafe water that was treated is looked at again after two days, untreated water the next day; a
later reading that is right settles it by itself, so do covers that were replaced or found sound;
all else is settled by a person. A
drain cover that is loose, cracked, missing or past its date, or a main drain that cannot be seen,
closes the pool at once: covers hold people under (the US Pool & Spa Safety Act and the standard
for covers, from memory). A part is ordered by the next day and put in by the third.
"""

from __future__ import annotations

import zlib
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta
from enum import StrEnum

from dispatch.one_offs import work_id_of
from dispatch.readings import LIMITS, Finding, ReadingKind
from dispatch.records.record import Seen, VisitRecord
from dispatch.water.products import FACTS, Product
from dispatch.water.ranges import UNSAFE
from dispatch.words import N_, SOURCE, _, joined, reading_in, worded

COVERS = frozenset({Seen.COVER_LOOSE, Seen.COVER_CRACKED, Seen.COVER_MISSING, Seen.COVER_EXPIRED})
CLOSE_WORDS = N_("Close the pool and tell the customer; a listed cover comes before it is opened.")
ACIDS = frozenset({Product.MURIATIC_ACID, Product.DRY_ACID})


class FollowUpKind(StrEnum):
    """What has to be done."""

    CLOSE_POOL = "close-pool"
    UNSAFE_WATER = "unsafe-water"
    GREEN_WATER = "green-water"
    PART = "part"
    REPAIR = "repair"


MINUTES = {  # minutes of the job; common practice of the trade
    FollowUpKind.CLOSE_POOL: 20,
    FollowUpKind.UNSAFE_WATER: 15,  # chemicals only: 8 to 15
    FollowUpKind.GREEN_WATER: 120,  # first visit of a green pool: 120 to 300
    FollowUpKind.PART: 30,
    FollowUpKind.REPAIR: 60,  # a repair call: 30 to 120
}


@dataclass(frozen=True, slots=True)
class FollowUp:
    """A job that follows from a record.

    `id` is made from the record, the kind and the reason in the source language, so that the same
    record asks for it once, and a corrected one for something else anew. `urgent` work goes before
    everything else. `noted_on` is the day of the record, `about` the reading that was unsafe, None
    for the rest. `settled_on` and `settled_by` are empty while it is open.
    """

    id: str
    record_id: str
    site_id: str
    kind: FollowUpKind
    due_on: date
    urgent: bool
    reason: str
    minutes: int
    noted_on: date
    about: ReadingKind | None = None
    settled_on: date | None = None
    settled_by: str = ""
    outcome: str = ""

    def is_late(self, today: date) -> bool:
        """Whether it is open and past its day."""
        return self.settled_on is None and self.due_on < today


def follow_ups_of(record: VisitRecord) -> tuple[FollowUp, ...]:
    """Everything a record asks for, the most urgent first; nothing for a harmless one."""
    with reading_in(SOURCE):
        keys = [reason for _kind, _days, reason, _about in _asked_by(record)]
    found = dict(zip(keys, _asked_by(record), strict=True))
    return tuple(
        FollowUp(
            id=f"{record.id}-{kind}-{zlib.crc32(key.encode()):08x}",
            record_id=record.id,
            site_id=record.site_id,
            kind=kind,
            due_on=record.day + timedelta(days=days),
            urgent=kind is FollowUpKind.CLOSE_POOL,
            reason=reason,
            minutes=MINUTES[kind],
            noted_on=record.day,
            about=about,
        )
        for key, (kind, days, reason, about) in found.items()
    )


def has_settled(record: VisitRecord, follow_up: FollowUp) -> bool:
    """Whether a follow-up was settled by this record: by its own visit, or water tested right."""
    if (follow_up.settled_on, follow_up.settled_by) != (record.day, record.technician_id):
        return False
    if not record.skipped and work_id_of(record.visit_id or "") == follow_up.id:
        return True
    if follow_up.about is None:
        return follow_up.kind is FollowUpKind.CLOSE_POOL and bool(covers_mended(record))
    low, high = UNSAFE[follow_up.about]
    return any(one.kind is follow_up.about and low <= one.value <= high for one in record.readings)


def is_about_covers(follow_up: FollowUp, record: VisitRecord) -> bool:
    """Whether a follow-up of this record is about drain covers, and not about what hides them."""
    seen = tuple(one for one in record.seen if one in COVERS)
    return follow_up.id in {one.id for one in follow_ups_of(replace(record, seen=seen))}


def covers_mended(record: VisitRecord) -> frozenset[Seen]:
    """What is no more after a visit: all if covers were replaced, by a look all but the date."""
    if _are_replaced(record):
        return COVERS
    sound = any(one.finding is Finding.SOUND for one in record.upkeep)
    if (sound or Seen.COVERS_SOUND in record.seen) and not COVERS.intersection(record.seen):
        return COVERS - {Seen.COVER_EXPIRED}
    return frozenset()


def _are_replaced(record: VisitRecord) -> bool:
    return any(one.kind == "drain-cover-change" for one in record.upkeep)


# What, due after so many days, why, and the reading it is about.
Asked = tuple[FollowUpKind, int, str, ReadingKind | None]


def _asked_by(record: VisitRecord) -> list[Asked]:
    return [*_closing(record), *_water(record), *_seen(record), *_parts(record)]


def _closing(record: VisitRecord) -> Iterator[Asked]:
    covers = sorted(one.removeprefix("drain-cover-") for one in record.seen if one in COVERS)
    if covers and not _are_replaced(record):
        yield (
            FollowUpKind.CLOSE_POOL,
            1,
            _("Drain cover {covers}. {close_words}").format(
                covers=joined([worded(one) for one in covers]), close_words=_(CLOSE_WORDS)
            ),
            None,
        )
    if Seen.DRAIN_NOT_VISIBLE in record.seen:
        yield (
            FollowUpKind.CLOSE_POOL,
            1,
            _("The main drain cannot be seen: keep people out until the water is clear."),
            None,
        )


def _water(record: VisitRecord) -> Iterator[Asked]:
    for kind, (low, high) in UNSAFE.items():
        value = record.value(kind)
        if value is None or low <= value <= high:
            continue
        treated = _is_treated(record, kind, too_low=value < low)
        figure = f"{_(LIMITS[kind].title)} {value:.1f} {LIMITS[kind].unit}".strip()
        end = (
            _("below {low:g}").format(low=low)
            if value < low
            else _("above {high:g}").format(high=high)
        )
        then = _("treated: test again") if treated else _("not treated: treat and test again")
        yield (
            FollowUpKind.UNSAFE_WATER,
            2 if treated else 1,
            _("{figure}, {end}; {then}. Keep people out until it tests right.").format(
                figure=figure, end=end, then=then
            ),
            kind,
        )


def _is_treated(record: VisitRecord, kind: ReadingKind, *, too_low: bool) -> bool:
    """Whether a product moves the reading the right way; chlorine that is high only waits."""
    added = {one.product for one in record.products}
    if kind is ReadingKind.PH:
        wanted = {Product.SODA_ASH, Product.BICARBONATE} if too_low else ACIDS
        return bool(added & wanted)
    chlorines = {one for one, facts in FACTS.items() if facts.effect is kind}
    return bool(added & chlorines) if too_low else not added & chlorines


def _seen(record: VisitRecord) -> Iterator[Asked]:
    words = {
        Seen.GREEN_WATER: (FollowUpKind.GREEN_WATER, 1, _("Green water: treat, brush and filter.")),
        Seen.NO_FLOW: (FollowUpKind.REPAIR, 1, _("No flow: the pump or a valve needs a look.")),
        Seen.LEAK: (FollowUpKind.REPAIR, 3, _("A leak was seen.")),
    }
    for one in record.seen:
        if one in words:
            yield (*words[one], None)


def _parts(record: VisitRecord) -> Iterator[Asked]:
    for part in record.parts_to_order:
        yield FollowUpKind.PART, 3, _("Part to order and put in: {part}.").format(part=part), None
