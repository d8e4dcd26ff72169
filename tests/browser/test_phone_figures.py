"""What the phone computes without signal is what the service computes, word for word."""

from __future__ import annotations

import math
import random
import re
from collections.abc import Iterator, Mapping
from dataclasses import replace
from datetime import date, timedelta
from gettext import NullTranslations
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from playwright.sync_api import Page

from api.schemas.phone_rules import RulesOut
from dispatch.day.moments import clock_time, clocks_of
from dispatch.errors import InvalidValue
from dispatch.phone.pressure import FilterFacts, pressure_meaning
from dispatch.readings import LIMITS, Reading, ReadingKind, read_value
from dispatch.upkeep_conditions import SAME_SPEED
from dispatch.water.advice import Last, Pool, advise, cautions_of, index_of
from dispatch.water.answer import Answer
from dispatch.water.ranges import DEFAULT_TARGETS, Range
from dispatch.words import reading_in, written
from tests.browser.conftest import NewPage
from tests.pseudo import a_language

TODAY = date(2026, 11, 30)
WATERS = 300
K = ReadingKind
SPANS: dict[ReadingKind, tuple[float, float, int]] = {  # wider than usual water, decimals
    K.FREE_CHLORINE: (0, 14, 1),
    K.TOTAL_CHLORINE: (0, 14, 1),
    K.PH: (6.4, 8.8, 1),
    K.TOTAL_ALKALINITY: (0, 260, 0),
    K.CALCIUM_HARDNESS: (0, 1600, 0),
    K.CYANURIC_ACID: (0, 180, 0),
    K.SALT: (0, 6000, 0),
    K.WATER_TEMPERATURE: (-1, 42, 1),
    K.BORATE: (0, 90, 0),
    K.TDS: (0, 5000, 0),
}


@pytest.fixture(scope="module", autouse=True)
def german() -> Iterator[None]:
    """A language with a decimal comma: its figures, and no words of its own."""
    with a_language("de", NullTranslations()):
        yield


@pytest.fixture(scope="module")
def waters() -> list[dict[str, Any]]:
    """Waters of random pools with what the service says of each, half of them in German figures."""
    chance = random.Random(7)
    return [_water(chance, n) for n in range(WATERS)]


@pytest.fixture
def page(new_page: NewPage) -> Page:
    """The phone's page, whose functions a test may call."""
    return new_page("/phone", width=360, height=740)


def test_advice_is_the_same_on_the_phone(page: Page, waters: list[dict[str, Any]]) -> None:
    """A dose that differs between phone and office is one that somebody gets wrong."""
    found = page.evaluate(
        """async (waters) => {
          const { advise, cautionsOf, saturation } = await import("/static/phone.js");
          return waters.map(({ lang, last, rules, pool, today }) => {
            document.documentElement.lang = lang;
            const advice = advise(last, rules, pool, today);
            const findings = advice.map(
              ({ kind, standing, words, answers, old }) => ({
                kind, standing, words, old,
                answers: answers.map(({ title, text, notes, cautions }) =>
                  ({ title, text, notes, cautions })),
              }));
            const cautions = cautionsOf(advice, rules);
            return { findings, cautions, index: saturation(last, rules, today) };
          });
        }""",
        [
            {name: water[name] for name in ("lang", "last", "rules", "pool", "today")}
            for water in waters
        ],
    )
    for got, water in zip(found, waters, strict=True):
        assert got["findings"] == water["findings"], water["last"]
        assert got["cautions"] == water["cautions"], water["last"]
        assert got["index"] == water["index"], water["last"]
    said = " ".join(
        answer["text"] for one in found for f in one["findings"] for answer in f["answers"]
    )
    assert re.search(r"\d,\d (fl oz|l|lb|kg)", said)
    assert re.search(r"\d\.\d (fl oz|l|lb|kg)", said)
    dosed = sum(bool(one["answers"]) for water in waters for one in water["findings"])
    assert dosed > WATERS  # the waters are wild enough for doses to be compared


