"""What is wrong with a week, as the company's book has it."""

from __future__ import annotations

from dataclasses import replace

from dispatch.actions.book import import_sites
from dispatch.actions.preflight import finding_list, week_findings
from dispatch.preflight import Cause
from dispatch.store.book import read_sites, read_technicians, write_sites, write_technicians
from dispatch.windows import TimeWindow
from tests.actions.test_maps import FAR_SITE
from tests.town import TODAY, WEEK, Company


def test_a_sound_book_has_no_findings(company: Company) -> None:
    """Every site can be served by somebody."""
    with company.reading() as session:
        assert week_findings(session, company.settings, WEEK, TODAY) == ()


def test_a_site_that_nobody_can_serve_is_named_before_the_search(company: Company) -> None:
    """Its window is over when the first shift begins."""
    with company.writing() as session:
        site = read_sites(session)[0]
        at_dawn = replace(site.plan, windows=(TimeWindow(5 * 3600, 6 * 3600),))
        write_sites(session, [replace(site, plan=at_dawn)])
        (finding,) = week_findings(session, company.settings, WEEK, TODAY)
        assert finding.cause is Cause.WINDOW
        assert finding.thing == "Invented One (S1)"
        assert finding_list([finding]).rows[0][0] == "window"


def test_a_site_off_the_streets_is_named(company: Company) -> None:
    """There are no drive times to it."""
    with company.writing() as session:
        import_sites(session, company.settings, FAR_SITE)
        causes = [one.cause for one in week_findings(session, company.settings, WEEK, TODAY)]
        assert causes == [Cause.DRIVE]


def test_a_week_in_which_nobody_works_is_named(company: Company) -> None:
    """Both are off from Monday to Friday."""
    with company.writing() as session:
        off = [replace(one, days_off=frozenset(WEEK.days)) for one in read_technicians(session)]
        write_technicians(session, off)
        causes = [one.cause for one in week_findings(session, company.settings, WEEK, TODAY)]
        assert causes == [Cause.NO_SHIFT]
