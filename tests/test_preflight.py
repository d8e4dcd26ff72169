"""What is wrong with a week before it is planned, each fault by itself."""

from dataclasses import replace
from datetime import date

import pytest

from dispatch.due_visits import VisitsDue
from dispatch.preflight import Cause, Finding, findings
from dispatch.service_plan import ServicePlan, VisitKind
from dispatch.sites import Rhythm
from dispatch.technicians import Break, Overtime, Shift, Technician
from dispatch.visits import visits_due
from dispatch.windows import TimeWindow
from tests.pools import FRIDAY_BEFORE, GATE, W49, pool

MON, TUE, WED, THU, FRI, SAT, SUN = W49.days
EARLY = Shift(7 * 3600, 15 * 3600)  # 8 h
ALMA = Technician("T1", "Invented Alma", (EARLY,) * 5 + (None, None), GATE, GATE)
BEN = replace(ALMA, id="T2", name="Invented Ben", skills=frozenset({"heater"}))
SITE = pool(ServicePlan(Rhythm.WEEKLY, 30, last_visit_on=date(2026, 11, 26)))
DUE = visits_due([SITE], W49, today=FRIDAY_BEFORE).due[0]


def found(
    due: VisitsDue = DUE,
    technicians: tuple[Technician, ...] = (ALMA, BEN),
    closed: frozenset[date] = frozenset(),
    no_drive: dict[str, str] | None = None,
) -> tuple[Finding, ...]:
    return findings(W49, [SITE], technicians, [due], closed_days=closed, no_drive=no_drive)


def only(answers: tuple[Finding, ...]) -> Finding:
    assert len(answers) == 1, answers
    return answers[0]


def test_a_sound_week_has_nothing_to_say() -> None:
    """A list that always has entries is not read."""
    assert found() == ()


@pytest.mark.parametrize(
    ("change", "cause", "value"),
    [
        (
            {"usual_technician_id": "T1", "technician_locked": True, "skills": {"heater"}},
            Cause.SKILL,
            "it is locked to Invented Alma, who lacks 'heater'",
        ),
        ({"skills": {"diving"}}, Cause.SKILL, "it needs 'diving', and nobody who may come"),
        (
            {"unwanted_technician_ids": {"T1", "T2"}},
            Cause.UNWANTED,
            "the customer wants none of those who work",
        ),
        (
            {"unwanted_technician_ids": {"T2"}, "skills": {"heater"}},
            Cause.SKILL,
            "it needs 'heater', and nobody who may come has that",
        ),
        (
            {"patterns": ((SAT,), (SUN,))},
            Cause.NO_SHIFT,
            "its days are 2026-12-05, 2026-12-06, and nobody who may come works then",
        ),
        ({"crew": 2}, Cause.CREW, "it needs 2 persons, more than are aboard on its days"),
        (
            {"service_min": (481,)},
            Cause.TOO_LONG,
            "a visit takes 481 min, and the longest working day has 480",
        ),
        (
            {"windows": (TimeWindow(5 * 3600, 6 * 3600), TimeWindow(18 * 3600, 20 * 3600))},
            Cause.WINDOW,
            "service may begin 05:00-06:00 or 18:00-20:00, outside the shifts",
        ),
        ({"mass_kg": 500.0}, Cause.PAYLOAD, "a visit takes 500 kg, more than the trucks"),
        (
            {"chemicals_kg": 250.0},
            Cause.CHEMICALS,
            "a visit takes 250 kg of regulated chemicals",
        ),
    ],
)
def test_each_fault_is_named_with_its_value(
    change: dict[str, object], cause: Cause, value: str
) -> None:
    """The cause, the thing and the figure stand in the sentence, and a mend follows."""
    frozen = {
        name: frozenset(what) if isinstance(what, set) else what for name, what in change.items()
    }
    finding = only(found(replace(DUE, **frozen)))  # type: ignore[arg-type]
    assert finding.cause is cause
    assert finding.value.startswith(value)
    assert finding.sentence.startswith("Pool S001 (S001): ")
    assert finding.mend.endswith(".")


def test_every_fault_of_a_visit_is_named_at_once() -> None:
    """Whoever mends the skill should not meet the length next, and then the window."""
    early = (TimeWindow(3 * 3600, 4 * 3600),)
    wrong = replace(DUE, skills=frozenset({"diving"}), service_min=(700,), windows=early)
    assert [one.cause for one in found(wrong)] == [Cause.SKILL, Cause.TOO_LONG, Cause.WINDOW]
    long = replace(DUE, skills=frozenset({"diving"}), service_min=(700,))
    assert [one.cause for one in found(long)] == [Cause.SKILL, Cause.TOO_LONG]


def test_a_window_may_begin_just_before_the_shift_ends() -> None:
    """Half an hour of service from 14:30 ends with the shift at 15:00; a minute later is late."""
    fits = TimeWindow(14 * 3600 + 1800, 18 * 3600)
    assert found(replace(DUE, windows=(fits,))) == ()
    late = TimeWindow(14 * 3600 + 1860, 18 * 3600)
    assert only(found(replace(DUE, windows=(late,)))).cause is Cause.WINDOW


def test_overtime_makes_the_longest_day_longer() -> None:
    """Ten hours are allowed: a job of nine fits."""
    longer = replace(ALMA, overtime=Overtime(day_most_min=600, week_most_min=3000))
    assert found(replace(DUE, service_min=(540,)), (longer,)) == ()


