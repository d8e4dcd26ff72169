"""Random days that are upset several times: nothing is lost, doubled or broken in silence.

What is looked at is judged from the words of the rules, with the drive-time matrix alone; nothing
of the timetable, the search or the repairs' own check is used.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from uuid import UUID

import pytest
from sqlmodel import Session

from dispatch.actions import day as actions
from dispatch.actions.book import import_sites, import_technicians
from dispatch.actions.day_roads import read_day_book
from dispatch.actions.phone_day import phone_day
from dispatch.actions.plan_week import plan_week
from dispatch.day.events import DayEvent, EventKind
from dispatch.day.moments import moment_of
from dispatch.day.options import Option
from dispatch.day.standing import Roads
from dispatch.day.state import DayState, StopState
from dispatch.day.triggers import (
    JobOverrun,
    LateStart,
    RoadClosed,
    RunningLate,
    StopCancelled,
    StopMoved,
    TechnicianOut,
    Trigger,
)
from dispatch.errors import InvalidValue
from dispatch.planning.plan import Route, Rule
from dispatch.planning.problem import Cell
from tests.town import MONDAY, TODAY, TUESDAY, WEEK, Company, build_town, open_company

SEEDS = (1, 9, 11, 116)  # each takes about a second
DONE = (StopState.DONE, StopState.UNDER_WAY)
TECHNICIANS_CSV = """\
id,name,start_lat,start_lon,mon,tue,break_min,break_from,break_to,skills
T1,Invented Alma,0,0.0005,07:00-12:00,07:00-12:00,30,09:00,11:00,media
T2,Invented Ben,-0.0009,0.006,07:00-11:00,07:00-11:00,,,,
T3,Invented Carla,0,0.006,16:00-01:00,08:00-12:00,30,20:00,23:00,media
"""
SITES_CSV = """\
id,name,lat,lon,rhythm,service_min,allowed_weekdays,usual_technician,lock,windows,skills,\
last_visit_on
S1,Invented 1,0,0.001,weekly,30,Mon;Tue,T1,technician,,,2026-11-23
S2,Invented 2,0,0.002,weekly,45,Mon;Tue,T1,,07:00-09:00,,2026-11-23
S3,Invented 3,-0.0009,0.005,weekly,20,Mon;Tue,T2,,,,2026-11-23
S4,Invented 4,-0.0009,0.003,weekly,40,Mon;Tue,T2,,08:00-10:00,,2026-11-23
S5,Invented 5,0,0.005,weekly,25,Mon;Tue,T1,,,media,2026-11-23
S6,Invented 6,-0.0009,0.001,weekly,35,Mon,T2,,,,2026-11-23
S7,Invented 7,0,0.004,weekly,30,Mon;Tue,T3,technician,22:00-00:30,,2026-11-23
S8,Invented 8,-0.0009,0.002,weekly,50,Mon;Tue,T3,,,,2026-11-23
"""


@pytest.fixture(scope="module")
def town(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Company]:
    """Eight pools, three technicians, one of them at night; the week is planned."""
    folder = tmp_path_factory.mktemp("sequences")
    company = open_company(folder, time_zone="UTC")
    build_town(company, folder)
    with company.writing() as session:
        import_technicians(session, company.settings, TECHNICIANS_CSV)
        import_sites(session, company.settings, SITES_CSV)
    plan_week(company.engine, company.settings, WEEK, today=TODAY, iterations=200)
    yield company
    company.engine.dispose()


@dataclass
class Sequence:
    """A day in a transaction that is never committed; `due` are the visits it must account for."""

    company: Company
    session: Session
    chance: random.Random
    now_s: int = 6 * 3600
    due: set[str] = field(default_factory=set)
    fixed: dict[str, tuple[str | None, StopState]] = field(default_factory=dict)
    said: list[str] = field(default_factory=list)

    @property
    def now(self) -> datetime:
        return moment_of(MONDAY, self.now_s, UTC)

    def state(self) -> DayState:
        return actions.read_day(self.session, MONDAY)

    def begin(self) -> None:
        """Publish Monday."""
        settings = self.company.settings
        actions.publish_day(self.session, settings, MONDAY, who="Ada", at=self.now)
        self.due = set(self.state().visits)
        self.now_s = 7 * 3600

    def step(self) -> None:
        """Something is entered or upsets the day, and then everything is looked at."""
        self.now_s += self.chance.choice([300, 1200, 3600, 7200])
        deed = self.chance.choice([self.work, self.work, self.upset, self.upset, self.upset])
        deed()
        self.check_states()

    def work(self) -> None:
        """A technician enters what happens at the next stop."""
        state = self.state()
        who = self.chance.choice(sorted(state.revisions))
        ahead = state.of_technician(who, StopState.UNDER_WAY, StopState.PLANNED)
        if not ahead or who in state.out_from_s:
            return
        one = min(ahead, key=lambda visit: visit.state is not StopState.UNDER_WAY)
        begun = one.state is StopState.UNDER_WAY
        kinds = [EventKind.DONE] if begun else [EventKind.STARTED, EventKind.SKIPPED]
        kind = self.chance.choice(kinds)
        data = {"reason": "dog"} if kind is EventKind.SKIPPED else {}
        name = str(UUID(int=self.chance.getrandbits(128), version=4))
        event = DayEvent(
            name, MONDAY, kind, self.now, self.now, who, who, one.work.visit_id, data=data
        )
        (taken,) = actions.add_events(self.session, self.company.settings, MONDAY, [event])
        assert taken.outcome == "new", taken
        self.said.append(f"{kind} {one.work.visit_id} by {who}")

    def upset(self) -> None:
        """One thing happens, and any of its repairs is taken."""
        trigger, settings = self.trigger(), self.company.settings
        try:
            offer = actions.repair_options(self.session, settings, MONDAY, trigger, now=self.now)
        except InvalidValue as error:  # what is done cannot be cancelled, as the offer says
            self.said.append(f"refused: {error}")
            return
        option = self.chance.choice(offer.options)
        before = self.state()
        self.said.append(f"{self.now_s // 60} min: {offer.why}: {option.key}")
        made = actions.take_option(
            self.session,
            settings,
            MONDAY,
            option.choice,
            expected_version=offer.version,
            who="Ada",
            now=self.now,
        )
        self.due |= {one.visit_id for one in option.choice.added}
        known = [one.route for one in before.revisions.values()]
        self.check_routes(before, [one.route for one in made if one.route not in known], option)

    def trigger(self) -> Trigger:
        """Anything that can upset a day."""
        who, visit = self.chance.choice(["T1", "T2", "T3"]), self.chance.choice(sorted(self.due))
        lon, lat = self.chance.choice([0.001, 0.003, 0.005]), self.chance.choice([0.0, -0.0009])
        site = self.chance.choice(["S1", "S3", "S8"])
        makers: dict[str, Callable[[], Trigger]] = {
            "out": lambda: TechnicianOut(who, self.now_s + self.chance.choice([0, 3600])),
            "late": lambda: LateStart(who, self.now_s + 1800),
            "urgent": lambda: actions.urgent_stop(
                self.session, self.company.settings, MONDAY, site, minutes=30
            ),
            "moved": lambda: StopMoved(visit, self.chance.choice([None, TUESDAY])),
            "cancelled": lambda: StopCancelled(visit),
            "overrun": lambda: JobOverrun(visit, 1800),
            "closed": lambda: RoadClosed(lat, lon, 60.0),
            "running": RunningLate,
        }
        return makers[self.chance.choice(sorted(makers))]()

    def check_states(self) -> None:
        """Every due visit is in one state and one place, and what was done has not moved."""
        state = self.state()
        assert set(state.visits) == self.due, self.said
        held = [one for revision in state.revisions.values() for one in revision.visit_ids]
        assert len(held) == len(set(held)), self.said
        for visit_id, one in state.visits.items():
            away = one.state in (StopState.MOVED, StopState.CANCELLED, StopState.UNPLACED)
            assert (visit_id in held) != away, (visit_id, one.state, self.said)
        for visit_id, (who, was) in self.fixed.items():
            one = state.visits[visit_id]
            assert one.technician_id == who, (visit_id, self.said)
            assert one.state is was or was is StopState.UNDER_WAY, (visit_id, self.said)
        self.fixed = {
            visit_id: (one.technician_id, one.state)
            for visit_id, one in state.visits.items()
            if one.state in DONE
        }
        self.check_phones()

    def check_phones(self) -> None:
        """Phones show the stops of the board, in its order, with its times and states."""
        board = actions.day_now(self.session, self.company.settings, MONDAY, now=self.now)
        for one in board.technicians:
            phone = phone_day(self.session, self.company.settings, one.technician_id, MONDAY)
            assert [(row.row.stop, row.state) for row in phone.stops] == [
                (row.stop, row.now.state) for row in one.stops
            ], self.said
            for row in one.stops:  # who is out, or over, keeps what nobody else can do
                if row.projected and row.is_next and one.technician_id not in board.out_from_s:
                    assert row.projected.arrive_s >= self.now_s, self.said

    def check_routes(self, before: DayState, routes: list[Route], option: Option) -> None:
        """The routes that a repair made keep every rule, or the option named it as broken."""
        after = self.state()
        book = read_day_book(self.session, self.company.settings)
        cells = {cell.technician_id: cell for cell in book.cells(MONDAY)[0]}
        roads = book.roads_on(after)
        named = {(one.rule, one.subject) for one in option.violations}
        for route in routes:
            broken = set(broken_rules(route, cells[route.technician_id], after, roads, self.now_s))
            assert broken <= named, (broken - named, route, self.said)
            old = before.revisions.get(route.technician_id)
            happened = [
                stop
                for stop in (old.route.stops if old else ())
                if before.visits[stop.visit_id].state in (*DONE, StopState.SKIPPED)
            ]
            assert [one for one in route.stops if one in happened] == happened, self.said


def broken_rules(
    route: Route, cell: Cell, state: DayState, roads: Roads, now_s: int
) -> Iterator[tuple[Rule, str]]:
    """Rules that the part of a route which is still to come breaks, each with whom it is about."""
    who = route.technician_id
    ahead = [stop for stop in route.stops if state.visits[stop.visit_id].state == "planned"]
    free_s, here = now_s, -1
    for stop in ahead:
        work = state.visits[stop.visit_id].work
        place = roads.place_of(work)
        if here >= 0:
            assert stop.arrive_s >= free_s + roads.drive_s[here, place], "quicker than the roads"
        assert stop.arrive_s >= free_s, "in the past"
        assert stop.leave_s == stop.start_s + work.service_s >= stop.arrive_s + work.service_s
        free_s, here = stop.leave_s, place
        if not any(one.start_s <= stop.start_s <= one.end_s for one in work.windows):
            yield Rule.WINDOW, stop.visit_id
        if work.technician_locked and work.usual_technician_id != who:
            yield Rule.TECHNICIAN_LOCK, stop.visit_id
        if work.skills - cell.skills:
            yield Rule.SKILL, stop.visit_id
    if ahead:
        assert route.end_s >= free_s + roads.drive_s[here, cell.end], "home before it can be"
        if route.end_s > cell.shift.end_s + cell.overtime_s:
            yield Rule.OVERFULL, who


@pytest.mark.parametrize("seed", SEEDS)
def test_a_day_upset_again_and_again_accounts_for_everything(town: Company, seed: int) -> None:
    """Out, late, urgent, moved, cancelled, longer, closed, done and skipped, in any order."""
    chance = random.Random(seed)
    with Session(town.engine) as session:
        run = Sequence(town, session, chance)
        run.begin()
        run.check_states()
        for _ in range(5):
            run.step()
        assert sum("min:" in one for one in run.said) > 1, run.said  # repairs that were taken
        session.rollback()


def test_the_judge_of_these_sequences_sees_what_is_broken(town: Company) -> None:
    """A check that finds nothing must be one that could: a late, foreign, too long route."""
    with Session(town.engine) as session:
        run = Sequence(town, session, random.Random(0))
        run.begin()
        state, book = run.state(), read_day_book(session, town.settings)
        cells = {cell.technician_id: cell for cell in book.cells(MONDAY)[0]}
        route = next(
            one.route for one in state.revisions.values() if "S1/2026-W49/1" in one.visit_ids
        )
        roads, hours_s = book.roads_on(state), 9 * 3600
        late = replace(
            route,
            end_s=route.end_s + hours_s,
            stops=tuple(
                replace(
                    stop,
                    arrive_s=stop.arrive_s + hours_s,
                    start_s=stop.start_s + hours_s,
                    leave_s=stop.leave_s + hours_s,
                )
                for stop in route.stops
            ),
        )
        found = set(broken_rules(late, cells["T1"], state, roads, run.now_s))
        assert {(Rule.OVERFULL, "T1"), (Rule.WINDOW, "S2/2026-W49/1")} <= found
        foreign = replace(route, technician_id="T2", end_s=route.end_s + 3600)
        found = set(broken_rules(foreign, cells["T2"], state, roads, run.now_s))
        assert (Rule.TECHNICIAN_LOCK, "S1/2026-W49/1") in found
        quick = replace(route, stops=tuple(reversed(route.stops)))
        with pytest.raises(AssertionError, match=r"roads|past"):
            list(broken_rules(quick, cells["T1"], state, roads, run.now_s))
        session.rollback()
