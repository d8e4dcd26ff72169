"""The plan of a week beside what technicians were given of it."""

from __future__ import annotations

from datetime import date

import pytest

from dispatch.actions import day as actions
from dispatch.actions.published_day import read_day
from dispatch.actions.read_plan import week_plan
from dispatch.actions.week_check import check_day_ready, check_ready, week_check_list
from dispatch.actions.week_publish import PublishedDay, published_week
from dispatch.day.events import DayEvent, EventKind
from dispatch.day.triggers import RunningLate, StopCancelled, StopMoved, TechnicianOut
from dispatch.edits.moves import Move, TakeOut
from dispatch.errors import NotReady
from tests.actions.test_day import S1, S2, S3, THURSDAY, at, now, offer, states, take
from tests.actions.test_edit_plan import edit
from tests.town import MONDAY, TODAY, WEDNESDAY, WEEK, Company


def publish(company: Company, day: date) -> list[str]:
    """Publish a day; the technicians who get a new revision."""
    with company.writing() as session:
        made = actions.publish_day(
            session, company.settings, day, who="Ada", at=at(company, "06:00")
        )
    return [one.technician_id for one in made]


def publish_all(company: Company) -> list[date]:
    """Publish the week; the days that were."""
    with company.writing() as session:
        made = actions.publish_week(
            session, company.settings, WEEK, who="Ada", at=at(company, "06:00")
        )
    return list(made)


def standing(company: Company) -> dict[date, PublishedDay]:
    with company.reading() as session:
        return published_week(session, week_plan(session, WEEK), TODAY)


def driven(company: Company, day: date) -> list[str]:
    """The visits in the routes of a published day."""
    with company.reading() as session:
        visits = read_day(session, day).visits
    return [visit_id for visit_id, one in visits.items() if one.technician_id is not None]


def events(company: Company) -> list[DayEvent]:
    """The history of the Monday."""
    with company.reading() as session:
        return actions.history(session, company.settings, MONDAY)


def point(company: Company, name: str = "published") -> tuple[str, list[str]]:
    """How a point of the check list about what is published stands, and its lines."""
    with company.reading() as session:
        points = week_check_list(session, company.settings, WEEK, TODAY)
    (found,) = [one for one in points if one.name == name]
    return str(found.state), list(found.lines)


AS_PLANNED = PublishedDay(is_changed=False, is_repaired=False, has_begun=False)


def test_only_published_days_are_marked_and_fresh_ones_are_as_planned(published: Company) -> None:
    """A dispatcher sees at a glance which days are out."""
    assert standing(published) == {MONDAY: AS_PLANNED}
    assert point(published) == ("good", ["Mon 30: published as planned."])


def test_an_edit_of_a_published_day_is_told_until_the_day_is_published_again(
    published: Company,
) -> None:
    """Else technicians drive the old route and nobody in the office knows."""
    edit(published, TakeOut(S1), version=1)
    assert standing(published)[MONDAY].is_changed
    assert point(published) == (
        "look",
        ["Mon 30: changed since it was published: publish it again."],
    )
    assert publish(published, MONDAY) == ["T1"]
    assert standing(published) == {MONDAY: AS_PLANNED}


def test_a_stop_more_and_a_technician_less_are_changes(published: Company) -> None:
    """One gets a route that the day did not have, another loses his last stop."""
    edit(published, Move(S3, "T1", MONDAY), version=1)
    assert standing(published)[MONDAY].is_changed
    assert publish(published, MONDAY) == ["T1", "T2"]
    assert standing(published) == {MONDAY: AS_PLANNED}


def test_a_visit_planned_away_and_back_is_driven_again(published: Company) -> None:
    """The plan had taken it from Monday, no customer and no repair did."""
    edit(published, Move(S1, "T1", THURSDAY), version=1)
    publish(published, MONDAY)
    publish(published, THURSDAY)
    edit(published, Move(S1, "T1", MONDAY), version=2)
    assert [day for day, one in standing(published).items() if one.is_changed] == [MONDAY, THURSDAY]
    publish(published, THURSDAY)
    publish(published, MONDAY)
    assert states(published)[S1] == "planned"
    thursday = now(published, "06:00", THURSDAY)
    assert S1 not in [row.stop.visit_id for one in thursday.technicians for row in one.stops]
    assert not any(one.is_changed for one in standing(published).values())


def test_a_visit_without_a_place_waits_no_longer_once_another_day_has_it(
    published: Company,
) -> None:
    """Else a repair of Monday would send somebody, and Thursday somebody once more."""
    edit(published, TakeOut(S1), version=1)
    publish(published, MONDAY)
    assert states(published)[S1] == "unplaced"
    edit(published, Move(S1, "T1", THURSDAY), version=2)
    publish(published, THURSDAY)
    assert states(published)[S1] == "moved"
    (told,) = [one for one in events(published) if one.kind is EventKind.ELSEWHERE]
    assert told.why == "Invented One now comes on Thu 3, with the published routes of that day."
    for option in offer(published, RunningLate()).options:
        assert S1 not in [one for ahead in option.choice.ahead.values() for one in ahead]
    publish(published, THURSDAY)
    assert len([one for one in events(published) if one.kind is EventKind.ELSEWHERE]) == 1
    edit(published, Move(S1, "T1", MONDAY), version=3)
    publish(published, THURSDAY)
    publish(published, MONDAY)
    assert states(published)[S1] == "planned"


