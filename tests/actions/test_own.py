"""What is a technician's own, from planning to a repair."""

from __future__ import annotations

from dispatch.actions import day as actions
from dispatch.day.triggers import TechnicianOut
from dispatch.store.own import is_own_site
from tests.actions.test_day import at, offer, take
from tests.town import MONDAY, TODAY, Company


def own_sites(company: Company) -> dict[str, set[str]]:
    """Which sites are each technician's own on TODAY."""
    with company.reading() as session:
        return {
            who: {site for site in ("S1", "S2", "S3") if is_own_site(session, who, site, TODAY)}
            for who in ("T1", "T2")
        }


def test_a_stop_moved_by_a_repair_is_a_site_of_whoever_has_it_now(planned: Company) -> None:
    """T1 has S1 and S2 on Monday alone and falls ill: T2, who cannot do S2, gets S1."""
    assert own_sites(planned) == {"T1": {"S1", "S2"}, "T2": {"S3"}}
    with planned.writing() as session:
        actions.publish_day(session, planned.settings, MONDAY, who="Ada", at=at(planned, "06:00"))
    assert own_sites(planned) == {"T1": {"S1", "S2"}, "T2": {"S3"}}

    found = offer(planned, TechnicianOut("T1", 7 * 3600))
    keep = next(one for one in found.options if one.key == "keep-order")
    take(planned, keep, found.version)

    assert own_sites(planned) == {"T1": set(), "T2": {"S1", "S3"}}
