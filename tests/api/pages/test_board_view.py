"""What a dispatcher is to look at, in the order of how serious it is."""

from __future__ import annotations

from api.pages.board_view import Line, looks
from dispatch.actions.day_now import DayNow, TechnicianNow
from dispatch.day.projection import Flag, FlagKind
from tests.town import MONDAY


def technician(who: str) -> TechnicianNow:
    """A technician without stops, seven to three."""
    return TechnicianNow(
        technician_id=who, name=f"Invented {who}", revision=1, shift_start_s=25_200,
        shift_end_s=54_000, planned_start_s=25_200, planned_end_s=54_000, end_s=None, stops=(),
        shift_started_at=None, shift_ended_at=None, last_sign_at=None, alarm_at=None,
    )  # fmt: skip


def day_with(*flags: Flag) -> DayNow:
    """A day with these flags."""
    people = tuple(technician(who) for who in sorted({flag.technician_id for flag in flags}))
    return DayNow(MONDAY, 1, 36_000, people, (), flags, {}, ())


def flag(kind: FlagKind, who: str, minutes: int) -> Flag:
    return Flag(kind, who, None, 60 * minutes, f"{kind} {minutes}")


def test_broken_promises_stand_before_what_is_only_late() -> None:
    """T2 breaks a promise and comes first, though T1 is later; the late stops are summed up."""
    late = [flag(FlagKind.LATE, "T1", minutes) for minutes in (20, 45, 30)]
    promise = flag(FlagKind.WINDOW_MISSED, "T2", 26)
    found = looks(day_with(*late, flag(FlagKind.LATE, "T2", 26), promise))
    assert [one.technician_id for one in found] == ["T2", "T1"]
    assert found[0].first == (Line("", "window-missed 26"),)
    assert found[0].rest_words == "1 stop later than planned, by 26 min"
    assert found[1].first == ()
    assert found[1].rest_words == "3 stops later than planned, by up to 45 min"
    assert [line.words for line in found[1].rest] == ["late 45", "late 30", "late 20"]


def test_a_person_without_sign_of_life_comes_before_everything() -> None:
    """Somebody may lie there."""
    found = looks(
        day_with(flag(FlagKind.WINDOW_MISSED, "T1", 90), flag(FlagKind.NO_SIGN, "T2", 46))
    )
    assert [one.technician_id for one in found] == ["T2", "T1"]


def test_every_kind_of_flag_has_its_place_in_the_order() -> None:
    """One that was forgotten would stop the whole page."""
    kinds = [flag(kind, "T1", 1) for kind in FlagKind]
    (one,) = looks(day_with(*kinds))
    assert len(one.first) + len(one.rest) == len(FlagKind)
