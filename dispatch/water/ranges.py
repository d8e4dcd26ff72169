"""Ranges of pool water, each with the text it stands in; a company edits its own targets.

All printed codes are written for public pools; for a private pool they are guidance, and local
code, the product's label and the maker of the equipment come before them. Where a value was not
read in its source but is known from memory, `from_memory` says so and the page shows it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from dispatch.errors import InvalidValue
from dispatch.readings import LIMITS, ReadingKind
from dispatch.words import N_, _

UNSAFE: Mapping[ReadingKind, tuple[float, float]] = {  # below, above; from memory: CDC code 1.0 and
    # 10 ppm chlorine, pH 7.0 and 7.8, which common practice widens for a private pool before
    # somebody is sent again
    ReadingKind.FREE_CHLORINE: (1.0, 10.0),  # ppm
    ReadingKind.PH: (6.8, 8.2),
}


class Standing(StrEnum):
    """Where a reading lies in its range."""

    BELOW = N_("below the least")
    LOW = N_("a little low")
    IDEAL = "ideal"
    HIGH = N_("a little high")
    ABOVE = N_("above the most")


@dataclass(frozen=True, slots=True)
class Range:
    """Least, ideal and most of one reading, in its unit; None where the text gives no figure.

    Raises
    ------
    InvalidValue
        When the figures do not rise, none is given, or there is no source.
    """

    kind: ReadingKind
    least: float | None
    ideal_low: float | None
    ideal_high: float | None
    most: float | None
    source: str
    edition: str
    from_memory: bool = False
    note: str = ""

    def __post_init__(self) -> None:
        given = [
            one
            for one in (self.least, self.ideal_low, self.ideal_high, self.most)
            if one is not None
        ]
        if not given or given != sorted(given):
            raise InvalidValue(
                _(
                    "The range of {title} does not rise: give least, ideal low, ideal high and "
                    "most in this order."
                ).format(title=_(LIMITS[self.kind].title).lower())
            )
        low, high = LIMITS[self.kind].possible
        if given[0] < low or given[-1] > high:
            raise InvalidValue(
                _(
                    "The range of {title} leaves what is possible, {low:g} to {high:g} {unit}: "
                    "correct it."
                ).format(
                    title=_(LIMITS[self.kind].title).lower(),
                    low=low,
                    high=high,
                    unit=LIMITS[self.kind].unit,
                )
            )
        if not self.source:
            raise InvalidValue(_("A range needs the text it stands in, or who set it."))

    @property
    def told(self) -> str:
        """The source as it is shown, with edition and a word where it is from memory."""
        edition = f", {_(self.edition)}" if self.edition else ""
        said = _("{source}{edition} (from memory)") if self.from_memory else "{source}{edition}"
        return said.format(source=_(self.source), edition=edition)

    def standing(self, value: float) -> Standing:
        """Where `value` lies."""
        if self.least is not None and value < self.least:
            return Standing.BELOW
        if self.most is not None and value > self.most:
            return Standing.ABOVE
        if self.ideal_low is not None and value < self.ideal_low:
            return Standing.LOW
        if self.ideal_high is not None and value > self.ideal_high:
            return Standing.HIGH
        return Standing.IDEAL

    @property
    def aim(self) -> float:
        """The middle of the ideal, else the nearest figure there is."""
        if self.ideal_low is not None and self.ideal_high is not None:
            return (self.ideal_low + self.ideal_high) / 2
        for one in (self.ideal_low, self.least, self.ideal_high, self.most):
            if one is not None:
                return one
        raise InvalidValue(_("A range without a figure has no aim."))


INDUSTRY = ("ANSI/APSP/ICC-11", "2019")
INDUSTRY_P34 = ("ANSI/APSP/ICC-11, p. 34", "2019")
CDC = (N_("CDC Model Aquatic Health Code, public pools"), "2023")
WHO = (N_("WHO Guidelines for safe recreational water, vol. 2"), "2006")
OLDER = (N_("older trade-institute table in a pool manual"), N_("no edition given"))
PRACTICE = (N_("common practice"), "")

K = ReadingKind
PUBLISHED: tuple[Range, ...] = (
    Range(K.FREE_CHLORINE, 1, 2, 4, 4, *INDUSTRY, from_memory=True),
    Range(
        K.FREE_CHLORINE, 1, None, None, 10, *CDC, from_memory=True, note=N_("2 with cyanuric acid")
    ),
    Range(K.FREE_CHLORINE, 1, None, None, 3, *WHO, from_memory=True, note=N_("hot tubs to 5")),
    Range(K.FREE_CHLORINE, 1, 1, 3, 3, *OLDER),
    Range(K.PH, 7.2, 7.4, 7.6, 7.8, *INDUSTRY, from_memory=True),
    Range(K.PH, 7.0, None, None, 7.8, *CDC, from_memory=True),
    Range(K.PH, 7.2, None, None, 7.8, *WHO, from_memory=True, note=N_("with chlorine")),
    Range(K.PH, 7.2, 7.4, 7.6, 7.8, *OLDER),
    Range(K.TOTAL_ALKALINITY, 60, None, None, 180, *INDUSTRY_P34),
    Range(K.TOTAL_ALKALINITY, 60, 80, 120, 180, *INDUSTRY, from_memory=True),
    Range(K.TOTAL_ALKALINITY, 60, None, None, 180, *CDC, from_memory=True),
    Range(K.TOTAL_ALKALINITY, 60, 80, 100, 180, *OLDER),
    Range(K.CALCIUM_HARDNESS, 150, 200, 400, 1000, *INDUSTRY_P34, note=N_("spas 100-800")),
    Range(K.CALCIUM_HARDNESS, None, None, None, 2500, *CDC, from_memory=True),
    Range(K.CALCIUM_HARDNESS, 150, 200, 400, 1000, *OLDER, note=N_("upper end 500 to 1000")),
    Range(K.CYANURIC_ACID, None, 30, 50, 100, *INDUSTRY, from_memory=True),
    Range(K.CYANURIC_ACID, None, None, None, 90, *CDC, from_memory=True),
    Range(K.CYANURIC_ACID, None, None, None, 100, *WHO, from_memory=True),
    Range(K.CYANURIC_ACID, 10, 30, 50, 150, *OLDER),
    Range(K.TDS, 300, 1000, 2000, 3000, *OLDER, note=N_("salt pools exceed this by design")),
    Range(K.SALT, 2700, 2800, 3200, 3500, *PRACTICE, note=N_("the generator's maker comes first")),
    Range(K.WATER_TEMPERATURE, None, None, None, 40, *INDUSTRY, from_memory=True, note=N_("spas")),
    Range(K.WATER_TEMPERATURE, None, 26, 30, None, *WHO, from_memory=True),
)

DEFAULT_TARGETS: Mapping[ReadingKind, Range] = {
    one.kind: one
    for one in (
        Range(K.FREE_CHLORINE, 1, 2, 4, 4, *INDUSTRY, from_memory=True),
        Range(K.PH, 7.2, 7.4, 7.6, 7.8, *INDUSTRY, from_memory=True),
        Range(K.TOTAL_ALKALINITY, 60, 80, 120, 180, *INDUSTRY, from_memory=True),
        Range(K.CALCIUM_HARDNESS, 150, 200, 400, 1000, *INDUSTRY_P34),
        Range(K.CYANURIC_ACID, None, 30, 50, 100, *INDUSTRY, from_memory=True),
        Range(
            K.SALT, 2700, 2800, 3200, 3500, *PRACTICE, note=N_("the generator's maker comes first")
        ),
    )
}

CHLORINE_PER_CYA = 1 / 20  # ppm of free chlorine needed for each ppm of cyanuric acid: ad-hoc
# committee proposal reported on a page of the trade (40 ppm: 2.0; 90 ppm: 4.5)


def chlorine_target(target: Range, cya_ppm: float | None) -> Range:
    """The range of free chlorine for water with cyanuric acid, which needs more of it.

    The ideal begins at a twentieth of the cyanuric acid, and its end and the most rise with it, so
    that 4 ppm in water with 80 ppm of cyanuric acid is what it needs and not too much. The least
    stays what the text says: the proposal is about algae, not about closing a pool.
    """
    need = (cya_ppm or 0) * CHLORINE_PER_CYA
    if need <= (target.ideal_low if target.ideal_low is not None else target.least or 0):
        return target
    lift = need - (target.ideal_low if target.ideal_low is not None else need)
    return Range(
        target.kind,
        target.least,
        max(target.ideal_low or 0, need),
        (target.ideal_high or need) + lift,
        max(target.most or 0, (target.ideal_high or need) + lift),
        target.source,
        target.edition,
        target.from_memory,
        note=_(
            "raised to a twentieth of {cya_ppm:.0f} ppm cyanuric acid (committee proposal, a "
            "page of the trade)"
        ).format(cya_ppm=cya_ppm),
    )
