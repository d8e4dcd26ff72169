from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from uuid import uuid4

import pytest

from dispatch.actions import day as actions
from dispatch.actions import notices
from dispatch.actions.notices_out import LEASE, PAUSES, Sent, send_waiting
from dispatch.actions.records import correct_record
from dispatch.actions.site_contact import set_contact
from dispatch.actions.take_in import take_in_record
from dispatch.contacts import NoticeWish
from dispatch.day.events import DayEvent, EventKind, SkipReason
from dispatch.day.moments import moment_of
from dispatch.day.triggers import StopCancelled, StopMoved
from dispatch.errors import MailError
from dispatch.notices.letter import Letter
from dispatch.notices.notice import Notice, NoticeKind, NoticeState
from dispatch.settings import Settings
from dispatch.store.notices import (
    read_notices,
    read_notices_of_day,
)
from tests.town import MONDAY, TODAY, TUESDAY, WEDNESDAY, Company, end_of

S1 = "S1/2026-W49/1"
SUNDAY = MONDAY - timedelta(days=1)


@dataclass
class Hand:
    """Takes letters; `trouble` makes it fail, before or after it has taken one."""

    taken: list[Letter] = field(default_factory=list)
    before: Callable[[], None] = lambda: None
    after: Callable[[], None] = lambda: None

    def send(self, letter: Letter) -> None:
        """As a mail server would."""
        self.before()
        self.taken.append(letter)
        self.after()


def at(company: Company, clock: str, day: date = SUNDAY) -> datetime:
    hour, minute = clock.split(":")
    return moment_of(day, int(hour) * 3600 + int(minute) * 60, company.settings.zone)


def failing(**flags: bool) -> Callable[[], None]:
    def fail() -> None:
        raise MailError("not taken", **flags)

    return fail


def run(company: Company, hand: Hand, now: datetime, day: date | None = None) -> Sent:
    """What a timer does."""
    with company.writing() as session:
        notices.tell(session, company.settings, day, now=now)
    return send_waiting(company.engine, company.settings, hand, now=now)


def kept(company: Company) -> list[Notice]:
    with company.reading() as session:
        return read_notices(session, TODAY)


def move_to_wednesday(company: Company) -> None:
    repair(company, StopMoved(S1, WEDNESDAY))


def repair(company: Company, trigger: StopMoved | StopCancelled) -> None:
    now = at(company, "18:00")
    with company.writing() as session:
        offer = actions.repair_options(session, company.settings, MONDAY, trigger, now=now)
        actions.take_option(
            session, company.settings, MONDAY, offer.options[0].choice,
            expected_version=offer.version, who="Ada", now=now,
        )  # fmt: skip


def record(company: Company, **more: object) -> str:
    """Take in a record of the visit of Monday; its id."""
    content = {
        "id": str(uuid4()), "site_id": "S1", "technician_id": "T1", "day": str(MONDAY),
        "visit_id": S1, "left_at": at(company, "07:40", MONDAY).isoformat(), **more,
    }  # fmt: skip
    with company.writing() as session:
        take_in_record(session, on_monday(company), content)
    return str(content["id"])


def on_monday(company: Company) -> Settings:
    return company.settings.model_copy(update={"fixed_today": end_of(MONDAY)})


@pytest.mark.both_databases
def test_who_wishes_it_is_told_the_day_before_once(told: Company) -> None:
    """From 16:00 on; however often the timer runs. S2 and S3 asked for nothing."""
    hand = Hand()
    run(told, hand, at(told, "15:59"))
    assert hand.taken == []
    for clock in ("16:00", "16:10", "20:00"):
        run(told, hand, at(told, clock))
    (letter,) = hand.taken
    assert letter.to == "one@example.org"
    # S1 is begun seconds after 07:00: half an hour on either side, to whole five minutes
    assert "Monday 30 November between 06:30 and 07:35" in letter.text
    assert "https://pools.example/visit/" in letter.text
    assert "#11" not in letter.text  # the gate's code
    assert [(one.state, one.tries) for one in kept(told)] == [(NoticeState.SENT, 1)]


def test_the_link_of_the_letter_opens_the_visit(told: Company) -> None:
    """What a customer clicks shows the same window."""
    from dispatch.actions.visit_link import visit_of

    hand = Hand()
    run(told, hand, at(told, "16:00"))
    token = hand.taken[0].text.partition("/visit/")[2].split()[0]
    with told.reading() as session:
        page = visit_of(session, told.settings, token, now=at(told, "16:00"))
    assert page.window_s == (23_400, 27_300)


