from __future__ import annotations

from datetime import date

import pytest

from dispatch.actions.book import import_holds, import_sites, import_technicians
from dispatch.actions.maps import build_map
from dispatch.actions.plan_week import plan_week
from dispatch.actions.read_plan import planned_weeks, week_plan
from dispatch.actions.take_in import take_in_record
from dispatch.actions.week_inputs import is_outdated, laid_out, read_inputs
from dispatch.clock import IsoWeek
from dispatch.errors import (
    Cancelled,
    InputsChanged,
    NoMap,
    NotFound,
    NothingToPlan,
    WeekInPast,
)
from dispatch.measures import measured
from dispatch.planning.plan import WeekPlan
from dispatch.planning.progress import Progress
from dispatch.store.book import read_sites
from dispatch.turns import DueBecause
from tests.actions.test_maps import FAR_SITE
from tests.drive.drawing import roads
from tests.records.samples import content
from tests.town import (
    HOLDS_CSV,
    SITES_CSV,
    TECHNICIANS_CSV,
    TODAY,
    WEEK,
    Company,
    end_of,
    fill_book,
)

AT = {"arrived_at": "2026-11-25T16:00:00Z", "left_at": "2026-11-25T16:30:00Z"}


def plan(company: Company, week: IsoWeek = WEEK, seed: int | None = None) -> WeekPlan:
    """A short run."""
    return plan_week(company.engine, company.settings, week, today=TODAY, seed=seed, iterations=200)


def stored(company: Company, week: IsoWeek = WEEK) -> WeekPlan:
    """The plan that the database has."""
    with company.reading() as session:
        return week_plan(session, week)


def test_the_plan_that_is_returned_is_the_one_stored(company: Company) -> None:
    """What the page shows is what was planned."""
    made = plan(company)
    assert stored(company) == made
    placed = {stop.visit_id for route in made.routes for stop in route.stops}
    unplaced = {one.visit_id for one in made.unplaced}
    due = {"S1/2026-W49/1", "S2/2026-W49/1", "S3/2026-W49/1", "S3/2026-W49/2"}
    assert placed | unplaced == due


def test_the_same_inputs_and_seed_give_the_same_plan(company: Company) -> None:
    """A plan can be made again to look into it."""
    assert plan(company, seed=5) == plan(company, seed=5)


def test_the_seed_of_the_settings_is_the_default(company: Company) -> None:
    """And one given goes before it."""
    assert plan(company).seed == company.settings.seed
    assert plan(company, seed=9).seed == 9


def test_the_settings_say_what_keeping_a_customer_is_worth(company: Company) -> None:
    """45 and 90 minutes of driving for another technician and another day."""
    worth = company.settings.model_copy(
        update={"technician_change_min": 45.0, "day_change_min": 90.0}
    )
    with company.reading() as session:
        inputs = read_inputs(session, worth, WEEK, TODAY)
    prices = laid_out(worth, WEEK, TODAY, inputs).prices
    assert (prices.technician_change_s, prices.day_change_s) == (45 * 60, 90 * 60)


def test_planning_again_replaces_the_plan_of_the_week_only(company: Company) -> None:
    """Each week has one plan."""
    plan(company, WEEK.next)
    plan(company)
    again = plan(company, seed=2)
    assert stored(company) == again
    with company.reading() as session:
        assert planned_weeks(session) == [WEEK, WEEK.next]


def test_a_week_that_is_over_is_refused_and_the_present_one_is_not(company: Company) -> None:
    """On Wednesday, Thursday can still be planned."""
    with pytest.raises(WeekInPast, match="Week 2026-W47 ended on 2026-11-22"):
        plan(company, IsoWeek(2026, 47))
    assert plan(company, IsoWeek(2026, 48)).week == IsoWeek(2026, 48)


def test_without_a_map_nothing_is_planned(bare: Company) -> None:
    """Drive times come from real streets or not at all."""
    with pytest.raises(NoMap):
        plan(bare)


