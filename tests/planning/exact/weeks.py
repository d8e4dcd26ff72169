"""Small random weeks with every rule in them, the same for the same seed."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np

from dispatch.planning.problem import Cell, Demand, Hours, Problem, Seconds, Supply
from dispatch.sites import ANY_TIME, TimeWindow
from dispatch.technicians import Break, Shift
from dispatch.upkeep import Part, UpkeepDue
from tests.planning.weeks import MON, THU, TUE, WEEK

DAYS = (MON, TUE, THU)
MOST_VISITS = 8
HOUR = 3600
# Whole, and of a day never below that of a week: the model, which may leave late on purpose, would
# else turn overtime of the week into cheaper overtime of a day, or win a second by rounding.
WEEK_PAY = 2.0
PLACES = 12  # four ends of routes, eight sites
PATTERNS: tuple[tuple[tuple[date, ...], ...], ...] = (
    ((MON,), (TUE,), (THU,)),
    ((MON,), (TUE,), (THU,)),
    ((MON,), (THU,)),
    ((TUE,),),
    ((MON, THU),),
    ((MON, THU), (TUE, THU)),
    ((MON, TUE, THU),),
)


def small_week(seed: int) -> Problem:
    """Up to eight visits, two technicians and three days; some weeks are too full for all."""
    chance = np.random.default_rng(seed)
    demands: list[Demand] = []
    visits, most = 0, int(chance.integers(4, MOST_VISITS + 1))
    while visits < most:
        one = _demand(chance, len(demands), most - visits)
        demands.append(one)
        visits += len(one.visit_ids)
    drive = _drives(chance)
    plain = Problem(
        week=WEEK,
        cells=tuple(_cells(chance)),
        demands=tuple(demands),
        place_ids=tuple(str(n) for n in range(PLACES)),
        drive_s=drive,
        drive_m=drive,
    )
    return _with_more_rules(plain, np.random.default_rng((seed, 1)))


def _with_more_rules(plain: Problem, chance: np.random.Generator) -> Problem:
    """The week with what only some companies, technicians and customers have."""
    return replace(
        plain,
        cells=tuple(_truck(chance, one) for one in plain.cells),
        demands=tuple(_agreement(chance, one) for one in plain.demands),
        hours=_hours(chance),
    )


def _truck(chance: np.random.Generator, plain: Cell) -> Cell:
    """Slack, overtime, a second person, limits for chemicals, a place to take them on."""
    refills = Supply(int(chance.integers(4)), 60 * int(chance.integers(5, 20)))
    return replace(
        plain,
        slack_s=int(chance.choice([0, 0, 1200, 2400])),
        overtime_s=int(chance.choice([0, 0, 1800, 5400])),
        pay_factor=float(chance.choice([WEEK_PAY, 3.0])),
        crew=int(chance.choice([1, 2])),
        chemicals_most_kg=float(chance.choice([12.0, 24.0, 200.0])),
        supply=refills if chance.random() < 0.5 else None,
    )


def _agreement(chance: np.random.Generator, plain: Demand) -> Demand:
    """A second window, chemicals, a longer visit, a crew, wishes, rank, what must stay."""
    chemicals_kg = float(chance.choice([0.0, 6.0, 10.0]))
    count = len(plain.visit_ids)
    windows, stays = plain.windows, [None] * count
    last = windows[-1]
    if last.end_s < 15 * HOUR and chance.random() < 0.5:
        opens = last.end_s + int(chance.integers(1, 4)) * HOUR
        windows = (*windows, TimeWindow(opens, opens + HOUR // 2))
    if chance.random() < 0.1:
        n, days = int(chance.integers(count)), plain.patterns[0]
        stays[n] = (f"T{chance.integers(2)}", days[n])  # type: ignore[call-overload]
    return replace(
        plain,
        windows=windows,
        chemicals_kg=chemicals_kg,
        load_kg=plain.load_kg + chemicals_kg,
        extra_s=(*(int(chance.choice([0, 900])) for _ in range(count)),),
        crew=2 if chance.random() < 0.12 else 1,
        unwanted_technician_ids=frozenset({f"T{chance.integers(2)}"})
        if chance.random() < 0.15
        else frozenset(),
        importance=float(chance.choice([0.5, 1.0, 1.0, 2.0])),
        kept=tuple(stays) if any(stays) else (),
    )


def _hours(chance: np.random.Generator) -> tuple[Hours, ...]:
    """For some technicians a week that is overtime early, holds little, or is to be even."""
    rules = []
    for name in ("T0", "T1"):
        kind = int(chance.integers(6))
        spent_s = int(chance.choice([0, 0, 3600]))
        if kind == 0:
            regular_s = HOUR * int(chance.integers(2, 6))
            most_s = regular_s + HOUR
            rules.append(Hours(name, regular_s, most_s, pay_factor=WEEK_PAY, spent_s=spent_s))
        elif kind == 1:
            rules.append(Hours(name, most_s=HOUR * int(chance.integers(2, 6)), spent_s=spent_s))
        elif kind == 2:
            target_s = HOUR * int(chance.integers(2, 5))
            rules.append(Hours(name, target_s=target_s, band_s=1800, spent_s=spent_s))
    return tuple(rules)


def _drives(chance: np.random.Generator) -> Seconds:
    """Drives in a small town; one-way streets make them differ both ways, and detours pay."""
    at = chance.uniform(0, 1500, (PLACES, 2))
    drive = np.abs(at[:, None] - at[None, :]).sum(axis=2) * chance.uniform(0.8, 1.5, (PLACES, 1))
    drive += chance.uniform(0, 240, (PLACES, PLACES))
    np.fill_diagonal(drive, 0)
    return np.asarray(drive, dtype=np.int64)


def _cells(chance: np.random.Generator) -> list[Cell]:
    cells = []
    for technician in range(2):
        begin = int(chance.integers(6, 10)) * HOUR
        lasts = chance.choice([3 * HOUR, 5 * HOUR, 8 * HOUR, 9 * HOUR])
        meal = Break(30, 11 * HOUR, int(chance.choice([12, 13])) * HOUR)
        skills = {name for name in ("media", "heater") if chance.random() < 0.6}
        cells += [
            Cell(
                technician_id=f"T{technician}",
                technician_name=f"T{technician}",
                day=day,
                shift=Shift(begin, begin + int(lasts)),
                start=2 * technician,
                end=2 * technician + int(chance.integers(2)),
                skills=frozenset(skills),
                payload_kg=float(chance.choice([120.0, 200.0, 400.0])),
                meal=meal if technician == 0 or chance.random() < 0.3 else None,
            )
            for day in DAYS
            if chance.random() < 0.85
        ]
    return cells


def _demand(chance: np.random.Generator, number: int, most: int) -> Demand:
    site = f"S{number}"
    patterns = PATTERNS[int(chance.integers(len(PATTERNS) if most > 1 else 4))]
    usual = f"T{chance.integers(2)}" if chance.random() < 0.5 else None
    return Demand(
        site_id=site,
        visit_ids=tuple(f"{site}/{WEEK}/{n + 1}" for n in range(len(patterns[0]))),
        place=4 + number,
        patterns=patterns,
        service_s=60 * int(chance.integers(10, 80)),
        next_visit_on=WEEK.monday + timedelta(weeks=int(chance.choice([1, 1, 2]))),
        windows=(_window(chance),),
        skills=frozenset({"heater"}) if chance.random() < 0.15 else frozenset(),
        usual_technician_id=usual,
        technician_locked=usual is not None and chance.random() < 0.3,
        usual_weekdays=frozenset({int(chance.choice([0, 1, 3]))} if chance.random() < 0.4 else ()),
        off_rhythm=tuple((day, 2 * n) for n, day in enumerate(DAYS) if chance.random() < 0.2),
        upkeep=_upkeep(chance, site),
        load_kg=float(chance.choice([0.0, 8.0, 40.0])),
    )


def _window(chance: np.random.Generator) -> TimeWindow:
    if chance.random() < 0.55:
        return ANY_TIME
    opens = int(chance.integers(15, 28)) * HOUR // 2
    return TimeWindow(opens, opens + int(chance.choice([1, 2, 4])) * HOUR // 2)


def _upkeep(chance: np.random.Generator, site: str) -> tuple[UpkeepDue, ...]:
    kinds = [kind for kind in ("anode-look", "sand-change") if chance.random() < 0.25]
    found = []
    for kind in kinds:
        earliest = WEEK.monday + timedelta(days=int(chance.choice([-9, -9, 1])))
        latest = max(earliest, WEEK.monday + timedelta(days=int(chance.integers(0, 30))))
        heavy = kind == "sand-change"
        found.append(
            UpkeepDue(
                site_id=site,
                kind=kind,
                title=kind.replace("-", " ").capitalize(),
                earliest_on=earliest,
                due_on=max(earliest, latest - timedelta(days=20)),
                latest_on=latest,
                minutes=60 if heavy else 15,
                skill="media" if heavy else None,
                parts=(Part("bags", 1, 110.0),) if heavy else (),
            )
        )
    return tuple(found)
