"""Stays and gaps from arrivals and departures."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

from dispatch.records.stays import gaps_of, stays_of

DAY = date(2026, 11, 23)
NINE = datetime(2026, 11, 23, 9, tzinfo=UTC)


@dataclass(frozen=True)
class Attendance:
    """Who was where, in minutes after nine."""

    site_id: str
    arrived: float | None
    left: float | None
    technician_id: str = "T1"
    day: date = DAY
    skipped: bool = False
    upkeep_kinds: tuple[str, ...] = ()
    visit_id: str | None = None

    @property
    def arrived_at(self) -> datetime | None:
        return None if self.arrived is None else NINE + timedelta(minutes=self.arrived)

    @property
    def left_at(self) -> datetime | None:
        return None if self.left is None else NINE + timedelta(minutes=self.left)


def test_a_stay_is_the_time_between_arrival_and_departure() -> None:
    """30 minutes at S1, in whatever order the records came."""
    stays, left_out = stays_of([Attendance("S2", 40, 65), Attendance("S1", 0, 30)])
    assert [(one.site_id, one.minutes) for one in stays] == [("S1", 30), ("S2", 25)]
    assert left_out == 0


def test_a_stay_that_reaches_into_the_next_is_left_out() -> None:
    """The check-out at S1 was made at S2; the next technician's stops do not matter."""
    attended = [
        Attendance("S1", 0, 55),
        Attendance("S2", 40, 65),
        Attendance("S3", 30, 50, technician_id="T2"),
    ]
    stays, left_out = stays_of(attended)
    assert [one.site_id for one in stays] == ["S2", "S3"]
    assert left_out == 1


def test_stays_without_an_end_or_without_measure_are_left_out() -> None:
    """No departure, five hours, or no time at all; a skipped visit was never a stay."""
    attended = [
        Attendance("S1", 0, None),
        Attendance("S2", 10, 10, technician_id="T2"),
        Attendance("S3", 0, 300, technician_id="T3"),
        Attendance("S4", 0, 5, technician_id="T4", skipped=True),
    ]
    assert stays_of(attended) == ([], 3)


def test_a_gap_lies_between_a_departure_and_the_next_arrival() -> None:
    """Ten minutes from S1 to S2; none across technicians, days, or longer than two hours."""
    attended = [
        Attendance("S1", 0, 30),
        Attendance("S2", 40, 65),
        Attendance("S3", 300, 330),
        Attendance("S4", 340, 350, technician_id="T2"),
    ]
    (gap,) = gaps_of(attended)
    assert (gap.from_site_id, gap.to_site_id, gap.seconds) == ("S1", "S2", 600)
    assert gap.left_at == NINE + timedelta(minutes=30)


def test_no_gap_leads_from_a_site_to_itself() -> None:
    """A technician who came back to the same gate did not drive."""
    assert gaps_of([Attendance("S1", 0, 30), Attendance("S1", 40, 65)]) == []
