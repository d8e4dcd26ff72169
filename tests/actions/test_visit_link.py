from __future__ import annotations

import re
from datetime import date, datetime, timedelta
from pathlib import Path
from uuid import uuid4

import pytest

from dispatch.actions import day as actions
from dispatch.actions.take_in import take_in_record
from dispatch.actions.visit_link import (
    STANDARD_WORK,
    Standing,
    VisitPage,
    arrival_window,
    visit_of,
    visit_token,
)
from dispatch.day.events import DayEvent, EventKind
from dispatch.day.moments import moment_of
from dispatch.errors import NotFound
from tests.town import MONDAY, TUESDAY, Company, end_of

S1, S2 = "S1/2026-W49/1", "S2/2026-W49/1"


def at(company: Company, clock: str, day: date = MONDAY) -> datetime:
    hour, minute = clock.split(":")
    return moment_of(day, int(hour) * 3600 + int(minute) * 60, company.settings.zone)


def token(company: Company, visit_id: str = S1) -> str:
    with company.reading() as session:
        return visit_token(session, company.settings, MONDAY, visit_id)


def page(company: Company, made: str, clock: str = "06:30", day: date = MONDAY) -> VisitPage:
    with company.reading() as session:
        return visit_of(session, company.settings, made, now=at(company, clock, day))


def tell(company: Company, kind: EventKind, clock: str, visit: str, **data: str) -> None:
    moment = at(company, clock)
    one = DayEvent(str(uuid4()), MONDAY, kind, moment, moment, "T1", "T1", visit, data=data)
    with company.writing() as session:
        (taken,) = actions.add_events(session, company.settings, MONDAY, [one])
    assert taken.outcome == "new"


def publish(company: Company) -> None:
    with company.writing() as session:
        actions.publish_day(session, company.settings, MONDAY, who="Ada", at=at(company, "06:00"))


@pytest.mark.parametrize(
    ("start_s", "now_s", "window_s"),
    [
        (36_000, 0, (34_200, 37_800)),  # 10:00: from 09:30 to 10:30
        (36_061, 0, (34_200, 38_100)),  # 10:01:01: from 09:31 down, from 10:31 up
        (36_000, 35_400, (35_400, 37_800)),  # nobody is expected before now, 09:50
    ],
)
def test_a_window_of_an_hour_lies_around_the_start(
    start_s: int, now_s: int, window_s: tuple[int, int]
) -> None:
    """To whole five minutes, outwards, so that the estimate always lies within."""
    assert arrival_window(start_s, 3600, now_s) == window_s


def test_before_publishing_the_planned_time_is_told(planned: Company) -> None:
    """S1 is begun seconds after 07:00: half an hour on either side, to whole five minutes."""
    shown = page(planned, token(planned))
    assert (shown.standing, shown.window_s) == (Standing.EXPECTED, (23_400, 27_300))


def test_the_window_follows_the_day(planned: Company) -> None:
    """The stop before, of 30 min, begun at 09:00 puts S2 to 09:30 and the drive of some seconds."""
    publish(planned)
    made = token(planned, S2)
    tell(planned, EventKind.STARTED, "09:00", S1)

    shown = page(planned, made, "09:05")

    assert shown.standing is Standing.EXPECTED
    assert shown.window_s is not None
    assert shown.window_s[0] == 9 * 3600 + 300  # not before now
    assert 10 * 3600 <= shown.window_s[1] <= 10 * 3600 + 600


def test_a_customer_reads_how_the_visit_goes(planned: Company) -> None:
    """Under way, then not done with its reason in words; the code stays with the company."""
    publish(planned)
    made = token(planned)
    tell(planned, EventKind.STARTED, "07:05", S1)
    assert page(planned, made, "07:10").standing is Standing.UNDER_WAY

    tell(planned, EventKind.SKIPPED, "07:20", S1, reason="gate-locked")

    shown = page(planned, made, "07:30")
    assert (shown.standing, shown.why) == (Standing.NOT_DONE, "the gate was locked")


def test_afterwards_the_record_says_what_was_done(planned: Company) -> None:
    """Standard work and what was added; the note and work in own words are for the company."""
    made = token(planned)
    sent = {
        "id": str(uuid4()),
        "site_id": "S1",
        "technician_id": "T1",
        "day": str(MONDAY),
        "visit_id": S1,
        "left_at": at(planned, "07:40").isoformat(),
        "work": ["brushed", "let in by #11, owner owes for May", "Vacuumed"],
        "products": [{"product": "salt", "amount": 10, "unit": "kg"}],
        "note": "code #11 sticks",
    }
    on_monday = planned.settings.model_copy(update={"fixed_today": end_of(MONDAY)})
    with planned.writing() as session:
        take_in_record(session, on_monday, sent)

    shown = page(planned, made, "09:00")

    assert shown.standing is Standing.DONE
    assert shown.left_at == at(planned, "07:40")
    assert shown.done[:2] == ("Brushed", "Vacuumed")
    assert len(shown.done) == 3
    assert "salt" in shown.done[2]


def test_customers_are_told_of_the_work_that_the_phone_offers() -> None:
    """A word that one side alone knows would never be shown, or never be chosen."""
    source = Path("api/web/src/phone/form_view.ts").read_text(encoding="utf-8")
    line = next(one for one in source.splitlines() if one.startswith("const WORK = "))
    offered = re.findall(r'"([^"]+)"', line)
    assert offered == list(STANDARD_WORK.values())
    assert [words.lower() for words in offered] == list(STANDARD_WORK)


def test_a_visit_that_nobody_recorded_is_not_made_up(planned: Company) -> None:
    """The day after, without a word, nothing is claimed."""
    assert page(planned, token(planned), "09:00", TUESDAY).standing is Standing.OPEN


def test_a_link_ends_after_its_days(planned: Company) -> None:
    """14 days after the visit it still opens; on the 15th it says what any wrong link says."""
    made = token(planned)
    page(planned, made, "23:00", MONDAY + timedelta(days=14))
    with pytest.raises(NotFound) as over:
        page(planned, made, "01:00", MONDAY + timedelta(days=15))
    with pytest.raises(NotFound) as wrong:
        page(planned, made[:-3])
    assert str(over.value) == str(wrong.value)


def test_no_link_is_made_for_a_visit_of_another_day(planned: Company) -> None:
    """A typing error must not become a link that shows nothing."""
    with pytest.raises(NotFound, match="no visit 'S9/2026-W49/1'"):
        token(planned, "S9/2026-W49/1")