def test_a_pressure_means_the_same_on_the_phone(page: Page) -> None:
    """29 psi against 18 clean asks for a backwash, in the same words."""
    chance = random.Random(8)
    cases = [_pressure(chance) for _ in range(200)]
    facts = FilterFacts("backwash", "Backwash", 68.9, "Pump off first.", 18 * 6.894757)
    cases.append((facts, 29 * 6.894757, None, True))
    found = page.evaluate(
        """async ([cases, same]) => {
          const { pressureMeaning } = await import("/static/phone.js");
          return cases.map(([facts, kpa, rpm, customary]) =>
            pressureMeaning(facts, kpa, rpm, same, customary));
        }""",
        [[[_plain(facts), *rest] for facts, *rest in cases], SAME_SPEED],
    )
    told = [
        pressure_meaning(facts, kpa, rpm, customary=customary)
        for facts, kpa, rpm, customary in cases
    ]
    assert found == [{"words": one.words, "due": one.due, "caution": one.caution} for one in told]
    assert found[-1]["words"] == "Backwash now: 29 psi against 18 psi clean."
    assert {one["due"] for one in found} == {True, False}


def test_numbers_are_rounded_as_in_the_service(page: Page) -> None:
    """Exact halves go to the even digit: 0.25 is 0.2 there, and 0.3 by the browser's own way."""
    chance = random.Random(9)
    values = [0.25, 0.75, 2.5, -0.25, 1234.5, 0.0, 1e-9, 999.95, 1e6 + 0.5]
    values += [chance.uniform(-2000, 2000) for _ in range(300)]
    values += [chance.randrange(-4000, 4000) / 8 for _ in range(100)]
    found = page.evaluate(
        """async (values) => {
          const { fixed } = await import("/static/phone.js");
          return values.map((value) => [0, 1, 2].map((places) => fixed(value, places)));
        }""",
        values,
    )
    assert found == [[f"{value:,.{places}f}" for places in (0, 1, 2)] for value in values]


def test_figures_are_written_as_the_page_s_language_does(page: Page) -> None:
    """A German reads 1.234,5 where an Englishman reads 1,234.5; either may type point or comma."""
    values = [1234.5, -0.25, 7.0, 1_000_000.04]
    languages = ["en", "de", "fr", "pt-BR", "sv"]
    limits = RulesOut.of(DEFAULT_TARGETS, customary=False).model_dump(mode="json")["limits"]["ph"]
    found = page.evaluate(
        """async ([languages, values, limits]) => {
          const { fixed, judge } = await import("/static/phone.js");
          return languages.map((lang) => {
            document.documentElement.lang = lang;
            const typed = (text) => judge("ph", text, "", limits);
            return {
              figures: values.map((one) => fixed(one, 1)),
              typed: ["7.4", "7,4", "7,", ",5", "1.2.3"].map((text) => typed(text).kept),
              odd: typed("8,5").odd,
            };
          });
        }""",
        [languages, values, limits],
    )
    for code, got in zip(languages, found, strict=True):
        known = code.replace("-", "_")
        with a_language(known, NullTranslations()), reading_in(known):
            assert got["figures"] == [written(f"{one:,.1f}") for one in values], code
        assert got["typed"][:4] == [7.4, 7.4, 7, 0.5]
        assert math.isnan(got["typed"][4])
    assert found[1]["figures"] == ["1.234,5", "-0,2", "7,0", "1.000.000,0"]
    assert found[1]["odd"] == "8,5 is outside the usual 6,8 to 8,2."


def test_thousands_typed_as_they_are_shown_are_never_taken_for_decimals(page: Page) -> None:
    """Salt is shown as 3,100 ppm: whoever types 3,200 must not get the dose for 3.2."""
    limits = RulesOut.of(DEFAULT_TARGETS, customary=True).model_dump(mode="json")["limits"]["salt"]
    found = page.evaluate(
        """async (limits) => {
          const { judge } = await import("/static/phone.js");
          return ["en", "de"].map((lang) => {
            document.documentElement.lang = lang;
            const typed = ["3,200", "3.200", "3200", "3,2"];
            return typed.map((text) => judge("salt", text, "ppm", limits));
          });
        }""",
        limits,
    )
    english, german = ([one["fault"] or one["kept"] for one in each] for each in found)
    two_ways = "“{}” can be read in two ways: write it as 3200, without a mark between thousands."
    assert english == [two_ways.format("3,200"), 3.2, 3200, 3.2]
    assert german == [3.2, two_ways.format("3.200"), 3200, 3.2]


