"""Links that were given out are opened by people without an account; guessing is slowed down."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from sqlalchemy import text
from starlette.testclient import TestClient

from api.given_out import MOST, MOST_WRONG, WRONG_WITHIN
from dispatch.store.db import transaction
from dispatch.store.opened_links import count_opened, write_opened
from tests.signed_in import signed_in_client
from tests.town import Company

WRONG = "/visit/nobody-gave-this-out"
HERE = "testclient"  # the address from which the test client calls


def test_a_guesser_is_stopped_in_every_process_and_after_a_restart(planned: Company) -> None:
    """The second service is another process, or the same after a restart: it begins with nothing.

    A good link is shut for that address as well, and no other address suffers.
    """
    with signed_in_client(planned.settings, None) as first:
        seen = [first.get(WRONG).status_code for _ in range(MOST_WRONG + 1)]
    assert seen == [404] * MOST_WRONG + [429]
    with signed_in_client(planned.settings, None) as second:
        assert second.get(WRONG).status_code == 429
        assert second.get("/calendar/nobody-gave-this-out.ics").status_code == 429
    with TestClient(second.app, client=("192.0.2.7", 50_000)) as elsewhere:
        assert elsewhere.get(WRONG).status_code == 404


def test_who_is_stopped_learns_when_to_come_back(planned: Company) -> None:
    """A calendar program keeps to `Retry-After` (RFC 6585, section 4).

    Who looked too often waits for the rest of a minute, who guessed for that of a quarter hour.
    """
    before = datetime.now(UTC) - timedelta(seconds=20)
    with transaction(planned.engine) as session:
        for _ in range(MOST):
            write_opened(session, HERE, before, led_nowhere=False)
    with signed_in_client(planned.settings, None) as client:
        often = client.get(WRONG)
        with transaction(planned.engine) as session:
            for _ in range(MOST_WRONG):
                write_opened(session, HERE, before, led_nowhere=True)
        guessed = client.get("/calendar/nobody-gave-this-out.ics")
    assert (often.status_code, guessed.status_code) == (429, 429)
    assert 30 <= int(often.headers["retry-after"]) <= 40
    assert "wait 1 min" in often.text
    assert 14 * 60 + 30 <= int(guessed.headers["retry-after"]) <= 14 * 60 + 40


def test_calls_are_forgotten_after_their_time_and_addresses_never_kept(planned: Company) -> None:
    """A quarter of an hour later the address may try again; the table stays small."""
    now = datetime(2026, 11, 25, 12, tzinfo=UTC)
    with transaction(planned.engine) as session:
        for _ in range(MOST_WRONG):
            write_opened(session, HERE, now, led_nowhere=True)
        later = now + WRONG_WITHIN
        assert count_opened(session, HERE, later - WRONG_WITHIN, led_nowhere=True) == 0
        write_opened(session, HERE, later + timedelta(seconds=1), led_nowhere=False)
        kept = session.execute(text("SELECT address FROM opened_link")).scalars().all()
    assert len(kept) == 1
    assert HERE not in kept[0]


@pytest.mark.parametrize("led_nowhere", [True, False])
def test_what_led_nowhere_is_counted_apart(planned: Company, led_nowhere: bool) -> None:
    """A household that looks often is not taken for a guesser."""
    now = datetime(2026, 11, 25, 12, tzinfo=UTC)
    before = now - timedelta(minutes=1)
    with transaction(planned.engine) as session:
        write_opened(session, HERE, now, led_nowhere=led_nowhere)
        assert count_opened(session, HERE, before, led_nowhere=led_nowhere) == 1
        assert count_opened(session, HERE, before, led_nowhere=not led_nowhere) == 0
    assert MOST > MOST_WRONG
