from __future__ import annotations

from dataclasses import replace

import pytest
from sqlalchemy import Engine

from dispatch.errors import InvalidValue
from dispatch.store.book import (
    read_holds,
    read_one_offs,
    read_sites,
    read_some_sites,
    read_technician,
    read_technicians,
    write_holds,
    write_one_offs,
    write_sites,
    write_technicians,
)
from dispatch.store.db import transaction
from dispatch.store.tables import VALUES_AT_ONCE
from tests.store.values import (
    BARE_SITE,
    BARE_TECHNICIAN,
    FULL_SITE,
    HOLDS,
    ONE_OFFS,
    SITES,
    TECHNICIANS,
    UNDATED_SITE,
)

pytestmark = pytest.mark.both_databases


def test_the_book_is_the_same_after_the_round_trip(engine: Engine) -> None:
    """Values that go in come out equal, ordered by id."""
    with transaction(engine) as session:
        write_sites(session, SITES[::-1])
        write_technicians(session, TECHNICIANS[::-1])
        write_holds(session, HOLDS[::-1])
        write_one_offs(session, ONE_OFFS[::-1])
    with transaction(engine, read_only=True) as session:
        assert read_sites(session) == SITES
        assert read_technicians(session) == TECHNICIANS
        assert read_holds(session) == HOLDS
        assert read_one_offs(session) == ONE_OFFS


def test_a_known_id_is_replaced_whole(engine: Engine) -> None:
    """An anode that was taken out must not linger because the new row does not mention it."""
    changed = replace(BARE_SITE, id=FULL_SITE.id)
    with transaction(engine) as session:
        write_sites(session, SITES)
        write_sites(session, [changed])
        assert read_sites(session) == [BARE_SITE, changed, UNDATED_SITE]


def test_replacing_a_site_keeps_its_holds(engine: Engine) -> None:
    """Replacing must not be a deletion in disguise, which would take what hangs on the site."""
    with transaction(engine) as session:
        write_sites(session, SITES)
        write_holds(session, HOLDS)
        write_sites(session, SITES)
        assert read_holds(session) == HOLDS


def test_a_hold_of_the_same_first_day_is_replaced(engine: Engine) -> None:
    """A hold that was prolonged is imported with a new last day."""
    longer = replace(HOLDS[0], last_day=HOLDS[0].last_day.replace(day=31))
    with transaction(engine) as session:
        write_sites(session, SITES)
        write_holds(session, HOLDS)
        write_holds(session, [longer])
        assert read_holds(session) == [longer, *HOLDS[1:]]


def test_nothing_to_write_is_no_error(engine: Engine) -> None:
    """A table with a heading and no rows is a table."""
    with transaction(engine) as session:
        write_sites(session, [])
        assert read_sites(session) == []


def test_a_value_beyond_a_limit_is_named(engine: Engine) -> None:
    """Rows do not check themselves, and SQLite does not know lengths."""
    with (
        pytest.raises(InvalidValue, match=r"The name of S001 is 'x+', which cannot be stored"),
        transaction(engine) as session,
    ):
        write_sites(session, [replace(BARE_SITE, name="x" * 201)])
    with (
        pytest.raises(InvalidValue, match="The name of T1 is"),
        transaction(engine) as session,
    ):
        write_technicians(session, [replace(BARE_TECHNICIAN, name="x" * 201)])


def test_any_number_of_sites_is_found_by_id(engine: Engine) -> None:
    """More than one statement takes, named twice or unknown, or none at all."""
    sites = [replace(BARE_SITE, id=f"S{n:04}") for n in range(2 * VALUES_AT_ONCE + 1)]
    names = [one.id for one in sites]
    with transaction(engine) as session:
        write_sites(session, sites)
        assert list(read_some_sites(session, [*names, *names[:9], "nobody"])) == names
        assert read_some_sites(session, []) == {}
        assert read_some_sites(session, ["S0007"]) == {"S0007": sites[7]}
        assert read_technician(session, "nobody") is None
