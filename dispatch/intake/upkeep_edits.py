"""A company's changes to its table of upkeep, read from texts.

The same texts stand in the form, in the shell and in the calls, so each slip has one answer.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

from dispatch.errors import InvalidValue
from dispatch.intake.parse import parse_minutes, parse_number, parse_yes_no
from dispatch.units import POUND_KG, kpa, psi
from dispatch.upkeep_rules import Interval, Part, Trigger, UpkeepRule
from dispatch.words import N_, _

COMPANY_SOURCE = N_("Set by the company.")
NOTHING = ("", "none", "-")  # what is written where there is no such value
ALL_MONTHS = "all"
LONGEST_TEXT = 2000  # characters


def edited(rule: UpkeepRule, texts: Mapping[str, str], *, customary: bool = False) -> UpkeepRule:
    """The kind with some of its fields changed.

    Parameters
    ----------
    rule
        The kind as it is.
    texts
        New values by name of the field, as in `FIELDS`; an empty text takes an interval, the
        run-hours, the threshold or the skill away.
    customary
        Whether a pressure or a mass without a unit is in psi or lb, else in kPa or kg.

    Raises
    ------
    InvalidValue
        When a field is not known, a text cannot be read, or the kind breaks its own rules.
    """
    changes: dict[str, Any] = {}
    if customary:
        texts = {name: _with_unit(rule, name, text) for name, text in texts.items()}
    for name, text in texts.items():
        if name not in FIELDS:
            raise InvalidValue(
                _("A kind of upkeep has no field '{name}': give one of {fields}.").format(
                    name=name, fields=", ".join(FIELDS)
                )
            )
        try:
            changes[name] = FIELDS[name](text.strip())
        except InvalidValue as error:
            raise InvalidValue(
                _("The field {name} of '{kind}': {error}").format(
                    name=name, kind=rule.kind, error=error
                )
            ) from error
    if rule.trigger is Trigger.PRESSURE and texts.get("threshold", "").endswith("psi"):
        changes["threshold"] = round(kpa(_figure(texts["threshold"])), 1)
    _move_filling(rule, changes)
    changes.setdefault("source", COMPANY_SOURCE)
    changes.setdefault("gross_minutes", max(rule.gross, changes.get("minutes", rule.minutes)))
    return replace(rule, **changes)


def texts_of(rule: UpkeepRule, *, customary: bool = False) -> dict[str, str]:
    """The fields of a kind as the texts that `edited` reads; equal after the round trip.

    Pressures and masses are in kPa and kg without a unit, or `customary`, in psi and lb with it.
    """
    media = rule.media
    filling_kg = None if media is None else media.default_kg
    return {
        "active": "yes" if rule.active else "no",
        "earliest": span_text(rule.earliest),
        "due": span_text(rule.due),
        "latest": span_text(rule.latest),
        "run_hours": _number_text(rule.run_hours),
        "threshold": _threshold_text(rule, customary=customary),
        "minutes": str(rule.minutes),
        "gross_minutes": str(rule.gross),
        "crew": str(rule.crew),
        "skill": rule.skill or "",
        "months": months_text(rule.months),
        "parts": parts_text(rule.parts, customary=customary),
        "filling_kg": _pounds(filling_kg)
        if customary and filling_kg is not None
        else _number_text(filling_kg),
        "wet_factor": _number_text(None if media is None else media.wet_factor),
        "caution": rule.caution,
        "source": rule.source,
    }


def span_text(span: Interval | None) -> str:
    """An interval as '54 months' or '2 months 15 days'; empty for none."""
    if span is None:
        return ""
    pieces = ((span.months, "month"), (span.days, "day"))
    return " ".join(f"{count} {noun}{'s' * (count != 1)}" for count, noun in pieces if count)


def months_text(months: frozenset[int]) -> str:
    """Months as '1;2;9'; 'all' for the whole year."""
    return ALL_MONTHS if len(months) == 12 else ";".join(str(month) for month in sorted(months))


def parts_text(parts: tuple[Part, ...], *, customary: bool = False) -> str:
    """Parts as '1 x Wet vacuum (9 kg); 1 x Hose (4 kg)', or with their masses in lb."""
    return "; ".join(
        f"{part.quantity:g} x {part.name} ({_mass_text(part.mass_kg, customary=customary)})"
        for part in parts
    )


def _mass_text(mass_kg: float, *, customary: bool) -> str:
    return _pounds(mass_kg) if customary else f"{mass_kg:g} kg"


def _pounds(mass_kg: float) -> str:
    return f"{round(mass_kg / POUND_KG, 1):g} lb"


def _threshold_text(rule: UpkeepRule, *, customary: bool) -> str:
    if customary and rule.trigger is Trigger.PRESSURE and rule.threshold is not None:
        return f"{round(psi(rule.threshold), 1):g} psi"
    return _number_text(rule.threshold)


def _with_unit(rule: UpkeepRule, name: str, text: str) -> str:
    """A bare number with the customary unit behind it, where its field has one."""
    units = {"filling_kg": "lb"}
    if rule.trigger is Trigger.PRESSURE:
        units["threshold"] = "psi"
    is_bare = re.fullmatch(r"\s*[\d.]+\s*", text) is not None
    return f"{text.strip()} {units[name]}" if is_bare and name in units else text


def _number_text(value: float | None) -> str:
    return "" if value is None else f"{value:g}"


def _span(text: str) -> Interval | None:
    if text.casefold() in NOTHING:
        return None
    match = re.fullmatch(
        r"(?:(\d{1,3})\s*y(?:ears?)?)?\s*(?:(\d{1,3})\s*m(?:onths?)?)?\s*(?:(\d{1,4})\s*d(?:ays?)?)?",
        text.casefold(),
    )
    if match is None or not any(match.groups()):
        raise InvalidValue(
            _(
                "'{text}' is no interval: write years, months or days, as 5 years, 54 months "
                "or 2 months 15 days."
            ).format(text=text)
        )
    years, months, days = (int(group or 0) for group in match.groups())
    return Interval(12 * years + months, days)


def _figure(text: str) -> float:
    """A number with or without its unit behind it."""
    return parse_number(re.sub(r"\s*(kpa|psi|h|kg|%)$", "", text.casefold()))


def _optional_figure(text: str) -> float | None:
    if text.casefold() in NOTHING:
        return None
    value = _figure(text)
    return value / 100 if text.endswith("%") else value


def _optional_mass(text: str) -> float | None:
    """A mass in kg, of one in kg or with lb behind it."""
    if not text.casefold().endswith("lb"):
        return _optional_figure(text)
    return parse_number(text[:-2].strip()) * POUND_KG


def _months(text: str) -> frozenset[int]:
    if text.casefold() == ALL_MONTHS:
        return frozenset(range(1, 13))
    found: set[int] = set()
    for word in re.split(r"[;,\s]+", text):
        match = re.fullmatch(r"(\d{1,2})(?:-(\d{1,2}))?", word)
        if match is None or not all(1 <= int(one) <= 12 for one in match.groups() if one):
            raise InvalidValue(
                _(
                    "'{text}' names no months: write numbers of 1 to 12, as 1-4;9-12, or all."
                ).format(text=text)
            )
        first = int(match[1])
        last = int(match[2] or first)
        found.update((first + n - 1) % 12 + 1 for n in range((last - first) % 12 + 1))
    return frozenset(found)


def _parts(text: str) -> tuple[Part, ...]:
    if text.casefold() in NOTHING:
        return ()
    found = []
    for piece in re.split(r"(?<=\))\s*;\s*", text):
        match = re.fullmatch(r"\s*([\d.]+) x (.+) \(([\d.]+) (kg|lb)\)\s*;?", piece)
        if match is None:
            raise InvalidValue(
                _(
                    "'{piece}' is no part: write number, name and mass altogether, as 1 x Wet "
                    "vacuum (9 kg), several with ';' between them."
                ).format(piece=piece)
            )
        unit_kg = POUND_KG if match[4] == "lb" else 1.0
        found.append(Part(match[2], parse_number(match[1]), parse_number(match[3]) * unit_kg))
    return tuple(found)


def _skill(text: str) -> str | None:
    return None if text.casefold() in NOTHING else " ".join(text.casefold().split())


def _words(text: str) -> str:
    if not text or len(text) > LONGEST_TEXT:
        raise InvalidValue(
            _("The text has {number} characters: give 1 to {longest_text}.").format(
                number=len(text), longest_text=LONGEST_TEXT
            )
        )
    return text


def _move_filling(rule: UpkeepRule, changes: dict[str, Any]) -> None:
    """Put the mass of a filling and its wet factor into the media of the kind."""
    filling, wet = changes.pop("filling_kg", None), changes.pop("wet_factor", None)
    if rule.media is None:
        if filling is not None or wet is not None:
            raise InvalidValue(
                _(
                    "The upkeep '{kind}' renews no filling: give filling_kg and wet_factor "
                    "only for a change of filter media."
                ).format(kind=rule.kind)
            )
        return
    changes["media"] = replace(
        rule.media,
        default_kg=_between(filling, rule.media.default_kg, 0.1, 2000, _("filling of kg")),
        wet_factor=_between(wet, rule.media.wet_factor, 1, 5, _("wet factor")),
    )


def _between(value: float | None, default: float, least: float, most: float, thing: str) -> float:
    if value is None:
        return default
    if not least <= value <= most:
        raise InvalidValue(
            _("A {thing} {value:g} is not believable: give {least:g} to {most:g}.").format(
                thing=thing, value=value, least=least, most=most
            )
        )
    return value


FIELDS: Mapping[str, Callable[[str], Any]] = {
    "active": parse_yes_no,
    "earliest": _span,
    "due": _span,
    "latest": _span,
    "run_hours": _optional_figure,
    "threshold": _optional_figure,
    "minutes": parse_minutes,
    "gross_minutes": parse_minutes,
    "crew": parse_minutes,
    "skill": _skill,
    "months": _months,
    "parts": _parts,
    "filling_kg": _optional_mass,
    "wet_factor": _optional_figure,
    "caution": _words,
    "source": _words,
}
