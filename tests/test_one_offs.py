"""One-off work as a value."""

from dataclasses import replace
from datetime import date

import pytest

from dispatch.errors import InvalidValue
from dispatch.one_offs import OneOff, usual_span, work_id_of
from dispatch.service_plan import VisitKind

TUE, WED, THU, FRI = (date(2026, 12, day) for day in (1, 2, 3, 4))
BURST = OneOff("J1", "S001", "Green", VisitKind.GREEN_POOL, TUE, FRI, (180, 30, 30), True)


def test_visits_are_ticked_off_one_by_one_until_it_is_done() -> None:
    """What is left keeps its own minutes: the long first visit comes once."""
    once = BURST.visited(TUE)
    assert (once.minutes_left, once.done_on) == ((30, 30), None)
    done = once.visited(WED).visited(THU)
    assert (done.minutes_left, done.done_on, done.is_open) == ((), THU, False)


def test_a_visit_told_twice_counts_once() -> None:
    """A phone that sends again must not finish the work."""
    assert BURST.visited(TUE).visited(TUE) == BURST.visited(TUE)


def test_days_told_late_are_put_in_order() -> None:
    """Records come in as they come in."""
    assert BURST.visited(WED).visited(TUE).visited_on == (TUE, WED)


def test_work_given_up_owes_nothing_more() -> None:
    """The customer called it off after the first visit."""
    assert BURST.visited(TUE).finished(WED).minutes_left == ()


def test_its_demand_cannot_be_mistaken_for_a_site() -> None:
    """Ids of sites hold no colon; the id is found again in the names of its visits."""
    assert BURST.demand_id == "one-off:J1"
    assert work_id_of("one-off:J1/2026-W49/2") == "J1"
    assert work_id_of("S001/2026-W49/2") == ""


@pytest.mark.parametrize(
    ("change", "match"),
    [
        ({"kind": VisitKind.REGULAR}, "comes by the rhythm"),
        ({"title": ""}, "needs an id"),
        ({"last_day": date(2026, 11, 30)}, "not before the first"),
        ({"last_day": date(2028, 1, 1)}, "at most a year"),
        ({"last_day": date.max}, "at most a year"),
        ({"first_day": date.max}, "not before the first"),
        ({"minutes": ()}, "has 0 visits"),
        ({"minutes": (30,) * 5}, "has 5 visits in 4 days"),
        ({"minutes": (0,)}, "not believable"),
        ({"minutes": (-30,)}, "not believable"),
        ({"crew": 0}, "persons"),
        ({"mass_kg": -1.0}, "not believable"),
        ({"chemicals_kg": 900.0}, "chemicals"),
        ({"visited_on": (WED, TUE)}, "not in order"),
    ],
)
def test_work_that_cannot_be_is_refused(change: dict[str, object], match: str) -> None:
    """Caught where it is written, with the value in the sentence."""
    with pytest.raises(InvalidValue, match=match):
        replace(BURST, **change)  # type: ignore[arg-type]


def test_a_follow_up_is_due_in_one_to_three_days() -> None:
    """Common practice of the trade; noticed on Tuesday, it is due Wednesday to Friday."""
    assert usual_span(VisitKind.FOLLOW_UP, TUE) == (WED, FRI)
    assert usual_span(VisitKind.GREEN_POOL, TUE) == (WED, date(2026, 12, 8))
    assert usual_span(VisitKind.ONE_OFF, TUE) == (WED, date(2026, 12, 29))
