"""Overtime, slack, persons aboard and supply stop of a technician, read from cells."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from dispatch.errors import InvalidValue
from dispatch.intake.cells import Cells, read_place
from dispatch.intake.parse import parse_minutes, parse_number
from dispatch.intake.parse_agreed import parse_persons_by_weekday
from dispatch.intake.table import Column
from dispatch.places import Place
from dispatch.technicians import (
    ALONE,
    CHEMICALS_MOST_KG,
    MOST_SLACK,
    Overtime,
    SupplyStop,
    check_chemicals_aboard_kg,
)
from dispatch.words import _

REGULAR_WEEK_MIN = 40 * 60  # minutes; 29 U.S.C. 207(a), an example: local law decides
PAY_FACTOR = 1.5  # 29 U.S.C. 207(a), an example likewise

TECHNICIAN_RULE_COLUMNS: tuple[Column, ...] = (
    Column("slack_percent", "part of the shift that planning leaves free, %; empty: 0", "10"),
    Column("persons", "persons aboard; or seven numbers, Monday first; empty: 1", "2;2;1;1;1;1;1"),
    Column("overtime_day_most_min", "longest working day, minutes; empty: no overtime", "600"),
    Column("overtime_week_most_min", "longest working week, minutes", "3000"),
    Column(
        "overtime_week_regular_min",
        "minutes of a week after which overtime is paid; empty: {usual}",
        f"{REGULAR_WEEK_MIN}",
        named=(("usual", f"{REGULAR_WEEK_MIN}"),),
    ),
    Column(
        "overtime_pay_factor",
        "what an overtime hour costs; empty: {usual}",
        "1.5",
        named=(("usual", f"{PAY_FACTOR}"),),
    ),
    Column(
        "chemicals_most_kg",
        "regulated chemicals aboard at most, kg gross; empty: {usual}",
        f"{CHEMICALS_MOST_KG:.0f}",
        named=(("usual", f"{CHEMICALS_MOST_KG:.0f}"),),
    ),
    Column("supply_min", "minutes of a paid supply stop; empty: none is made", "20"),
    Column("supply_address", "where the supply stop is made", "3 Depot Road"),
    Column("supply_lat", "its latitude in degrees, instead of an address", "33.4502"),
    Column("supply_lon", "its longitude in degrees", "-111.9301"),
)
OVERTIME_NAMES = tuple(c.name for c in TECHNICIAN_RULE_COLUMNS if c.name.startswith("overtime_"))
SUPPLY_NAMES = ("supply_min", "supply_address", "supply_lat", "supply_lon")


@dataclass(frozen=True, slots=True)
class TechnicianRules:
    """What these columns say of a technician; names as in `Technician`."""

    overtime: Overtime | None
    slack_share: float
    crew: tuple[int, ...]
    supply: SupplyStop | None
    chemicals_most_kg: float


def read_technician_rules(cells: Cells, find_place: Callable[[str], Place]) -> TechnicianRules:
    """Read the columns; problems are noted in `cells`."""
    return TechnicianRules(
        overtime=_read_overtime(cells),
        slack_share=cells.read("slack_percent", _parse_slack, 0.0),
        crew=cells.read("persons", parse_persons_by_weekday, ALONE),
        supply=_read_supply(cells, find_place),
        chemicals_most_kg=cells.read("chemicals_most_kg", _parse_chemicals_kg, CHEMICALS_MOST_KG),
    )


def _read_overtime(cells: Cells) -> Overtime | None:
    if not any(cells.text(name) for name in OVERTIME_NAMES):
        return None
    for name in ("overtime_day_most_min", "overtime_week_most_min"):
        if not cells.text(name):
            cells.complain(
                name, _("Overtime needs the longest day and the longest week: fill both.")
            )
    day = cells.read("overtime_day_most_min", parse_minutes, None)
    week = cells.read("overtime_week_most_min", parse_minutes, None)
    regular = cells.read("overtime_week_regular_min", parse_minutes, REGULAR_WEEK_MIN)
    factor = cells.read("overtime_pay_factor", parse_number, PAY_FACTOR)
    if day is None or week is None:
        return None
    return cells.attempt(
        "overtime_week_most_min", lambda: Overtime(day, week, regular, factor), None
    )


def _read_supply(cells: Cells, find_place: Callable[[str], Place]) -> SupplyStop | None:
    if not any(cells.text(name) for name in SUPPLY_NAMES):
        return None
    if not cells.text("supply_min"):
        cells.complain("supply_min", _("A supply stop needs its minutes: give them, as 20."))
    minutes = cells.read("supply_min", parse_minutes, None)
    place = read_place(cells, "supply_", "supply_address", find_place)
    if minutes is None or place is None:
        return None
    return cells.attempt("supply_min", lambda: SupplyStop(place, minutes), None)


def _parse_chemicals_kg(text: str) -> float:
    mass_kg = parse_number(text)
    check_chemicals_aboard_kg(mass_kg)
    return mass_kg


def _parse_slack(text: str) -> float:
    """A share from a number of percent."""
    percent = parse_number(text)
    if not 0 <= percent <= 100 * MOST_SLACK:
        raise InvalidValue(
            _("'{text}' % of a shift is not believable: give 0 to {most_slack:.0%}, as 10.").format(
                text=text, most_slack=MOST_SLACK
            )
        )
    return percent / 100
