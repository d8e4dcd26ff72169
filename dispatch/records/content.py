"""Records as plain content (the JSON of the API, a line of JSONL) and back.

Content is read strictly: an unknown field is named with the nearest known one, because a
misspelt reading that is silently dropped is a reading lost.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Mapping
from datetime import UTC, date, datetime, tzinfo
from enum import StrEnum
from typing import Any, TypeVar

from dispatch.clock import parse_day
from dispatch.errors import InvalidValue
from dispatch.intake.table import nearest
from dispatch.readings import LIMITS, Finding, Reading, ReadingKind, UpkeepDone, read_value
from dispatch.records.record import ProductAdded, Seen, VisitRecord
from dispatch.water.products import product_of
from dispatch.words import _

T = TypeVar("T")
E = TypeVar("E", bound=StrEnum)
Content = Mapping[str, Any]

FIELDS = (
    "id",
    "site_id",
    "technician_id",
    "day",
    "visit_id",
    "arrived_at",
    "left_at",
    "readings",
    "work",
    "products",
    "upkeep",
    "seen",
    "parts_to_order",
    "photos",
    "note",
    "skipped",
    "took_over",
)


def record_of(content: object, zone: tzinfo) -> VisitRecord:
    """The record of its content.

    Parameters
    ----------
    content
        A JSON object with `FIELDS`; only id, site_id, technician_id and day must be there. Times
        are ISO 8601; one without offset is local.
    zone
        The company's time zone.

    Raises
    ------
    InvalidValue
        Naming the field, its value and the mend.
    """
    fields = _object(content, FIELDS, "A record")
    day = _required(fields, "day", parse_day)
    return VisitRecord(
        id=_required(fields, "id", str),
        site_id=_required(fields, "site_id", str),
        technician_id=_required(fields, "technician_id", str),
        day=day,
        visit_id=_text(fields, "visit_id") or None,
        arrived_at=_moment(fields, "arrived_at", zone),
        left_at=_moment(fields, "left_at", zone),
        readings=_list(fields, "readings", _reading),
        work=_list(fields, "work", _words),
        products=_list(fields, "products", _product),
        upkeep=_list(fields, "upkeep", lambda one: _upkeep(one, day)),
        seen=_list(fields, "seen", lambda one: _member(one, Seen, "seen")),
        parts_to_order=_list(fields, "parts_to_order", _words),
        photos=_list(fields, "photos", _words),
        note=_text(fields, "note"),
        skipped=_text(fields, "skipped"),
        took_over=fields.get("took_over") in (True, "true", "yes"),
    )


def plain(content: object) -> object:
    """The same content as a database and every reader of JSON can hold it.

    JSON as some write it has NaN and halves of characters (lone surrogates): the first become
    words, the second question marks.
    """
    text = json.dumps(content, default=str, ensure_ascii=False)
    whole = text.encode("utf-8", "replace").decode("utf-8")
    found: object = json.loads(whole, parse_constant=str)
    return found


def content_of(record: VisitRecord) -> dict[str, Any]:
    """The content of a record, in kept units; equal records have equal content."""
    return {
        "id": record.id,
        "site_id": record.site_id,
        "technician_id": record.technician_id,
        "day": record.day.isoformat(),
        "visit_id": record.visit_id,
        "arrived_at": _stamp(record.arrived_at),
        "left_at": _stamp(record.left_at),
        "readings": [reading_content(one) for one in record.readings],
        "work": list(record.work),
        "products": [
            {
                "product": str(one.product),
                "amount": one.amount,
                "unit": one.unit,
                "strength": one.strength,
                "name": one.name,
            }
            for one in record.products
        ],
        "upkeep": [upkeep_content(one) for one in record.upkeep],
        "seen": [str(one) for one in record.seen],
        "parts_to_order": list(record.parts_to_order),
        "photos": list(record.photos),
        "note": record.note,
        "skipped": record.skipped,
        "took_over": record.took_over,
    }


def corrected_content(record: VisitRecord, fields: Content) -> dict[str, Any]:
    """The content of a record with some fields changed; upkeep of its day goes with the day."""
    before = content_of(record)
    if "day" in fields:
        for one in before["upkeep"]:
            one["on"] = None if one["on"] == before["day"] else one["on"]
    return {**before, **fields}


def reading_content(reading: Reading) -> dict[str, Any]:
    """One reading with the unit it is kept in."""
    return {
        "kind": str(reading.kind),
        "value": reading.value,
        "unit": LIMITS[reading.kind].unit,
        "method": reading.method,
    }


def digest_of(record: VisitRecord) -> str:
    """SHA-256 over the content; equal records have equal digests."""
    return digest_of_content(content_of(record))


def digest_of_content(content: Content) -> str:
    """SHA-256 over the content of a record, as `content_of` gives it."""
    text = json.dumps(content, sort_keys=True, ensure_ascii=False)
    return hashlib.sha256(text.encode()).hexdigest()


def upkeep_content(done: UpkeepDone) -> dict[str, Any]:
    """One upkeep with its day and what was found at it."""
    return {
        "kind": done.kind,
        "on": done.on.isoformat(),
        "remaining_share": done.remaining_share,
        "finding": done.finding and str(done.finding),
        "note": done.note,
    }


def _reading(content: object) -> Reading:
    fields = _object(content, ("kind", "value", "unit", "method"), "A reading")
    kind = _member(fields.get("kind"), ReadingKind, _("kind of reading"))
    value = _number(fields, "value", _(LIMITS[kind].title))
    if value is None:
        raise InvalidValue(
            _("{title} has no value: give it, or leave the reading out.").format(
                title=_(LIMITS[kind].title)
            )
        )
    return read_value(kind, value, unit=_text(fields, "unit"), method=_text(fields, "method"))


def _product(content: object) -> ProductAdded:
    fields = _object(
        content, ("product", "amount", "unit", "strength", "name"), _("A product added")
    )
    product = product_of(_required(fields, "product", str))
    amount = _number(fields, "amount", product)
    if amount is None:
        raise InvalidValue(
            _("The amount of {product} is missing: give it with its unit.").format(product=product)
        )
    return ProductAdded(
        product,
        amount,
        _required(fields, "unit", str),
        _number(fields, "strength", _("The strength of {product}").format(product=product)),
        _text(fields, "name"),
    )


def _upkeep(content: object, day: date) -> UpkeepDone:
    names = ("kind", "on", "remaining_share", "finding", "note")
    fields = _object(content, names, _("Upkeep that was done"))
    finding = _text(fields, "finding")
    return UpkeepDone(
        _required(fields, "kind", str),
        _required(fields, "on", parse_day) if fields.get("on") else day,
        _number(fields, "remaining_share", _("The share that remains")),
        _text(fields, "note"),
        _member(finding, Finding, "finding") if finding else None,
    )


def _object(content: object, names: tuple[str, ...], noun: str) -> Mapping[str, Any]:
    if not isinstance(content, Mapping):
        raise InvalidValue(
            _("{noun} must be an object with named fields, not '{content}'.").format(
                noun=noun, content=_short(content)
            )
        )
    for name in content:
        if name not in names:
            raise InvalidValue(
                _("{noun} has no field '{name}'.{nearest}").format(
                    noun=noun, name=name, nearest=nearest(str(name), names)
                )
            )
    return content


def _required(fields: Mapping[str, Any], name: str, parse: Callable[[str], T]) -> T:
    text = _text(fields, name)
    if not text:
        raise InvalidValue(_("The field '{name}' is missing or empty: give it.").format(name=name))
    return parse(text)


def _text(fields: Mapping[str, Any], name: str) -> str:
    value = fields.get(name)
    if value is None:
        return ""
    if not isinstance(value, str):
        raise InvalidValue(
            _("The field '{name}' is '{value}': give it as text.").format(
                name=name, value=_short(value)
            )
        )
    return value.strip()


def _words(content: object) -> str:
    if not isinstance(content, str):
        raise InvalidValue(
            _("'{content}' stands in a list of words: give it as text.").format(
                content=_short(content)
            )
        )
    return content.strip()


def _number(fields: Mapping[str, Any], name: str, noun: str) -> float | None:
    value = fields.get(name)
    if value is None or value == "":
        return None
    try:
        return float("" if isinstance(value, bool) else value)
    except (TypeError, ValueError, OverflowError) as error:
        raise InvalidValue(
            _("{noun} is '{value}', which is no number: write it as 7.4.").format(
                noun=noun, value=_short(value)
            )
        ) from error


def _member(value: object, members: type[E], noun: str) -> E:
    try:
        return members(str(value))
    except ValueError as error:
        names = [str(one) for one in members]
        raise InvalidValue(
            _("'{value}' is no {noun}: give one of {names}.{nearest}").format(
                value=_short(value),
                noun=noun,
                names=", ".join(names),
                nearest=nearest(str(value), names),
            )
        ) from error


def _list(fields: Mapping[str, Any], name: str, parse: Callable[[object], T]) -> tuple[T, ...]:
    entries = fields.get(name) or ()
    if not isinstance(entries, list | tuple):
        raise InvalidValue(
            _("The field '{name}' must be a list, not '{entries}'.").format(
                name=name, entries=_short(entries)
            )
        )
    return tuple(parse(one) for one in entries)


def _moment(fields: Mapping[str, Any], name: str, zone: tzinfo) -> datetime | None:
    text = _text(fields, name)
    if not text:
        return None
    try:
        found = datetime.fromisoformat(text)
        local = found if found.tzinfo is not None else found.replace(tzinfo=zone)
        return local.astimezone(UTC)
    except (ValueError, OverflowError) as error:
        raise InvalidValue(
            _(
                "The field '{name}' is '{text}', which is no time: write it as "
                "2026-11-30T16:05:00Z."
            ).format(name=name, text=_short(text))
        ) from error


def _stamp(at: datetime | None) -> str | None:
    return None if at is None else at.astimezone(UTC).isoformat().replace("+00:00", "Z")


def _short(value: object) -> str:
    return str(value)[:60]