@pytest.mark.both_databases
def test_whoever_is_killed_in_between_sends_again_under_the_same_id(told: Company) -> None:
    """At least once: the letter was taken and the mark is missing."""

    def killed() -> None:
        raise KeyboardInterrupt

    hand, now = Hand(after=killed), at(told, "16:00")
    with pytest.raises(KeyboardInterrupt):
        run(told, hand, now)
    hand.after = lambda: None
    run(told, hand, now + LEASE / 2)  # whoever has it may still be at it
    assert len(hand.taken) == 1
    run(told, hand, now + LEASE)
    run(told, hand, now + 2 * LEASE)
    first, second = hand.taken
    assert first.message_id == second.message_id
    assert kept(told)[0].state is NoticeState.SENT


def test_a_failure_is_tried_again_after_growing_pauses_and_then_shown(told: Company) -> None:
    """Five minutes, fifteen, an hour ...; five pauses, six tries."""
    hand, now = Hand(before=failing()), at(told, "16:00", SUNDAY - timedelta(days=1))
    run(told, hand, now, MONDAY)
    for n, pause in enumerate(PAUSES, start=2):
        run(told, hand, now + pause - timedelta(seconds=1), MONDAY)
        now += pause
        run(told, hand, now, MONDAY)
        assert kept(told)[0].tries == n
    assert list(PAUSES) == sorted(PAUSES)
    assert [(one.state, one.why) for one in kept(told)] == [(NoticeState.FAILED, "not taken")]
    with told.writing() as session:
        assert notices.failed_notices(session, MONDAY) == 1
        assert notices.try_again(session, MONDAY, now=now) == 1
    hand.before = lambda: None
    run(told, hand, now)
    assert len(hand.taken) == 1


def test_a_refused_recipient_is_given_up_and_does_not_stop_the_others(told: Company) -> None:
    """One wrong address must not keep a hundred customers from hearing."""
    with told.writing() as session:
        set_contact(session, "S2", "two@example.org", [NoticeWish.DAY_BEFORE])
    hand = Hand()

    def refuse_first() -> None:
        hand.before = lambda: None
        raise MailError("550 no such user", is_final=True)

    hand.before = refuse_first
    sent = run(told, hand, at(told, "16:00"))
    assert sorted(one.state for one in sent.notices) == ["failed", "sent"]
    assert sent.trouble == ""


def test_a_server_in_trouble_ends_the_run(told: Company) -> None:
    """200 customers times 20 seconds of patience would take an hour."""
    with told.writing() as session:
        set_contact(session, "S2", "two@example.org", [NoticeWish.DAY_BEFORE])
    sent = run(told, Hand(before=failing(is_of_server=True)), at(told, "16:00"))
    assert sent.trouble == "not taken"
    assert sorted(one.tries for one in kept(told)) == [0, 1]


def test_a_move_of_an_announced_visit_is_told_once(told: Company) -> None:
    """Whoever was told of Monday hears of Wednesday; not twice, nor the day before once more."""
    hand = Hand()
    run(told, hand, at(told, "16:00"))
    move_to_wednesday(told)
    run(told, hand, at(told, "18:10"))
    run(told, hand, at(told, "16:00", WEDNESDAY - timedelta(days=1)))
    first, moved = hand.taken
    assert moved.message_id != first.message_id
    assert "your visit of Monday 30 November was moved" in moved.text
    assert "Wednesday 2 December" in moved.text
    assert [one.name for one in kept(told)] == [
        (S1, NoticeKind.DAY_BEFORE, 1),
        (S1, NoticeKind.MOVED, 2),
    ]


@pytest.mark.both_databases
def test_a_visit_that_was_announced_and_is_cancelled_is_told_once(told: Company) -> None:
    """Nobody ties the dog and opens the gate for nothing."""
    hand = Hand()
    run(told, hand, at(told, "16:00"))
    repair(told, StopCancelled(S1))
    for clock in ("18:10", "20:00"):
        run(told, hand, at(told, clock))
    _, off = hand.taken
    assert off.subject == "No pool visit on Monday 30 November: Invented One"
    assert "your visit of Monday 30 November does not take place." in off.text
    assert [one.name for one in kept(told)] == [
        (S1, NoticeKind.CALLED_OFF, 2),
        (S1, NoticeKind.DAY_BEFORE, 1),
    ]


def test_a_visit_that_could_not_be_done_is_told_the_same_day_alone(told: Company) -> None:
    """The gate was locked: the link says so. A message of the day after would help nobody."""
    hand = Hand()
    run(told, hand, at(told, "16:00"))
    moment = at(told, "07:10", MONDAY)
    data = {"reason": str(SkipReason.GATE_LOCKED)}
    skip = DayEvent(
        str(uuid4()), MONDAY, EventKind.SKIPPED, moment, moment, "T1", "T1", S1, data=data
    )
    with told.writing() as session:
        actions.add_events(session, told.settings, MONDAY, [skip])
        assert not notices.due_notices(session, told.settings, now=at(told, "07:20", TUESDAY))
    run(told, hand, at(told, "07:20", MONDAY))
    assert "does not take place" in hand.taken[-1].text


