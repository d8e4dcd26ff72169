"""Advice from the last readings of a pool."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest

from dispatch.readings import ReadingKind, read_value
from dispatch.units import litres
from dispatch.water.advice import Finding, Last, Pool, advise, cautions_of, index_of
from dispatch.water.ranges import DEFAULT_TARGETS, Standing

TODAY = date(2026, 11, 25)
K = ReadingKind
POOL = Pool(litres(10_000))


def last(on: date = TODAY, **values: float) -> dict[ReadingKind, Last]:
    kinds = {name: ReadingKind(name.replace("_", "-")) for name in values}
    return {kinds[name]: Last(read_value(kinds[name], value), on) for name, value in values.items()}


def findings(
    volume_l: float | None = litres(10_000), on: date = TODAY, **values: float
) -> dict[ReadingKind, Finding]:
    found = advise(last(on, **values), DEFAULT_TARGETS, Pool(volume_l), TODAY)
    return {one.kind: one for one in found}


def test_low_chlorine_is_answered_with_a_dose() -> None:
    """From 1.0 to the aim of 3.0 in 10,000 gal: 2 x 10.24 = 20.5 fl oz (D13)."""
    found = findings(free_chlorine=1.0)[K.FREE_CHLORINE]
    assert found.standing is Standing.LOW
    assert [answer.text for answer in found.answers] == ["20.5 fl oz"]


def test_a_pool_without_sanitizer_is_closed_to_bathers() -> None:
    """Below the least the advice is about people before it is about products."""
    assert "out of the water" in findings(free_chlorine=0.2)[K.FREE_CHLORINE].words


def test_without_a_volume_there_is_no_dose() -> None:
    """A guess would be a dose for another pool."""
    found = findings(volume_l=None, free_chlorine=1.0, ph=7.9, total_alkalinity=90)
    assert not any(one.answers for one in found.values())
    assert "volume" in found[K.FREE_CHLORINE].words


def test_high_ph_is_answered_by_the_first_half() -> None:
    """7.8 to 7.5 is estimated by the balance and told by halves."""
    found = findings(ph=7.8, total_alkalinity=100)[K.PH]
    assert "first half" in found.answers[0].title


@pytest.mark.parametrize(("ph", "closed"), [(6.7, True), (6.8, False), (8.2, False), (8.4, True)])
def test_a_ph_that_somebody_is_sent_for_keeps_people_out_at_once(ph: float, closed: bool) -> None:
    """The follow-up says so to the office; whoever stands at the pool is told first."""
    found = findings(ph=ph, total_alkalinity=100)[K.PH]
    assert ("out of the water" in found.words) is closed
    assert "test again" in found.words
    assert found.answers


def test_an_old_alkalinity_gives_no_dose_for_a_ph_of_today() -> None:
    """That of two months ago; twice as much would want twice the acid."""
    water = last(ph=7.9) | last(TODAY - timedelta(days=60), total_alkalinity=100)
    (found,) = (one for one in advise(water, DEFAULT_TARGETS, POOL, TODAY) if one.kind is K.PH)
    assert found.words == "The alkalinity is too old to estimate by: test it too."
    assert not found.answers


def test_cyanuric_acid_comes_down_by_water_only() -> None:
    """150 to 50 with none in the fill water is two thirds of the pool (calc)."""
    found = findings(cyanuric_acid=150)[K.CYANURIC_ACID]
    assert [answer.text for answer in found.answers] == ["66.7 % of the pool"]


def test_alkalinity_that_is_high_is_not_dosed_down_at_once() -> None:
    """One large dose of acid would take the pH with it."""
    found = findings(total_alkalinity=170)[K.TOTAL_ALKALINITY]
    assert "never by one large dose" in found.words
    assert not found.answers


def test_an_old_reading_gives_no_dose() -> None:
    """Chlorine of three weeks ago says nothing of today."""
    found = findings(on=TODAY - timedelta(days=21), free_chlorine=1.0)[K.FREE_CHLORINE]
    assert found.old
    assert not found.answers


@pytest.mark.parametrize(
    ("free", "total", "words"),
    [
        (2.0, 2.3, "nothing to do"),
        (2.0, 3.0, "breakpoint is about 10 ppm"),
        (3.0, 2.5, "test again"),
    ],
)
def test_combined_chlorine_is_total_less_free(free: float, total: float, words: str) -> None:
    """Breakpoint 10 x CC (a dosage chart, a); a negative difference is a faulty test."""
    assert words in findings(free_chlorine=free, total_chlorine=total)[K.TOTAL_CHLORINE].words


def test_what_hangs_on_cyanuric_acid_of_long_ago_says_so() -> None:
    """100 ppm before the pool was drained: five of chlorine and half as much acid again."""
    water = last(free_chlorine=6.0, ph=7.9, total_alkalinity=100, salt=3000)
    for days, told in ((30, set()), (200, {K.FREE_CHLORINE, K.PH})):
        cya = last(TODAY - timedelta(days=days), cyanuric_acid=100)
        found = advise(water | cya, DEFAULT_TARGETS, POOL, TODAY)
        assert {one.kind for one in found if "read too long ago" in one.words} == told
    little = last(TODAY - timedelta(days=200), cyanuric_acid=20)  # lifts no range of chlorine
    found = advise(last(free_chlorine=6.0) | little, DEFAULT_TARGETS, POOL, TODAY)
    assert not any("too long ago" in one.words for one in found)


def test_combined_chlorine_of_last_month_gives_no_breakpoint() -> None:
    """12 ppm of chlorine on the word of a test that nobody has made since."""
    found = findings(on=TODAY - timedelta(days=30), free_chlorine=1.0, total_chlorine=2.2)
    assert found[K.TOTAL_CHLORINE].words == "Too old to dose by: test again."
    assert found[K.TOTAL_CHLORINE].old


def test_several_doses_come_with_the_caution_to_add_one_at_a_time() -> None:
    """Acid, bicarbonate and calcium in one list look like one recipe; each alone is none."""
    (words,) = cautions_of(findings(ph=7.9, total_alkalinity=50, calcium_hardness=100).values())
    assert "one product at a time, never two together and never mixed" in words
    assert "pump running" in words
    assert "test again" in words
    assert cautions_of(findings(ph=7.9, total_alkalinity=100).values()) == ()


def test_the_index_comes_in_both_variants_where_all_is_read() -> None:
    """L5 by the trade table is 0.0; without hardness there is none."""
    water = last(ph=7.5, water_temperature=29.44, calcium_hardness=200, total_alkalinity=100)
    assert next(one.text for one in index_of(water, TODAY)) == "0.0"
    assert len(index_of(water, TODAY)) == 2
    assert index_of(last(ph=7.5, total_alkalinity=100), TODAY) == ()


def test_the_index_says_how_old_its_readings_are() -> None:
    """Calcium of last week, alkalinity of yesterday; nothing to say where all is of today."""
    read: dict[str, Any] = {"ph": 7.5, "water_temperature": 29.4}
    today = last(**read, calcium_hardness=200, total_alkalinity=100)
    before = last(TODAY - timedelta(days=7), calcium_hardness=200)
    yesterday = last(TODAY - timedelta(days=1), total_alkalinity=100)
    found = index_of(last(**read) | before | yesterday, TODAY)
    assert "balanced" in found[0].notes[0]
    assert [one.notes[-1] for one in found] == [
        "Read on other days: Calcium hardness 7 days ago, Total alkalinity 1 day ago."
    ] * 2
    assert not any("other days" in words for one in index_of(today, TODAY) for words in one.notes)


def test_an_index_of_old_calcium_judges_no_water() -> None:
    """Filled anew since, perhaps: balanced by the figure, and etched by the water."""
    water = last(ph=7.5, water_temperature=29.4, total_alkalinity=100)
    old = last(TODAY - timedelta(days=400), calcium_hardness=200)
    for one in index_of(water | old, TODAY):
        assert one.text in ("0.0", "-0.1")
        assert "test again" in one.notes[0]
        assert "Calcium hardness 400 days ago" in one.notes[-1]
        assert not any("balanced" in words for words in one.notes)


def test_salt_of_long_ago_is_no_matter_where_solids_were_read() -> None:
    """The index is reckoned with the solids of today, which hold the salt."""
    water = last(ph=7.5, water_temperature=29.4, calcium_hardness=200, total_alkalinity=100)
    salt = last(TODAY - timedelta(days=400), salt=3000)
    for one in index_of(water | last(tds=900) | salt, TODAY):
        assert not any("Salt" in words or "test again" in words for words in one.notes)
    assert any("Salt" in words for words in index_of(water | salt, TODAY)[0].notes)
