"""Equipment as columns of a site's row and back; equal after the round trip."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

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


def equipment_columns(equipment: Equipment) -> dict[str, Any]:
    """Columns of the equipment, as in `SiteFields` and `EquipmentFields`."""
    pump, heater, covers = equipment.pump, equipment.heater, equipment.covers
    shell = equipment.shell
    return {
        **_filter_columns(equipment.filter),
        **_anode_columns(equipment.anode),
        **_cell_columns(equipment.salt_cell),
        "has_pump": pump is not None,
        "pump_variable_speed": pump and pump.variable_speed,
        "pump_seal_changed_on": pump and pump.seal_changed_on,
        "pump_oring_changed_on": pump and pump.oring_changed_on,
        "has_heater": heater is not None,
        "heater_fuel": heater and heater.fuel and str(heater.fuel),
        "heater_serviced_on": heater and heater.serviced_on,
        "has_covers": covers is not None,
        "covers_expire_on": covers and covers.expires_on,
        "covers_checked_on": covers and covers.checked_on,
        "covers_state": covers and covers.state and str(covers.state),
        "surface": shell.surface and str(shell.surface),
        "surfaced_on": shell.surfaced_on,
        "volume_measured": shell.volume_measured,
    }


def equipment_of(row: Mapping[str, Any]) -> Equipment:
    """The equipment of the columns."""
    return Equipment(
        filter=_filter_of(row) if row["filter_media"] is not None else None,
        anode=_anode_of(row) if row["has_anode"] else None,
        salt_cell=_cell_of(row) if row["has_salt_cell"] else None,
        pump=_pump_of(row) if row["has_pump"] else None,
        heater=_heater_of(row) if row["has_heater"] else None,
        covers=_covers_of(row) if row["has_covers"] else None,
        shell=Shell(
            surface=row["surface"] and Surface(row["surface"]),
            surfaced_on=row["surfaced_on"],
            volume_measured=bool(row["volume_measured"]),
        ),
    )


def _filter_columns(media: Filter | None) -> dict[str, Any]:
    return {
        "filter_media": media and str(media.media),
        "media_changed_on": media and media.media_changed_on,
        "media_mass_kg": media and media.media_mass_kg,
        "filter_cleaned_on": media and media.cleaned_on,
        "filter_clean_kpa": media and media.clean_kpa,
        "filter_clean_on": media and media.clean_on,
        "filter_clean_rpm": media and media.clean_rpm,
        "filter_rise_kpa": media and media.rise_kpa,
    }


def _anode_columns(anode: Anode | None) -> dict[str, Any]:
    return {
        "has_anode": anode is not None,
        "anode_installed_on": anode and anode.installed_on,
        "anode_cleaned_on": anode and anode.cleaned_on,
        "anode_remaining_share": anode and anode.remaining_share,
        "anode_judged_on": anode and anode.judged_on,
    }


def _cell_columns(cell: SaltCell | None) -> dict[str, Any]:
    hours = cell and cell.hours_per_day
    return {
        "has_salt_cell": cell is not None,
        "cell_installed_on": cell and cell.installed_on,
        "cell_inspected_on": cell and cell.inspected_on,
        "cell_cleaned_on": cell and cell.cleaned_on,
        "cell_rated_hours": cell and cell.rated_hours,
        "cell_hours_per_day": hours and list(hours.by_quarter),
        "cell_scaled": cell and cell.scaled,
        "cell_output_share": cell and cell.output_share,
        "cell_tested_on": cell and cell.tested_on,
    }


def _filter_of(row: Mapping[str, Any]) -> Filter:
    return Filter(
        media=Media(row["filter_media"]),
        media_changed_on=row["media_changed_on"],
        media_mass_kg=row["media_mass_kg"],
        cleaned_on=row["filter_cleaned_on"],
        clean_kpa=row["filter_clean_kpa"],
        clean_on=row["filter_clean_on"],
        clean_rpm=row["filter_clean_rpm"],
        rise_kpa=row["filter_rise_kpa"],
    )


def _anode_of(row: Mapping[str, Any]) -> Anode:
    return Anode(
        installed_on=row["anode_installed_on"],
        cleaned_on=row["anode_cleaned_on"],
        remaining_share=row["anode_remaining_share"],
        judged_on=row["anode_judged_on"],
    )


def _cell_of(row: Mapping[str, Any]) -> SaltCell:
    hours = row["cell_hours_per_day"]
    return SaltCell(
        installed_on=row["cell_installed_on"],
        inspected_on=row["cell_inspected_on"],
        cleaned_on=row["cell_cleaned_on"],
        rated_hours=row["cell_rated_hours"],
        hours_per_day=hours and SeasonHours(*hours),
        scaled=row["cell_scaled"],
        output_share=row["cell_output_share"],
        tested_on=row["cell_tested_on"],
    )


def _pump_of(row: Mapping[str, Any]) -> Pump:
    return Pump(
        row["pump_variable_speed"], row["pump_seal_changed_on"], row["pump_oring_changed_on"]
    )


def _heater_of(row: Mapping[str, Any]) -> Heater:
    return Heater(row["heater_fuel"] and Fuel(row["heater_fuel"]), row["heater_serviced_on"])


def _covers_of(row: Mapping[str, Any]) -> DrainCovers:
    state = row["covers_state"] and CoverState(row["covers_state"])
    return DrainCovers(row["covers_expire_on"], row["covers_checked_on"], state)
