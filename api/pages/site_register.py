"""The register of a site's equipment in plain words, one line for each thing that stands there."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from api.pages.units import Units
from dispatch.equipment import (
    Anode,
    CoverState,
    DrainCovers,
    Equipment,
    Filter,
    Heater,
    Pump,
    SaltCell,
    Shell,
)
from dispatch.units import psi
from dispatch.upkeep_causes import day_words


@dataclass(frozen=True, slots=True)
class Group:
    """One thing of the register with what is known of it; `warn` marks what closes the pool."""

    title: str
    facts: tuple[str, ...]
    warn: bool = False


def register_of(equipment: Equipment, units: Units, today: date) -> tuple[Group, ...]:
    """Everything the register holds; a thing of which nothing is known says so."""
    return tuple(
        Group(title, tuple(facts) or ("there, nothing else is known",), warn)
        for title, facts, warn in _groups(equipment, units, today)
    )


def _groups(
    equipment: Equipment, units: Units, today: date
) -> Iterator[tuple[str, list[str], bool]]:
    if surface := _shell(equipment.shell):
        yield "Surface", surface, False
    if equipment.filter is not None:
        yield "Filter", _filter(equipment.filter, units), False
    if equipment.salt_cell is not None:
        yield "Salt cell", _cell(equipment.salt_cell), False
    if equipment.anode is not None:
        yield "Anode", _anode(equipment.anode), False
    if equipment.pump is not None:
        yield "Pump", _pump(equipment.pump), False
    if equipment.heater is not None:
        yield "Heater", _heater(equipment.heater), False
    if equipment.covers is not None:
        covers = equipment.covers
        expired = covers.expires_on is not None and covers.expires_on < today
        unsound = covers.state not in (None, CoverState.SOUND)
        yield "Drain covers", _covers(covers, expired), expired or unsound


def _shell(shell: Shell) -> list[str]:
    return [str(shell.surface)] * (shell.surface is not None) + _on("new", shell.surfaced_on)


def _filter(found: Filter, units: Units) -> list[str]:
    facts = ["DE" if found.media == "de" else str(found.media)]
    if found.media_mass_kg is not None:
        facts.append(f"{units.mass(found.media_mass_kg)} of media")
    facts += _on("media changed", found.media_changed_on)
    facts += _on("cleaned", found.cleaned_on)
    if found.clean_kpa is not None and found.clean_on is not None:
        speed = f" at {found.clean_rpm:.0f} rpm" if found.clean_rpm is not None else ""
        clean = f"clean pressure {_pressure(found.clean_kpa, units)}{speed}"
        facts.append(f"{clean} on {day_words(found.clean_on)}")
    if found.rise_kpa is not None:
        facts.append(f"to be cleaned at +{_pressure(found.rise_kpa, units)}")
    return facts


def _cell(found: SaltCell) -> list[str]:
    facts = _on("installed", found.installed_on)
    if found.rated_hours is not None:
        facts.append(f"rated {found.rated_hours:,.0f} run-hours")
    if found.hours_per_day is not None:
        winter, spring, summer, autumn = found.hours_per_day.by_quarter
        facts.append(
            f"runs {winter:g} h a day December to February, {spring:g} h to May, {summer:g} h to "
            f"August, {autumn:g} h to November"
        )
    facts += _on("inspected", found.inspected_on)
    if found.scaled is not None:
        facts.append("scale seen" if found.scaled else "no scale seen")
    facts += _on("cleaned", found.cleaned_on)
    if found.output_share is not None and found.tested_on is not None:
        output = f"output {found.output_share:.0%} of its rating"
        facts.append(f"{output} on {day_words(found.tested_on)}")
    return facts


def _anode(found: Anode) -> list[str]:
    facts = _on("installed", found.installed_on) + _on("cleaned", found.cleaned_on)
    if found.remaining_share is not None and found.judged_on is not None:
        facts.append(
            f"{found.remaining_share:.0%} left, judged by eye on {day_words(found.judged_on)}"
        )
    return facts


def _pump(found: Pump) -> list[str]:
    speeds = {True: ["variable speed"], False: ["one speed"], None: []}[found.variable_speed]
    seal = _on("shaft seal changed", found.seal_changed_on)
    return [*speeds, *seal, *_on("basket o-ring changed", found.oring_changed_on)]


def _heater(found: Heater) -> list[str]:
    fuel = [str(found.fuel)] if found.fuel is not None else []
    return fuel + _on("serviced", found.serviced_on)


def _covers(found: DrainCovers, expired: bool) -> list[str]:
    state = [f"found {found.state}"] if found.state is not None else []
    if found.state not in (None, CoverState.SOUND) or expired:
        state.append("close the pool until they are replaced")
    word = "expired" if expired else "good until"
    return state + _on("checked", found.checked_on) + _on(word, found.expires_on)


def _on(what: str, day: date | None) -> list[str]:
    return [] if day is None else [f"{what} {day_words(day)}"]


def _pressure(kpa: float, units: Units) -> str:
    return f"{psi(kpa):.0f} psi" if units.customary else f"{kpa:.0f} kPa"
