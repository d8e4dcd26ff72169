"""Invented sites, technicians, holds and a plan, as bare and as full as they come."""

from __future__ import annotations

from datetime import date

from dispatch.clock import IsoWeek
from dispatch.one_offs import OneOff
from dispatch.places import Place
from dispatch.planning.plan import Broken, Change, PutOff, Route, Rule, Stop, Unplaced, WeekPlan
from dispatch.service_plan import VisitKind
from dispatch.sites import (
    Anode,
    Equipment,
    Filter,
    Hold,
    Media,
    MonthDay,
    NoticeWish,
    Priority,
    Rhythm,
    SaltCell,
    Sanitizer,
    Season,
    ServicePlan,
    Site,
    TimeWindow,
)
from dispatch.technicians import Break, Overtime, Shift, SupplyStop, Technician
from dispatch.upkeep import Part, UpkeepDue

WEEK = IsoWeek(2026, 49)  # Monday is 30 November 2026
MONDAY, TUESDAY = WEEK.days[:2]

BARE_SITE = Site(
    id="S001",
    name="Invented One",
    address="",
    place=Place(33.5, -112.1),
    plan=ServicePlan(Rhythm.WEEKLY, 30),
)
FULL_SITE = Site(
    id="S002",
    name="Søren & Ñandú \"two\"; 'three'",
    address="12 Invented Lane",
    place=Place(33.512345678901, -112.098765432109),
    plan=ServicePlan(
        rhythm=Rhythm.TWICE_A_WEEK,
        service_min=45,
        allowed_weekdays=frozenset({0, 1, 3, 4}),
        windows=(TimeWindow(7 * 3600, 9 * 3600), TimeWindow(13 * 3600, 15 * 3600)),
        usual_technician_id="T1",
        usual_weekdays=frozenset({0, 3}),
        technician_locked=True,
        weekday_locked=True,
        skills=frozenset({"media", "salt"}),
        last_visit_on=date(2026, 11, 23),
        anchor_on=date(2026, 1, 5),
        unwanted_technician_ids=frozenset({"T3", "T2"}),
        crew=2,
        priority=Priority.HIGH,
        seasons=(
            Season(MonthDay(11, 1), MonthDay(2, 29), Rhythm.EVERY_2_WEEKS, 20),
            Season(MonthDay(6, 1), MonthDay(6, 30), None),
        ),
        first_service_min=90,
        started_on=date(2026, 1, 5),
        chemicals_kg=12.5,
        monthly_price=189.5,
    ),
    gate_note="Left gate.\nPull hard.",
    gate_code="sealed:invented",
    dog_note="Two, friendly",
    email="office@example.org",
    notices=frozenset(NoticeWish),
    pool_volume_l=56_781.1766,
    sanitizer=Sanitizer.SALT,
    equipment=Equipment(
        filter=Filter(Media.SAND, date(2021, 11, 30), 136.0),
        anode=Anode(date(2024, 5, 1), None),
        salt_cell=SaltCell(date(2023, 3, 1), date(2026, 6, 1), date(2026, 6, 1)),
    ),
)
# Equipment without any date is not the same as no equipment.
UNDATED_SITE = Site(
    id="S003",
    name="Invented Three",
    address="3 Invented Lane",
    place=Place(33.51, -112.12),
    plan=ServicePlan(Rhythm.EVERY_2_WEEKS, 25),
    sanitizer=Sanitizer.SALT,
    equipment=Equipment(filter=Filter(Media.DE), anode=Anode(), salt_cell=SaltCell()),
)
SITES = [BARE_SITE, FULL_SITE, UNDATED_SITE]

BARE_TECHNICIAN = Technician(
    id="T1",
    name="Invented Alma",
    shifts=(Shift(25_200, 55_800),) + (None,) * 6,
    start=Place(33.49, -112.05),
    end=Place(33.49, -112.05),
)
FULL_TECHNICIAN = Technician(
    id="T2",
    name="Invented Ben",
    shifts=(None,) + (Shift(21_600, 50_400),) * 4 + (Shift(28_800, 43_200), None),
    start=Place(33.47, -112.0),
    end=Place(33.6, -112.2),
    meal=Break(30, 39_600, 46_800),
    skills=frozenset({"media", "salt"}),
    payload_kg=512.5,
    days_off=frozenset({date(2026, 12, 24), date(2026, 12, 25)}),
    overtime=Overtime(day_most_min=600, week_most_min=3000),
    slack_share=0.125,
    crew=(1, 2, 2, 1, 1, 1, 1),
    supply=SupplyStop(Place(33.5, -112.0), 20),
    chemicals_most_kg=150.0,
)
TECHNICIANS = [BARE_TECHNICIAN, FULL_TECHNICIAN]

