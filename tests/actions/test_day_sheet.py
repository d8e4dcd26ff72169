from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from dispatch.actions.day_sheet import SheetStop, empty_sheet, full_sheet, load_list
from dispatch.one_offs import OneOff
from dispatch.service_plan import VisitKind
from dispatch.upkeep import Part
from tests.store.values import (
    BARE_TECHNICIAN,
    CELL_CLEANING,
    FULL_TECHNICIAN,
    PLAN,
    SAND_CHANGE,
    SITES,
    TUESDAY,
)


def test_the_load_is_summed_by_name_heaviest_first() -> None:
    """The truck is loaded once in the morning: 6 + 2 bags of 22.7 kg, and two small parts."""
    parts = [
        Part("Gasket", 1, 0.2),
        Part("Sand, bag", 6, 136.2),
        Part("Sand, bag", 2, 45.4),
        Part("Anode", 1, 0.9),
    ]
    sand, *small = load_list(parts)
    assert (sand.name, sand.quantity) == ("Sand, bag", 8)
    assert sand.mass_kg == pytest.approx(181.6)
    assert small == [Part("Anode", 1, 0.9), Part("Gasket", 1, 0.2)]


def test_a_sheet_has_all_that_is_needed_at_the_gate() -> None:
    """Each stop in order with its site and its upkeep; the load list of the day below."""
    route = PLAN.routes[0]
    sites = {site.id: site for site in SITES}
    upkeep = {one.id: one for one in (SAND_CHANGE, CELL_CLEANING)}
    sheet = full_sheet(FULL_TECHNICIAN, route, sites, upkeep, {})
    assert [stop.number for stop in sheet.stops] == [1, 2]
    assert [stop.site.id for stop in sheet.stops] == ["S003", "S002"]
    assert sheet.stops[1].site.gate_code == "sealed:invented"
    assert [stop.upkeep for stop in sheet.stops] == [(), (SAND_CHANGE,)]
    assert [part.name for part in sheet.load] == ["Filter sand, bag", "Gasket"]
    assert sheet.load_kg == pytest.approx(136.4)  # 136.2 + 0.2
    assert sheet.waste_kg == 170.0
    assert sheet.why_empty == ""


def test_what_a_job_takes_along_is_on_the_list_of_the_morning() -> None:
    """A pump of 18 kg that nobody loaded is a way for nothing; nameless weight is load as well."""
    route = replace(PLAN.routes[0], stops=PLAN.routes[0].stops[:1])
    stop = replace(route.stops[0], visit_id="one-off:J1/2026-W49/1", upkeep_ids=())
    sites = {site.id: site for site in SITES}
    name = sites[stop.site_id].name
    job = OneOff(
        *("J1", stop.site_id, "New pump", VisitKind.ONE_OFF, TUESDAY, TUESDAY, (60,)),
        parts="pump, two unions",
        mass_kg=18.0,
    )
    route = replace(route, stops=(stop,))
    sheet = full_sheet(FULL_TECHNICIAN, route, sites, {}, {"J1": job})
    assert sheet.load == (Part(f"pump, two unions ({name})", 1, 18.0),)
    assert sheet.load_kg == 18.0
    bare = full_sheet(FULL_TECHNICIAN, route, sites, {}, {"J1": replace(job, parts="")})
    assert bare.load == (Part(f"New pump ({name})", 1, 18.0),)


def test_a_sheet_says_where_one_person_alone_must_not_begin() -> None:
    """The second one is ill today, the truck drives all the same, and the lid weighs 60 kg."""
    two = replace(SITES[0], plan=replace(SITES[0].plan, crew=2))
    one = replace(SITES[0], plan=replace(SITES[0].plan, crew=1))
    stop = PLAN.routes[0].stops[0]
    heavy = replace(SAND_CHANGE, crew=3)
    job = OneOff("J1", two.id, "Look again", VisitKind.FOLLOW_UP, TUESDAY, TUESDAY, (20,))
    assert SheetStop(1, stop, one, ()).crew_words == ""
    assert "2 persons are needed here at once" in SheetStop(1, stop, two, ()).crew_words
    assert "3 persons are needed here at once" in SheetStop(1, stop, one, (heavy,)).crew_words
    assert SheetStop(1, stop, two, (), job).crew_words == ""


@pytest.mark.parametrize(
    ("day", "why"),
    [
        (date(2026, 12, 24), "Invented Ben has Thursday, 2026-12-24, off."),
        (date(2026, 12, 6), "Invented Ben has no shift on a Sunday."),
        (date(2027, 1, 1), "Friday, 2027-01-01, is a holiday: New Year's Day."),
        (TUESDAY, "No visit is planned for Invented Ben on Tuesday, 2026-12-01."),
    ],
)
def test_an_empty_sheet_says_why(day: date, why: str) -> None:
    """An empty page alone looks like a fault."""
    sheet = empty_sheet(FULL_TECHNICIAN, day, {date(2027, 1, 1): "New Year's Day"})
    assert sheet.why_empty == why
    assert (sheet.route, sheet.stops, sheet.load, sheet.load_kg) == (None, (), (), 0)


def test_a_day_without_a_shift_says_so_before_all_else() -> None:
    """On a Saturday that is a holiday too, the shift is what the technician knows about."""
    sheet = empty_sheet(BARE_TECHNICIAN, date(2026, 12, 26), {date(2026, 12, 26): "Boxing Day"})
    assert "no shift on a Saturday" in sheet.why_empty
