"""A site's equipment in the columns that the import of sites reads."""

from __future__ import annotations

from datetime import date

from dispatch.equipment import Anode, DrainCovers, Equipment, Filter, Heater, Pump, SaltCell
from dispatch.intake.parse import UNKNOWN

EquipmentCell = str | float | date | None


def equipment_cells(equipment: Equipment) -> dict[str, EquipmentCell]:
    """Cells of all that stands at a site, pressures in kPa; a column without a fact is left out."""
    cells: dict[str, EquipmentCell] = {}
    if equipment.filter is not None:
        cells |= _filter_cells(equipment.filter)
    if equipment.anode is not None:
        cells |= _anode_cells(equipment.anode)
    if equipment.salt_cell is not None:
        cells |= _salt_cells(equipment.salt_cell)
    if equipment.pump is not None:
        cells |= _pump_cells(equipment.pump)
    if equipment.heater is not None:
        cells |= _heater_cells(equipment.heater)
    if equipment.covers is not None:
        cells |= _cover_cells(equipment.covers)
    shell = equipment.shell
    cells["surface"] = shell.surface and str(shell.surface)
    cells["surfaced_on"] = shell.surfaced_on
    cells["volume_measured"] = "yes" if shell.volume_measured else None
    return cells


def _filter_cells(media: Filter) -> dict[str, EquipmentCell]:
    return {
        "filter": str(media.media),
        "media_changed_on": media.media_changed_on or UNKNOWN,
        "media_mass_kg": media.media_mass_kg,
        "filter_cleaned_on": media.cleaned_on,
        "filter_clean_kpa": media.clean_kpa,
        "filter_clean_on": media.clean_on,
        "filter_clean_rpm": media.clean_rpm,
        "filter_rise_kpa": media.rise_kpa,
    }


def _anode_cells(anode: Anode) -> dict[str, EquipmentCell]:
    return {
        "anode_installed_on": anode.installed_on or UNKNOWN,
        "anode_cleaned_on": anode.cleaned_on,
        "anode_remaining_share": anode.remaining_share,
        "anode_judged_on": anode.judged_on,
    }


def _salt_cells(cell: SaltCell) -> dict[str, EquipmentCell]:
    hours = cell.hours_per_day
    return {
        "cell_installed_on": cell.installed_on or UNKNOWN,
        "cell_inspected_on": cell.inspected_on,
        "cell_cleaned_on": cell.cleaned_on,
        "cell_rated_hours": cell.rated_hours,
        "cell_hours_per_day": None
        if hours is None
        else ";".join(f"{figure:g}" for figure in hours.by_quarter),
        "cell_scaled": _yes_no(cell.scaled),
        "cell_output_share": cell.output_share,
        "cell_tested_on": cell.tested_on,
    }


def _pump_cells(pump: Pump) -> dict[str, EquipmentCell]:
    speeds = {True: "variable", False: "single", None: UNKNOWN}
    return {
        "pump": speeds[pump.variable_speed],
        "pump_seal_changed_on": pump.seal_changed_on,
        "pump_oring_changed_on": pump.oring_changed_on,
    }


def _heater_cells(heater: Heater) -> dict[str, EquipmentCell]:
    fuel = UNKNOWN if heater.fuel is None else str(heater.fuel)
    return {"heater": fuel, "heater_serviced_on": heater.serviced_on}


def _cover_cells(covers: DrainCovers) -> dict[str, EquipmentCell]:
    return {
        "covers_expire_on": covers.expires_on or UNKNOWN,
        "covers_checked_on": covers.checked_on,
        "covers_state": covers.state and str(covers.state),
    }


def _yes_no(fact: bool | None) -> str | None:
    return None if fact is None else "yes" if fact else "no"
