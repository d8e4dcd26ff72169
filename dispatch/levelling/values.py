"""What levelling works on and what comes out of it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from dispatch.clock import IsoWeek
from dispatch.errors import InvalidValue
from dispatch.words import _

MOST_WEEKS = 60  # weeks; beyond a year nobody knows what will be due


@dataclass(frozen=True, slots=True)
class Job:
    """One upkeep to be put into a week; `number` tells repeats of a kind at a site apart.

    `technician_ids` are those who may do it, the usual one alone where able; after sharing out one.
    What need not be done in the horizon may wait until its end, `waits_until`.
    """

    site_id: str
    kind: str
    number: int
    title: str
    earliest_on: date
    due_on: date
    latest_on: date
    minutes: int
    mass_kg: float
    crew: int
    months: frozenset[int]
    technician_ids: tuple[str, ...]
    is_urgent: bool = False
    waits_until: date | None = None

    @property
    def id(self) -> str:
        """Stable name, as 'S017/sand-change/1'."""
        return f"{self.site_id}/{self.kind}/{self.number}"


@dataclass(frozen=True, slots=True)
class Room:
    """A technician's week: hours of shift, what visits and driving take, and what is left.

    All in minutes. `days` are the days with a shift. `payload_kg` is what the truck may carry on
    each of them, `crew` how many people are aboard.
    """

    technician_id: str
    week: IsoWeek
    shift_min: int
    visit_min: int
    drive_min: int
    room_min: int
    days: tuple[date, ...]
    payload_kg: float
    crew: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Choice:
    """One way to do a job: in which week, on which day, by whom, at what price."""

    job: int
    room: int
    day: date
    price: float


@dataclass(frozen=True, slots=True)
class Slot:
    """A job in its week."""

    job: Job
    week: IsoWeek
    day: date
    technician_id: str


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A job without a week before its latest day, and why, in a whole sentence."""

    job: Job
    reason: str


@dataclass(frozen=True, slots=True)
class Levelling:
    """Upkeep spread over weeks.

    `cost` is the price of this spreading and `bound` what none can go below, in the same made-up
    minutes as the prices of `dispatch.levelling.prices`; their difference is what is not proven.
    """

    first_week: IsoWeek
    weeks: int
    slots: tuple[Slot, ...]
    left_out: tuple[LeftOut, ...]
    rooms: tuple[Room, ...]
    cost: float
    bound: float

    @property
    def gap(self) -> float:
        """How far the cost may at most lie above the best possible, as a share of the bound."""
        return max(0.0, (self.cost - self.bound) / max(self.bound, 1.0))


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a levelling is: technicians whose weeks are solved, of how many."""

    solved: int
    technicians: int


def weeks_from(first: IsoWeek, count: int) -> tuple[IsoWeek, ...]:
    """The weeks of a horizon.

    Raises
    ------
    InvalidValue
        When the horizon is empty or reaches further than anybody can see.
    """
    if not 1 <= count <= MOST_WEEKS:
        raise InvalidValue(
            _("A horizon of {count} weeks cannot be levelled: give 1 to {most_weeks}.").format(
                count=count, most_weeks=MOST_WEEKS
            )
        )
    weeks = [first]
    while len(weeks) < count:
        weeks.append(weeks[-1].next)
    return tuple(weeks)
