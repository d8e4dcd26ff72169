"""Studies of the standing routes, from the reckoning to the decision."""

from __future__ import annotations

from dataclasses import replace

from dispatch.actions.standing import DESIGN, decide_on, reckon_standing
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
