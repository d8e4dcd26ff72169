"""What a customer is used to, and dated changes of it, as values."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta
from enum import StrEnum

from dispatch.clock import WEEKDAYS, IsoWeek
from dispatch.errors import InvalidValue
from dispatch.service_plan import ServicePlan
from dispatch.words import _

LONGEST_WHY = 2000  # characters; as a note of a record


@dataclass(frozen=True, slots=True)
class Habit:
    """Who usually comes to a customer, on which weekdays, and in which weeks.

    `anchor_on` is a day in a week with a turn; it is None where visits come every week, and where
    turns are counted from the last visit.
    """

    technician_id: str | None
    weekdays: frozenset[int]
    anchor_on: date | None = None

    @classmethod
    def of(cls, plan: ServicePlan) -> Habit:
        """The habit that a service plan names."""
        anchor_on = plan.anchor_on if plan.rhythm.every_weeks > 1 else None
        return cls(plan.usual_technician_id, plan.usual_weekdays, anchor_on)

    def words(self, names: Mapping[str, str]) -> str:
        """In words, as 'Ana, Fri'; `names` are those of the technicians."""
        who = self.technician_id
        days = "/".join(WEEKDAYS[n] for n in sorted(self.weekdays)) or _("any day")
        return f"{names.get(who, who) if who else 'anyone'}, {days}"


def with_habit(plan: ServicePlan, habit: Habit) -> ServicePlan:
    """The service plan with another habit.

    Raises
    ------
    InvalidValue
        When the customer does not allow the weekday, or does not want the technician.
    """
    return replace(
        plan,
        usual_technician_id=habit.technician_id,
        usual_weekdays=habit.weekdays,
        anchor_on=habit.anchor_on or plan.anchor_on,
    )


class ChangeState(StrEnum):
    """Where a dated change stands."""

    PLANNED = "planned"
    CARRIED_OUT = "carried-out"  # its date has come, and the service plan says it now
    WITHDRAWN = "withdrawn"
    OVERTAKEN = "overtaken"  # the service plan was edited meanwhile and says something else


@dataclass(frozen=True, slots=True)
class StandingChange:
    """A customer's new habit from a Monday on: a decision, with its reason and who took it.

    Raises
    ------
    InvalidValue
        When it begins on another day, changes nothing, or has too long a reason.
    """

    id: str
    batch: str
    site_id: str
    from_on: date
    old: Habit
    new: Habit
    why: str
    who: str
    made_on: date
    state: ChangeState = ChangeState.PLANNED
    ended_on: date | None = None
    ended_by: str = ""

    def __post_init__(self) -> None:
        if self.from_on.weekday() != 0:
            monday = IsoWeek.of(self.from_on + timedelta(days=6)).monday
            raise InvalidValue(
                _(
                    "A change of standing routes begins on a Monday, and {since} is a "
                    "{weekdays}: take {monday}, for instance."
                ).format(
                    since=self.from_on, weekdays=WEEKDAYS[self.from_on.weekday()], monday=monday
                )
            )
        if self.old == self.new:
            raise InvalidValue(
                _("The change of {site} from {since} changes nothing.").format(
                    site=self.site_id, since=self.from_on
                )
            )
        if len(self.why) > LONGEST_WHY:
            raise InvalidValue(
                _(
                    "The reason for the change of {site} has {number} characters: give up to "
                    "{longest_why}."
                ).format(site=self.site_id, number=len(self.why), longest_why=LONGEST_WHY)
            )

    @property
    def first_week(self) -> IsoWeek:
        """The first week that it holds for."""
        return IsoWeek.of(self.from_on)

    def fits(self, plan: ServicePlan) -> bool:
        """Whether the service plan still names the old technician and weekdays."""
        now = Habit.of(plan)
        return (now.technician_id, now.weekdays) == (self.old.technician_id, self.old.weekdays)
