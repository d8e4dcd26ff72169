from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from sqlalchemy.exc import IntegrityError

from dispatch.actions import notices
from dispatch.actions.notices_out import LEASE, send_waiting
from dispatch.actions.site_contact import set_contact
from dispatch.contacts import NoticeWish
from dispatch.notices.notice import NoticeState
from dispatch.store.notices import add_notices, next_waiting, read_notices, write_changed
from tests.actions.test_notices import Hand, at, kept, run
from tests.town import MONDAY, TODAY, Company


def test_an_outbox_holds_a_message_once(told: Company) -> None:
    """Two timers at the same moment cannot both decide on it."""
    run(told, Hand(), at(told, "16:00"))
    with pytest.raises(IntegrityError), told.writing() as session:
        add_notices(session, kept(told))


@pytest.mark.both_databases
def test_a_message_is_forgotten_after_a_year(told: Company) -> None:
    """Who was told what is personal; what still waits is never thrown away unsent."""
    run(told, Hand(), at(told, "16:00"))
    old = [MONDAY - timedelta(days=days) for days in (365, 366, 367)]
    states = (NoticeState.SENT, NoticeState.SENT, NoticeState.WAITING)
    with told.writing() as session:
        (one,) = read_notices(session, TODAY)
        add_notices(
            session,
            [
                replace(one, visit_id=f"S1/{day}", day=day, state=state)
                for day, state in zip(old, states, strict=True)
            ],
        )
        notices.tell(session, told.settings, now=at(told, "16:10", MONDAY))
        there = {one.day for one in read_notices(session, old[-1])}
    assert there == {MONDAY, old[0], old[2]}


@pytest.mark.both_databases
def test_of_two_who_send_one_takes_a_message(told: Company) -> None:
    """Both have read that it waits; the later to say that it tries it now is too late."""
    now = at(told, "16:00")
    with told.writing() as session:
        notices.tell(session, told.settings, now=now)
        waiting = next_waiting(session, now)
    assert waiting is not None
    tried = replace(waiting, tries=1, next_try_at=now + LEASE)
    for is_first in (True, False):
        with told.writing() as session:
            assert write_changed(session, waiting, tried) is is_first
    with told.reading() as session:
        assert next_waiting(session, now) is None


def test_no_other_run_takes_what_a_slow_one_is_sending(told: Company) -> None:
    """The server needs 9 min for the first letter; the next is under way when a timer comes by."""
    with told.writing() as session:
        set_contact(session, "S2", "two@example.org", [NoticeWish.DAY_BEFORE])
        notices.tell(session, told.settings, now=at(told, "16:00"))
    seconds, other = [0.0], Hand()

    def slow() -> None:
        if seconds[0]:
            send_waiting(told.engine, told.settings, other, now=at(told, "16:12"))
        seconds[0] += 9 * 60

    hand = Hand(before=slow)
    send_waiting(told.engine, told.settings, hand, now=at(told, "16:00"), clock=lambda: seconds[0])

    assert [one.to for one in hand.taken] == ["one@example.org", "two@example.org"]
    assert other.taken == []
