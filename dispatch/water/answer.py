"""What every figure about water comes with: its inputs, its method, cautions, and one decimal."""

from __future__ import annotations

from dataclasses import dataclass

from dispatch.words import N_, _, written

GENERAL_CAUTION = N_(
    "A general figure: the product label, the safety data sheet, the equipment maker, "
    "local codes and a licensed professional come first. Test before dosing, add less than "
    "computed, circulate, test again."
)
ACID_CAUTION = N_(
    "Acid into water, never water into acid. Goggles and gloves on, nobody in the pool, "
    "wind at your back. Never near chlorine: together they give off poisonous gas."
)
CHLORINE_CAUTION = N_(
    "Never mix chlorine with acid or two kinds of chlorine with each other, not even by a "
    "shared scoop. Goggles and gloves on, nobody in the pool; add it to water, not water "
    "to it."
)
LIFTING_CAUTION = N_("Lift heavy bags with two or in parts.")
DRAIN_CAUTION = N_(
    "An emptied pool can float, crack or lose its liner: never drain below what its "
    "builder allows, and let the water go only where local rules allow it."
)
ONE_AT_A_TIME_CAUTION = N_(
    "More than one thing is asked for. Add one product at a time, never two together and never "
    "mixed: pump running, let it circulate, test again, then see whether the next is still "
    "needed; calcium and bicarbonate hours apart. Order and waiting times are those of the labels."
)
CLOSE_CAUTION = N_("Keep people out of the water until it tests right.")


@dataclass(frozen=True, slots=True)
class Input:
    """One figure that went in; `assumed` where nobody measured it."""

    name: str
    value: float
    unit: str = ""
    assumed: bool = False

    @property
    def words(self) -> str:
        """As 'pH 7.4', 'Calcium hardness 250 ppm' or 'Dissolved solids 1,000 ppm (assumed)'."""
        figure = written(f"{self.value:,.2f}".rstrip("0").rstrip("."))
        words = f"{self.name} {figure} {self.unit}".rstrip()
        return _("{words} (assumed)").format(words=words) if self.assumed else words


@dataclass(frozen=True, slots=True)
class Answer:
    """A figure as it may be shown.

    `value` is exact for further arithmetic; `text` is what people read. `method` names the way
    it was computed, because two ways give two figures. `source` says where the method or the
    range comes from.
    """

    title: str
    value: float
    unit: str
    inputs: tuple[Input, ...]
    method: str
    source: str
    cautions: tuple[str, ...] = (GENERAL_CAUTION,)
    notes: tuple[str, ...] = ()
    signed: bool = False

    @property
    def text(self) -> str:
        """The value with one decimal and its unit, as '+0.2' or '25.6 fl oz'."""
        figure = f"{self.value:+,.1f}" if self.signed else f"{self.value:,.1f}"
        if figure in ("-0.0", "+0.0"):
            figure = "0.0"
        return written(f"{figure} {self.unit}" if self.unit else figure)
