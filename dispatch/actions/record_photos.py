"""Which photos of records have arrived: asked when somebody looks, for they follow the record.

A phone sends a record first and its photos when it can, so that nothing about them is kept.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from sqlmodel import Session

from dispatch.records.checks import photos_missing, without_photos
from dispatch.store.record_lists import read_photo_ids
from dispatch.store.records import KeptRecord


def arrived_photos(session: Session, kept: Iterable[KeptRecord]) -> set[str]:
    """The photos of these records that have arrived."""
    return read_photo_ids(session, [photo for one in kept for photo in one.record.photos])


def with_photos(session: Session, kept: Sequence[KeptRecord]) -> list[KeptRecord]:
    """The records, flagged for photos that have not arrived by now, and for no others."""
    arrived = arrived_photos(session, kept)
    return [replace(one, flags=_flags(one, arrived)) for one in kept]


def _flags(one: KeptRecord, arrived: set[str]) -> tuple[str, ...]:
    # Earlier versions kept the sentence with the record, where it stayed for ever.
    return without_photos(one.record, one.flags) + photos_missing(one.record, arrived)
