"""The equipment of a site, read from the cells of its row.

What is there follows from what is filled in: a filter from `filter`, a salt cell from the
sanitizer 'salt', everything else from any cell of its own. The word 'unknown' in place of a date
says that the thing is there and its age is not known; the upkeep of such things is listed as
undated. Pressures are given in kPa or in psi, kept in kPa.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date
from typing import TypeVar

from dispatch.equipment import (
    Anode,
    CoverState,
    DrainCovers,
    Equipment,
    Filter,
    Fuel,
    Heater,
    Media,
    Pump,
    SaltCell,
    SeasonHours,
    Shell,
    Surface,
)
from dispatch.errors import InvalidValue
from dispatch.intake.cells import Cells
from dispatch.intake.parse import (
    UNKNOWN,
    parse_choice,
    parse_equipment_day,
    parse_hours,
    parse_number,
    parse_yes_no,
)
from dispatch.sites import Sanitizer
from dispatch.units import kpa
from dispatch.words import _

T = TypeVar("T")

FILTER_COLUMNS = (
    "media_changed_on", "media_mass_kg", "filter_cleaned_on", "filter_clean_kpa",
    "filter_clean_psi", "filter_clean_on", "filter_clean_rpm", "filter_rise_kpa",
    "filter_rise_psi",
)  # fmt: skip
CELL_COLUMNS = (
    "cell_installed_on", "cell_inspected_on", "cell_cleaned_on", "cell_rated_hours",
    "cell_hours_per_day", "cell_scaled", "cell_output_share", "cell_tested_on",
)  # fmt: skip
ANODE_COLUMNS = (
    "anode_installed_on", "anode_cleaned_on", "anode_remaining_share", "anode_judged_on",
)  # fmt: skip
PUMP_COLUMNS = ("pump", "pump_seal_changed_on", "pump_oring_changed_on")
HEATER_COLUMNS = ("heater", "heater_serviced_on")
COVER_COLUMNS = ("covers_expire_on", "covers_checked_on", "covers_state")


def read_equipment(cells: Cells, sanitizer: Sanitizer, today: date | None) -> Equipment:
    """Read all that stands at the site; problems are noted in `cells`."""
    return Equipment(
        filter=_read_filter(cells, today),
        anode=_read_anode(cells, today),
        salt_cell=_read_salt_cell(cells, sanitizer, today),
        pump=_read_pump(cells, today),
        heater=_read_heater(cells, today),
        covers=_read_covers(cells, today),
        shell=Shell(
            surface=cells.read("surface", parse_choice(Surface), None),
            surfaced_on=_done_on(cells, "surfaced_on", today),
            volume_measured=cells.read("volume_measured", parse_yes_no, False),
        ),
    )


def _read_filter(cells: Cells, today: date | None) -> Filter | None:
    media = cells.read("filter", parse_choice(Media), None)
    changed_on, cleaned_on, clean_on = (
        _done_on(cells, name, today)
        for name in ("media_changed_on", "filter_cleaned_on", "filter_clean_on")
    )
    mass_kg = cells.read("media_mass_kg", parse_number, None)
    clean_kpa, rise_kpa = _pressure(cells, "filter_clean"), _pressure(cells, "filter_rise")
    clean_rpm = cells.read("filter_clean_rpm", parse_number, None)
    if media is None:
        _complain_of_strays(cells, "filter", FILTER_COLUMNS)
        return None
    return _built(
        cells,
        ("media_mass_kg", lambda: Filter(media, media_mass_kg=mass_kg)),
        ("filter_clean_on", lambda: Filter(media, clean_kpa=clean_kpa, clean_on=clean_on)),
        ("filter_clean_rpm", lambda: Filter(media, clean_rpm=clean_rpm)),
        (
            "filter_rise_kpa",
            lambda: Filter(
                media, changed_on, mass_kg, cleaned_on, clean_kpa, clean_on, clean_rpm, rise_kpa
            ),
        ),
    )


def _pressure(cells: Cells, name: str) -> float | None:
    """A pressure in kPa, given in either unit."""
    in_kpa = cells.read(f"{name}_kpa", parse_number, None)
    in_psi = cells.read(f"{name}_psi", parse_number, None)
    if in_kpa is not None and in_psi is not None:
        cells.complain(
            f"{name}_psi",
            _("There is a value in {name}_kpa as well: give one of them.").format(name=name),
        )
    return round(kpa(in_psi), 1) if in_psi is not None else in_kpa


def _complain_of_strays(cells: Cells, owner: str, names: Sequence[str]) -> None:
    for name in names:
        if cells.text(name) and not cells.text(owner):
            mend = _(
                "There is no filter to which this belongs: write sand, cartridge or de in the "
                "column filter, or leave this cell empty."
            )
            cells.complain(name, mend)


def _read_anode(cells: Cells, today: date | None) -> Anode | None:
    installed_on, cleaned_on, judged_on = (
        _done_on(cells, name, today)
        for name in ("anode_installed_on", "anode_cleaned_on", "anode_judged_on")
    )
    share = cells.read("anode_remaining_share", parse_number, None)
    if not _any(cells, ANODE_COLUMNS):
        return None
    return _built(
        cells,
        ("anode_remaining_share", lambda: Anode(installed_on, cleaned_on, share, judged_on)),
    )


def _read_salt_cell(cells: Cells, sanitizer: Sanitizer, today: date | None) -> SaltCell | None:
    installed_on, inspected_on, cleaned_on, tested_on = (
        _done_on(cells, name, today)
        for name in ("cell_installed_on", "cell_inspected_on", "cell_cleaned_on", "cell_tested_on")
    )
    rated = cells.read("cell_rated_hours", parse_number, None)
    output = cells.read("cell_output_share", parse_number, None)
    hours = cells.read("cell_hours_per_day", _parse_season_hours, None)
    scaled = cells.read("cell_scaled", parse_yes_no, None)
    if sanitizer is not Sanitizer.SALT:
        for name in CELL_COLUMNS:
            if cells.text(name):
                mend = _(
                    "A salt cell belongs to the sanitizer salt, but here it is {sanitizer}: "
                    "correct the column sanitizer, or leave this cell empty."
                ).format(sanitizer=sanitizer)
                cells.complain(name, mend)
        return None
    return _built(
        cells,
        ("cell_rated_hours", lambda: SaltCell(rated_hours=rated)),
        (
            "cell_output_share",
            lambda: SaltCell(
                installed_on, inspected_on, cleaned_on, rated, hours, scaled, output, tested_on
            ),
        ),
    )


def _read_pump(cells: Cells, today: date | None) -> Pump | None:
    speeds = {"single": False, "variable": True, UNKNOWN: None}
    text = cells.text("pump").casefold()
    if text and text not in speeds:
        cells.complain(
            "pump",
            _("'{text}' is no kind of pump: write single, variable or {unknown}.").format(
                text=text, unknown=UNKNOWN
            ),
        )
    seal_on, oring_on = (
        _done_on(cells, name, today) for name in ("pump_seal_changed_on", "pump_oring_changed_on")
    )
    there = _any(cells, PUMP_COLUMNS)
    return Pump(speeds.get(text), seal_on, oring_on) if there else None


def _read_heater(cells: Cells, today: date | None) -> Heater | None:
    known = cells.text("heater").casefold() != UNKNOWN
    fuel = cells.read("heater", parse_choice(Fuel), None) if known else None
    serviced_on = _done_on(cells, "heater_serviced_on", today)
    return Heater(fuel, serviced_on) if _any(cells, HEATER_COLUMNS) else None


def _read_covers(cells: Cells, today: date | None) -> DrainCovers | None:
    expires_on = cells.read("covers_expire_on", parse_equipment_day, None)
    checked_on = _done_on(cells, "covers_checked_on", today)
    state = cells.read("covers_state", parse_choice(CoverState), None)
    if not _any(cells, COVER_COLUMNS):
        return None
    return _built(cells, ("covers_checked_on", lambda: DrainCovers(expires_on, checked_on, state)))


def _parse_season_hours(text: str) -> SeasonHours:
    quarters = parse_hours(text)
    return SeasonHours(*(quarters * 4 if len(quarters) == 1 else quarters))


def _built(cells: Cells, *makers: tuple[str, Callable[[], T]]) -> T | None:
    """What the last of the makers gives; a complaint goes to the column named beside it."""
    made: T | None = None
    for name, make in makers:
        try:
            made = make()
        except InvalidValue as error:
            cells.complain(name, str(error))
            return None
    return made


def _any(cells: Cells, names: Sequence[str]) -> bool:
    return any(cells.text(name) for name in names)


def _done_on(cells: Cells, name: str, today: date | None) -> date | None:
    """The day of something done to equipment; None where it is empty or 'unknown'."""
    return cells.past_day(name, today, parse_equipment_day)
