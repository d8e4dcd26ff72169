"""Technicians: when they work, from where, with which skills and in what truck."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from dispatch.clock import DAY_S, LAST_S, WEEKDAYS, day_over_s, format_span, format_time
from dispatch.errors import InvalidValue, NotFound
from dispatch.places import Place
from dispatch.service_plan import MOST_CREW
from dispatch.words import _, gettext

ALONE = (1,) * 7  # persons aboard, Monday first
MOST_SLACK = 0.5  # of a shift; planning to 85-90 % leaves 0.10 to 0.15 (common practice)
# kg gross; 49 CFR 173.6(d): all materials of trade on one motor vehicle, diluted class 9 apart.
CHEMICALS_MOST_KG = 200.0


@dataclass(frozen=True, slots=True)
class Shift:
    """Working hours of one day, in seconds after local midnight.

    From leaving the start place to being at the end place; drive, service and break lie inside. A
    night shift belongs to the day on which it begins and ends beyond 24:00.
    """

    start_s: int
    end_s: int

    def __post_init__(self) -> None:
        if not 0 <= self.start_s < self.end_s <= LAST_S:
            raise InvalidValue(
                _(
                    "The shift {start} to {end} is empty or leaves the day: give a start "
                    "before the end, within 00:00 to 24:00 (+1)."
                ).format(start=format_time(self.start_s), end=format_time(self.end_s))
            )

    def __str__(self) -> str:
        return format_span(self.start_s, self.end_s)

    @property
    def over_s(self) -> int:
        """When the working day is over at the latest, however late all runs."""
        return day_over_s(self.end_s)

    def nearest(self, seconds: int) -> int:
        """A time on the clock (0 to 24:00) as seconds of this shift's day.

        In a night shift 01:00 is one o'clock after its midnight, unless it lies nearer to the
        beginning of the shift than to its end.
        """
        later = seconds + DAY_S
        before, after = self.start_s - seconds, later - self.end_s
        is_night = self.end_s > DAY_S and seconds < self.start_s
        return later if is_night and after < before else seconds


@dataclass(frozen=True, slots=True)
class Break:
    """An unpaid meal of `minutes`, placed between two stops, never inside a service.

    It must begin between the two times (seconds after local midnight; in a night shift they may
    lie beyond 24:00).
    """

    minutes: int
    earliest_s: int
    latest_s: int

    def __post_init__(self) -> None:
        if not (1 <= self.minutes <= 180 and 0 <= self.earliest_s <= self.latest_s <= LAST_S):
            raise InvalidValue(
                _(
                    "A break of {minutes} min beginning between {earliest} and {latest} cannot "
                    "be placed: give 1 to 180 minutes and a span in which it may begin."
                ).format(
                    minutes=self.minutes,
                    earliest=format_time(self.earliest_s),
                    latest=format_time(self.latest_s),
                )
            )


@dataclass(frozen=True, slots=True)
class Overtime:
    """Work beyond the regular hours: how much there may be, and what it costs.

    On a day the truck may be out up to `day_most_min` (meal not counted) even where the shift is
    shorter. Work of a week beyond `week_regular_min` is overtime, and up to `week_most_min` may
    be worked. Each overtime hour is paid `pay_factor` times. Which hours count, and whether days
    count by themselves, is for local law and the contract to say; the defaults are an example.

    Raises
    ------
    InvalidValue
        On minutes out of order or no day has, or a factor below 1.
    """

    day_most_min: int
    week_most_min: int
    week_regular_min: int = 40 * 60  # minutes; 29 U.S.C. 207(a): over 40 h in a workweek
    pay_factor: float = 1.5  # 29 U.S.C. 207(a): one and one-half times the regular rate

    def __post_init__(self) -> None:
        if not 1 <= self.day_most_min <= 24 * 60:
            raise InvalidValue(
                _(
                    "A longest day of {day_most} minutes is not believable: give up to {value}."
                ).format(day_most=self.day_most_min, value=24 * 60)
            )
        if not 1 <= self.week_regular_min <= self.week_most_min <= 7 * 24 * 60:
            raise InvalidValue(
                _(
                    "Regular work of {week_regular} minutes and at most {week_most} in a week "
                    "do not fit together: give the regular minutes, and at least as many as "
                    "the most."
                ).format(week_regular=self.week_regular_min, week_most=self.week_most_min)
            )
        if not 1 <= self.pay_factor <= 10:
            raise InvalidValue(
                _(
                    "Overtime paid {pay_factor} times is not believable: give 1 to 10, as 1.5."
                ).format(pay_factor=self.pay_factor)
            )


@dataclass(frozen=True, slots=True)
class SupplyStop:
    """A paid stop on the way, at `place`, when what is aboard does not last the day."""

    place: Place
    minutes: int

    def __post_init__(self) -> None:
        if not 1 <= self.minutes <= 180:
            raise InvalidValue(
                _("A supply stop of {minutes} minutes is not believable: give 1 to 180.").format(
                    minutes=self.minutes
                )
            )


@dataclass(frozen=True, slots=True)
class Technician:
    """A technician and the truck.

    `shifts` holds seven entries, Monday first, None on a day without work. `start` and `end` are
    where the truck's day begins and ends, per technician. `payload_kg` is what the truck may
    carry besides the driver and its fixed outfit; of it `chemicals_most_kg` may be regulated
    chemicals, gross. With a `supply` stop more than that may be used in a day; without one it is
    the limit of the day. `slack_share` is the share of each shift that planning leaves free.
    `crew` is how many persons are aboard on each weekday. Without `overtime` the shift is the
    limit of the day.

    Raises
    ------
    InvalidValue
        Without any shift, or with a shift of more than 24 hours, a share, a number of persons or
        a mass that is not believable.
    """

    id: str
    name: str
    shifts: tuple[Shift | None, ...]
    start: Place
    end: Place
    meal: Break | None = None
    skills: frozenset[str] = frozenset()
    payload_kg: float = 400.0
    days_off: frozenset[date] = frozenset()
    overtime: Overtime | None = None
    slack_share: float = 0.0
    crew: tuple[int, ...] = ALONE
    supply: SupplyStop | None = None
    chemicals_most_kg: float = CHEMICALS_MOST_KG

    def __post_init__(self) -> None:
        if not self.id or not self.name:
            raise InvalidValue(_("A technician needs an id and a name."))
        if len(self.shifts) != 7 or not any(self.shifts):
            raise InvalidValue(
                _(
                    "Technician {id} has no shift on any weekday: give at least one, as "
                    "07:00-15:30."
                ).format(id=self.id)
            )
        for weekday, shift in zip(WEEKDAYS, self.shifts, strict=True):
            if shift and (shift.start_s >= DAY_S or shift.end_s - shift.start_s > DAY_S):
                raise InvalidValue(
                    _(
                        "The shift {shift} of technician {id} on {weekday} begins on another day "
                        "or lasts more than 24 hours: give a start within 00:00 to 23:59."
                    ).format(shift=shift, id=self.id, weekday=gettext(weekday))
                )
        if self.payload_kg < 0:
            raise InvalidValue(
                _("The payload of technician {id} is below zero.").format(id=self.id)
            )
        if not 0 <= self.slack_share <= MOST_SLACK:
            raise InvalidValue(
                _(
                    "A slack of {slack_share:.0%} of the shift of technician {id} is not "
                    "believable: give 0 to {most_slack:.0%}, as 10 %."
                ).format(slack_share=self.slack_share, id=self.id, most_slack=MOST_SLACK)
            )
        if len(self.crew) != 7 or not all(1 <= persons <= MOST_CREW for persons in self.crew):
            raise InvalidValue(
                _(
                    "The persons aboard with technician {id} are {crew}: give 1 to {most_crew} "
                    "for each of the seven weekdays."
                ).format(id=self.id, crew=list(self.crew), most_crew=MOST_CREW)
            )
        check_chemicals_aboard_kg(self.chemicals_most_kg)

    def shift_on(self, day: date) -> Shift | None:
        """The shift of `day`, None on a day off."""
        return None if day in self.days_off else self.shifts[day.weekday()]

    def crew_on(self, day: date) -> int:
        """Persons aboard on `day`, the technician included."""
        return self.crew[day.weekday()]


def unknown_technician(technician_id: str) -> NotFound:
    """What is raised where somebody who is not in the book is asked for."""
    return NotFound(
        _("There is no technician '{technician}'. The list of technicians shows the ids.").format(
            technician=technician_id
        ),
        command="dispatch technicians list",
    )


def check_chemicals_aboard_kg(mass_kg: float) -> None:
    """Refuse a limit of chemicals that no pickup truck could carry; raises InvalidValue."""
    if not 0 <= mass_kg <= 2000:
        raise InvalidValue(
            _("{mass} kg of chemicals aboard is not believable: give 0 to 2000 kg, gross.").format(
                mass=mass_kg
            )
        )
