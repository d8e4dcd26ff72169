"""Service plans: what has been agreed with a customer about the visits to a site."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from dispatch.clock import WEEKDAYS, IsoWeek
from dispatch.errors import InvalidValue
from dispatch.rhythms import Rhythm, Season, check_seasons
from dispatch.windows import ALL_DAY, TimeWindow, check_windows
from dispatch.words import _

LONGEST_SERVICE_MIN = 12 * 60  # minutes; anything longer is a slip of the pen
MOST_CREW = 6  # persons; more than any truck carries (common practice)
MOST_CHEMICALS_KG = 400.0  # kg; twice what a truck may carry of regulated chemicals at once
MOST_MONTHLY_PRICE = 1_000_000.0  # in any currency; above it a separator was lost
MONDAY_TO_FRIDAY = frozenset(range(5))
THURSDAY = 3


class Priority(StrEnum):
    """What goes first where not everything fits."""

    HIGH = "high"
    NORMAL = "normal"
    CAN_WAIT = "can-wait"  # a salt pool that feeds itself, say


class VisitKind(StrEnum):
    """What a visit is for."""

    REGULAR = "regular"
    FIRST = "first"  # the first of a service
    GREEN_POOL = "green-pool"  # one of a burst that brings a green pool back
    FOLLOW_UP = "follow-up"  # looks again after something was left unfinished or unsafe
    ONE_OFF = "one-off"  # any other job outside the rhythm


@dataclass(frozen=True, slots=True)
class ServicePlan:
    """What has been agreed with a customer.

    Weekdays are numbered 0 (Monday) to 6. `anchor_on` is a day on which a visit was scheduled;
    visits every second or fourth week are counted from it, never from calendar-week parity.
    A lock on technician or weekday is what planning may not change; without the lock the usual
    one is preferred at a price. `unwanted_technician_ids` never come.

    `windows` are the times of any day in which service may begin. `crew` is how many persons a
    visit needs at once. `seasons` change rhythm and minutes for a part of every year.
    `started_on` is the first day of the service: nothing is due before it, and the first visit
    after it takes `first_service_min` (None: as long as any). `chemicals_kg` is what a visit
    takes from the truck in regulated chemicals, gross. `monthly_price` is what the customer pays a
    month for the visits, in the company's currency; None where it is not known.

    Raises
    ------
    InvalidValue
        On minutes, persons or masses that are not believable, no allowed weekday, a usual
        weekday that is not allowed, a lock without the thing it locks, a usual technician who is
        not wanted, fewer weekdays than visits, or windows or seasons that overlap.
    """

    rhythm: Rhythm
    service_min: int
    allowed_weekdays: frozenset[int] = MONDAY_TO_FRIDAY
    windows: tuple[TimeWindow, ...] = ALL_DAY
    usual_technician_id: str | None = None
    usual_weekdays: frozenset[int] = frozenset()
    technician_locked: bool = False
    weekday_locked: bool = False
    skills: frozenset[str] = frozenset()
    last_visit_on: date | None = None
    anchor_on: date | None = None
    unwanted_technician_ids: frozenset[str] = frozenset()
    crew: int = 1
    priority: Priority = Priority.NORMAL
    seasons: tuple[Season, ...] = ()
    first_service_min: int | None = None
    started_on: date | None = None
    chemicals_kg: float = 0.0
    monthly_price: float | None = None

    def __post_init__(self) -> None:
        check_minutes(self.service_min)
        if self.first_service_min is not None:
            check_minutes(self.first_service_min)
        check_windows(self.windows)
        check_crew(self.crew)
        check_chemicals_kg(self.chemicals_kg)
        if self.monthly_price is not None:
            check_monthly_price(self.monthly_price)
        check_seasons(self.seasons)
        for season in self.seasons:
            if season.service_min is not None:
                check_minutes(season.service_min)
        self._check_weekdays()
        self._check_technicians()

    def season_on(self, day: date) -> Season | None:
        """The season that holds `day`, None when the plan itself does."""
        return next((season for season in self.seasons if season.covers(day)), None)

    def is_served_on(self, day: date) -> bool:
        """Whether `day` lies in the service, and in no season without visits."""
        season = self.season_on(day)
        closed = season is not None and season.rhythm is None
        return not closed and (self.started_on is None or day >= self.started_on)

    def rhythm_in(self, week: IsoWeek) -> Rhythm | None:
        """The rhythm of a whole week, None in a season without visits.

        A season that begins or ends inside a week counts for the whole of it when it holds the
        greater part, which is the part that holds the Thursday.
        """
        season = self.season_on(week.days[THURSDAY])
        return self.rhythm if season is None else season.rhythm

    def service_min_in(self, week: IsoWeek) -> int:
        """Minutes of an ordinary visit in a week, whose season is found as in `rhythm_in`."""
        season = self.season_on(week.days[THURSDAY])
        own = None if season is None else season.service_min
        return self.service_min if own is None else own

    @property
    def is_unvisited(self) -> bool:
        """Whether no visit is on record since the service began."""
        if self.last_visit_on is None:
            return True
        return self.started_on is not None and self.last_visit_on < self.started_on

    def _check_weekdays(self) -> None:
        if not self.allowed_weekdays or not self.allowed_weekdays <= frozenset(range(7)):
            raise InvalidValue(_("No allowed weekday is given: name at least one of Mon to Sun."))
        stray = self.usual_weekdays - self.allowed_weekdays
        if stray:
            raise InvalidValue(
                _(
                    "The usual weekday {names_of} is not among the allowed weekdays "
                    "{allowed}: allow it or choose another."
                ).format(names_of=names_of(stray), allowed=names_of(self.allowed_weekdays))
            )
        if self.weekday_locked and not self.usual_weekdays:
            raise InvalidValue(_("The weekday is locked but none is named: name one or unlock."))
        open_days = self.usual_weekdays if self.weekday_locked else self.allowed_weekdays
        for rhythm in (self.rhythm, *(season.rhythm for season in self.seasons)):
            if rhythm is not None and len(open_days) < rhythm.visits_per_week:
                raise InvalidValue(
                    _(
                        "The rhythm '{rhythm}' needs {visits_per_week} weekdays but only "
                        "{names_of} is open to planning: allow more weekdays or change the "
                        "rhythm."
                    ).format(
                        rhythm=rhythm,
                        visits_per_week=rhythm.visits_per_week,
                        names_of=names_of(open_days),
                    )
                )

    def _check_technicians(self) -> None:
        if self.technician_locked and self.usual_technician_id is None:
            raise InvalidValue(_("The technician is locked but none is named: name one or unlock."))
        if self.usual_technician_id in self.unwanted_technician_ids:
            raise InvalidValue(
                _(
                    "The usual technician {usual_technician} is also one who is not wanted: "
                    "name another, or take the name off the unwanted ones."
                ).format(usual_technician=self.usual_technician_id)
            )


def check_minutes(minutes: int) -> None:
    """Refuse minutes of a visit that nobody works; raises InvalidValue."""
    if not 1 <= minutes <= LONGEST_SERVICE_MIN:
        raise InvalidValue(
            _(
                "A service of {minutes} minutes is not believable: give 1 to {longest_service} "
                "minutes."
            ).format(minutes=minutes, longest_service=LONGEST_SERVICE_MIN)
        )


def check_crew(persons: int) -> None:
    """Refuse a number of persons that no visit needs; raises InvalidValue."""
    if not 1 <= persons <= MOST_CREW:
        raise InvalidValue(
            _("A visit of {persons} persons is not believable: give 1 to {most_crew}.").format(
                persons=persons, most_crew=MOST_CREW
            )
        )


def check_chemicals_kg(mass_kg: float) -> None:
    """Refuse a mass of chemicals that no visit takes; raises InvalidValue."""
    if not 0 <= mass_kg <= MOST_CHEMICALS_KG:
        raise InvalidValue(
            _(
                "{mass} kg of chemicals for a visit is not believable: give 0 to "
                "{most_chemicals:.0f} kg, gross."
            ).format(mass=mass_kg, most_chemicals=MOST_CHEMICALS_KG)
        )


def check_monthly_price(price: float) -> None:
    """Refuse a monthly price that nobody pays; raises InvalidValue."""
    if not 0 <= price <= MOST_MONTHLY_PRICE:
        raise InvalidValue(
            _(
                "A price of {price:g} a month is not believable: give 0 to "
                "{most_monthly_price:.0f}, or leave it empty."
            ).format(price=price, most_monthly_price=MOST_MONTHLY_PRICE)
        )


def names_of(weekdays: frozenset[int]) -> str:
    """Weekday names in week order, as in 'Mon, Thu'."""
    return ", ".join(WEEKDAYS[n] for n in sorted(weekdays))
