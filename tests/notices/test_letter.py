from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import pytest

from dispatch.day.moments import clocks_of
from dispatch.notices.letter import Letter, Told, letter_of, window_words
from dispatch.notices.notice import Notice, NoticeKind

NOW = datetime(2026, 11, 29, 16, tzinfo=UTC)
NOTICE = Notice("S1/1", NoticeKind.DAY_BEFORE, 1, "S1", date(2026, 11, 30), NOW, NOW)
TOLD = Told("one@example.org", "Invented One", "https://pools.example/visit/x", (32_400, 36_300))


def letter(notice: Notice = NOTICE, told: Told = TOLD, branch: str = "") -> Letter:
    return letter_of(notice, told, sender_domain="pools.example", branch=branch)


def test_the_day_before_the_window_and_the_link_are_told() -> None:
    """32,400 s are 9:00 and 36,300 s 10:05; it ends with how to stop."""
    made = letter()
    assert made.subject == "Your pool visit on Monday 30 November: Invented One"
    assert "expect our technician on Monday 30 November between 09:00 and 10:05." in made.text
    assert "https://pools.example/visit/x\n" in made.text
    assert "To stop these messages, tell the company" in made.text.splitlines()[-1]


def test_a_window_past_midnight_names_the_next_day() -> None:
    """23:30 to 00:30 of a night shift; 88,200 s are half an hour after midnight."""
    made = letter(told=replace(TOLD, window_s=(84_600, 88_200)))
    assert "between 23:30 and 00:30 (after midnight it is Tuesday 1 December)" in made.text


@pytest.mark.parametrize(
    ("window_s", "words"),
    [
        ((32_400, 36_300), "on Wednesday 2 December between 09:00 and 10:05 instead"),
        (None, "moved to Wednesday 2 December. The time is still open."),
    ],
)
def test_a_move_tells_both_days(window_s: tuple[int, int] | None, words: str) -> None:
    """A day that is not published yet has no time."""
    moved = replace(NOTICE, kind=NoticeKind.MOVED, day=date(2026, 12, 2), from_day=NOTICE.day)
    made = letter(moved, replace(TOLD, window_s=window_s))
    assert "your visit of Monday 30 November was moved" in made.text
    assert words in made.text


def test_a_visit_called_off_is_that_of_the_day_it_was_announced_for() -> None:
    """It was moved, untold, and fell through on the other day."""
    off = replace(NOTICE, kind=NoticeKind.CALLED_OFF, day=date(2026, 12, 2), from_day=NOTICE.day)
    made = letter(off, replace(TOLD, window_s=None))
    assert made.subject == "No pool visit on Monday 30 November: Invented One"
    assert "your visit of Monday 30 November does not take place." in made.text
    assert "How it stands:\nhttps://pools.example/visit/x\n" in made.text


def test_afterwards_the_link_alone_says_what_was_done() -> None:
    """Readings and notes stay behind the link, which ends."""
    made = letter(replace(NOTICE, kind=NoticeKind.DONE))
    assert "your pool was serviced. The visit was that of Monday 30 November." in made.text
    assert "09:00" not in made.text


@pytest.mark.parametrize("name", ["A\r\nBcc: x@y.org", "A\nBcc: x@y.org", "A\x85\u2028B\x00"])
def test_a_name_cannot_add_a_heading(name: str) -> None:
    """What a line break would end goes on as a space."""
    made = letter(told=replace(TOLD, site_name=name))
    assert made.subject.isprintable()
    assert f"Pool: {made.subject.partition(': ')[2]}\n" in made.text


def test_the_same_message_has_the_same_id_and_another_has_another() -> None:
    """Mail programs fold doubles by it; two branches may have visits of the same name."""
    assert letter().message_id == letter(told=replace(TOLD, window_s=(0, 300))).message_id
    others = {
        letter().message_id,
        letter(branch="north").message_id,
        letter(replace(NOTICE, number=2)).message_id,
        letter(replace(NOTICE, kind=NoticeKind.DONE)).message_id,
    }
    assert len(others) == 4


def test_the_hour_that_comes_twice_is_told_apart() -> None:
    """In the night to 1 November 2026 the clocks of New York go back: 25.5 and 26.5 hours."""
    with clocks_of(ZoneInfo("America/New_York")):
        words = window_words(date(2026, 10, 31), (91_800, 95_400))
    assert words == "between 01:30 EDT and 01:30 EST (after midnight it is Sunday 1 November)"