def test_two_visits_need_somebody_on_both_days_of_one_choice() -> None:
    """Mondays alone are worked: neither Monday and Thursday nor Tuesday and Friday can be."""
    monday_only = replace(ALMA, shifts=(EARLY,) + (None,) * 6)
    pair = replace(DUE, patterns=((MON, THU), (TUE, FRI)), service_min=(30, 30))
    assert only(found(pair, (monday_only,))).cause is Cause.NO_SHIFT
    assert found(pair) == ()


def test_a_lock_on_somebody_who_is_off_all_week_is_named_as_such() -> None:
    """The holiday of one technician is no fault of the site."""
    off = replace(ALMA, days_off=frozenset(W49.days))
    locked = replace(DUE, usual_technician_id="T1", technician_locked=True)
    finding = only(found(locked, (off, BEN)))
    assert finding.cause is Cause.LOCK
    assert finding.value == "it is locked to Invented Alma, who does not work in the week"


def test_a_technician_who_is_not_in_the_book_is_asked_about() -> None:
    """Most likely the technicians were not imported, or an id was mistyped."""
    finding = only(found(replace(DUE, usual_technician_id="T9")))
    assert finding.cause is Cause.UNKNOWN_TECHNICIAN
    assert "'T9'" in finding.value


def test_a_week_without_anybody_is_told_once_and_not_for_each_site() -> None:
    """A list of every site would hide the one cause."""
    finding = only(found(closed=frozenset(W49.days)))
    assert (finding.cause, finding.thing) == (Cause.NO_SHIFT, "Week 2026-W49")
    assert finding.value == "none of 2 technicians works on any day of it"


def test_more_service_than_shifts_have_hours_is_told_before_the_search() -> None:
    """By hand: one shift of 8 h less half an hour of meal and a tenth of slack is 6.7 h."""
    one_day = replace(
        ALMA,
        shifts=(EARLY,) + (None,) * 6,
        meal=Break(30, 11 * 3600, 13 * 3600),
        slack_share=0.1,
    )
    long_job = replace(DUE, patterns=((MON,),), service_min=(403,))
    finding = only(found(long_job, (one_day,)))
    assert finding.cause is Cause.OVERLOAD
    assert found(replace(long_job, service_min=(400,)), (one_day,)) == ()


def test_a_company_without_technicians_hears_so() -> None:
    """'None of 0 technicians' helps no newcomer."""
    told = [one.value for one in found(technicians=()) if one.cause is Cause.NO_SHIFT]
    assert told == ["there are no technicians in the book"]


def test_places_without_drive_times_are_named() -> None:
    """The sentence of the map says how far off the streets they lie."""
    finding = only(found(no_drive={"site:S001": "It lies 900 m off."}))
    assert (finding.cause, finding.thing) == (Cause.DRIVE, "Site S001")
    assert finding.sentence == "Site S001: no drive times. It lies 900 m off."


def test_a_twice_weekly_site_with_one_open_day_is_named() -> None:
    """The rest of its days are closed: one visit is planned, and somebody should know."""
    twice = pool(
        ServicePlan(
            Rhythm.TWICE_A_WEEK,
            30,
            allowed_weekdays=frozenset({0, 3}),
            last_visit_on=date(2026, 11, 26),
        )
    )
    closed = frozenset({TUE, WED, THU, FRI})
    due = visits_due([twice], W49, today=FRIDAY_BEFORE, holidays=closed).due[0]
    finding = only(findings(W49, [twice], [ALMA], [due], closed_days=closed))
    assert finding.cause is Cause.FEWER_VISITS
    assert finding.value == "1 of 2 visits have a day"


def test_one_off_work_is_named_by_its_title() -> None:
    """Nobody knows it by its id."""
    job = replace(
        DUE, kind=VisitKind.ONE_OFF, demand_id="one-off:J1", title="Lift the pump", crew=3
    )
    assert only(found(job)).thing == "Pool S001 (Lift the pump)"


def test_a_night_shift_that_runs_into_the_next_one_is_named_with_its_day() -> None:
    """20:00 to 06:00 and a shift at 05:00 of the next day: nobody can be in both."""
    night, early = Shift(20 * 3600, 30 * 3600), Shift(5 * 3600, 9 * 3600)
    carla = replace(ALMA, id="T3", name="Invented Carla", shifts=(night, early, *(None,) * 5))
    one = only(found(technicians=(ALMA, carla)))
    assert (one.cause, one.thing) == (Cause.OVERLAP, "Invented Carla on 2026-11-30")
    assert one.value == "the shift 20:00-06:00 goes on when the next day's 05:00-09:00 begins"
    assert found(technicians=(ALMA, carla), closed=frozenset({TUE})) == ()
    rested = replace(carla, shifts=(night, Shift(6 * 3600, 9 * 3600), *(None,) * 5))
    assert found(technicians=(ALMA, rested)) == ()


def test_a_window_after_midnight_is_open_to_a_night_shift_alone() -> None:
    """A pool that may be served from 00:30 on needs somebody who is out then."""
    late = replace(DUE, windows=(TimeWindow(24 * 3600 + 1800, 26 * 3600),))
    one = only(found(late))
    assert one.value.startswith("service may begin 00:30 (+1)-02:00 (+1), outside the shifts")
    night = replace(BEN, shifts=(Shift(20 * 3600, 26 * 3600),) * 7)
    assert found(late, (ALMA, night)) == ()
