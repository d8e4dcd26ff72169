"""The table of upkeep, histories and equipment in the database."""

from __future__ import annotations

from dataclasses import replace

import pytest
from sqlalchemy import Engine

from dispatch.equipment import (
    Anode,
    CoverState,
    DrainCovers,
    Equipment,
    Filter,
    Fuel,
    Heater,
    Media,
    Pump,
    SaltCell,
    SeasonHours,
    Shell,
    Surface,
)
from dispatch.store.book import read_sites, write_sites
from dispatch.store.db import transaction
from dispatch.store.equipment_rows import equipment_of
from dispatch.store.upkeep_causes import cause_dict, cause_of
from dispatch.store.upkeep_kinds import forget_rule, read_rules, write_rule
from dispatch.upkeep_causes import Cause, DueBy, Figure
from dispatch.upkeep_kinds import Trigger
from dispatch.upkeep_rules import DEFAULT_RULES, rule_of
from tests.store.values import BARE_SITE, MONDAY

pytestmark = pytest.mark.both_databases

FULL = Equipment(
    filter=Filter(Media.SAND, MONDAY, 136.0, MONDAY, 124.0, MONDAY, 2400.0, 69.0),
    anode=Anode(MONDAY, MONDAY, 0.7, MONDAY),
    salt_cell=SaltCell(
        MONDAY, MONDAY, MONDAY, 10_000.0, SeasonHours(4, 8, 12.5, 8), False, 0.9, MONDAY
    ),
    pump=Pump(True, MONDAY, None),
    heater=Heater(Fuel.GAS, MONDAY),
    covers=DrainCovers(MONDAY, MONDAY, CoverState.CRACKED),
    shell=Shell(Surface.VINYL, MONDAY, True),
)


def test_equipment_is_the_same_after_the_round_trip(engine: Engine) -> None:
    """Every fact of the register, and a pump without any."""
    sites = [
        replace(BARE_SITE, equipment=FULL),
        replace(BARE_SITE, id="S9", equipment=Equipment(pump=Pump(), heater=Heater())),
    ]
    with transaction(engine) as session:
        write_sites(session, sites)
    with transaction(engine, read_only=True) as session:
        assert read_sites(session) == sites


def test_a_row_of_an_older_database_is_read() -> None:
    """The columns added later are empty there."""
    columns = dict.fromkeys(_columns()) | {"filter_media": "sand", "has_anode": True}
    assert equipment_of(columns) == Equipment(filter=Filter(Media.SAND), anode=Anode())


def test_each_kind_is_the_same_after_the_round_trip(engine: Engine) -> None:
    """Intervals, parts and fillings; then as delivered again."""
    with transaction(engine) as session:
        for rule in DEFAULT_RULES:
            write_rule(session, replace(rule, gross_minutes=rule.gross, crew=2))
    with transaction(engine) as session:
        rules = [replace(rule, gross_minutes=rule.gross, crew=2) for rule in DEFAULT_RULES]
        assert list(read_rules(session)) == rules
        forget_rule(session, "backwash")
        assert rule_of("backwash", read_rules(session)) == rule_of("backwash")


def test_a_cause_is_the_same_after_the_round_trip() -> None:
    """A day sheet tells the reason that was planned with."""
    figures = (Figure("pressure", 200.0, "kPa"), Figure("threshold", 68.9, "kPa"))
    for cause in (
        Cause(DueBy.CONDITION, MONDAY, Trigger.PRESSURE, figures, "x"),
        Cause(DueBy.CALENDAR, MONDAY),
    ):
        assert cause_of(cause_dict(cause)) == cause


def _columns() -> list[str]:
    from dispatch.store.equipment_rows import equipment_columns

    return list(equipment_columns(Equipment()))
