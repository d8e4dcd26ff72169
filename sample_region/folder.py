"""Writes the whole sample region into a folder."""

from __future__ import annotations

import csv
from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path

from sample_region.agreements import one_off_rows
from sample_region.company import hold_rows, site_rows, technician_rows
from sample_region.osm_file import write_streets
from sample_region.records import records, write_records
from sample_region.terrain import TownSize
from sample_region.town import draw_town

SITE_COLUMNS = (
    "id name address lat lon rhythm service_min allowed_weekdays windows usual_technician "
    "usual_weekday lock skills gate_note gate_code dog pool_volume_gal sanitizer filter "
    "media_changed_on media_mass_kg anode_installed_on anode_cleaned_on cell_installed_on "
    "cell_inspected_on cell_cleaned_on filter_cleaned_on "
    "anode_remaining_share anode_judged_on cell_rated_hours cell_hours_per_day "
    "pump pump_seal_changed_on pump_oring_changed_on heater heater_serviced_on covers_expire_on "
    "covers_checked_on surface surfaced_on volume_measured last_visit_on anchor_on seasons "
    "priority unwanted_technicians chemicals_kg monthly_price"
)


def write(folder: Path, as_of: date, size: TownSize | None = None) -> None:
    """Write `streets.osm.pbf`, the tables of the company, and `records.jsonl` of past visits.

    Parameters
    ----------
    folder
        Where to write; made if it is not there, and files of these names are replaced.
    as_of
        The day the data is of: last visits lie before it, upkeep falls due in the week after it.
    size
        How large a town; the same size and day give the same bytes.
    """
    size = size or TownSize()
    folder.mkdir(parents=True, exist_ok=True)
    town = draw_town(size)
    write_streets(town, folder / "streets.osm.pbf")
    sites = site_rows(town, as_of, size.seed)
    _write_table(folder / "sites.csv", SITE_COLUMNS.split(), sites)
    technicians = technician_rows(town, sites, as_of)
    _write_table(folder / "technicians.csv", list(technicians[0]), technicians)
    holds = hold_rows(sites, as_of)
    _write_table(folder / "holds.csv", list(holds[0]), holds)
    works = one_off_rows(sites, holds, as_of)
    _write_table(folder / "one_offs.csv", list(works[0]), works)
    write_records(folder / "records.jsonl", records(sites, as_of, size.seed))


def _write_table(file: Path, columns: Sequence[str], rows: Sequence[Mapping[str, str]]) -> None:
    with file.open("w", encoding="utf-8", newline="") as out:
        writer = csv.DictWriter(out, columns, lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)
