"""Studies of the standing routes, from the reckoning to the decision."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from dispatch.actions.standing import DESIGN, IMPROVE, decide_on, reckon_standing, study
from dispatch.errors import Cancelled
from dispatch.rhythms import MonthDay, Rhythm, Season
from dispatch.store.book import read_sites, write_sites
from tests.town import TODAY, WEEK, Company

TWICE, WEEKLY = Rhythm.TWICE_A_WEEK, Rhythm.WEEKLY


def all_decided(company: Company, rhythms: dict[str, tuple[Rhythm, Rhythm]]) -> dict[str, int]:
    """Weekdays after all moves of a design made in winter, by site; with the rhythms given."""
    with company.writing() as session:
        sites = [
            replace(site, plan=replace(site.plan, rhythm=usual, seasons=(_winter(winter),)))
            for site in read_sites(session)
            if site.id in rhythms
            for usual, winter in [rhythms[site.id]]
        ]
        write_sites(session, sites)
    found = reckon_standing(company.engine, company.settings, DESIGN, today=TODAY)
    assert found.homeless == ()
    with company.writing() as session:
        made = decide_on(
            session, DESIGN, len(found.moves), from_on=WEEK.monday, who="Owner", today=TODAY
        )
    return {one.site_id: len(one.new.weekdays) for one in made}


def _winter(rhythm: Rhythm) -> Season:
    return Season(MonthDay(11, 1), MonthDay(2, 28), rhythm)


def test_a_design_made_in_winter_can_be_decided_and_keeps_the_weekdays_of_summer(
    company: Company,
) -> None:
    """S3 comes twice a week but in winter, S1 once a week but in winter."""
    decided = all_decided(company, {"S3": (TWICE, WEEKLY), "S1": (WEEKLY, TWICE)})
    assert decided == {"S1": 1, "S2": 1, "S3": 2}


def test_a_design_leaves_a_locked_day_in_its_weeks(company: Company) -> None:
    """S1 comes every fourth Friday, counted from an agreed one, and the day is locked."""
    friday = date(2026, 11, 27)
    with company.writing() as session:
        plans = {site.id: site for site in read_sites(session)}
        every_4 = replace(
            plans["S1"].plan, rhythm=Rhythm.EVERY_4_WEEKS, anchor_on=friday,
            usual_weekdays=frozenset({4}), weekday_locked=True,
        )  # fmt: skip
        write_sites(session, [replace(plans["S1"], plan=every_4)])
    found = reckon_standing(company.engine, company.settings, DESIGN, today=TODAY)
    assert [one.new_habit.anchor_on for one in found.moves if one.site_id == "S1"] in (
        [],
        [friday],
    )


def test_a_study_that_is_stopped_at_once_leaves_the_one_before(planned: Company) -> None:
    """Half a study would stand in the place of a whole one that somebody may decide on."""
    settings = planned.settings
    made = reckon_standing(planned.engine, settings, IMPROVE, today=TODAY)
    with pytest.raises(Cancelled, match="nothing was reckoned"):
        reckon_standing(planned.engine, settings, IMPROVE, today=TODAY, should_stop=lambda: True)
    with planned.reading() as session:
        assert study(session, IMPROVE) == made


def test_a_design_says_whose_visits_its_figures_are_without(company: Company) -> None:
    """The driving of S3 is not saved: with eleven hours of work it fits nobody's day."""
    with company.writing() as session:
        site = next(one for one in read_sites(session) if one.id == "S3")
        write_sites(session, [replace(site, plan=replace(site.plan, service_min=660))])
    found = reckon_standing(company.engine, company.settings, DESIGN, today=TODAY)
    assert found.homeless == ("S3",)
    assert found.left_out == (
        "1 customer found no place that breaks nothing; nothing changes there, and the figures of "
        "the new routes are without that visit:"
    )
    improved = reckon_standing(company.engine, company.settings, IMPROVE, today=TODAY)
    assert improved.left_out == (
        "3 customers are used to no technician or weekday, and are left out:"
    )
