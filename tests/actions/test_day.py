"""The day from publishing to repairs, in a real database."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta
from uuid import uuid4

import pytest

from dispatch.actions import day as actions
from dispatch.actions.paper_day import loaded_day
from dispatch.actions.take_in import take_in_record
from dispatch.day.events import DayEvent, EventKind
from dispatch.day.moments import moment_of
from dispatch.day.options import Option
from dispatch.day.triggers import (
    JobOverrun,
    LateStart,
    RoadClosed,
    RoadReopened,
    StopCancelled,
    StopMoved,
    TechnicianBack,
    TechnicianOut,
    Trigger,
)
from dispatch.errors import DayMoved, InvalidValue, NotFound
from dispatch.store.book import read_some_sites, write_sites
from dispatch.water.products import Product
from tests.town import MONDAY, WEDNESDAY, WEEK, Company

S1, S2, S3 = (f"S{n}/2026-W49/1" for n in (1, 2, 3))
THURSDAY = date(2026, 12, 3)


def at(company: Company, clock: str, day: date = MONDAY) -> datetime:
    hour, minute = clock.split(":")
    return moment_of(day, int(hour) * 3600 + int(minute) * 60, company.settings.zone)


def tell(company: Company, kind: EventKind, clock: str, who: str, visit: str | None) -> DayEvent:
    """Enter an event."""
    moment = at(company, clock)
    one = DayEvent(str(uuid4()), MONDAY, kind, moment, moment, who, who, visit)
    with company.writing() as session:
        (taken,) = actions.add_events(session, company.settings, MONDAY, [one])
    assert taken.outcome == "new"
    return one


def offer(company: Company, trigger: Trigger, clock: str = "07:00") -> actions.Offer:
    with company.reading() as session:
        return actions.repair_options(
            session, company.settings, MONDAY, trigger, now=at(company, clock)
        )


def take(company: Company, option: Option, version: int, clock: str = "07:01") -> list[str]:
    """Take an option; the technicians who get a new revision."""
    with company.writing() as session:
        made = actions.take_option(
            session,
            company.settings,
            MONDAY,
            option.choice,
            expected_version=version,
            who="Ada",
            now=at(company, clock),
        )
    return [one.technician_id for one in made]


def staying(found: actions.Offer) -> Option:
    """The option that moves nothing to another day."""
    return next(one for one in found.options if one.key == "keep-order")


def now(company: Company, clock: str = "07:02", day: date = MONDAY) -> actions.DayNow:
    with company.reading() as session:
        return actions.day_now(session, company.settings, day, now=at(company, clock, day))


def states(company: Company) -> dict[str, str]:
    seen = now(company)
    rows = [row.now for one in seen.technicians for row in one.stops]
    rows += [one for _, one in seen.others]
    assert len(rows) == len({row.work.visit_id for row in rows})
    return {row.work.visit_id: str(row.state) for row in rows}


def test_a_published_day_is_the_planned_one_and_publishing_again_changes_nothing(
    published: Company,
) -> None:
    """A technician's phone is not told of a change that is none."""
    assert states(published) == {S1: "planned", S2: "planned", S3: "planned"}
    with published.writing() as session:
        again = actions.publish_day(
            session, published.settings, MONDAY, who="Ada", at=at(published, "06:05")
        )
    assert again == ()


def test_the_whole_week_is_published_day_by_day(planned: Company) -> None:
    """Every day with routes, once."""
    with planned.writing() as session:
        made = actions.publish_week(
            session, planned.settings, WEEK, who="Ada", at=at(planned, "06:00")
        )
        assert list(made) == actions.published_days(session) == [MONDAY, THURSDAY]


def test_an_unpublished_day_is_told_of_with_the_command(planned: Company) -> None:
    """The command is told where commands are typed; a page leads on by itself."""
    with planned.reading() as session, pytest.raises(NotFound, match="publish it first") as told:
        actions.day_now(session, planned.settings, MONDAY, now=at(planned, "07:00"))
    assert told.value.command == f"dispatch day publish {MONDAY}"
    with planned.reading() as session, pytest.raises(NotFound, match="publish the day") as told:
        actions.route_now(session, planned.settings, MONDAY, "T1")
    assert told.value.command == f"dispatch day publish {MONDAY}"


