"""What a filter's pressure says at the gate: clean it now, or how far it still is from that.

The rule is that of `dispatch.upkeep_conditions`: the rise over the clean pressure at the same
pump speed. Here one reading is judged at once, before it has become a record.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from dispatch.equipment import Equipment, Media
from dispatch.equipment_done import CLEANINGS
from dispatch.readings import Reading, ReadingKind, reading_words
from dispatch.upkeep_conditions import SAME_SPEED
from dispatch.upkeep_kinds import UpkeepRule
from dispatch.words import N_, _

KIND_OF = {media: kind for kind, media in CLEANINGS.items()}
DEEDS = {
    Media.SAND: "Backwash",
    Media.CARTRIDGE: N_("Clean the cartridge"),
    Media.DE: N_("Backwash and recharge"),
}


@dataclass(frozen=True, slots=True)
class FilterFacts:
    """What is known of a filter: pressures kPa gauge, speed rpm; None where nobody knows.

    `rise_kpa` is the rise over the clean pressure that asks for `deed`, `kind` the upkeep that
    it is, `caution` what to mind at it.
    """

    kind: str
    deed: str
    rise_kpa: float
    caution: str
    clean_kpa: float | None = None
    clean_rpm: float | None = None
    variable_speed: bool = False


@dataclass(frozen=True, slots=True)
class PressureMeaning:
    """What a pressure says; `due` where the filter is to be cleaned now."""

    words: str
    due: bool = False
    caution: str = ""


def filter_facts(equipment: Equipment, rules: Sequence[UpkeepRule]) -> FilterFacts | None:
    """What is known of a site's filter, None where there is none or no rule asks for cleaning it.

    Parameters
    ----------
    equipment
        The register of the site.
    rules
        The company's kinds of upkeep.
    """
    media, pump = equipment.filter, equipment.pump
    if media is None:
        return None
    kind = KIND_OF[media.media]
    rule = next((one for one in rules if one.kind == kind and one.active), None)
    rise_kpa = media.rise_kpa or (rule.threshold if rule is not None else None)
    if rule is None or rise_kpa is None:
        return None
    return FilterFacts(
        kind=kind,
        deed=_(DEEDS[media.media]),
        rise_kpa=rise_kpa,
        caution=_(rule.caution),
        clean_kpa=media.clean_kpa,
        clean_rpm=media.clean_rpm,
        variable_speed=pump is not None and bool(pump.variable_speed),
    )


def pressure_meaning(
    facts: FilterFacts, pressure_kpa: float, speed_rpm: float | None, *, customary: bool
) -> PressureMeaning:
    """What a pressure says beside the clean one, as 'Backwash now: 29 psi against 18 psi clean.'.

    The phone says it by itself, without signal; a test compares it with this, word for word.

    Parameters
    ----------
    facts
        The filter.
    pressure_kpa
        Pressure read, kPa gauge.
    speed_rpm
        Speed of the pump as it was read, rpm; None where it was not.
    customary
        Whether to say psi; else kPa.
    """
    if facts.variable_speed and facts.clean_rpm is None:
        return PressureMeaning(
            _(
                "No clean pressure with its pump speed is known: read both right after the next "
                "cleaning."
            )
        )
    if facts.clean_kpa is None:
        return PressureMeaning(
            _("No clean pressure is known: read it again right after the next cleaning.")
        )
    if facts.clean_rpm is not None and not _is_same(speed_rpm, facts.clean_rpm):
        return PressureMeaning(
            _(
                "Only a pressure at {clean_rpm:.0f} rpm can be compared: read it there, and "
                "enter the speed."
            ).format(clean_rpm=facts.clean_rpm)
        )
    read, clean = _told(pressure_kpa, customary), _told(facts.clean_kpa, customary)
    due_kpa = facts.clean_kpa + facts.rise_kpa
    if pressure_kpa - facts.clean_kpa >= facts.rise_kpa:
        words = _("{deed} now: {read} against {clean} clean.").format(
            deed=facts.deed, read=read, clean=clean
        )
        return PressureMeaning(words, due=True, caution=facts.caution)
    return PressureMeaning(
        _("{read} against {clean} clean: nothing to do before {due}.").format(
            read=read, clean=clean, due=_told(due_kpa, customary)
        )
    )


def _is_same(speed_rpm: float | None, clean_rpm: float) -> bool:
    return speed_rpm is not None and abs(speed_rpm - clean_rpm) <= SAME_SPEED * clean_rpm


def _told(kpa: float, customary: bool) -> str:
    return reading_words(Reading(ReadingKind.FILTER_PRESSURE, kpa), customary=customary)
