"""The company's table of upkeep in the database: the delivered kinds, where it changed none."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from sqlalchemy import delete
from sqlmodel import Session

from dispatch.store.tables import UpkeepKindRow, read_rows, table_of, write_rows
from dispatch.upkeep_rules import DEFAULT_RULES, Interval, Part, UpkeepRule


def read_rules(session: Session) -> tuple[UpkeepRule, ...]:
    """All kinds of upkeep in the order of the delivered table, as the company changed them."""
    changed = {row["kind"]: row for row in read_rows(session, UpkeepKindRow)}
    return tuple(
        _rule_of(rule, changed[rule.kind]) if rule.kind in changed else rule
        for rule in DEFAULT_RULES
    )


def changed_kinds(session: Session) -> frozenset[str]:
    """Kinds that the company changed."""
    return frozenset(row["kind"] for row in read_rows(session, UpkeepKindRow))


def write_rule(session: Session, rule: UpkeepRule) -> None:
    """Keep a kind as the company changed it."""
    write_rows(session, UpkeepKindRow, [rule_columns(rule)])


def forget_rule(session: Session, kind: str) -> None:
    """Take a kind back to what was delivered."""
    table = table_of(UpkeepKindRow)
    session.execute(delete(table).where(table.c.kind == kind))


def rule_columns(rule: UpkeepRule) -> dict[str, Any]:
    """Columns of a kind, as in `UpkeepKindFields`."""
    spans = {"earliest": rule.earliest, "due": rule.due, "latest": rule.latest}
    return {
        "kind": rule.kind,
        "active": rule.active,
        **{f"{name}_months": span and span.months for name, span in spans.items()},
        **{f"{name}_days": span and span.days for name, span in spans.items()},
        "run_hours": rule.run_hours,
        "threshold": rule.threshold,
        "minutes": rule.minutes,
        "gross_minutes": rule.gross,
        "crew": rule.crew,
        "skill": rule.skill,
        "months": sorted(rule.months),
        "parts": part_dicts(rule.parts),
        "filling_kg": rule.media and rule.media.default_kg,
        "wet_factor": rule.media and rule.media.wet_factor,
        "caution": rule.caution,
        "source": rule.source,
    }


def part_dicts(parts: Sequence[Part]) -> list[dict[str, Any]]:
    """Parts as JSON."""
    return [
        {"name": part.name, "quantity": part.quantity, "mass_kg": part.mass_kg} for part in parts
    ]


def _rule_of(delivered: UpkeepRule, row: Mapping[str, Any]) -> UpkeepRule:
    media = delivered.media
    if media is not None:
        media = replace(media, default_kg=row["filling_kg"], wet_factor=row["wet_factor"])
    return replace(
        delivered,
        active=row["active"],
        earliest=_span(row, "earliest"),
        due=_span(row, "due"),
        latest=_span(row, "latest"),
        run_hours=row["run_hours"],
        threshold=row["threshold"],
        minutes=row["minutes"],
        gross_minutes=row["gross_minutes"],
        crew=row["crew"],
        skill=row["skill"],
        months=frozenset(row["months"]),
        parts=tuple(Part(**part) for part in row["parts"]),
        media=media,
        caution=row["caution"],
        source=row["source"],
    )


def _span(row: Mapping[str, Any], name: str) -> Interval | None:
    months = row[f"{name}_months"]
    return None if months is None else Interval(months, row[f"{name}_days"] or 0)