def test_odd_and_impossible_values_are_the_service_s(page: Page) -> None:
    """What the phone lets pass, the service must be able to keep."""
    chance = random.Random(10)
    rules = RulesOut.of(DEFAULT_TARGETS, customary=True).model_dump(mode="json")
    cases = [
        (str(kind), f"{chance.uniform(-5, LIMITS[kind].possible[1] * 1.4):.1f}", unit)
        for kind in ReadingKind
        for unit in rules["limits"][kind]["units"]
        for _ in range(20)
    ]
    found = page.evaluate(
        """async ([cases, limits]) => {
          const { judge } = await import("/static/phone.js");
          return cases.map(([kind, text, unit]) => {
            const { fault, odd } = judge(kind, text, unit, limits[kind]);
            return [fault !== "", odd !== ""];
          });
        }""",
        [cases, rules["limits"]],
    )
    assert [tuple(one) for one in found] == [_judged(*case) for case in cases]
    assert {(True, False), (False, True), (False, False)} == {tuple(one) for one in found}


def _water(chance: random.Random, n: int) -> dict[str, Any]:
    customary = bool(n % 2)
    last = {}
    for kind, (low, high, places) in SPANS.items():
        if chance.random() < 0.8:
            on = TODAY - timedelta(days=chance.choice([0, 0, 0, 7, 20, 60, 200]))
            last[kind] = Last(Reading(kind, round(chance.uniform(low, high), places)), on)
    volume_l = None if chance.random() < 0.1 else chance.choice([20_000.0, 56_781.2, 113_562.4])
    targets = dict(DEFAULT_TARGETS)
    if n % 5 == 0:  # a company's own range
        targets[K.PH] = replace(targets[K.PH], ideal_low=7.3, ideal_high=7.5)
    lang = "de" if n % 4 < 2 else "en"
    with reading_in(lang):
        return {"lang": lang, **_said(last, targets, Pool(volume_l, customary))}


def _said(
    last: dict[ReadingKind, Last], targets: Mapping[ReadingKind, Range], pool: Pool
) -> dict[str, Any]:
    findings = advise(last, targets, pool, TODAY)
    index = index_of(last, TODAY)
    return {
        "last": {
            kind: {"value": one.reading.value, "on": f"{one.on}"} for kind, one in last.items()
        },
        "rules": RulesOut.of(targets, customary=pool.customary).model_dump(mode="json"),
        "pool": {"volumeL": pool.volume_l, "customary": pool.customary},
        "today": TODAY.isoformat(),
        "findings": [
            {
                "kind": str(one.kind),
                "standing": one.standing and str(one.standing),
                "words": one.words,
                "old": one.old,
                "answers": [
                    {
                        "title": answer.title,
                        "text": answer.text,
                        "notes": list(answer.notes),
                        "cautions": list(answer.cautions),
                    }
                    for answer in one.answers
                ],
            }
            for one in findings
        ],
        "cautions": list(cautions_of(findings)),
        "index": _index(index[0]) if index else None,
    }


def _index(answer: Answer) -> dict[str, str]:
    meaning, _, *ages = answer.notes
    return {"text": answer.text, "meaning": meaning, "ages": "".join(ages)}


def _pressure(chance: random.Random) -> tuple[FilterFacts, float, float | None, bool]:
    facts = FilterFacts(
        "backwash",
        "Backwash",
        chance.choice([55.2, 68.9]),
        "Pump off first.",
        chance.choice([None, round(chance.uniform(60, 140), 1)]),
        chance.choice([None, 2400.0]),
        variable_speed=chance.random() < 0.3,
    )
    rpm = chance.choice([None, 2400.0, 2500.0, 1200.0])
    return facts, round(chance.uniform(30, 260), 1), rpm, chance.random() < 0.5


