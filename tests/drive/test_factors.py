"""Factors of regions and times of day, set and learnt."""

from __future__ import annotations

import random
from pathlib import Path

import pytest

from dispatch.drive.factors import (
    Driven,
    Factors,
    Region,
    learn_factors,
    part_of,
    read_factors,
    write_factors,
)
from dispatch.errors import InvalidValue, SettingsError
from dispatch.places import Place

VALLEY = Region("valley", (0.0, 0.0, 1.0, 1.0), {"morning": 1.2, "evening": 1.4})
IN, OUT = Place(lat=0.5, lon=0.5), Place(lat=5.0, lon=5.0)
EIGHT, NOON, THREE, FIVE = (hour * 3600 for hour in (8, 12, 15, 17))


def drives(count: int, ratio: float, at_s: int, place: Place = IN, seed: int = 1) -> list[Driven]:
    """Return drives whose ratios to the map's time scatter by a factor of 1.2 about `ratio`."""
    chance = random.Random(seed)
    return [
        Driven(place, place, at_s, 300 * ratio * chance.lognormvariate(0, 0.18), 300)
        for _ in range(count)
    ]


def test_the_day_has_four_parts() -> None:
    """Each time of day lies in one."""
    times = (0, EIGHT, NOON, THREE, FIVE, 23 * 3600)
    parts = ["morning", "morning", "midday", "school end", "evening", "evening"]
    assert [part_of(at_s) for at_s in times] == parts


def test_a_drive_between_two_regions_has_half_of_each() -> None:
    """1.2 in the valley in the morning, 1 elsewhere."""
    factors = Factors((VALLEY,))
    assert factors.factor(IN, IN, EIGHT) == pytest.approx(1.2)
    assert factors.factor(IN, OUT, EIGHT) == pytest.approx(1.1)
    assert factors.factor(IN, OUT, NOON) == 1.0
    assert factors.working_day(IN) == pytest.approx(1.06)  # 0.3 · 1.2 + 0.7 · 1


def test_factors_are_written_and_read_back(tmp_path: Path) -> None:
    """A company may change the file by hand."""
    file = tmp_path / "factors.json"
    assert read_factors(file) == Factors()
    factors = Factors((VALLEY,), Region("elsewhere", (-90, -180, 90, 180), {"midday": 0.9}))
    write_factors(factors, file)
    assert read_factors(file) == factors


@pytest.mark.parametrize(
    "text", ["{", "[]", '{"regions": [{"name": "x"}]}', '{"elsewhere": {"noon": 1}}',
             '{"elsewhere": {"midday": 12}}', '{"elsewhere": {"midday": "fast"}}']
)  # fmt: skip
def test_a_file_that_is_wrong_is_refused_with_its_name(text: str, tmp_path: Path) -> None:
    """Silently counting with free flow would make every day late."""
    file = tmp_path / "factors.json"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(SettingsError, match=r"factors\.json cannot be used"):
        read_factors(file)


def test_an_impossible_region_is_refused() -> None:
    """South above north is the usual slip."""
    with pytest.raises(InvalidValue, match="south below north"):
        Region("valley", (1.0, 0.0, 0.0, 1.0))


def test_many_drives_give_their_own_factor() -> None:
    """Four hundred drives at 1.3: within 3 % (their mean scatters by 0.18 / 20 = 1 %)."""
    factors, learnt = learn_factors(drives(400, 1.3, EIGHT), Factors((VALLEY,)))
    morning = factors.region_of(IN).factors["morning"]
    assert morning == pytest.approx(1.3, rel=0.03)
    assert [row.enough for row in learnt if row.region == "valley"] == [True, False, False, False]


def test_parts_of_the_day_are_told_apart() -> None:
    """Slow in the evening, free at noon."""
    records = drives(300, 1.0, NOON) + drives(300, 1.5, FIVE, seed=2)
    factors, _ = learn_factors(records, Factors((VALLEY,)))
    learnt = factors.region_of(IN).factors
    assert learnt["midday"] == pytest.approx(1.0, abs=0.05)
    assert learnt["evening"] == pytest.approx(1.5, abs=0.07)


def test_a_few_drives_are_no_knowledge() -> None:
    """Five drives at twice the time may be five lunches: the factor stays 1, and words say so."""
    exact = [Driven(IN, IN, EIGHT, 600, 300)] * 5
    factors, learnt = learn_factors(exact, Factors((VALLEY,)))
    morning = learnt[0]
    assert (morning.drives, morning.enough, morning.observed) == (5, False, 2.0)
    assert "too little data, 5 drives of at least 20" in morning.words
    assert set(factors.region_of(IN).factors.values()) == {1.0}


def test_some_drives_are_drawn_towards_what_is_known_more_broadly() -> None:
    """Thirty drives at twice the time, weighed 30 / (30 + 9), where 9 = 0.3² / 0.1².

    For everything: 2 ** (30/39) = 1.70; for the region 2 ** (1 - (9/39)²) = 1.93, for the part of
    the day 2 ** (1 - (9/39)³) = 1.98. With 30 drives from elsewhere at 1, everything is lower.
    """
    exact = [Driven(IN, IN, EIGHT, 600, 300)] * 30
    factors, _ = learn_factors(exact, Factors((VALLEY,)))
    assert factors.elsewhere.factors["midday"] == pytest.approx(2 ** (30 / 39), abs=1e-3)
    assert factors.region_of(IN).factors["midday"] == pytest.approx(2 ** (1 - (9 / 39) ** 2), 1e-3)
    assert factors.region_of(IN).factors["morning"] == pytest.approx(2 ** (1 - (9 / 39) ** 3), 1e-3)
    calm = [Driven(OUT, OUT, EIGHT, 300, 300)] * 30
    both, _ = learn_factors(exact + calm, Factors((VALLEY,)))
    assert 1.0 < both.region_of(OUT).factors["morning"] < 1.1
    assert 1.9 < both.region_of(IN).factors["morning"] < 1.98


def test_without_records_everything_is_free_flow() -> None:
    """A new company has none."""
    factors, learnt = learn_factors([], Factors((VALLEY,)))
    assert set(factors.region_of(IN).factors.values()) == {1.0}
    assert not any(row.enough for row in learnt)


def test_drives_with_another_stop_in_them_are_left_out() -> None:
    """Lunch is not traffic, and a drive of half a minute is mostly parking."""
    records = drives(100, 1.0, NOON)
    lunch = [Driven(IN, IN, NOON, 3600, 300)] * 20 + [Driven(IN, IN, NOON, 200, 30)] * 20
    assert learn_factors(records + lunch, Factors()) == learn_factors(records, Factors())


def test_a_lunch_in_every_fifth_gap_does_not_pass_for_traffic() -> None:
    """Long drives at 1.2 with half an hour at a table: 1.2 · 40 + 30 min is 1.95, no outlier of 3.

    Truth 1.2; the plain mean of the gaps would be 1.35.
    """
    chance = random.Random(5)
    records = []
    for i in range(300):
        drove_s = 2400 * 1.2 * chance.lognormvariate(0, 0.12)
        records.append(Driven(IN, IN, NOON, drove_s + 1800 * (i % 5 == 0), 2400))
    factors, _ = learn_factors(records, Factors((VALLEY,)))
    assert factors.region_of(IN).factors["midday"] == pytest.approx(1.2, rel=0.03)