def test_without_sites_or_technicians_there_is_nothing_to_plan(bare: Company) -> None:
    """Each message names the command for what is missing."""
    build_map(bare.settings, roads("a---b").write(bare.settings.data_dir))
    with pytest.raises(NothingToPlan, match="no sites") as told:
        plan(bare)
    assert told.value.command.startswith("dispatch sites import")
    with bare.writing() as session:
        import_sites(session, bare.settings, SITES_CSV)
    with pytest.raises(NothingToPlan, match="no technicians") as told:
        plan(bare)
    assert told.value.command.startswith("dispatch technicians import")


@pytest.mark.parametrize("what", ["sites", "technicians", "holds", "street map"])
def test_a_plan_of_inputs_that_moved_is_not_stored(company: Company, what: str) -> None:
    """It would send people to places that are no longer what they were."""
    old = plan(company)

    def change(_progress: Progress) -> None:  # other users work on while the search runs
        if what == "street map":
            build_map(company.settings, roads("a---b").write(company.settings.data_dir))
            return
        with company.writing() as session:
            if what == "sites":
                text = SITES_CSV.replace("weekly,45", "weekly,50")
                import_sites(session, company.settings, text)
            elif what == "technicians":
                text = TECHNICIANS_CSV.replace("2026-12-01", "2026-12-02")
                import_technicians(session, company.settings, text)
            else:
                text = HOLDS_CSV.replace("away", "at sea")
                import_holds(session, company.settings, text)

    with pytest.raises(InputsChanged, match=f"The {what} changed while the week was planned"):
        plan_week(
            company.engine,
            company.settings,
            WEEK,
            today=TODAY,
            seed=3,
            iterations=200,
            progress=change,
        )
    assert stored(company) == old


def test_importing_the_same_again_meanwhile_is_no_change(company: Company) -> None:
    """Only what a plan depends on counts, not that somebody wrote."""
    made = plan_week(
        company.engine,
        company.settings,
        WEEK,
        today=TODAY,
        iterations=200,
        progress=lambda _progress: fill_book(company),
    )
    assert stored(company) == made


def test_a_search_that_fails_leaves_the_old_plan(company: Company) -> None:
    """Whatever goes wrong on the way, nothing is lost."""
    old = plan(company)

    def fail(_progress: Progress) -> None:
        raise MemoryError

    with pytest.raises(MemoryError):
        plan_week(company.engine, company.settings, WEEK, today=TODAY, seed=3, progress=fail)
    assert stored(company) == old


def test_stopping_a_search_stores_the_best_plan_so_far(company: Company) -> None:
    """Who has waited long enough wants what there is."""
    asked: list[int] = []

    def stop_at_second_question() -> bool:
        asked.append(1)
        return len(asked) > 1

    made = plan_week(
        company.engine,
        company.settings,
        WEEK,
        today=TODAY,
        iterations=10**9,
        should_stop=stop_at_second_question,
    )
    assert made.iterations < 10**9
    assert stored(company) == made


def test_stopping_before_the_search_changes_nothing(company: Company) -> None:
    """There is no best plan yet."""
    with pytest.raises(Cancelled, match="nothing was changed"):
        plan_week(company.engine, company.settings, WEEK, today=TODAY, should_stop=lambda: True)
    with pytest.raises(NotFound):
        stored(company)


def test_a_site_off_the_streets_is_unplaced_with_the_reason(company: Company) -> None:
    """And all others are planned."""
    with company.writing() as session:
        import_sites(session, company.settings, FAR_SITE)
    made = plan(company)
    (unplaced,) = [one for one in made.unplaced if one.site_id == "S9"]
    assert "2.2 km from the nearest street" in measured(unplaced.reason)
    assert sum(len(route.stops) for route in made.routes) == 4


def test_a_plan_is_outdated_once_what_it_was_made_from_changed(company: Company) -> None:
    """The dispatcher should see it before the technicians do."""
    plan(company)
    with company.reading() as session:
        assert not is_outdated(session, company.settings, WEEK)
    with company.writing() as session:
        import_sites(session, company.settings, SITES_CSV.replace("weekly,45", "weekly,50"))
    with company.reading() as session:
        assert is_outdated(session, company.settings, WEEK)


