"""The tables of the invented company."""

from __future__ import annotations

from collections import Counter
from datetime import date, timedelta

import pytest
from shapely.geometry import Point

from sample_region.company import hold_rows, site_rows, technician_rows
from sample_region.crew import CREW, WEEKDAYS
from sample_region.town import Town
from tests.sample_region.conftest import AS_OF
from tests.sample_region.region_file import METRES_PER_DEGREE, RegionFile

Tables = dict[str, list[dict[str, str]]]
MONDAY = date(2026, 11, 30)  # of the week after AS_OF


VISITS = {
    "three-times-a-week": 3.0,
    "twice-a-week": 2.0,
    "weekly": 1.0,
    "every-2-weeks": 0.5,
    "every-4-weeks": 0.25,
}


def visits_a_week(row: dict[str, str]) -> float:
    """Visits of an average week in November, when three pools are on their winter rhythm."""
    return 0.5 if row["seasons"] else VISITS[row["rhythm"]]


def test_ids_are_unique_and_usual_technicians_work_on_the_usual_weekdays(tables: Tables) -> None:
    """A standing route on a technician's free day could never be kept."""
    sites = tables["sites"]
    assert 175 <= len(sites) <= 195
    assert len({row["id"] for row in sites}) == len(sites)
    shifts = {row["id"]: {d for d in WEEKDAYS if row[d.lower()]} for row in tables["technicians"]}
    assert len(shifts) == 5
    for row in sites:
        assert set(row["usual_weekday"].split(";")) <= shifts[row["usual_technician"]]


def test_rhythms_are_mixed_as_told(tables: Tables) -> None:
    """The shares the README states."""
    count = Counter(row["rhythm"] for row in tables["sites"])
    share = {rhythm: n / len(tables["sites"]) for rhythm, n in count.items()}
    assert share["weekly"] == pytest.approx(0.78, abs=0.03)
    assert share["twice-a-week"] == pytest.approx(0.08, abs=0.02)
    assert share["every-2-weeks"] == pytest.approx(0.11, abs=0.02)
    assert share["every-4-weeks"] == pytest.approx(0.03, abs=0.02)


def test_two_visits_a_week_are_three_or_four_days_apart(tables: Tables) -> None:
    """Closer together they would not be worth two visits (common practice)."""
    for row in tables["sites"]:
        days = [WEEKDAYS.index(name) for name in row["usual_weekday"].split(";")]
        visits = {"twice-a-week": 2, "three-times-a-week": 3}.get(row["rhythm"], 1)
        assert len(days) == visits
        if len(days) == 2:
            assert days[1] - days[0] in (3, 4)


@pytest.mark.parametrize("later", range(7))
def test_last_visits_fall_on_the_usual_weekday_shortly_before_the_day(
    town: Town, later: int
) -> None:
    """Whatever weekday the demo is run on, the book must look as if it had been kept."""
    as_of = AS_OF + timedelta(days=later)
    weeks = {"every-2-weeks": 2, "every-4-weeks": 4}
    for row in site_rows(town, as_of, seed=7):
        last = date.fromisoformat(row["last_visit_on"])
        assert WEEKDAYS[last.weekday()] in row["usual_weekday"].split(";")
        step = weeks.get(row["rhythm"], 1)
        assert timedelta(0) < as_of - last <= timedelta(weeks=step)
        if step > 1:
            anchor = date.fromisoformat(row["anchor_on"])
            assert (last - anchor).days % (7 * step) == 0
        else:
            assert not row["anchor_on"]


def test_usual_weekdays_are_allowed(tables: Tables) -> None:
    """A site whose usual weekday is not allowed is refused on import."""
    spans = {"Mon-Fri": WEEKDAYS[:5], "Mon-Thu": WEEKDAYS[:4], "Tue-Fri": WEEKDAYS[1:5]}
    for row in tables["sites"]:
        allowed = spans.get(row["allowed_weekdays"]) or row["allowed_weekdays"].split(";")
        assert set(row["usual_weekday"].split(";")) <= set(allowed)


