"""What the last readings of a pool ask for: where each lies in its range, and what would help.

Advice is for a person who tests again before acting. A dose is computed only where the volume
is known, and at most one step at a time: chlorine, pH, alkalinity and calcium are not moved at
once.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date

from dispatch.errors import InvalidValue
from dispatch.readings import LIMITS, Reading, ReadingKind
from dispatch.water.answer import CLOSE_CAUTION, ONE_AT_A_TIME_CAUTION, Answer
from dispatch.water.dilution import ONLY_BY_DILUTION, water_to_replace
from dispatch.water.dosing import dose
from dispatch.water.index import Variant, Water, saturation_index
from dispatch.water.ph_step import Buffers, ph_step
from dispatch.water.products import Product
from dispatch.water.ranges import CHLORINE_PER_CYA, UNSAFE, Range, Standing, chlorine_target
from dispatch.words import N_, _, counted

COMBINED_MOST_PPM = 0.4  # ppm combined chlorine, ANSI/APSP/ICC-11 2019 and CDC, from memory
RAISED_BY: Mapping[ReadingKind, Product] = {
    ReadingKind.FREE_CHLORINE: Product.LIQUID_CHLORINE,
    ReadingKind.TOTAL_ALKALINITY: Product.BICARBONATE,
    ReadingKind.CALCIUM_HARDNESS: Product.CALCIUM_CHLORIDE,
    ReadingKind.CYANURIC_ACID: Product.CYANURIC_ACID,
    ReadingKind.SALT: Product.SALT,
}
OLDEST_DAYS = {  # days after which a reading no longer speaks for the water; common practice
    ReadingKind.FREE_CHLORINE: 14,
    ReadingKind.TOTAL_CHLORINE: 14,
    ReadingKind.PH: 14,
    ReadingKind.WATER_TEMPERATURE: 14,
    ReadingKind.TOTAL_ALKALINITY: 45,
}
INDEX_NEEDS = (
    ReadingKind.PH,
    ReadingKind.WATER_TEMPERATURE,
    ReadingKind.CALCIUM_HARDNESS,
    ReadingKind.TOTAL_ALKALINITY,
)
INDEX_HEEDS = (
    ReadingKind.CYANURIC_ACID,
    ReadingKind.BORATE,
    ReadingKind.TDS,
    ReadingKind.SALT,
)  # where they were read
TOO_OLD = N_("Too old to dose by: test again.")
OLD_CYA = N_("The cyanuric acid it is reckoned with was read too long ago: test it too.")
OTHERS_OLDEST_DAYS = 100  # days; calcium, cyanuric acid and salt are tested monthly


@dataclass(frozen=True, slots=True)
class Last:
    """The last reading of a kind and the day it was made."""

    reading: Reading
    on: date


@dataclass(frozen=True, slots=True)
class Finding:
    """One reading beside its range, and what would help.

    `standing` is None where there is no range. `words` say what to do; `answers` are the figures
    for it; `old` says so when the reading no longer speaks for the water.
    """

    kind: ReadingKind
    value: float
    on: date
    target: Range | None
    standing: Standing | None
    words: str
    answers: tuple[Answer, ...] = ()
    old: bool = False


@dataclass(frozen=True, slots=True)
class Pool:
    """What the advice knows of a pool; None where nobody knows its volume."""

    volume_l: float | None
    customary: bool = True


def advise(
    last: Mapping[ReadingKind, Last],
    targets: Mapping[ReadingKind, Range],
    pool: Pool,
    today: date,
) -> tuple[Finding, ...]:
    """Findings for every last reading that has a range, in the order of the ranges.

    Parameters
    ----------
    last
        Last reading of each kind that was read.
    targets
        The company's ranges.
    pool
        Volume, and the units to answer in.
    today
        The day from which a reading's age counts.
    """
    cya = last.get(ReadingKind.CYANURIC_ACID)
    found = []
    for kind, target in targets.items():
        if kind not in last:
            continue
        used = target
        if kind is ReadingKind.FREE_CHLORINE:
            used = chlorine_target(target, cya.reading.value if cya else None)
        found.append(_finding(last, kind, used, pool, today))
    combined = _combined(last, today)
    return (*found, combined) if combined is not None else tuple(found)


def cautions_of(findings: Iterable[Finding]) -> tuple[str, ...]:
    """What to mind at all that is asked for: one product at a time where there are several."""
    asked = sum(len(one.answers) for one in findings)
    return (_(ONE_AT_A_TIME_CAUTION),) if asked > 1 else ()


def index_of(last: Mapping[ReadingKind, Last], today: date) -> tuple[Answer, ...]:
    """The saturation index by each variant; empty where a reading it needs is missing.

    Needed are pH, water temperature, calcium hardness and total alkalinity. How old each reading
    is that was not made today stands among the notes; by one that is too old the index says
    nothing of the water.
    """
    if any(kind not in last for kind in INDEX_NEEDS):
        return ()
    ph, temperature_c, calcium, alkalinity = (last[kind].reading.value for kind in INDEX_NEEDS)
    try:
        water = Water(
            ph,
            temperature_c,
            calcium,
            alkalinity,
            cya_ppm=_value(last, ReadingKind.CYANURIC_ACID) or 0,
            borate_ppm=_value(last, ReadingKind.BORATE) or 0,
            tds_ppm=_value(last, ReadingKind.TDS),
            salt_ppm=_value(last, ReadingKind.SALT),
        )
        found = tuple(saturation_index(water, variant) for variant in Variant)
    except InvalidValue:  # no carbonate left, or water no formula is made for
        return ()
    unused = ReadingKind.SALT if _value(last, ReadingKind.TDS) else None  # solids hold the salt
    used = [kind for kind in (*INDEX_NEEDS, *INDEX_HEEDS) if kind in last and kind is not unused]
    ages = [_age_words(last, kind, today) for kind in used if last[kind].on != today]
    if not ages:
        return found
    words = _("Read on other days: {ages}.").format(ages=", ".join(ages))
    if any(_is_old(last, kind, today) for kind in used):
        too_old = _("Not all of it was read lately enough to judge the water by: test again.")
        return tuple(replace(one, notes=(too_old, *one.notes[1:], words)) for one in found)
    return tuple(replace(one, notes=(*one.notes, words)) for one in found)


def _age_words(last: Mapping[ReadingKind, Last], kind: ReadingKind, today: date) -> str:
    days = (today - last[kind].on).days
    return counted("{title} {n} day ago", "{title} {n} days ago", days, title=_(LIMITS[kind].title))


def _finding(
    last: Mapping[ReadingKind, Last],
    kind: ReadingKind,
    target: Range,
    pool: Pool,
    today: date,
) -> Finding:
    value = last[kind].reading.value
    standing = target.standing(value)
    words, answers = _help(last, kind, target, standing, pool, today)
    old = _is_old(last, kind, today)
    if old:
        words, answers = _(TOO_OLD), ()
    elif _is_by_old_cya(last, kind, target, answers, today):
        words = f"{words} {_(OLD_CYA)}"
    return Finding(kind, value, last[kind].on, target, standing, words, answers, old)


def _is_old(last: Mapping[ReadingKind, Last], kind: ReadingKind, today: date) -> bool:
    return (today - last[kind].on).days > OLDEST_DAYS.get(kind, OTHERS_OLDEST_DAYS)


def _is_by_old_cya(
    last: Mapping[ReadingKind, Last],
    kind: ReadingKind,
    target: Range,
    answers: tuple[Answer, ...],
    today: date,
) -> bool:
    """Whether a range of chlorine or a step of pH hangs on cyanuric acid of too long ago."""
    cya = _value(last, ReadingKind.CYANURIC_ACID)
    if not cya or not _is_old(last, ReadingKind.CYANURIC_ACID, today):
        return False
    if kind is ReadingKind.PH:
        return bool(answers)
    least = target.least if target.ideal_low is None else target.ideal_low
    return kind is ReadingKind.FREE_CHLORINE and cya * CHLORINE_PER_CYA >= (least or 0)


def _help(
    last: Mapping[ReadingKind, Last],
    kind: ReadingKind,
    target: Range,
    standing: Standing,
    pool: Pool,
    today: date,
) -> tuple[str, tuple[Answer, ...]]:
    """What would help, in words and figures."""
    if standing is Standing.IDEAL:
        return _("Nothing to do."), ()
    value = last[kind].reading.value
    if kind is ReadingKind.PH:
        low, high = UNSAFE[kind]
        words, answers = _ph_help(last, value, target, pool, today)
        return words if low <= value <= high else f"{_(CLOSE_CAUTION)} {words}", answers
    if standing in (Standing.HIGH, Standing.ABOVE):
        return _high_help(kind, value, target, standing, pool)
    product = RAISED_BY.get(kind)
    if product is None:
        return _("Nothing is dosed for it."), ()
    words = (
        _(CLOSE_CAUTION) if _unsafe(kind, standing) else _("Raise it at this visit or the next.")
    )
    if pool.volume_l is None:
        return _("{words} Give the pool's volume to see a dose.").format(words=words), ()
    change = target.aim - value
    return words, (dose(product, pool.volume_l, change, customary=pool.customary),)


def _ph_help(
    last: Mapping[ReadingKind, Last], value: float, target: Range, pool: Pool, today: date
) -> tuple[str, tuple[Answer, ...]]:
    alkalinity = _value(last, ReadingKind.TOTAL_ALKALINITY)
    if pool.volume_l is None or alkalinity is None:
        return _("Give the pool's volume and its alkalinity to see an estimate."), ()
    if _is_old(last, ReadingKind.TOTAL_ALKALINITY, today):
        return _("The alkalinity is too old to estimate by: test it too."), ()
    try:
        buffers = Buffers(
            alkalinity,
            _value(last, ReadingKind.CYANURIC_ACID) or 0,
            _value(last, ReadingKind.BORATE) or 0,
        )
        step = ph_step(buffers, value, target.aim, pool.volume_l, customary=pool.customary)
    except InvalidValue as error:
        return str(error), ()
    return _("Half of the estimate first, circulate, test again."), (step,)


def _high_help(
    kind: ReadingKind, value: float, target: Range, standing: Standing, pool: Pool
) -> tuple[str, tuple[Answer, ...]]:
    if kind is ReadingKind.FREE_CHLORINE:
        return _("Add none; it falls by itself. {close_caution}").format(
            close_caution=_(CLOSE_CAUTION)
        ) if _unsafe(kind, standing) else _("Add none; it falls by itself."), ()
    if kind is ReadingKind.TOTAL_ALKALINITY:
        return _("It falls a little with each dose of acid for pH; never by one large dose."), ()
    if kind not in ONLY_BY_DILUTION or target.ideal_high is None:
        return _("Add none."), ()
    if standing is Standing.HIGH or pool.volume_l is None:
        return _("Add none; only fresh water brings it down."), ()
    share = water_to_replace(kind, value, target.ideal_high, pool.volume_l)
    return _("Only replacing water brings it down."), (share,)


def _combined(last: Mapping[ReadingKind, Last], today: date) -> Finding | None:
    """Combined chlorine, total less free of the same day; None where they were not both read."""
    free, total = last.get(ReadingKind.FREE_CHLORINE), last.get(ReadingKind.TOTAL_CHLORINE)
    if free is None or total is None or free.on != total.on:
        return None
    combined = round(total.reading.value - free.reading.value, 2)
    kind = ReadingKind.TOTAL_CHLORINE
    old = (today - total.on).days > OLDEST_DAYS[kind]
    if old:
        words = _(TOO_OLD)
        return Finding(kind, total.reading.value, total.on, None, None, words, (), old)
    if combined < 0:
        words = _(
            "Less total than free chlorine ({combined:.1f} ppm combined): test again."
        ).format(combined=combined)
        return Finding(kind, total.reading.value, total.on, None, None, words, (), old)
    if combined <= COMBINED_MOST_PPM:
        words = _("Combined chlorine {combined:.1f} ppm: nothing to do.").format(combined=combined)
        return Finding(kind, total.reading.value, total.on, None, None, words, (), old)
    words = _(
        "Combined chlorine {combined:.1f} ppm is above {combined_most_ppm} "
        "(ANSI/APSP/ICC-11, 2019, from memory): breakpoint is about {breakpoint:.0f} ppm of "
        "free chlorine (a dosage chart)."
    ).format(combined=combined, combined_most_ppm=COMBINED_MOST_PPM, breakpoint=10 * combined)
    return Finding(kind, total.reading.value, total.on, None, Standing.ABOVE, words, (), old)


def _value(last: Mapping[ReadingKind, Last], kind: ReadingKind) -> float | None:
    return last[kind].reading.value if kind in last else None


def _unsafe(kind: ReadingKind, standing: Standing) -> bool:
    """Whether bathers should stay out, by the range of this pool."""
    return kind is ReadingKind.FREE_CHLORINE and standing in (Standing.BELOW, Standing.ABOVE)
