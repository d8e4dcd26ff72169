"""A table of sites, read into values."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from datetime import date
from statistics import median

from dispatch.contacts import NoticeWish, parse_email
from dispatch.intake.cells import Cells, Ids, read_place
from dispatch.intake.equipment_cells import read_equipment
from dispatch.intake.kept_cells import Known, with_known
from dispatch.intake.parse import (
    parse_choice,
    parse_id,
    parse_number,
    parse_wishes,
)
from dispatch.intake.service_plan_cells import ReadingRules, read_service_plan
from dispatch.intake.site_columns import SITE_COLUMNS
from dispatch.intake.table import RowProblem, read_table, rejected
from dispatch.places import Place, straight_line_m
from dispatch.sites import (
    Sanitizer,
    Site,
)
from dispatch.words import _

__all__ = ["SITE_COLUMNS", "read_sites"]

LITRES_PER_US_GALLON = 3.785411784  # exact, 231 cubic inches (NIST Handbook 44, appendix C)
FAR_AWAY_M = 500_000  # metres; no company serves pools this far from the middle of its book


def read_sites(
    text: str,
    find_place: Callable[[str], Place],
    *,
    known_technicians: Collection[str] | None = None,
    today: date | None = None,
    known: Known | None = None,
) -> list[Site]:
    """Read a table of sites, all of it or nothing.

    Parameters
    ----------
    text
        CSV with the columns of SITE_COLUMNS.
    find_place
        Finds the place of an address; raises AddressNotFound. Called for rows without
        coordinates only; any other error of it ends the reading.
    known_technicians
        Ids that a usual technician must be among; None leaves that unchecked.
    today
        No visit, change or cleaning may have been done after it, and no anchor may lie more than
        a year after it; None leaves that unchecked.
    known
        Cells of the sites there are, by id: what a column that the table lacks leaves as it is.

    Returns
    -------
    list of Site
        In the order of the table.

    Raises
    ------
    ImportRejected
        With every problem of every row in `problems`.
    """
    rules = ReadingRules(today, known_technicians)
    table = read_table(text, SITE_COLUMNS, known or {})
    problems = list(table.problems)
    read: list[tuple[Cells, Site]] = []
    ids = Ids(known or {})
    for row in with_known(table, known or {}):
        cells = Cells(row)
        site = _read_site(cells, find_place, rules)
        ids.check(cells)
        problems.extend(cells.problems)
        if site is not None:
            read.append((cells, site))
    problems.extend(_swapped_places(read))
    if problems:
        raise rejected(problems)
    return [site for _, site in read]


def _read_site(
    cells: Cells, find_place: Callable[[str], Place], rules: ReadingRules
) -> Site | None:
    cells.require(SITE_COLUMNS)
    site_id = cells.read("id", parse_id, "")
    place = read_place(cells, "", "address", find_place)
    plan = read_service_plan(cells, rules)
    sanitizer = cells.read("sanitizer", parse_choice(Sanitizer), Sanitizer.CHLORINE)
    equipment = read_equipment(cells, sanitizer, rules.today)
    volume_l = _read_volume_l(cells)
    dog = cells.note("dog")
    email = cells.read("email", parse_email, "")
    notices = _read_notices(cells)
    if cells.problems or place is None or plan is None:
        return None
    return cells.attempt(
        "pool_volume_gal" if cells.text("pool_volume_gal") else "pool_volume_l",
        lambda: Site(
            id=site_id,
            name=cells.text("name"),
            address=cells.text("address"),
            place=place,
            plan=plan,
            gate_note=cells.note("gate_note"),
            gate_code=cells.text("gate_code"),
            dog_note="dog" if dog.casefold() == "yes" else dog,
            pad_note=cells.note("pad_note"),
            pool_volume_l=volume_l,
            sanitizer=sanitizer,
            equipment=equipment,
            email=email,
            notices=notices,
        ),
        None,
    )


def _read_notices(cells: Cells) -> frozenset[NoticeWish]:
    wishes = cells.read("notices", parse_wishes, frozenset[NoticeWish]())
    if wishes and not cells.text("email"):
        cells.complain("notices", _("There is no e-mail address to write to: give one in email."))
    return wishes


def _read_volume_l(cells: Cells) -> float | None:
    gallons = cells.read("pool_volume_gal", parse_number, None)
    litres = cells.read("pool_volume_l", parse_number, None)
    if gallons is None:
        return litres
    if cells.text("pool_volume_l"):
        cells.complain(
            "pool_volume_l", _("The volume is given in gallons too: keep one of the two.")
        )
    return gallons * LITRES_PER_US_GALLON


def _swapped_places(read: Sequence[tuple[Cells, Site]]) -> list[RowProblem]:
    """Places far off the others that lie among them once latitude and longitude are swapped."""
    if len(read) < 3:  # the middle of two places says nothing about either
        return []
    middle = Place(
        median(site.place.lat for _, site in read), median(site.place.lon for _, site in read)
    )
    problems: list[RowProblem] = []
    for cells, site in read:
        place = site.place
        if abs(place.lon) > 90 or straight_line_m(place, middle) < FAR_AWAY_M:
            continue
        if straight_line_m(Place(place.lon, place.lat), middle) < FAR_AWAY_M:
            mend = _(
                "Latitude {lat} and longitude {lon} look swapped: the other way round the "
                "site lies among the others."
            ).format(lat=place.lat, lon=place.lon)
            problems.append(RowProblem(cells.line, "lat", cells.text("lat"), mend))
    return problems