def test_sites_stand_at_the_street_before_their_address(tables: Tables, region: RegionFile) -> None:
    """The truck stops at the gate, and addresses are found in the extract itself."""
    houses = {
        f"{t['addr:housenumber']} {t['addr:street']}, {t['addr:city']}": Point(region.plane(node))
        for node, t in region.node_tags.items()
        if "addr:street" in t
    }
    without = 0
    for row in tables["sites"]:
        house = houses[row["address"]]
        if not row["lat"]:
            without += 1
            continue
        x = (float(row["lon"]) + 130) * METRES_PER_DEGREE * 0.857167
        y = (float(row["lat"]) - 31) * METRES_PER_DEGREE
        assert 5 < house.distance(Point(x, y)) < 20  # metres
    assert without == 15


def test_days_are_fillable_and_the_week_is_nearly_full(tables: Tables) -> None:
    """Too little work leaves nothing to plan, too much leaves only unplaced visits."""
    monday_off = {t.id: t.off_weekday for t in CREW}
    capacity_min = sum(
        t.minutes_on(day) for t in CREW for day in range(5) if day != monday_off[t.id]
    )
    assert capacity_min == 5 * 480 + 4 * 570 + 4 * 450 + 3 * 300 + 4 * 450
    service_min = sum(int(row["service_min"]) * visits_a_week(row) for row in tables["sites"])
    assert 0.64 < service_min / capacity_min < 0.75  # upkeep and driving bring it to 80-88 %
    stops = sum(map(visits_a_week, tables["sites"]))
    assert 8.5 < stops / 20 < 11  # 20 days of technicians in the coming week


def test_one_technician_is_off_in_the_coming_week(town: Town) -> None:
    """The day off makes the plan differ from the standing routes."""
    rows = technician_rows(town, site_rows(town, AS_OF, seed=7), AS_OF)
    off = [date.fromisoformat(row["days_off"]) for row in rows if row["days_off"]]
    assert len(off) == 1
    assert MONDAY <= off[0] < MONDAY + timedelta(days=5)
    assert sum("media" in row["skills"] for row in rows) == 2
    assert sum("heater" in row["skills"] for row in rows) == 1


def test_holds_cover_all_part_or_none_of_the_coming_week(town: Town) -> None:
    """Each kind of hold takes another way through the visits that are due."""
    holds = hold_rows(site_rows(town, AS_OF, seed=7), AS_OF)
    sunday = MONDAY + timedelta(days=6)
    spans = [(date.fromisoformat(h["first_day"]), date.fromisoformat(h["last_day"])) for h in holds]
    assert any(first <= MONDAY and last >= sunday for first, last in spans)
    assert any(MONDAY <= first <= last < sunday for first, last in spans)
    assert any(last < AS_OF for _, last in spans)
    assert any(first > sunday for first, _ in spans)


def test_one_visit_is_locked_to_the_day_its_technician_is_off(tables: Tables) -> None:
    """The plan of the demo must have something to explain."""
    off = {
        (row["id"], WEEKDAYS[date.fromisoformat(row["days_off"]).weekday()])
        for row in tables["technicians"]
        if row["days_off"]
    }
    stuck = [
        row
        for row in tables["sites"]
        if row["lock"] == "both" and (row["usual_technician"], row["usual_weekday"]) in off
    ]
    assert len(stuck) == 1
    assert stuck[0]["id"] not in {row["site_id"] for row in tables["holds"]}


def test_locks_are_few_and_of_every_kind(tables: Tables) -> None:
    """Many locks would leave nothing to plan."""
    locks = Counter(row["lock"] for row in tables["sites"])
    assert set(locks) == {"", "technician", "weekday", "both"}
    assert locks[""] > 0.9 * len(tables["sites"])
