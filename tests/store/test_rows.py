from __future__ import annotations

import json

import pytest

from dispatch.one_offs import OneOff
from dispatch.sites import Hold, Site
from dispatch.store.fields import HoldFields, SiteFields, TechnicianFields
from dispatch.store.rows import (
    hold_columns,
    hold_of,
    site_columns,
    site_of,
    technician_columns,
    technician_of,
)
from dispatch.store.service_plan_fields import OneOffFields
from dispatch.store.service_plan_rows import one_off_columns, one_off_of
from dispatch.technicians import Technician
from tests.store.values import FULL_SITE, HOLDS, ONE_OFFS, SITES, TECHNICIANS


@pytest.mark.parametrize("site", SITES, ids=lambda site: site.id)
def test_a_site_is_the_same_after_the_round_trip(site: Site) -> None:
    """No fact about a site may be lost between planning and the database."""
    assert site_of(site_columns(site)) == site


@pytest.mark.parametrize("technician", TECHNICIANS, ids=lambda technician: technician.id)
def test_a_technician_is_the_same_after_the_round_trip(technician: Technician) -> None:
    """Nor about a technician."""
    assert technician_of(technician_columns(technician)) == technician


@pytest.mark.parametrize("hold", HOLDS)
def test_a_hold_is_the_same_after_the_round_trip(hold: Hold) -> None:
    """Nor about a hold."""
    assert hold_of(hold_columns(hold)) == hold


@pytest.mark.parametrize("work", ONE_OFFS, ids=lambda work: work.id)
def test_one_off_work_is_the_same_after_the_round_trip(work: OneOff) -> None:
    """Nor about a job."""
    assert one_off_of(one_off_columns(work)) == work


def test_columns_are_those_of_the_fields() -> None:
    """The JSON models inherit the fields and are filled from the columns."""
    assert set(site_columns(FULL_SITE)) == set(SiteFields.model_fields)
    assert set(technician_columns(TECHNICIANS[0])) == set(TechnicianFields.model_fields)
    assert set(hold_columns(HOLDS[0])) == set(HoldFields.model_fields)
    assert set(one_off_columns(ONE_OFFS[0])) == set(OneOffFields.model_fields)


def test_a_technician_is_the_same_after_json() -> None:
    """JSON knows no tuples and no dates: shifts and days off must survive that."""
    for technician in TECHNICIANS:
        through = json.loads(json.dumps(technician_columns(technician)))
        assert technician_of(through) == technician
