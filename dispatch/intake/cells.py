"""The cells of one row, read into values; whatever is wrong is noted and reading goes on."""

from __future__ import annotations

from collections.abc import Callable, Collection
from datetime import date, timedelta
from typing import TypeVar

from dispatch.clock import parse_day
from dispatch.errors import AddressNotFound, InvalidValue
from dispatch.intake.parse import parse_number
from dispatch.intake.table import Column, Row, RowProblem, nearest
from dispatch.places import Place
from dispatch.words import _

T = TypeVar("T")

EARLIEST_DAY = date(1950, 1, 1)  # no equipment in use is older; earlier is a slip of the pen
FARTHEST_AHEAD = timedelta(days=366)

NOTHING = ("no", "none", "n/a", "-", "0")  # what people write for an empty note


class Cells:
    """The cells of one row; `problems` grows while they are read.

    A cell that cannot be read gives the default in its place, so that the other cells of the row
    are looked at too. Nothing may be built from a row that has problems.
    """

    def __init__(self, row: Row) -> None:
        self.line = row.line
        self.problems: list[RowProblem] = []
        self._cells = row.cells

    def text(self, name: str) -> str:
        """The cell as it stands; empty where there is nothing."""
        return self._cells[name]

    def note(self, name: str) -> str:
        """A free text; 'no', 'none' and the like are empty."""
        text = self._cells[name]
        return "" if text.casefold() in NOTHING else text

    def read(self, name: str, parse: Callable[[str], T], default: T) -> T:
        """The cell read by `parse`; `default` where it is empty or wrong."""
        text = self._cells[name]
        return default if not text else self.attempt(name, lambda: parse(text), default)

    def attempt(self, name: str, make: Callable[[], T], otherwise: T) -> T:
        """What `make` gives; `otherwise` where it complains, and the complaint is noted."""
        try:
            return make()
        except (InvalidValue, AddressNotFound) as error:
            self.complain(name, str(error))
            return otherwise

    def complain(self, name: str, mend: str) -> None:
        """Note a problem of one cell."""
        self.problems.append(RowProblem(self.line, name, self._cells[name], mend))

    def require(self, columns: tuple[Column, ...]) -> None:
        """Note each required cell that is empty."""
        for column in columns:
            if column.required and not self._cells[column.name]:
                self.complain(
                    column.name,
                    _("The cell is empty: give {meaning}.").format(meaning=column.words),
                )

    def failed(self, name: str) -> bool:
        """Whether a problem of this column has been noted."""
        return any(problem.column == name for problem in self.problems)

    def past_day(
        self, name: str, today: date | None, parse: Callable[[str], date | None] = parse_day
    ) -> date | None:
        """A day on which something was done; one after `today` is a problem (None: unchecked)."""
        day = self._believable_day(name, parse)
        if day is not None and today is not None and day > today:
            self.complain(
                name,
                _("{day} lies after today, {today}: give the day it was done.").format(
                    day=day, today=today
                ),
            )
        return day

    def coming_day(self, name: str, today: date | None) -> date | None:
        """A scheduled day; one more than a year after `today` is a problem (None: unchecked)."""
        day = self._believable_day(name, parse_day)
        if day is not None and today is not None and day > today + FARTHEST_AHEAD:
            self.complain(
                name,
                _("{day} lies more than a year after today, {today}: check the year.").format(
                    day=day, today=today
                ),
            )
        return day

    def _believable_day(self, name: str, parse: Callable[[str], date | None]) -> date | None:
        day = self.read(name, parse, None)
        if day is not None and day < EARLIEST_DAY:
            self.complain(
                name,
                _("{day} is not believable: give a day from {earliest_day} on.").format(
                    day=day, earliest_day=EARLIEST_DAY
                ),
            )
        return day


def read_place(
    cells: Cells, prefix: str, address: str, find_place: Callable[[str], Place]
) -> Place | None:
    """The place that a row means, by coordinates or else by its address.

    Parameters
    ----------
    cells
        The row.
    prefix
        What stands before 'lat' and 'lon' in the names of the columns.
    address
        The name of the address column.
    find_place
        Finds the place of an address; raises AddressNotFound.

    Returns
    -------
    Place or None
        None where a problem was noted.
    """
    lat_name, lon_name = f"{prefix}lat", f"{prefix}lon"
    has_lat, has_lon = bool(cells.text(lat_name)), bool(cells.text(lon_name))
    if has_lat != has_lon:
        lacking, other = (lon_name, lat_name) if has_lat else (lat_name, lon_name)
        cells.complain(
            lacking,
            _("There is a value in {other} but none here: give both or neither.").format(
                other=other
            ),
        )
        return None
    if has_lat:
        lat = cells.read(lat_name, parse_number, None)
        lon = cells.read(lon_name, parse_number, None)
        if lat is None or lon is None:
            return None
        return cells.attempt(lat_name, lambda: _globe_place(lat, lon), None)
    if not cells.text(address):
        cells.complain(
            address,
            _("There is neither an address nor {lat_name} and {lon_name}: give one.").format(
                lat_name=lat_name, lon_name=lon_name
            ),
        )
        return None
    return cells.read(address, find_place, None)


def _globe_place(lat: float, lon: float) -> Place:
    if lat == 0 and lon == 0:
        raise InvalidValue(
            _(
                "0, 0 is a place in the sea off Africa that stands for a missing one: give the "
                "place, or leave both cells empty and give an address."
            )
        )
    return Place(lat, lon)


class Ids:
    """The ids of a table: each may stand there once, and be written in one way.

    Upper and lower case are easily mixed up, and then one customer would be two. What is in the
    book may go on as it is there; `known` are its ids.
    """

    def __init__(self, known: Collection[str] = ()) -> None:
        self._known = frozenset(known)
        self._written = {one.casefold(): one for one in known}
        self._lines: dict[str, int] = {}

    def check(self, cells: Cells) -> None:
        """Note an id that an earlier line has, or that is written otherwise elsewhere."""
        row_id = cells.text("id")
        first = self._lines.setdefault(row_id, cells.line)
        written = self._written.setdefault(row_id.casefold(), row_id)
        if row_id and first != cells.line:
            cells.complain(
                "id",
                _("The id '{row}' stands on line {first} already: give each its own.").format(
                    row=row_id, first=first
                ),
            )
        elif written != row_id and row_id not in self._known:
            cells.complain(
                "id",
                _(
                    "The id '{row}' is '{written}' in other letters: write it in one way, or "
                    "choose another id."
                ).format(row=row_id, written=written),
            )


def check_known(cells: Cells, name: str, noun: str, known: Collection[str] | None) -> None:
    """Note an id that the book does not hold, with the nearest that it does (None: unchecked)."""
    wanted = cells.text(name)
    if wanted and known is not None and wanted not in known:
        cells.complain(
            name,
            _(
                "There is no {noun} '{wanted}' in the book: correct the id, or import the "
                "{noun} first.{nearest}"
            ).format(noun=noun, wanted=wanted, nearest=nearest(wanted, known)),
        )
