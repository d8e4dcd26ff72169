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
from dispatch.words import _, worded


@dataclass(frozen=True, slots=True)
class Group:
    """One thing of the register with what is known of it; `warn` marks what closes the pool."""

    title: str
    facts: tuple[str, ...]
    warn: bool = False


def register_of(equipment: Equipment, units: Units, today: date) -> tuple[Group, ...]:
    """Everything the register holds; a thing of which nothing is known says so."""
    return tuple(
        Group(title, tuple(facts) or (_("there, nothing else is known"),), warn)
        for title, facts, warn in _groups(equipment, units, today)
    )


def _groups(
    equipment: Equipment, units: Units, today: date
) -> Iterator[tuple[str, list[str], bool]]:
    if surface := _shell(equipment.shell):
        yield _("Surface"), surface, False
    if equipment.filter is not None:
        yield _("Filter"), _filter(equipment.filter, units), False
    if equipment.salt_cell is not None:
        yield _("Salt cell"), _cell(equipment.salt_cell), False
    if equipment.anode is not None:
        yield _("Anode"), _anode(equipment.anode), False
    if equipment.pump is not None:
        yield _("Pump"), _pump(equipment.pump), False
    if equipment.heater is not None:
        yield _("Heater"), _heater(equipment.heater), False
    if equipment.covers is not None:
        covers = equipment.covers
        expired = covers.expires_on is not None and covers.expires_on < today
        unsound = covers.state not in (None, CoverState.SOUND)
        yield _("Drain covers"), _covers(covers, expired), expired or unsound


def _shell(shell: Shell) -> list[str]:
    return ([] if shell.surface is None else [worded(shell.surface)]) + _on(
        _("new"), shell.surfaced_on
    )


def _filter(found: Filter, units: Units) -> list[str]:
    facts = ["DE" if found.media == "de" else worded(found.media)]
    if found.media_mass_kg is not None:
        facts.append(_("{mass} of media").format(mass=units.mass(found.media_mass_kg)))
    facts += _on(_("media changed"), found.media_changed_on)
    facts += _on(_("cleaned"), found.cleaned_on)
    if found.clean_kpa is not None and found.clean_on is not None:
        said = (
            _("clean pressure {pressure} on {day}")
            if found.clean_rpm is None
            else _("clean pressure {pressure} at {speed:.0f} rpm on {day}")
        )
        pressure, day = _pressure(found.clean_kpa, units), day_words(found.clean_on)
        facts.append(said.format(pressure=pressure, speed=found.clean_rpm, day=day))
    if found.rise_kpa is not None:
        facts.append(
            _("to be cleaned at +{rise_kpa}").format(rise_kpa=_pressure(found.rise_kpa, units))
        )
    return facts


def _cell(found: SaltCell) -> list[str]:
    facts = _on(_("installed"), found.installed_on)
    if found.rated_hours is not None:
        facts.append(_("rated {rated_hours:,.0f} run-hours").format(rated_hours=found.rated_hours))
    if found.hours_per_day is not None:
        winter, spring, summer, autumn = found.hours_per_day.by_quarter
        facts.append(
            _(
                "runs {winter:g} h a day December to February, {spring:g} h to May, {summer:g} "
                "h to August, {autumn:g} h to November"
            ).format(winter=winter, spring=spring, summer=summer, autumn=autumn)
        )
    facts += _on(_("inspected"), found.inspected_on)
    if found.scaled is not None:
        facts.append(_("scale seen") if found.scaled else _("no scale seen"))
    facts += _on(_("cleaned"), found.cleaned_on)
    if found.output_share is not None and found.tested_on is not None:
        said = _("output {share:.0%} of its rating on {day}")
        facts.append(said.format(share=found.output_share, day=day_words(found.tested_on)))
    return facts


def _anode(found: Anode) -> list[str]:
    facts = _on(_("installed"), found.installed_on) + _on(_("cleaned"), found.cleaned_on)
    if found.remaining_share is not None and found.judged_on is not None:
        facts.append(
            _("{remaining_share:.0%} left, judged by eye on {day}").format(
                remaining_share=found.remaining_share, day=day_words(found.judged_on)
            )
        )
    return facts


def _pump(found: Pump) -> list[str]:
    speeds = {True: [_("variable speed")], False: [_("one speed")], None: []}[found.variable_speed]
    seal = _on(_("shaft seal changed"), found.seal_changed_on)
    return [*speeds, *seal, *_on(_("basket o-ring changed"), found.oring_changed_on)]


def _heater(found: Heater) -> list[str]:
    fuel = [worded(found.fuel)] if found.fuel is not None else []
    return fuel + _on(_("serviced"), found.serviced_on)


def _covers(found: DrainCovers, expired: bool) -> list[str]:
    state = (
        [_("found {state}").format(state=worded(found.state))] if found.state is not None else []
    )
    if found.state not in (None, CoverState.SOUND) or expired:
        state.append(_("close the pool until they are replaced"))
    word = _("expired") if expired else _("good until")
    return state + _on(_("checked"), found.checked_on) + _on(word, found.expires_on)


def _on(what: str, day: date | None) -> list[str]:
    return [] if day is None else [_("{what} {day}").format(what=what, day=day_words(day))]


def _pressure(kpa: float, units: Units) -> str:
    return _("{psi:.0f} psi").format(psi=psi(kpa)) if units.customary else f"{kpa:.0f} kPa"