def _plain(facts: FilterFacts) -> dict[str, Any]:
    return {name: getattr(facts, name) for name in FilterFacts.__dataclass_fields__}


def _judged(kind: str, text: str, unit: str) -> tuple[bool, bool]:
    try:
        reading = read_value(ReadingKind(kind), float(text), unit=unit)
    except InvalidValue:
        return True, False
    return False, reading.odd != ""


def test_the_phone_speaks_the_language_that_its_page_brings(page: Page) -> None:
    """Without signal there is nobody to ask for words: they lie in the page that was kept."""
    facts = FilterFacts("backwash", "Backwash", 68.9, "Pump off first.", 18 * 6.894757)
    kept = {
        "said": {"{deed} now: {kpa} against {clean} clean.": "{clean}, then {kpa}: {deed}!"},
        "plural": [],
    }
    found = page.evaluate(
        """async ([kept, facts, kpa, same]) => {
          const words = document.createElement("script");
          words.type = "application/json";
          words.id = "script-words";
          words.textContent = JSON.stringify(kept);
          document.body.append(words);
          const { pressureMeaning } = await import("/static/phone.js?in-another-language");
          return pressureMeaning(facts, kpa, null, same, true).words;
        }""",
        [kept, _plain(facts), 29 * 6.894757, SAME_SPEED],
    )
    assert found == "18 psi, then 29 psi: Backwash!"


@pytest.mark.parametrize("zone", ["America/New_York", "America/Los_Angeles"])
def test_the_phone_writes_times_of_a_night_as_the_service_does(page: Page, zone: str) -> None:
    """A day sheet on paper and the phone in the same truck, when the clocks change as well."""
    days = ["2026-11-30", "2026-03-07", "2026-03-08", "2026-10-31", "2026-11-01"]
    seconds = [27_000, 86_399, 86_400, *range(86_460, 129_600, 1800), 129_600, 172_800]
    page.context.new_cdp_session(page).send("Emulation.setTimezoneOverride", {"timezoneId": zone})
    words = page.evaluate(
        """async ([days, seconds]) => {
          const { clock } = await import("/static/phone.js");
          return days.map((day) => seconds.map((one) => clock(day, one)));
        }""",
        [days, seconds],
    )
    with clocks_of(ZoneInfo(zone)):
        told = [[clock_time(date.fromisoformat(day), one) for one in seconds] for day in days]
    assert words == told


def test_the_phone_keeps_the_day_of_a_night_shift_until_it_is_to_end(page: Page) -> None:
    """20:00 to 02:00; who began and did not end it is still out, until noon or the next shift.

    Whoever forgot to end a day's work at 16:00 wants the new day's stops in the morning.
    """
    cases = [
        ("2026-11-30T23:59", 93_600, "", True),
        ("2026-12-01T01:59", 93_600, "", True),
        ("2026-12-01T02:01", 93_600, "", False),
        ("2026-12-01T02:01", 93_600, "shift-started", True),
        ("2026-12-01T00:10", 93_600, "shift-ended", False),
        ("2026-12-01T12:01", 93_600, "shift-started", False),
        ("2026-12-01T07:59", 93_600, "shift-started", True, 115_200),
        ("2026-12-01T08:01", 93_600, "shift-started", False, 115_200),  # the next one has begun
        ("2026-12-01T01:59", 93_600, "shift-started", True, 90_000),  # this one goes on so long
        ("2026-12-01T00:10", 57_600, "", False),  # a shift of the day is over
        ("2026-12-01T06:30", 57_600, "shift-started", False),  # its end was not entered
        ("2026-12-01T06:30", 0, "shift-started", False),
        ("2026-12-02T00:10", 93_600, "shift-started", False),
    ]
    found = page.evaluate(
        """async (cases) => {
          const { goesOn } = await import("/static/phone.js");
          return cases.map(([at, until, mark, over]) =>
            goesOn("2026-11-30", until, mark, new Date(at), over));
        }""",
        [[*one[:3], *one[4:]] for one in cases],
    )
    assert found == [one[3] for one in cases]