def test_an_event_sent_twice_counts_once(published: Company) -> None:
    """A phone that saw no answer sends again; another content of the id is refused."""
    done = tell(published, EventKind.DONE, "07:40", "T1", S1)
    other = replace(done, visit_id=S2)
    with published.writing() as session:
        again = actions.add_events(session, published.settings, MONDAY, [done, other, done])
    assert [one.outcome for one in again] == ["already-there", "refused", "already-there"]
    assert states(published)[S1] == "done"


def test_what_cannot_be_is_refused_and_the_rest_taken(published: Company) -> None:
    """One bad entry of a day's worth must not hold up the others."""
    moment = at(published, "08:00")
    base = DayEvent(str(uuid4()), MONDAY, EventKind.DONE, moment, moment, "T1", "T1", S1)
    bad = [
        replace(base, id=str(uuid4()), visit_id="S9/1"),
        replace(base, id=str(uuid4()), technician_id="T9"),
        replace(base, id=str(uuid4()), day=MONDAY + timedelta(days=1)),
        replace(base, id=str(uuid4()), kind=EventKind.REPAIRED),
    ]
    with published.writing() as session:
        taken = actions.add_events(session, published.settings, MONDAY, [*bad, base])
    assert [one.outcome for one in taken] == ["refused"] * 4 + ["new"]
    assert "not due on 2026-11-30" in taken[0].reason


def test_a_day_under_way_is_repaired_not_published_again(published: Company) -> None:
    """Publishing over it would send somebody to a pool twice."""
    tell(published, EventKind.STARTED, "07:05", "T1", S1)
    with published.writing() as session, pytest.raises(DayMoved, match="under way"):
        actions.publish_day(
            session, published.settings, MONDAY, who="Ada", at=at(published, "07:10")
        )


def test_a_repair_writes_revisions_and_tells_everybody_what_changed(published: Company) -> None:
    """T2 is out: S3 goes to T1, whose phone is told of it in words."""
    found = offer(published, TechnicianOut("T2", 0))
    assert found.version == 2
    keep = next(one for one in found.options if one.key == "keep-order")
    assert take(published, keep, found.version) == ["T1", "T2"]
    with published.reading() as session:
        one = actions.route_now(session, published.settings, MONDAY, "T1")
        last = actions.history(session, published.settings, MONDAY)[-1]
        before = actions.state_at(session, published.settings, MONDAY, 2)
    assert one.revision == 2
    assert S3 in one.visit_ids
    assert last.kind is EventKind.REPAIRED
    assert last.why.startswith("Invented Ben is out")
    assert last.data["changes"]["T1"][0].startswith("Invented Three is new, at")
    assert last.data["changes"]["T2"] == ["Invented Three is not yours any more."]
    assert [len(t.stops) for t in before.technicians] == [2, 1]
    later = offer(published, JobOverrun(S1, 600), "07:05")
    assert all(not x.choice.ahead.get("T2") for x in later.options)  # T2 is still out


def test_the_second_dispatcher_is_shown_who_was_faster(published: Company) -> None:
    """Nothing is overwritten in silence; the day stays as the first one left it."""
    first = offer(published, StopCancelled(S1))
    second = offer(published, StopCancelled(S2))
    take(published, first.options[0], first.version)
    with pytest.raises(
        DayMoved, match=r"Ada repaired 2026-11-30 at .* \(The stop at Invented One "
    ):
        take(published, second.options[0], second.version)
    assert states(published) == {S1: "cancelled", S2: "planned", S3: "planned"}


def test_what_phones_send_meanwhile_stops_a_choice_only_where_it_touches_it(
    published: Company,
) -> None:
    """T1 begins S1 while T2's stop is cancelled: fine. S3 is begun while it is cancelled: not."""
    found = offer(published, StopCancelled(S3))
    tell(published, EventKind.STARTED, "07:01", "T1", S1)
    take(published, found.options[0], found.version)
    assert states(published) == {S1: "under-way", S2: "planned", S3: "cancelled"}
    found = offer(published, StopCancelled(S2), "07:02")
    tell(published, EventKind.DONE, "07:03", "T1", S2)
    with pytest.raises(DayMoved, match="meanwhile"):
        take(published, found.options[0], found.version)
    assert states(published)[S2] == "done"