def test_a_record_of_today_does_not_outdate_the_plan_of_next_week(company: Company) -> None:
    """Records come in all day long; what next week owes is the same with or without them."""

    def work_on(_progress: Progress) -> None:
        with company.writing() as session:
            products = [{"product": "liquid-chlorine", "amount": 2, "unit": "l"}]
            take_in_record(
                session,
                company.settings,
                content(1, day="2026-11-25", **AT) | {"products": products},
            )

    made = plan_week(
        company.engine, company.settings, WEEK, today=TODAY, iterations=200, progress=work_on
    )
    assert stored(company) == made
    with company.reading() as session:
        (visited,) = [site for site in read_sites(session) if site.id == "S1"]
        assert visited.plan.last_visit_on == TODAY
        assert not is_outdated(session, company.settings, WEEK)


def test_a_record_that_changes_what_is_due_outdates_the_plan(company: Company) -> None:
    """A drain cover found loose today is urgent work of a week that did not know of it."""
    plan(company)
    found = [{"kind": "drain-cover-check", "finding": "loose"}]
    with company.writing() as session:
        take_in_record(
            session, company.settings, content(1, day="2026-11-25", **AT) | {"upkeep": found}
        )
    with company.reading() as session:
        assert is_outdated(session, company.settings, WEEK)


def test_a_visit_out_of_turn_outdates_the_plan_that_owes_the_turn(company: Company) -> None:
    """S1, every second week and last seen in W47, is owed W49; after a visit in W48 it is not."""
    text = SITES_CSV.replace("weekly,30", "every-2-weeks,30").replace(
        "chlorine,,,,2026-11-23", "chlorine,,,,2026-11-16", 1
    )
    with company.writing() as session:
        import_sites(session, company.settings, text)
    plan(company)
    with company.writing() as session:
        take_in_record(session, company.settings, content(1, day="2026-11-25", **AT))
    with company.reading() as session:
        assert is_outdated(session, company.settings, WEEK)


def test_a_day_of_the_week_that_has_passed_is_no_change(company: Company) -> None:
    """Otherwise every plan would be outdated from its Tuesday on."""
    plan(company)
    later = company.settings.model_copy(update={"fixed_today": end_of(WEEK.days[2])})
    with company.reading() as session:
        assert not is_outdated(session, later, WEEK)


def test_a_weekly_visit_missed_since_the_plan_was_made_is_no_change(company: Company) -> None:
    """The site is owed its one visit all the same; on Monday it is only said to be overdue."""
    with company.writing() as session:
        import_sites(session, company.settings, SITES_CSV.replace("2026-11-23", "2026-11-16"))
    plan(company)
    monday = company.settings.model_copy(update={"fixed_today": end_of(WEEK.monday)})
    with company.reading() as session:
        due = read_inputs(session, monday, WEEK, WEEK.monday).due
        assert DueBecause.OVERDUE in {one.because for one in due}
        assert not is_outdated(session, monday, WEEK)


def test_a_plan_without_upkeep_or_break_survives_too(company: Company) -> None:
    """The plan of one technician without a meal, whose routes have no break."""
    with company.writing() as session:
        text = TECHNICIANS_CSV.replace(",30,11:00,13:00,", ",,,,")
        import_technicians(session, company.settings, text)
    made = plan(company)
    assert all(route.break_after is None for route in made.routes)
    assert stored(company) == made


def test_without_an_agreed_day_a_weekly_visit_keeps_its_distance(company: Company) -> None:
    """S1 was seen on Thursday of last week by a plan that is not driven yet, S2 on Monday."""
    with company.writing() as session:
        text = SITES_CSV.replace("chlorine,,,,2026-11-23", "chlorine,,,,2026-11-16", 1)
        import_sites(session, company.settings, text.replace("weekly,30,Mon-Fri", "weekly,30,Thu"))
    this_week = plan(company, WEEK.previous)
    assert day_of(this_week, "S1") == WEEK.previous.days[3]
    with company.writing() as session:
        import_sites(session, company.settings, text)
    made = plan(company)
    assert (day_of(made, "S1"), day_of(made, "S2")) == (WEEK.days[3], WEEK.monday)


def day_of(plan: WeekPlan, site_id: str) -> date:
    """The day on which a plan has a site's one visit."""
    (found,) = [
        route.day for route in plan.routes for stop in route.stops if stop.site_id == site_id
    ]
    return found
