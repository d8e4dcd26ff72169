"""Everything that the book and a week hold, as files for other programs.

CSV and XLSX hold the same lists; GeoJSON (RFC 7946) the sites and the routes along their streets.
Gate codes are in none of them.
"""

from __future__ import annotations

import io
import json
import zipfile
from collections.abc import Mapping
from datetime import date
from typing import Any

from sqlmodel import Session

from dispatch.actions import book, one_off_work, read_plan, week_lists
from dispatch.actions.lists import (
    Cell,
    ListTable,
    as_csv,
    hold_list,
    one_off_list,
    site_list,
    technician_list,
)
from dispatch.actions.record_files import record_list
from dispatch.actions.records import records_between
from dispatch.actions.route_lines import route_lines
from dispatch.clock import IsoWeek
from dispatch.settings import Settings
from dispatch.sites import Site
from dispatch.texts import readable

ZIP_TIME = (1980, 1, 1, 0, 0, 0)  # the earliest a zip can hold: the same data give the same bytes
WIDEST = 60  # characters of a column in a workbook


def all_lists(session: Session, settings: Settings, week: IsoWeek | None) -> dict[str, ListTable]:
    """Every list by its name: the book, and of `week` its plan.

    Raises
    ------
    NotFound
        When the week has no plan.
    """
    tables = {
        "sites": site_list(book.sites(session)),
        "technicians": technician_list(book.technicians(session)),
        "holds": hold_list(book.holds(session)),
        "one-offs": one_off_list(one_off_work.one_offs(session)),
    }
    if week is None:
        return tables
    plan = read_plan.week_plan(session, week)
    return tables | {
        f"stops-{week}": week_lists.stop_list(plan),
        f"unplaced-{week}": week_lists.unplaced_list(plan),
        f"put-off-{week}": week_lists.put_off_list(plan),
        f"changes-{week}": week_lists.change_list(plan),
        f"workloads-{week}": week_lists.workload_list(read_plan.workloads(session, settings, week)),
    }


def sites_geojson(session: Session) -> dict[str, Any]:
    """The sites as a FeatureCollection of points, longitude first (RFC 7946, section 3.1.1)."""
    return {"type": "FeatureCollection", "features": [_feature(one) for one in book.sites(session)]}


def as_xlsx(tables: Mapping[str, ListTable]) -> bytes:
    """The lists as a workbook, one sheet each, headings in bold and in sight.

    A text is written as text, so that no spreadsheet takes it for a formula.
    """
    from openpyxl import Workbook
    from openpyxl.cell import WriteOnlyCell
    from openpyxl.styles import Font

    made = Workbook(write_only=True)
    bold = Font(bold=True)
    for name, table in tables.items():
        sheet = made.create_sheet(name[:31])  # the most that a sheet's name may have
        sheet.freeze_panes = "A2"
        for n, heading in enumerate(table.columns):
            longest = max((len(str(row[n] or "")) for row in table.rows[:500]), default=0)
            letter = _letters(n)
            sheet.column_dimensions[letter].width = min(WIDEST, max(len(heading), longest) + 2)
        heads = [WriteOnlyCell(sheet, heading) for heading in table.columns]
        for head in heads:
            head.font = bold
        sheet.append(heads)
        for row in table.rows:
            sheet.append([_cell(sheet, value) for value in row])
    out = io.BytesIO()
    made.save(out)
    return out.getvalue()


def everything_zip(
    session: Session,
    settings: Settings,
    week: IsoWeek | None,
    papers: Mapping[str, bytes] | None = None,
) -> bytes:
    """All there is in one zip file.

    Lists as CSV and as one workbook, sites as GeoJSON, and of `week` its routes as GeoJSON.
    `papers` are further files by name, such as tracks, calendars and printed day sheets.

    Raises
    ------
    NotFound
        When the week has no plan.
    NoMap
        When routes are to be drawn and there is no street map.
    """
    tables = all_lists(session, settings, week)
    files = {f"{name}.csv": as_csv(table).encode() for name, table in tables.items()}
    files["records.csv"] = as_csv(
        record_list(records_between(session, settings), settings.zone)
    ).encode()
    files["everything.xlsx"] = as_xlsx(tables)
    files["sites.geojson"] = _json(sites_geojson(session))
    if week is not None:
        files[f"routes-{week}.geojson"] = _json(route_lines(session, settings, week))
    files |= papers or {}
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
        for name, content in files.items():
            packed.writestr(zipfile.ZipInfo(name, ZIP_TIME), content, zipfile.ZIP_DEFLATED)
    return out.getvalue()


def _feature(site: Site) -> dict[str, Any]:
    plan = site.plan
    return {
        "type": "Feature",
        "id": site.id,
        "geometry": {"type": "Point", "coordinates": [site.place.lon, site.place.lat]},
        "properties": {
            "name": site.name,
            "address": site.address,
            "rhythm": str(plan.rhythm),
            "service_min": plan.service_min,
            "usual_technician": plan.usual_technician_id,
            "usual_weekdays": sorted(plan.usual_weekdays),
        },
    }


def _cell(sheet: Any, value: Cell) -> Any:
    from openpyxl.cell import WriteOnlyCell

    if isinstance(value, str):
        cell = WriteOnlyCell(sheet, readable(value))
        cell.data_type = "s"  # a text, whatever it begins with
        return cell
    if isinstance(value, float) and float(f"{value:.16g}") != value:
        cell = WriteOnlyCell(sheet, repr(value))  # openpyxl drops the last of 17 digits
        cell.data_type = "n"
        return cell
    if isinstance(value, date):
        return value.isoformat()  # as in CSV, and as the import reads it
    return value


def _letters(number: int) -> str:
    letters = ""
    number += 1
    while number:
        number, rest = divmod(number - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters


def _json(content: dict[str, Any]) -> bytes:
    return json.dumps(content, ensure_ascii=False).encode()