def test_a_visit_moved_to_a_published_day_stands_there_once(planned: Company) -> None:
    """It leaves Monday and comes in on Thursday, with an event in both histories."""
    with planned.writing() as session:
        actions.publish_week(session, planned.settings, WEEK, who="Ada", at=at(planned, "06:00"))
    found = offer(planned, StopMoved(S1, THURSDAY))
    take(planned, found.options[0], found.version)
    assert states(planned)[S1] == "moved"
    thursday = now(planned, "06:00", THURSDAY)
    stops = [row.stop.visit_id for one in thursday.technicians for row in one.stops]
    assert stops.count(S1) == 1
    with planned.reading() as session:
        assert actions.moved_visits(session, WEEK.days) == []
        assert actions.history(session, planned.settings, THURSDAY)[-1].kind == "repaired"


def test_a_visit_moved_to_a_day_not_published_yet_comes_in_with_it(published: Company) -> None:
    """Until then planning is told of it; afterwards it stands in a route of that day."""
    found = offer(published, StopMoved(S1, WEDNESDAY))
    take(published, found.options[0], found.version)
    with published.reading() as session:
        (coming,) = actions.moved_visits(session, WEEK.days)
        assert (coming.work.visit_id, coming.was_on, coming.day) == (S1, MONDAY, WEDNESDAY)
    found = offer(published, StopMoved(S2, THURSDAY))
    take(published, found.options[0], found.version)
    with published.writing() as session:
        actions.publish_day(
            session, published.settings, THURSDAY, who="Ada", at=at(published, "18:00")
        )
    thursday = now(published, "06:00", THURSDAY)
    rows = {row.stop.visit_id for one in thursday.technicians for row in one.stops}
    assert S2 in rows
    assert states(published)[S2] == "moved"


def test_publishing_again_keeps_what_was_cancelled_out(published: Company) -> None:
    """The old plan still has the stop; the customer does not want it."""
    found = offer(published, StopCancelled(S1))
    take(published, found.options[0], found.version)
    with published.writing() as session:
        actions.publish_day(
            session, published.settings, MONDAY, who="Ada", at=at(published, "06:30")
        )
    assert states(published) == {S1: "cancelled", S2: "planned", S3: "planned"}


def test_a_late_start_is_remembered(published: Company) -> None:
    """The expected times of the day begin when the technician can set out."""
    found = offer(published, LateStart("T1", 9 * 3600))
    take(published, found.options[0], found.version)
    (one,) = [t for t in now(published).technicians if t.technician_id == "T1"]
    first = one.stops[0].projected
    assert first is not None
    assert first.start_s >= 9 * 3600


def test_a_longer_job_lasts_longer_from_then_on(published: Company) -> None:
    """S1 takes 30 min; with 60 more, S2 is expected after 90."""
    tell(published, EventKind.STARTED, "07:00", "T1", S1)
    found = offer(published, JobOverrun(S1, 3600), "07:05")
    keep = next(one for one in found.options if one.key == "keep-order")
    take(published, keep, found.version, "07:06")
    (one,) = [t for t in now(published, "07:10").technicians if t.technician_id == "T1"]
    second = one.stops[1].projected
    assert second is not None
    assert second.arrive_s >= 8 * 3600 + 1800


def test_an_urgent_stop_comes_into_a_route(published: Company) -> None:
    """Its name tells the day and that it was urgent."""
    with published.reading() as session:
        trigger = actions.urgent_stop(session, published.settings, MONDAY, "S3", minutes=25)
        with pytest.raises(NotFound, match="no site 'S9'"):
            actions.urgent_stop(session, published.settings, MONDAY, "S9", minutes=25)
    found = offer(published, trigger)
    take(published, found.options[0], found.version)
    assert states(published)["S3/2026-11-30/urgent-1"] == "planned"


def test_a_closed_road_is_driven_round_for_the_rest_of_the_day(published: Company) -> None:
    """The middle of the street ab is closed: S2 lies there and finds nobody who can come."""
    found = offer(published, RoadClosed(0.0, 0.002, 30.0))
    for option in found.options:
        assert {gone.visit_id for gone in option.choice.gone} >= {S2}
    take(published, found.options[0], found.version)
    with published.reading() as session:
        assert actions.read_day(session, MONDAY).closed == ((0.0, 0.002, 30.0),)
    assert now(published, "07:00").closed == ((0.0, 0.002, 30.0),)