ONE_OFFS = [
    OneOff(
        id="J1",
        site_id="S001",
        title="Bring the green pool back",
        kind=VisitKind.GREEN_POOL,
        first_day=date(2026, 12, 1),
        last_day=date(2026, 12, 5),
        minutes=(180, 30, 30),
        consecutive=True,
        skills=frozenset({"salt"}),
        crew=2,
        windows=(TimeWindow(8 * 3600, 12 * 3600),),
        priority=Priority.HIGH,
        parts="two jugs, one net",
        mass_kg=12.0,
        chemicals_kg=40.0,
        technician_id="T1",
        note="call before",
        visited_on=(date(2026, 12, 1),),
    ),
    OneOff(
        "J2",
        "S003",
        "Look again",
        VisitKind.FOLLOW_UP,
        date(2026, 12, 1),
        date(2026, 12, 3),
        (15,),
        done_on=date(2026, 12, 2),
    ),
]

HOLDS = [
    Hold("S001", date(2026, 12, 1), date(2026, 12, 10), "Away"),
    Hold("S001", date(2027, 2, 1), date(2027, 2, 1)),
    Hold("S003", date(2026, 12, 1), date(2026, 12, 1)),
]

SAND_CHANGE = UpkeepDue(
    site_id="S002",
    kind="sand-change",
    title="Change the filter sand",
    earliest_on=date(2026, 11, 1),
    due_on=date(2026, 12, 1),
    latest_on=date(2027, 2, 1),
    minutes=90,
    skill="media",
    parts=(Part("Filter sand, bag", 6, 136.2), Part("Gasket", 1, 0.2)),
    waste_kg=170.0,
    caution="Dust: wear a mask.",
)
CELL_CLEANING = UpkeepDue(
    site_id="S003",
    kind="cell-cleaning",
    title="Clean the salt cell",
    earliest_on=date(2026, 11, 1),
    due_on=date(2026, 11, 15),
    latest_on=date(2026, 11, 29),
    minutes=15,
)
UPKEEP = [SAND_CHANGE, CELL_CLEANING]


def stop(visit_id: str, site_id: str, start_s: int, *upkeep_ids: str) -> Stop:
    """A stop that begins at `start_s` after 300 s of driving and takes half an hour."""
    return Stop(visit_id, site_id, 300, 2500, start_s - 60, start_s, start_s + 1800, upkeep_ids)


# The routes stand in an order that is neither that of days nor of technicians.
PLAN = WeekPlan(
    week=WEEK,
    routes=(
        Route(
            technician_id="T2",
            day=TUESDAY,
            stops=(
                stop("S003/2026-W49/1", "S003", 30_000),
                stop("S002/2026-W49/1", "S002", 36_000, SAND_CHANGE.id),
            ),
            start_s=29_000,
            end_s=45_000,
            drive_s=900,
            drive_m=7500,
            service_s=3600,
            wait_s=120,
            return_drive_s=300,
            return_drive_m=2500,
            break_after=1,
            break_start_s=33_000,
            break_s=1800,
            load_kg=170.0,
        ),
        Route("T1", MONDAY, (), 25_200, 25_200, 0, 0, 0, 0, 0, 0),
    ),
    unplaced=(
        Unplaced(
            "S002/2026-W49/2",
            "S002",
            "No technician with the skill 'salt' works on a Thursday.",
            (
                Broken(Rule.SKILL, "T1", MONDAY, 0.0, "salt"),
                Broken(Rule.GAP, None, None, 1.5),
            ),
        ),
        Unplaced("S001/2026-W49/1", "S001", "Too far from any street."),
    ),
    put_off=(
        PutOff(
            CELL_CLEANING.id,
            "S003",
            "Clean the salt cell",
            date(2026, 11, 29),
            late=True,
            reason="No visit before its latest day is left.",
        ),
    ),
    changes=(
        Change("S003/2026-W49/1", "S003", "Alma, Mon", "Ben, Tue", "Alma is off on Monday."),
        Change(
            "S002/2026-W49/1",
            "S002",
            "Alma, any day",
            "Ben, Wed",
            "Its upkeep this week fits there.",
        ),
    ),
    cost_s=12_345,
    seed=7,
    iterations=5000,
    problem_digest="ab" * 32,
)
