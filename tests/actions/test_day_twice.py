"""A visit stands in one published day, whatever the order of editing, publishing and repairing."""

from __future__ import annotations

from datetime import date

import pytest

from dispatch.actions import day as actions
from dispatch.actions.published_day import read_day
from dispatch.actions.week_check import check_day_ready, check_ready, week_check_list
from dispatch.day.events import EventKind
from dispatch.day.options import Choice
from dispatch.day.state import HAPPENED, StopState
from dispatch.day.triggers import RunningLate, StopCancelled, StopMoved
from dispatch.edits.moves import Move
from dispatch.errors import DayMoved, NotReady
from tests.actions.test_day import S1, S2, S3, THURSDAY, at, now, offer, states, take, tell
from tests.actions.test_edit_plan import edit
from tests.actions.test_week_publish import point, publish, publish_all, standing
from tests.town import MONDAY, TODAY, WEDNESDAY, WEEK, Company

FRIDAY = WEEK.days[4]


def days_of(company: Company, visit_id: str) -> list[date]:
    """The published days that drive a visit, or on which it was made."""
    with company.reading() as session:
        seen = {day: read_day(session, day).visits for day in actions.published_days(session)}
    return [
        day
        for day, visits in seen.items()
        if visit_id in visits and visits[visit_id].state in (*HAPPENED, StopState.PLANNED)
    ]


def repair_monday(company: Company) -> None:
    """Call S2 off, so that Monday is driven in another way than planned."""
    found = offer(company, StopCancelled(S2))
    take(company, found.options[0], found.version)


def asked(company: Company, day: date | None = None) -> str:
    """What is said before the day, or the whole week, is published."""
    with company.reading() as session:
        try:
            if day is None:
                check_ready(session, company.settings, WEEK, TODAY)
            else:
                check_day_ready(session, company.settings, day, TODAY)
        except NotReady as error:
            return str(error)
    return ""


def test_the_week_does_not_send_a_second_time_what_a_repaired_day_still_drives(
    published: Company,
) -> None:
    """Monday was repaired and is left alone; a repair of it would bring S1 to a third day."""
    repair_monday(published)
    edit(published, Move(S1, "T1", THURSDAY), version=1)
    assert (
        "Invented One is planned for Thu 3, but the published routes of Mon 30 still bring "
        "somebody there: publish Mon 30 again first, then Thu 3, or move the stop with a repair "
        "of Mon 30. Until then it stays on Mon 30."
    ) in asked(published)
    publish_all(published)
    assert days_of(published, S1) == [MONDAY]
    found = offer(published, StopMoved(S1, WEDNESDAY))
    take(published, found.options[0], found.version)
    publish(published, WEDNESDAY)
    publish(published, THURSDAY)
    assert days_of(published, S1) == [WEDNESDAY]


def test_the_way_out_brings_the_visit_where_it_is_planned(published: Company) -> None:
    """Both days are marked until it stands there; nothing is lost on the way."""
    edit(published, Move(S1, "T1", THURSDAY), version=1)
    assert "publish Mon 30 again first" in asked(published, THURSDAY)
    publish(published, THURSDAY)
    assert days_of(published, S1) == [MONDAY]
    assert [day for day, one in standing(published).items() if one.is_changed] == [MONDAY, THURSDAY]
    assert asked(published, MONDAY) == ""
    publish(published, MONDAY)
    assert days_of(published, S1) == []
    assert [day for day, one in standing(published).items() if one.is_changed] == [THURSDAY]
    publish(published, THURSDAY)
    assert days_of(published, S1) == [THURSDAY]
    assert not any(one.is_changed for one in standing(published).values())


def test_publishing_the_week_lets_two_visits_change_their_days_at_once(planned: Company) -> None:
    """Neither day waits for the other: both are published with the same press."""
    publish_all(planned)
    edit(planned, Move(S1, "T1", THURSDAY), Move(S3, "T2", WEDNESDAY), version=1)
    publish_all(planned)
    edit(planned, Move(S1, "T2", WEDNESDAY), Move(S3, "T1", THURSDAY), version=2)
    with planned.reading() as session:
        points = week_check_list(session, planned.settings, WEEK, TODAY)
    assert "twice" not in [one.name for one in points]
    publish_all(planned)
    assert (days_of(planned, S1), days_of(planned, S3)) == ([WEDNESDAY], [THURSDAY])
    assert not any(one.is_changed for one in standing(planned).values())


def test_a_day_under_way_keeps_a_visit_until_a_repair_moves_it(published: Company) -> None:
    """Publishing Monday again is refused by then: the sentence leads to the repair instead."""
    tell(published, EventKind.DONE, "07:40", "T1", S2)
    edit(published, Move(S1, "T1", THURSDAY), version=1)
    assert (
        "Invented One is planned for Thu 3, but the published routes of Mon 30 bring somebody "
        "there, and that day is under way: move the stop to Thu 3 with a repair of Mon 30. Until "
        "then it stays on Mon 30."
    ) in asked(published, THURSDAY)
    publish(published, THURSDAY)
    assert days_of(published, S1) == [MONDAY]
    assert not standing(published)[THURSDAY].is_changed, "publishing it again changes nothing"
    found = offer(published, StopMoved(S1, THURSDAY), "08:00")
    take(published, found.options[0], found.version, "08:00")
    assert days_of(published, S1) == [THURSDAY]


def test_a_visit_that_was_made_is_not_made_again_on_the_day_of_the_plan(
    published: Company,
) -> None:
    """Alma was there on Monday, before the office moved the stop."""
    tell(published, EventKind.DONE, "07:40", "T1", S1)
    edit(published, Move(S1, "T1", THURSDAY), version=1)
    publish(published, THURSDAY)
    assert days_of(published, S1) == [MONDAY]
    assert point(published, "twice") == (
        "look",
        ["Invented One is planned for Thu 3, but somebody was there on Mon 30: nobody comes."],
    )


def test_a_stop_of_a_day_that_is_over_and_that_nobody_made_is_driven_on_its_new_day(
    published: Company,
) -> None:
    """Nobody got there on Monday: on Tuesday the office plans it for Friday, and it is not lost."""
    edit(published, Move(S1, "T1", FRIDAY), version=1)
    with published.writing() as session:
        tuesday = at(published, "06:00", WEEK.days[1])
        actions.publish_day(session, published.settings, FRIDAY, who="Ada", at=tuesday)
    friday = now(published, "07:00", FRIDAY)
    assert S1 in [row.stop.visit_id for one in friday.technicians for row in one.stops]


def test_a_repair_brings_no_visit_to_a_day_while_another_one_drives_it(planned: Company) -> None:
    """A choice made by a program, for a visit that has gone to Thursday since: nothing changes."""
    publish_all(planned)
    edit(planned, Move(S1, "T1", THURSDAY), version=1)
    publish_all(planned)
    found = offer(planned, RunningLate())
    option = next(one for one in found.options if one.key == "keep-order")
    ahead = dict(option.choice.ahead)
    ahead["T1"] = (*ahead.get("T1", ()), S1)
    with pytest.raises(
        DayMoved,
        match=r"Invented One stands in the published routes of Thu 3 already.*off there.*Nothing",
    ):
        put(planned, Choice(ahead=ahead), found.version)
    assert days_of(planned, S1) == [THURSDAY]
    assert states(planned)[S1] == "moved"


def put(company: Company, choice: Choice, version: int) -> None:
    with company.writing() as session:
        actions.take_option(
            session, company.settings, MONDAY, choice,
            expected_version=version, who="Ada", now=at(company, "07:00"),
        )  # fmt: skip
