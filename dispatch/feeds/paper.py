"""A technician's day on paper, for a day without a phone: PDF in A4 or US letter."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path

from fpdf import FPDF
from fpdf.enums import XPos, YPos

from dispatch.actions.day_sheet import SheetStop
from dispatch.actions.paper_day import PaperDay
from dispatch.clock import weekday_name
from dispatch.day.moments import clock_time
from dispatch.planning.plan import Route
from dispatch.units import GALLON_L, POUND_KG
from dispatch.upkeep import UpkeepDue
from dispatch.words import _, gettext, worded

MARGIN_MM = 15.0
BODY_PT, SMALL_PT, HEAD_PT, TITLE_PT = 10.0, 8.5, 12.0, 17.0
LINE_MM = 4.8  # of body text, about 1.35 times its size
STOP_MM = 46.0  # least room in which a stop is begun on a page
INDENT_MM = 11.0  # beside the number of a stop
FAMILY = "Sheet"
TIMES, TO = "\N{MULTIPLICATION SIGN}", "\N{EN DASH}"


@dataclass(frozen=True, slots=True)
class Typeface:
    """TrueType files of the letters; they hold Latin, Greek, Cyrillic and more."""

    regular: Path
    bold: Path


@dataclass(frozen=True, slots=True)
class PaperWish:
    """How a sheet is wanted: `paper` letter or a4, US customary units, gate codes or none."""

    paper: str
    customary: bool
    gate_codes: bool = False


class _Sheet(FPDF):
    """Pages with a foot: what they are, and how many."""

    foot = ""

    def footer(self) -> None:
        """Write the foot of a page."""
        self.set_y(-MARGIN_MM + 3)
        self.set_font(FAMILY, size=SMALL_PT)
        self.cell(
            0,
            4,
            _("{foot}   {page_no} of {{nb}}").format(foot=self.foot, page_no=self.page_no()),
            align="C",
        )


def day_sheet_pdf(found: PaperDay, typeface: Typeface, wish: PaperWish) -> bytes:
    """The day sheet as PDF: load, stops in order with times, gates, work and cautions.

    Gate codes are printed only where `wish` says so; the foot of each page then warns of them.
    Letters that the typeface lacks come out as boxes.
    """
    page = _open(found, typeface, wish)
    sheet = found.sheet
    _title(page, found)
    if sheet.route is None:
        _line(page, sheet.why_empty)
    else:
        _load(page, found, wish)
        for row in sheet.stops:
            _pause(page, found, row.number - 1)
            _stop(page, sheet.day, row, wish)
        _pause(page, found, len(sheet.stops))
        end = clock_time(sheet.day, sheet.route.end_s)
        _line(page, _("{end}  Back").format(end=end), bold=True)
    _cautions(page, found.cautions)
    return bytes(page.output())


def _open(found: PaperDay, typeface: Typeface, wish: PaperWish) -> _Sheet:
    sheet = found.sheet
    page = _Sheet(format=wish.paper, unit="mm")
    page.add_font(FAMILY, fname=typeface.regular)
    page.add_font(FAMILY, style="B", fname=typeface.bold)
    page.set_margins(MARGIN_MM, MARGIN_MM)
    page.set_auto_page_break(auto=True, margin=MARGIN_MM + 3)
    page.set_title(f"{sheet.technician.name}, {sheet.day}")
    page.set_creation_date(datetime.combine(sheet.day, datetime.min.time(), UTC))
    page.foot = f"{sheet.technician.name}, {sheet.day}"
    if wish.gate_codes:
        page.foot += "   " + _("Holds gate codes: do not leave it lying, shred it.")
    page.add_page()
    return page


def _title(page: _Sheet, found: PaperDay) -> None:
    sheet, route = found.sheet, found.sheet.route
    page.set_font(FAMILY, "B", TITLE_PT)
    _text(page, f"{weekday_name(sheet.day)} {sheet.day}", 8)
    standing = _("as published") if found.version else _("planned, not published yet")
    words = [sheet.technician.name, standing]
    if route is not None:
        leave, back = (clock_time(sheet.day, at) for at in (route.start_s, route.end_s))
        words += [
            _("leave {leave}, back {back}").format(leave=leave, back=back),
            _("{number} stops").format(number=len(sheet.stops)),
        ]
    _line(page, " · ".join(words))
    page.ln(2)


def _load(page: _Sheet, found: PaperDay, wish: PaperWish) -> None:
    load = found.load
    if load is None or not (load.parts or load.products):
        return
    _head(page, _("Load this morning, {mass}").format(mass=_mass(load.mass_kg, wish)))
    for part in load.parts:
        _line(
            page, f"□ {part.quantity:g} {TIMES} {gettext(part.name)}, {_mass(part.mass_kg, wish)}"
        )
    for line in load.products:
        packages = f"{line.packages} {TIMES} {line.package}"
        gross = _mass(line.gross_kg, wish)
        _line(
            page,
            _("□ {title}: {amount}, {packages}, {gross} gross ({tub})").format(
                title=line.title, amount=line.amount, packages=packages, gross=gross, tub=line.tub
            ),
        )
    for one in load.violations:
        _line(page, _("Too much. {reason}").format(reason=one.reason), bold=True)
    for words in load.cautions:
        _line(page, _("Caution. {words}").format(words=gettext(words)), small=True)
    page.ln(2)


def _stop(page: _Sheet, day: date, row: SheetStop, wish: PaperWish) -> None:
    if page.get_y() + STOP_MM > page.h - MARGIN_MM:
        page.add_page()
    page.set_draw_color(150)
    page.line(MARGIN_MM, page.get_y(), page.w - MARGIN_MM, page.get_y())
    page.ln(1.5)
    site, stop = row.site, row.stop
    page.set_font(FAMILY, "B", HEAD_PT)
    page.cell(INDENT_MM, 6, str(row.number))
    times = f"{clock_time(day, stop.start_s)}{TO}{clock_time(day, stop.leave_s)}"
    page.cell(max(28, page.get_string_width(times) + 3), 6, times)
    _text(page, site.name, 6)
    page.set_left_margin(MARGIN_MM + INDENT_MM)
    drive = _("drive {drive} min").format(drive=round(stop.drive_s / 60))
    place = f"{site.place.lat:.6f}, {site.place.lon:.6f}"
    _line(page, " · ".join(one for one in (site.address, place, drive) if one))
    for words in (row.hold_words, row.crew_words):
        if words:
            _line(page, words, bold=True)
    if wish.gate_codes and site.gate_code:
        _line(page, _("Gate code {gate_code}").format(gate_code=site.gate_code), bold=True)
    if site.gate_note:
        _line(page, _("Gate: {gate_note}").format(gate_note=site.gate_note))
    if site.dog_note:
        _line(page, _("Dog: {dog_note}").format(dog_note=site.dog_note), bold=True)
    if site.pad_note:
        _line(page, _("Equipment pad: {pad_note}").format(pad_note=site.pad_note))
    _work(page, row, wish)
    _line(page, _("pH ______   chlorine ______   alkalinity ______   pressure ______"))
    _line(page, _("Notes") + " " + "_" * 60)
    page.ln(1.5)
    page.set_left_margin(MARGIN_MM)
    page.set_x(MARGIN_MM)


def _work(page: _Sheet, row: SheetStop, wish: PaperWish) -> None:
    pool = [_volume(row.site.pool_volume_l, wish), worded(row.site.sanitizer)]
    title = f"{row.work.title} ({worded(row.work.kind)})" if row.work is not None else _("Service")
    _line(page, f"□ {title}: {', '.join(one for one in pool if one)}")
    if row.work is not None and row.work.note:
        _line(page, row.work.note)
    for one in row.upkeep:
        _upkeep(page, one)


def _upkeep(page: _Sheet, one: UpkeepDue) -> None:
    parts = ", ".join(f"{part.quantity:g} {TIMES} {gettext(part.name)}" for part in one.parts)
    _line(
        page,
        _("□ {title}, {minutes} min{parts}").format(
            title=gettext(one.title), minutes=one.minutes, parts=": " + parts if parts else ""
        ),
    )
    if one.caution:
        _line(page, _("Caution. {words}").format(words=gettext(one.caution)), small=True)


def _pause(page: _Sheet, found: PaperDay, after: int) -> None:
    route = found.sheet.route
    if route is None:
        return
    for one in route.pauses(after):
        _line(page, _supply_words(route) if one == "supply" else _meal_words(route), bold=True)


def _supply_words(route: Route) -> str:
    at = clock_time(route.day, route.supply_start_s or 0)
    return _("{supply_start}  Supply stop").format(supply_start=at)


def _meal_words(route: Route) -> str:
    at, minutes = clock_time(route.day, route.break_start_s or 0), round(route.break_s / 60)
    return _("{break_start}  Break, {minutes} min").format(break_start=at, minutes=minutes)


def _cautions(page: _Sheet, cautions: Iterable[str]) -> None:
    page.ln(2)
    _head(page, _("Usual cautions"))
    for words in cautions:
        _line(page, words, small=True)


def _head(page: _Sheet, words: str) -> None:
    page.set_font(FAMILY, "B", HEAD_PT)
    _text(page, words, 6.5)


def _line(page: _Sheet, words: str, *, bold: bool = False, small: bool = False) -> None:
    page.set_font(FAMILY, "B" if bold else "", SMALL_PT if small else BODY_PT)
    _text(page, words, LINE_MM - 0.8 if small else LINE_MM)


def _text(page: _Sheet, words: str, height_mm: float) -> None:
    page.multi_cell(0, height_mm, words, align="L", new_x=XPos.LMARGIN, new_y=YPos.NEXT)


def _mass(mass_kg: float, wish: PaperWish) -> str:
    return (
        _("{mass:,.0f} lb").format(mass=mass_kg / POUND_KG)
        if wish.customary
        else _("{mass:,.0f} kg").format(mass=mass_kg)
    )


def _volume(volume_l: float | None, wish: PaperWish) -> str:
    if volume_l is None:
        return ""
    value = volume_l / GALLON_L if wish.customary else volume_l
    return f"{round(value, -2):,.0f} {'gal' if wish.customary else 'l'}"
