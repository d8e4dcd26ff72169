"""Readings: what is refused, what is flagged, and units that were mixed up."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dispatch.errors import InvalidValue
from dispatch.readings import (
    LIMITS,
    Reading,
    ReadingAt,
    ReadingKind,
    UpkeepDone,
    read_value,
    reading_words,
    units_of,
)

K = ReadingKind


def test_every_kind_has_limits_with_a_source() -> None:
    """A kind without limits would take anything."""
    assert set(LIMITS) == set(ReadingKind)
    for limits in LIMITS.values():
        assert limits.possible[0] <= limits.usual[0] < limits.usual[1] <= limits.possible[1]
        assert limits.source


@pytest.mark.parametrize(
    ("kind", "value", "unit", "mend"),
    [
        (K.FREE_CHLORINE, -1, "", "give 0 to 100 ppm"),
        (K.PH, 74, "", "give 3 to 11"),
        (K.PH, float("nan"), "", "not possible"),
        (K.SALT, 320_000, "", "not possible"),
        (K.WATER_TEMPERATURE, 84, "", "84 °F is 28.9 °C"),
        (K.WATER_TEMPERATURE, 28, "°F", "If 28.0 was read in °C"),
        (K.FILTER_PRESSURE, 124, "psi", "If 124 was read in kPa"),
        (K.ANODE_REMAINING, 60, "", "60 % is 0.6"),
    ],
)
def test_what_cannot_be_is_refused_with_the_likely_slip(
    kind: ReadingKind, value: float, unit: str, mend: str
) -> None:
    """The technician sees at the pad what to correct."""
    with pytest.raises(InvalidValue, match=mend.replace("(", r"\(")):
        read_value(kind, value, unit=unit)


@pytest.mark.parametrize(
    ("kind", "value", "words"),
    [
        (K.FILTER_PRESSURE, 18, "If it was read in psi, say so: 18 psi is 124 kPa"),
        (K.WATER_TEMPERATURE, 44, "44 °F is 6.7 °C"),
        (K.FREE_CHLORINE, 18, "outside the usual"),
        (K.PUMP_SPEED, 0, "outside the usual"),
    ],
)
def test_what_is_odd_is_kept_and_flagged(kind: ReadingKind, value: float, words: str) -> None:
    """A shocked pool does read 18 ppm; it is kept, and somebody looks at it."""
    reading = read_value(kind, value)
    assert reading.value == value
    assert words in reading.odd


@pytest.mark.parametrize(
    ("kind", "value", "unit", "kept"),
    [
        (K.FILTER_PRESSURE, 29, "psi", 199.948),  # 29 x 6.894757
        (K.FILTER_PRESSURE, 1.5, "bar", 150),
        (K.WATER_TEMPERATURE, 84, "°F", 28.8889),
        (K.WATER_TEMPERATURE, 84, "f", 28.8889),
        (K.FLOW, 40, "gpm", 151.4165),  # 40 x 3.785411784
        (K.ANODE_REMAINING, 60, "%", 0.6),
        (K.SALT, 3200, "mg/L", 3200),
    ],
)
def test_values_are_kept_in_the_unit_of_their_kind(
    kind: ReadingKind, value: float, unit: str, kept: float
) -> None:
    """Histories mix companies and gauges, so one unit is kept; factors of NIST SP 811."""
    reading = read_value(kind, value, unit=unit)
    assert reading.value == pytest.approx(kept, abs=1e-4)
    assert reading.odd == ""


@pytest.mark.parametrize(("kind", "unit"), [(K.PH, "psi"), (K.FILTER_PRESSURE, "°F")])
def test_a_unit_of_another_kind_is_refused(kind: ReadingKind, unit: str) -> None:
    """The sentence names the units there are."""
    with pytest.raises(InvalidValue, match="cannot be given in"):
        read_value(kind, 7.4, unit=unit)


@given(st.sampled_from(list(ReadingKind)), st.floats(allow_nan=True, allow_infinity=True))
def test_any_number_is_kept_flagged_or_refused(kind: ReadingKind, value: float) -> None:
    """Whatever arrives: no crash, and nothing out of the possible is kept."""
    low, high = LIMITS[kind].possible
    try:
        reading = read_value(kind, value)
    except InvalidValue:
        assert not low <= value <= high or round(value, 4) != value
    else:
        assert low <= reading.value <= high


@pytest.mark.parametrize("kind", list(ReadingKind))
def test_each_kind_takes_its_own_unit(kind: ReadingKind) -> None:
    """The kept unit comes first in the list of a form."""
    middle = sum(LIMITS[kind].usual) / 2
    assert read_value(kind, middle, unit=units_of(kind)[0]).value == pytest.approx(middle)


def test_words_are_those_of_the_country() -> None:
    """Gauges in the United States show psi, thermometers °F."""
    pressure = Reading(K.FILTER_PRESSURE, 199.948)
    assert reading_words(pressure, customary=True) == "29 psi"
    assert reading_words(pressure, customary=False) == "200 kPa"
    assert reading_words(Reading(K.WATER_TEMPERATURE, 28.9), customary=True) == "84 °F"
    assert reading_words(Reading(K.PH, 7.4), customary=True) == "7.4"
    assert reading_words(Reading(K.SALT, 3100), customary=True) == "3,100 ppm"
    assert reading_words(Reading(K.ANODE_REMAINING, 0.5), customary=True) == "50 %"


def test_a_point_of_a_history_has_a_time_zone() -> None:
    """Readings of two phones are compared, so their times must be of one clock."""
    with pytest.raises(InvalidValue, match="time zone"):
        ReadingAt("S1", datetime(2026, 11, 25, 9), Reading(K.PH, 7.4))  # noqa: DTZ001
    assert ReadingAt("S1", datetime(2026, 11, 25, 9, tzinfo=UTC), Reading(K.PH, 7.4)).site_id


def test_what_remains_is_a_share() -> None:
    """An anode judged at 60 is 60 %, which is a slip here."""
    with pytest.raises(InvalidValue, match="share"):
        UpkeepDone("anode-cleaning", date(2026, 11, 25), remaining_share=60)
    with pytest.raises(InvalidValue, match="kind"):
        UpkeepDone("", date(2026, 11, 25))
