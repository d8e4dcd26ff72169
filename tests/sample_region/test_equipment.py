"""Equipment and the upkeep that falls due."""

from __future__ import annotations

from collections import Counter
from datetime import date, timedelta
from random import Random

from sample_region.equipment import COMING, MONTH_DAYS, UNKNOWN, WINDOWS, equipment_of
from tests.sample_region.conftest import AS_OF

DATES = (
    "media_changed_on anode_installed_on anode_cleaned_on "
    "cell_installed_on cell_inspected_on cell_cleaned_on"
)
SUNDAY = date(2026, 12, 6)  # of the week after AS_OF


def months_until(sunday: date, cell: str) -> float:
    """Age in months on that Sunday; -1 where the day is not known."""
    if cell in ("", UNKNOWN):
        return -1.0
    return (sunday - date.fromisoformat(cell)).days / MONTH_DAYS


def test_only_the_upkeep_laid_out_has_its_window_open_in_the_coming_week() -> None:
    """The demo shows a week with a handful of media changes, not a backlog of years."""
    made = equipment_of([15_000] * 190, AS_OF, Random(1))
    opened: Counter[str] = Counter()
    for cells in made:
        opened[cells.filter] += (
            months_until(SUNDAY, cells.media_changed_on) >= (WINDOWS[cells.filter][0])
        )
        opened["anode"] += months_until(SUNDAY, cells.anode_installed_on) >= WINDOWS["anode"][0]
        opened["anode film"] += (
            months_until(SUNDAY, cells.anode_cleaned_on) >= WINDOWS["anode film"][0]
        )
        looked_on = max(cells.cell_inspected_on, cells.cell_cleaned_on)
        opened["cell look"] += months_until(SUNDAY, looked_on) >= WINDOWS["cell look"][0]
        opened["cell scale"] += (
            months_until(SUNDAY, cells.cell_cleaned_on) >= WINDOWS["cell scale"][0]
        )
    for kind, shares in COMING.items():
        assert opened[kind] == len(shares), kind


def test_nothing_was_done_after_the_day_of_the_data() -> None:
    """Import refuses a day on which something was done that lies in the future."""
    for day in range(7):
        as_of = AS_OF + timedelta(days=day)
        for cells in equipment_of([15_000] * 190, as_of, Random(day)):
            for name in DATES.split():
                cell = getattr(cells, name)
                assert cell in ("", UNKNOWN) or date.fromisoformat(cell) <= as_of


def test_only_salt_pools_have_cells_and_a_few_dates_are_unknown() -> None:
    """A cell without salt is refused on import; unknown dates must be seen by the demo."""
    made = equipment_of([15_000] * 190, AS_OF, Random(3))
    for cells in made:
        assert bool(cells.cell_installed_on) == (cells.sanitizer == "salt")
    unknown = [name for cells in made for name in DATES.split() if getattr(cells, name) == UNKNOWN]
    assert Counter(unknown) == {
        "media_changed_on": 2,
        "anode_installed_on": 1,
        "cell_installed_on": 1,
    }


def test_what_else_stands_there_falls_due_after_the_coming_week() -> None:
    """Seals, o-rings, heaters and covers are dated so late that the demo's week stays small."""
    for cells in equipment_of([15_000] * 190, AS_OF, Random(1)):
        assert months_until(SUNDAY, cells.pump_seal_changed_on) < 42
        assert months_until(SUNDAY, cells.pump_oring_changed_on) < 18
        assert months_until(SUNDAY, cells.heater_serviced_on) < 9
        assert months_until(SUNDAY, cells.covers_checked_on) < 9
        assert (date.fromisoformat(cells.covers_expire_on) - SUNDAY).days > 90
        assert cells.filter_cleaned_on >= (
            "" if cells.media_changed_on == UNKNOWN else cells.media_changed_on
        )
        assert bool(cells.cell_hours_per_day) == (cells.sanitizer == "salt")
