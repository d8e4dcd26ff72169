"""A visit that goes to another day comes up there, or is refused where it never would."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta

import pytest

from dispatch.actions import day as actions
from dispatch.actions.calendars import CalendarStop, technician_calendar
from dispatch.actions.edit_plan import edit_plan
from dispatch.actions.plan_versions import trail
from dispatch.actions.plan_week import plan_week
from dispatch.actions.week_check import check_day_ready, check_ready, week_check_list
from dispatch.clock import IsoWeek
from dispatch.day.moments import moment_of
from dispatch.day.state import Gone, StopState
from dispatch.day.triggers import StopMoved
from dispatch.edits.moves import Move
from dispatch.errors import InvalidValue, NotReady
from dispatch.store.book import read_technicians, write_technicians
from dispatch.store.plans import read_plan
from tests.town import MONDAY, TUESDAY, WEDNESDAY, WEEK, Company

S1 = "S1/2026-W49/1"
SATURDAY = WEEK.days[5]
NEXT_WEEK = IsoWeek(2026, 50)


def seven(company: Company) -> datetime:
    return moment_of(MONDAY, 7 * 3600, company.settings.zone)


def offer(company: Company, to_day: date, day: date = MONDAY) -> actions.Offer:
    """The ways to move S1 to another day, asked for at seven on Monday."""
    with company.reading() as session:
        return actions.repair_options(
            session, company.settings, day, StopMoved(S1, to_day), now=seven(company)
        )


def move(company: Company, to_day: date) -> None:
    """Take the first way to move S1 there."""
    found = offer(company, to_day)
    with company.writing() as session:
        actions.take_option(
            session, company.settings, MONDAY, found.options[0].choice,
            expected_version=found.version, who="Ada", now=seven(company),
        )  # fmt: skip


def coming(company: Company, week: IsoWeek) -> list[tuple[str, date, date]]:
    with company.reading() as session:
        found = actions.moved_visits(session, week.days)
    return [(one.work.visit_id, one.was_on, one.day) for one in found]


def publish(company: Company, day: date) -> dict[str, list[str]]:
    """Publish a day; the visits of each route, and of none."""
    with company.writing() as session:
        actions.publish_day(session, company.settings, day, who="Ada", at=seven(company))
    with company.reading() as session:
        seen = actions.day_now(session, company.settings, day, now=seven(company))
    found = {
        one.technician_id: [row.stop.visit_id for row in one.stops] for one in seen.technicians
    }
    return found | {"": [one.work.visit_id for _, one in seen.others]}


@pytest.mark.parametrize(
    ("to_day", "words"),
    [
        (date(2020, 1, 1), "2020-01-01 is over.*choose a day from 2026-11-30 to 2026-12-14"),
        (date(2026, 11, 27), "is over"),
        (MONDAY, "stands on 2026-11-30 already"),
        (SATURDAY, "Nobody works on 2026-12-05"),
        (date(2027, 12, 1), "too far off.*one-off work"),
    ],
)
def test_a_day_on_which_nobody_would_come_is_refused(
    published: Company, to_day: date, words: str
) -> None:
    """The customer would be told of a day on which the visit is in no list of anybody."""
    with pytest.raises(InvalidValue, match=words):
        offer(published, to_day)


def days_of(company: Company, week: IsoWeek, site_id: str) -> list[date]:
    """The planned days of a site in a week."""
    with company.reading() as session:
        plan = read_plan(session, week)
    return sorted(
        route.day for route in plan.routes for stop in route.stops if stop.site_id == site_id
    )


def test_a_visit_goes_to_no_day_on_which_the_site_has_one_already(published: Company) -> None:
    """S3 is visited twice a week: two visits of one day are one, however cheap the drive is."""
    visit, (_monday, second) = "S3/2026-W49/1", days_of(published, WEEK, "S3")
    for _ in range(2):  # planned, then published
        with published.reading() as session, pytest.raises(InvalidValue, match="has a visit on"):
            actions.repair_options(
                session, published.settings, MONDAY, StopMoved(visit, second), now=seven(published)
            )
        publish(published, second)


def test_a_visit_is_not_moved_onto_the_one_of_the_next_week(published: Company) -> None:
    """Nobody works on the Friday that S3 might have; next week is planned, and S3 comes there.

    That day costs no driving at all, but the visit that fell out would be lost.
    """
    thursday, friday = days_of(published, WEEK, "S3")[1], WEEK.days[4]
    plan_week(published.engine, published.settings, NEXT_WEEK, today=MONDAY, iterations=50)
    publish(published, thursday)
    with published.writing() as session:
        write_technicians(
            session,
            [replace(one, days_off=one.days_off | {friday}) for one in read_technicians(session)],
        )
    with published.reading() as session:
        moved = StopMoved("S3/2026-W49/2", None)
        found = actions.repair_options(
            session, published.settings, thursday, moved, now=seven(published)
        )
    offered = {gone.to_day for one in found.options for gone in one.choice.gone}
    assert offered
    assert offered.isdisjoint(days_of(published, NEXT_WEEK, "S3"))


def test_a_week_planned_later_names_a_site_that_would_be_visited_twice(
    published: Company,
) -> None:
    """The visit of Monday went to the next week before that was planned, and S1 is due there."""
    tuesday, wednesday = NEXT_WEEK.days[1:3]
    move(published, tuesday)
    settings, engine = published.settings, published.engine
    plan_week(engine, settings, NEXT_WEEK, today=MONDAY, iterations=50)
    for day, is_doubled in ((tuesday, True), (wednesday, False)):
        with published.reading() as session:
            version = trail(session, NEXT_WEEK).version
        edit_plan(
            engine, settings, NEXT_WEEK, [Move("S1/2026-W50/1", "T2", day)],
            version=version, who="Ada", at=seven(published), today=MONDAY,
        )  # fmt: skip
        with published.reading() as session:
            points = week_check_list(session, settings, NEXT_WEEK, MONDAY)
            lines = [line for one in points if one.name == "doubled" for line in one.lines]
            assert bool(lines) is is_doubled
            if is_doubled:
                assert "Invented One is planned for Tue 8, where a repair of Mon 30" in lines[0]
                with pytest.raises(NotReady, match="1 site is visited twice"):
                    check_ready(session, settings, NEXT_WEEK, MONDAY)
                with pytest.raises(NotReady, match="has brought a visit too"):
                    check_day_ready(session, settings, tuesday, MONDAY)


def test_a_public_holiday_takes_no_moved_visit(published: Company) -> None:
    """8 December 2026, a Tuesday with shifts, is a holiday in Austria."""
    settings = published.settings.model_copy(update={"country": "AT"})
    with pytest.raises(InvalidValue, match="Nobody works on 2026-12-08"):
        offer(replace(published, settings=settings), date(2026, 12, 8))


def test_a_visit_is_not_moved_into_the_customers_hold(published: Company) -> None:
    """S1 is away from 14 to 20 December."""
    with pytest.raises(InvalidValue, match="has a hold from 2026-12-14 to 2026-12-20"):
        offer(published, date(2026, 12, 14))


def test_a_choice_written_by_hand_is_held_to_the_same_days(published: Company) -> None:
    """Whoever writes one cannot lose the visit either; nothing is changed."""
    found = offer(published, WEDNESDAY)
    choice = replace(found.options[0].choice, gone=(Gone(S1, StopState.MOVED, date(2020, 1, 1)),))
    with published.writing() as session, pytest.raises(InvalidValue, match="is over"):
        actions.take_option(
            session, published.settings, MONDAY, choice,
            expected_version=found.version, who="Ada", now=seven(published),
        )  # fmt: skip
    assert coming(published, WEEK) == []


def test_a_visit_comes_up_on_a_day_for_which_nothing_was_planned(published: Company) -> None:
    """Wednesday has a shift and no visit; the moved one is listed for it, then published."""
    move(published, WEDNESDAY)
    assert coming(published, WEEK) == [(S1, MONDAY, WEDNESDAY)]
    assert publish(published, WEDNESDAY) == {"T2": [S1], "": []}
    assert coming(published, WEEK) == []


def test_the_whole_week_is_published_with_the_days_of_moved_visits(published: Company) -> None:
    """Whoever publishes by the week would else leave Wednesday out."""
    move(published, WEDNESDAY)
    with published.writing() as session:
        made = actions.publish_week(
            session, published.settings, WEEK, who="Ada", at=seven(published)
        )
    assert [one.visit_ids for one in made[WEDNESDAY]] == [(S1,)]


def test_a_visit_moved_to_next_week_comes_up_there(published: Company) -> None:
    """It is owed besides the visit of that week, in the list and in the route."""
    tuesday = NEXT_WEEK.days[1]
    move(published, tuesday)
    assert coming(published, NEXT_WEEK) == [(S1, MONDAY, tuesday)]
    plan_week(
        published.engine, published.settings, NEXT_WEEK, today=date(2026, 11, 25), iterations=50
    )
    seen = publish(published, tuesday)
    assert sum(visits.count(S1) for who, visits in seen.items() if who) == 1


def test_a_visit_that_was_moved_on_does_not_come_back(published: Company) -> None:
    """From Monday to Tuesday, from there cancelled; Tuesday is published again before it begins."""
    from dispatch.day.triggers import StopCancelled

    move(published, TUESDAY)
    assert publish(published, TUESDAY)["T2"] == [S1]
    with published.writing() as session:
        found = actions.repair_options(
            session, published.settings, TUESDAY, StopCancelled(S1), now=seven(published)
        )
        actions.take_option(
            session, published.settings, TUESDAY, found.options[0].choice,
            expected_version=found.version, who="Ada", now=seven(published),
        )  # fmt: skip
    assert publish(published, TUESDAY) == {"T2": [], "": [S1]}


def test_a_full_day_is_said_to_have_no_room(planned: Company) -> None:
    """S1 asks for nobody but T1, who is off on Wednesday: it would stand there without a place."""
    from dispatch.store.book import read_sites, write_sites

    with planned.writing() as session:
        sites = [
            replace(one, plan=replace(one.plan, technician_locked=True)) if one.id == "S1" else one
            for one in read_sites(session)
        ]
        write_sites(session, sites)
        actions.publish_day(session, planned.settings, MONDAY, who="Ada", at=seven(planned))
    for option in offer(planned, WEDNESDAY).options:
        (left,) = option.unplaced
        assert left.site_id == "S1"
        assert "2026-12-02 has no room" in left.reason
        assert [new.to_day for new in option.new_times if new.site_id == "S1"] == [WEDNESDAY]
    move(planned, WEDNESDAY)
    assert publish(planned, WEDNESDAY) == {"T2": [], "": [S1]}


def shown(company: Company, today: date) -> dict[str, CalendarStop]:
    """The calendar of T1 as a phone reads it on a day, by visit."""
    settings = company.settings.model_copy(update={"fixed_today": today})
    with company.reading() as session:
        found = technician_calendar(session, settings, "T1")
    return {one.visit_id: one for one in found.stops}


def test_a_moved_visit_never_counts_fewer_changes_than_it_did(published: Company) -> None:
    """Readers take an entry with a lower SEQUENCE for an old one (RFC 5545, section 3.8.7.4).

    The day that S1 was moved away from is left out of the calendar before the day it went to.
    """
    thursday = WEEK.days[3]
    move(published, thursday)
    publish(published, thursday)
    before = shown(published, MONDAY)[S1]
    assert (before.day, before.sequence) == (thursday, 1)
    for days in range(1, 18):
        assert shown(published, MONDAY + timedelta(days=days))[S1] == before
    assert shown(published, thursday + timedelta(days=15)) == {}