def test_a_road_that_is_open_again_brings_its_stops_back(published: Company) -> None:
    """S2 had lost its place to the closed street; only an area that is closed can be opened."""
    closed = offer(published, RoadClosed(0.0, 0.002, 30.0))
    take(published, staying(closed), closed.version)
    with pytest.raises(InvalidValue, match="No such area"):
        offer(published, RoadReopened(0.0, 0.002, 31.0))
    found = offer(published, RoadReopened(0.0, 0.002, 30.0))
    take(published, found.options[0], found.version)
    assert states(published)[S2] == "planned"
    assert now(published, "07:00").closed == ()


def test_who_is_back_takes_stops_again(published: Company) -> None:
    """T1 was out from seven and lost everything; from nine on he may have stops, not before."""
    for trigger in (TechnicianOut("T1", 7 * 3600), TechnicianBack("T1", 9 * 3600)):
        found = offer(published, trigger)
        take(published, staying(found), found.version)
    seen = now(published, "07:00")
    assert seen.out_from_s == {}
    own = [row for one in seen.technicians if one.technician_id == "T1" for row in one.stops]
    assert own
    assert all(row.stop.start_s >= 9 * 3600 for row in own)
    with pytest.raises(InvalidValue, match="is not out"):
        offer(published, TechnicianBack("T1", 9 * 3600))


def test_an_alarm_is_entered_once_and_shown(published: Company) -> None:
    """S1 begun at 7:00 ends at 7:30; silent at 8:20, an alarm; asked again, no second one."""
    tell(published, EventKind.STARTED, "07:00", "T1", S1)
    with published.writing() as session:
        raised = [
            actions.raise_alarms(session, published.settings, MONDAY, now=at(published, clock))
            for clock in ("07:50", "08:20", "08:30")
        ]
    assert [len(one) for one in raised] == [0, 1, 0]
    (one,) = [t for t in now(published, "08:30").technicians if t.technician_id == "T1"]
    assert one.alarm_at == at(published, "08:20")


def test_a_choice_that_loses_a_visit_is_refused(published: Company) -> None:
    """Whoever writes a choice by hand cannot make a customer vanish."""
    found = offer(published, StopCancelled(S1))
    choice = replace(found.options[0].choice, ahead={"T1": (S1,)}, gone=())
    with pytest.raises(InvalidValue, match="S2/2026-W49/1 0 times"):
        take(published, replace(found.options[0], choice=choice), found.version)


def salt_kg(company: Company, technician_id: str) -> float:
    """Mass of the salt on a truck's load list."""
    with company.reading() as session:
        _, load = loaded_day(session, company.settings, technician_id, MONDAY)
    return sum(line.gross_kg for line in load.products if line.product is Product.SALT)


def test_the_load_follows_a_stop_to_another_truck(planned: Company) -> None:
    """The pool S3 wants salt, 2,000 of 3,200 ppm: it lies on Ben's truck, after a repair on Alma's.

    A list made of the plan would send Alma without it and Ben with a bag too many.
    """
    seen = {
        "id": str(uuid4()),
        "site_id": "S3",
        "technician_id": "T2",
        "day": "2026-11-23",
        "readings": [{"kind": "salt", "value": 2000, "unit": "ppm"}],
    }
    with planned.writing() as session:
        assert take_in_record(session, planned.settings, seen).error is None
        pool = replace(read_some_sites(session, ["S3"])["S3"], pool_volume_l=40_000.0)
        write_sites(session, [pool])
    assert (salt_kg(planned, "T1"), salt_kg(planned, "T2") > 0) == (0, True)
    with planned.writing() as session:
        actions.publish_day(session, planned.settings, MONDAY, who="Ada", at=at(planned, "06:00"))
    assert (salt_kg(planned, "T1"), salt_kg(planned, "T2") > 0) == (0, True)
    found = offer(planned, TechnicianOut("T2", 7 * 3600))
    moved = next(one for one in found.options if S3 in one.choice.ahead.get("T1", ()))
    take(planned, moved, found.version)
    assert (salt_kg(planned, "T1") > 0, salt_kg(planned, "T2")) == (True, 0)