def test_a_repair_is_no_change_of_the_plan_but_told(published: Company) -> None:
    """Publishing again would undo it: a sick technician would be sent out."""
    found = offer(published, TechnicianOut("T2", 0))
    take(published, next(one for one in found.options if one.key == "keep-order"), found.version)
    assert standing(published)[MONDAY] == PublishedDay(
        is_changed=False, is_repaired=True, has_begun=False
    )
    assert point(published)[1] == [
        "Mon 30: repaired on the day: its board shows it as it is driven."
    ]


def test_a_stop_planned_away_that_a_repair_gave_to_somebody_else_is_told(
    published: Company,
) -> None:
    """Alma drives it for Ben, who is ill, and the plan has it on another day: it would be twice."""
    found = offer(published, TechnicianOut("T2", 0))
    take(published, next(one for one in found.options if one.key == "keep-order"), found.version)
    edit(published, Move(S3, "T2", WEDNESDAY), version=1)
    publish(published, WEDNESDAY)
    assert S3 in driven(published, MONDAY)
    assert standing(published)[MONDAY].is_changed
    assert point(published)[1][0] == (
        "Mon 30: changed since it was published, and repaired on the day: publishing it again puts "
        "the plan in place of the repair."
    )


def test_the_whole_week_leaves_repaired_days_as_they_are(published: Company) -> None:
    """One press for the other days must not bring back what was repaired away."""
    found = offer(published, TechnicianOut("T2", 0))
    take(published, next(one for one in found.options if one.key == "keep-order"), found.version)
    assert publish_all(published) == [THURSDAY]
    with published.reading() as session:
        assert read_day(session, MONDAY).visits[S3].technician_id == "T1"


def test_a_stop_that_a_repair_called_off_or_brought_is_no_change(planned: Company) -> None:
    """The plan still has the one, and never had the other on that day."""
    publish_all(planned)
    for trigger in (StopCancelled(S2), StopMoved(S1, THURSDAY)):
        found = offer(planned, trigger)
        take(planned, found.options[0], found.version)
    for day in (MONDAY, THURSDAY):
        publish(planned, day)
    after = standing(planned)
    assert [after[day].is_changed for day in (MONDAY, THURSDAY)] == [False, False]
    assert [after[day].is_repaired for day in (MONDAY, THURSDAY)] == [True, True]


def test_a_visit_that_a_repair_moved_stands_once_wherever_the_plan_puts_it(
    published: Company,
) -> None:
    """The customer was promised Thursday; the plan still had Monday, and moved it on from there."""
    found = offer(published, StopMoved(S1, THURSDAY))
    take(published, found.options[0], found.version)
    edit(published, Move(S1, "T2", WEDNESDAY), version=1)
    publish(published, WEDNESDAY)
    publish(published, THURSDAY)
    assert driven(published, WEDNESDAY) == []
    assert S1 in driven(published, THURSDAY)
    assert standing(published)[WEDNESDAY] == PublishedDay(
        is_changed=False, is_repaired=True, has_begun=False
    )
    assert point(published)[1][-1] == (
        "Invented One is planned for Wed 2, but a repair of Mon 30 brought it to Thu 3, and there "
        "it comes."
    )


def test_a_visit_that_a_repair_found_a_place_for_stands_once(published: Company) -> None:
    """Taken out of the plan it waited on Monday; a repair put it back while the plan moved it."""
    edit(published, TakeOut(S1), version=1)
    publish(published, MONDAY)
    found = offer(published, RunningLate())
    take(published, next(one for one in found.options if one.key == "keep-order"), found.version)
    assert S1 in driven(published, MONDAY)
    edit(published, Move(S1, "T2", WEDNESDAY), version=2)
    publish(published, WEDNESDAY)
    assert driven(published, WEDNESDAY) == []


def test_a_visit_that_a_repair_called_off_is_not_brought_back_on_another_day(
    published: Company,
) -> None:
    """Nobody is at home; planning around a day off must not send somebody on Friday."""
    found = offer(published, StopCancelled(S1))
    take(published, found.options[0], found.version)
    edit(published, Move(S1, "T1", WEEK.days[4]), version=1)
    publish(published, WEEK.days[4])
    assert driven(published, WEEK.days[4]) == []
    friday = now(published, "07:00", WEEK.days[4])
    assert friday.others == (), "a repair of Friday would find a place for it"
    assert point(published)[1][-1] == (
        "Invented One is planned for Fri 4, but a repair of Mon 30 called it off: nobody comes."
    )


def test_a_week_in_order_is_ready_and_a_broken_rule_is_named(planned: Company) -> None:
    """Ben lacks the skill for the sand of S2: nobody may find that out at the gate."""
    with planned.reading() as session:
        check_ready(session, planned.settings, WEEK, TODAY)
    edit(planned, Move(S2, "T2", MONDAY), version=1)
    with planned.reading() as session, pytest.raises(NotReady, match="1 point should") as caught:
        check_ready(session, planned.settings, WEEK, TODAY)
    assert len(caught.value.points) == 1


def test_a_day_is_ready_whatever_is_broken_on_others(planned: Company) -> None:
    """Ben cannot change the sand on Monday: that is no matter of Thursday's."""
    edit(planned, Move(S2, "T2", MONDAY), version=1)
    with planned.reading() as session:
        check_day_ready(session, planned.settings, THURSDAY, TODAY)
        with pytest.raises(NotReady, match="Invented Ben lacks the skill 'media'") as caught:
            check_day_ready(session, planned.settings, MONDAY, TODAY)
    assert len(caught.value.points) == 1
