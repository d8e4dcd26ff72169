"""The form of a record: what it shows, and the content that comes back; works without script."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta
from typing import Any

from starlette.datastructures import FormData

from api.pages.units import Units
from dispatch.clock import DAY_S, parse_day, parse_time
from dispatch.errors import InvalidValue
from dispatch.readings import LIMITS, ReadingKind
from dispatch.records.content import reading_content, upkeep_content
from dispatch.records.record import Seen, VisitRecord
from dispatch.records.rows import parse_products, parse_values
from dispatch.settings import Settings
from dispatch.technicians import Shift
from dispatch.words import _, worded

KINDS = tuple(ReadingKind)
CUSTOMARY = {"°C": "°F", "kPa": "psi", "L/min": "gpm", "share": "%"}


@dataclass(frozen=True, slots=True)
class ReadingField:
    """One reading of the form: its name, what stands in it and the units to choose from."""

    kind: ReadingKind
    title: str
    value: str
    unit: str
    units: tuple[str, ...]


def reading_fields(values: Mapping[str, str], units: Units) -> list[ReadingField]:
    """The fields of all kinds; `values` hold what was entered, by the names of the form."""
    fields = []
    for kind in KINDS:
        kept = LIMITS[kind].unit
        other = CUSTOMARY.get(kept)
        choices = (kept,) if other is None else (other, kept) if units.customary else (kept, other)
        fields.append(
            ReadingField(
                kind,
                _(LIMITS[kind].title),
                values.get(f"reading-{kind}", ""),
                values.get(f"unit-{kind}", choices[0]),
                choices,
            )
        )
    return fields


def content_of_form(
    form: FormData, photos: Sequence[str], shift: Shift | None = None
) -> dict[str, Any]:
    """The content of a record as the form has it.

    Times are those of its day; in a night `shift` 01:00 is one o'clock after its midnight.

    Raises
    ------
    InvalidValue
        When a reading or a product cannot be read.
    """
    text = {name: value.strip() for name, value in form.items() if isinstance(value, str)}
    day = text.get("day", "")
    return {
        "id": text.get("id", ""),
        "site_id": text.get("site_id", ""),
        "technician_id": text.get("technician_id", ""),
        "day": day,
        "visit_id": text.get("visit_id", ""),
        "arrived_at": _moment(day, text.get("arrived", ""), shift),
        "left_at": _moment(day, text.get("left", ""), shift),
        "readings": _readings(text),
        "work": _lines(text.get("work", "")),
        "products": [
            one for line in _lines(text.get("products", "")) for one in parse_products(line)
        ],
        "upkeep": [{"kind": str(kind)} for kind in form.getlist("upkeep")],
        "seen": [str(one) for one in form.getlist("seen")],
        "parts_to_order": _lines(text.get("parts_to_order", "")),
        "photos": [*_lines(text.get("photos_before", "")), *photos],
        "note": text.get("note", ""),
        "skipped": text.get("skipped", ""),
        "took_over": "took_over" in text,
    }


def values_of_form(form: FormData, photos: Sequence[str] = ()) -> dict[str, str]:
    """What was entered, to be shown again; several choices of one name are joined by blanks.

    `photos` were sent with it and have been kept: they need not be chosen again.
    """
    values = {
        name: " ".join(str(one) for one in form.getlist(name) if isinstance(one, str))
        for name in dict.fromkeys(form)
    }
    before = _lines(values.get("photos_before", ""))
    return {**values, "photos_before": "\n".join([*before, *photos])}


def values_of_record(record: VisitRecord, settings: Settings, units: Units) -> dict[str, str]:
    """A record as the form would have had it, in units that the reader chose."""
    values = {
        "id": record.id,
        "technician_id": record.technician_id,
        "day": record.day.isoformat(),
        "visit_id": record.visit_id or "",
        "arrived": f"{record.arrived_at.astimezone(settings.zone):%H:%M}"
        if record.arrived_at
        else "",
        "left": f"{record.left_at.astimezone(settings.zone):%H:%M}" if record.left_at else "",
        "work": "\n".join(record.work),
        "products": "\n".join(
            f"{one.product} {one.amount:g} {one.unit}"
            + (f" @ {one.strength:g}" if one.strength is not None else "")
            for one in record.products
        ),
        "upkeep": " ".join(one.kind for one in record.upkeep),
        "seen": " ".join(record.seen),
        "parts_to_order": "\n".join(record.parts_to_order),
        "photos_before": "\n".join(record.photos),
        "note": record.note,
        "skipped": record.skipped,
    }
    if record.took_over:
        values["took_over"] = "yes"
    for kind in KINDS:
        found = [one for one in record.readings if one.kind is kind]
        if found:
            unit, shown = units.of_reading(LIMITS[kind].unit)
            values[f"reading-{kind}"] = "; ".join(
                f"{round(shown(one.value), 2):g}" for one in found
            )
            values[f"unit-{kind}"] = unit
    return values


def changed_fields(
    record: VisitRecord,
    before: Mapping[str, str],
    after: Mapping[str, str],
    content: dict[str, Any],
) -> dict[str, Any]:
    """Fields of `content` that the form changed.

    Readings that nobody touched keep their methods, and upkeep that stays ticked what was found
    at it, for which the form has no place.

    Parameters
    ----------
    record
        The record as it stands.
    before, after
        What the form showed, and what came back.
    content
        The content of the form as it came back.
    """
    names = {name for name in {*before, *after} if before.get(name, "") != after.get(name, "")}
    parts = {"arrived": "arrived_at", "left": "left_at"}
    found = {
        field: content[field]
        for field in (parts.get(name, name) for name in names)
        if field in content
    }
    if "day" in names:  # times of day hang on it
        found |= {name: content[name] for name in ("arrived_at", "left_at")}
    if "upkeep" in found:
        kept_of = {done.kind: upkeep_content(done) for done in record.upkeep}
        day = record.day.isoformat()
        found["upkeep"] = [
            dict(kept_of.get(new["kind"], new).items() - {("on", day)}) for new in found["upkeep"]
        ]
    touched = {kind for kind in KINDS if _is_touched(kind, before, after)}
    if touched:
        kept = [reading_content(one) for one in record.readings if one.kind not in touched]
        found["readings"] = kept + [one for one in content["readings"] if one["kind"] in touched]
    return found


def _is_touched(kind: ReadingKind, before: Mapping[str, str], after: Mapping[str, str]) -> bool:
    """Whether a reading or its unit was changed; the unit of an empty field says nothing."""
    value, unit = after.get(f"reading-{kind}", ""), f"unit-{kind}"
    if value != before.get(f"reading-{kind}", ""):
        return True
    return bool(value) and after.get(unit, before.get(unit, "")) != before.get(unit, "")


def seen_choices() -> list[tuple[str, str]]:
    """What may have been seen, with words for it."""
    return [(str(one), worded(one).capitalize()) for one in Seen]


def _readings(text: Mapping[str, str]) -> list[dict[str, Any]]:
    found = []
    for kind in KINDS:
        entered = text.get(f"reading-{kind}", "")
        try:
            values = parse_values(entered)
        except InvalidValue as error:
            title = _(LIMITS[kind].title)
            raise InvalidValue(_("{title}: {error}").format(title=title, error=error)) from error
        for value, unit in values:
            found.append(
                {
                    "kind": str(kind),
                    "value": value,
                    "unit": unit or text.get(f"unit-{kind}", ""),
                    "method": "entered by hand",
                }
            )
    return found


def _lines(text: str) -> list[str]:
    return [line.strip() for line in text.splitlines() if line.strip()]


def _moment(day: str, text: str, shift: Shift | None) -> str:
    """A local moment, ISO 8601; what is no time is left for the record to refuse."""
    clock = text.zfill(5)
    if shift is not None and shift.end_s > DAY_S and re.fullmatch(r"\d\d:\d\d", clock):
        later = shift.nearest(parse_time(clock)) >= DAY_S
        day = str(parse_day(day) + timedelta(days=1)) if later else day
    return f"{day}T{clock}" if text else ""
