"""The equipment of a site, read from the cells of its row.

What is there follows from what is filled in: a filter from `filter`, an anode from either of its
dates, a salt cell from the sanitizer 'salt'. The word 'unknown' in place of a date says that the
thing is there and its age is not known; the upkeep of such things is listed as undated.
"""

from __future__ import annotations

from datetime import date

from dispatch.intake.cells import Cells
from dispatch.intake.parse import parse_choice, parse_equipment_day, parse_number
from dispatch.sites import Anode, Equipment, Filter, Media, SaltCell, Sanitizer

CELL_DATES = ("cell_installed_on", "cell_inspected_on", "cell_cleaned_on")
ANODE_DATES = ("anode_installed_on", "anode_cleaned_on")
MEDIA_COLUMNS = ("media_changed_on", "media_mass_kg")


def read_equipment(cells: Cells, sanitizer: Sanitizer, today: date | None) -> Equipment:
    """Read filter, anode and salt cell; problems are noted in `cells`."""
    return Equipment(
        filter=_read_filter(cells, today),
        anode=_read_anode(cells, today),
        salt_cell=_read_salt_cell(cells, sanitizer, today),
    )


def _read_filter(cells: Cells, today: date | None) -> Filter | None:
    media = cells.read("filter", parse_choice(Media), None)
    changed_on = _done_on(cells, "media_changed_on", today)
    mass_kg = cells.read("media_mass_kg", parse_number, None)
    if media is None:
        for name in MEDIA_COLUMNS:
            if cells.text(name) and not cells.text("filter"):
                mend = (
                    "There is no filter to which this belongs: write sand, cartridge or de in the "
                )
                cells.complain(name, f"{mend}column filter, or leave this cell empty.")
        return None
    return cells.attempt("media_mass_kg", lambda: Filter(media, changed_on, mass_kg), None)


def _read_anode(cells: Cells, today: date | None) -> Anode | None:
    installed_on, cleaned_on = (_done_on(cells, name, today) for name in ANODE_DATES)
    there = any(cells.text(name) for name in ANODE_DATES)
    return Anode(installed_on, cleaned_on) if there else None


def _read_salt_cell(cells: Cells, sanitizer: Sanitizer, today: date | None) -> SaltCell | None:
    installed_on, inspected_on, cleaned_on = (_done_on(cells, name, today) for name in CELL_DATES)
    if sanitizer is Sanitizer.SALT:
        return SaltCell(installed_on, inspected_on, cleaned_on)
    for name in CELL_DATES:
        if cells.text(name):
            mend = f"A salt cell belongs to the sanitizer salt, but here it is {sanitizer}"
            cells.complain(name, f"{mend}: correct the column sanitizer, or leave this cell empty.")
    return None


def _done_on(cells: Cells, name: str, today: date | None) -> date | None:
    """The day of something done to equipment; None where it is empty or 'unknown'."""
    return cells.past_day(name, today, parse_equipment_day)
