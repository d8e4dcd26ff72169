from __future__ import annotations

import json

import pytest

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
from dispatch.technicians import Technician
from tests.store.values import FULL_SITE, HOLDS, SITES, TECHNICIANS


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


def test_columns_are_those_of_the_fields() -> None:
    """The JSON models inherit the fields and are filled from the columns."""
    assert set(site_columns(FULL_SITE)) == set(SiteFields.model_fields)
    assert set(technician_columns(TECHNICIANS[0])) == set(TechnicianFields.model_fields)
    assert set(hold_columns(HOLDS[0])) == set(HoldFields.model_fields)


def test_a_technician_is_the_same_after_json() -> None:
    """JSON knows no tuples and no dates: shifts and days off must survive that."""
    for technician in TECHNICIANS:
        through = json.loads(json.dumps(technician_columns(technician)))
        assert technician_of(through) == technician