def test_a_visit_cancelled_while_its_message_waits_is_never_announced(told: Company) -> None:
    """Nor is it called off to somebody who did not count on it."""
    hand = Hand()
    with told.writing() as session:
        notices.tell(session, told.settings, now=at(told, "16:00"))
    repair(told, StopCancelled(S1))
    run(told, hand, at(told, "18:10"))
    run(told, hand, at(told, "18:20"))
    assert hand.taken == []


def test_a_visit_moved_before_it_was_announced_is_told_of_nothing_untrue(told: Company) -> None:
    """The message of Monday is still waiting when the visit goes to Wednesday."""
    hand = Hand()
    with told.writing() as session:
        notices.tell(session, told.settings, now=at(told, "16:00"))
    move_to_wednesday(told)
    run(told, hand, at(told, "18:10"))
    assert hand.taken == []
    assert [one.state for one in kept(told)] == [NoticeState.DROPPED]


def test_whoever_does_not_wish_it_any_more_is_not_told(told: Company) -> None:
    """Also when the message stands in the outbox already."""
    hand = Hand()
    with told.writing() as session:
        notices.tell(session, told.settings, now=at(told, "16:00"))
        set_contact(session, "S1", "", [])
    run(told, hand, at(told, "16:10"))
    assert (hand.taken, [one.state for one in kept(told)]) == ([], [NoticeState.DROPPED])


def test_a_record_tells_that_it_was_done_once(told: Company) -> None:
    """Also when it is corrected; the phone's call only writes it down."""
    hand = Hand()
    name = record(told, work=["brushed"], note="code #11", readings=[{"kind": "ph", "value": 7.5}])
    assert [one.state for one in kept(told)] == [NoticeState.WAITING]
    now = at(told, "12:00", TUESDAY)
    run(told, hand, now)
    with told.writing() as session:
        fields = {"note": "other"}
        correct_record(session, on_monday(told), name, fields, by="Ada", reason="slip")
    run(told, hand, now)
    (letter,) = hand.taken
    assert "your pool was serviced" in letter.text
    assert not any(word in letter.text for word in ("7.5", "#11"))


def test_a_skipped_visit_taken_up_again_is_told_when_it_is_done(told: Company) -> None:
    """The first record said that the gate was locked."""
    hand = Hand()
    name = record(told, skipped="gate locked")
    assert kept(told) == []
    with told.writing() as session:
        fields = {"skipped": "", "work": ["brushed"]}
        correct_record(session, on_monday(told), name, fields, by="Ada", reason="went back")
    run(told, hand, at(told, "12:00", TUESDAY))
    assert len(hand.taken) == 1


def test_an_old_record_tells_nobody(told: Company) -> None:
    """A book of records taken in afterwards would write to every customer at once."""
    later = told.settings.model_copy(update={"fixed_today": end_of(MONDAY + timedelta(days=4))})
    content = {
        "id": str(uuid4()), "site_id": "S1", "technician_id": "T1", "day": str(MONDAY),
        "visit_id": S1, "work": ["brushed"],
    }  # fmt: skip
    with told.writing() as session:
        take_in_record(session, later, content)
    assert kept(told) == []


def test_nothing_is_decided_on_where_no_mail_server_is_set(told: Company) -> None:
    """Years of messages must not go out on the day somebody sets one."""
    off = replace(told, settings=told.settings.model_copy(update={"mail_server": ""}))
    record(off, work=["brushed"])
    assert kept(told) == []


def test_a_visit_under_way_is_not_announced(told: Company) -> None:
    """The dispatcher tells customers of today at 07:05; S1 is begun."""
    moment = at(told, "07:01", MONDAY)
    begun = DayEvent(str(uuid4()), MONDAY, EventKind.STARTED, moment, moment, "T1", "T1", S1)
    with told.writing() as session:
        actions.add_events(session, told.settings, MONDAY, [begun])
        now = at(told, "07:05", MONDAY)
        assert notices.due_notices(session, told.settings, MONDAY, now=now) == ()


def test_a_list_of_messages_has_no_address(told: Company) -> None:
    """It is handed on as CSV."""
    run(told, Hand(), at(told, "16:00"))
    with told.reading() as session:
        shown = notices.shown_notices(session, read_notices_of_day(session, MONDAY))
    assert "example.org" not in str(notices.notice_list(shown))
