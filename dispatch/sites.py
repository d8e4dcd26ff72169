"""Sites: a pool at an address, what has been agreed for it and what stands on it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, timedelta
from enum import StrEnum

from dispatch.contacts import NoticeWish, check_contact
from dispatch.equipment import Anode, Equipment, Filter, Media, SaltCell
from dispatch.errors import InvalidValue
from dispatch.places import Place
from dispatch.rhythms import MonthDay, Rhythm, Season
from dispatch.service_plan import (
    LONGEST_SERVICE_MIN,
    MONDAY_TO_FRIDAY,
    Priority,
    ServicePlan,
    names_of,
)
from dispatch.windows import ANY_TIME, TimeWindow
from dispatch.words import _

__all__ = [
    "ANY_TIME",
    "LONGEST_SERVICE_MIN",
    "MONDAY_TO_FRIDAY",
    "Anode",
    "Equipment",
    "Filter",
    "Hold",
    "Media",
    "MonthDay",
    "NoticeWish",
    "Priority",
    "Rhythm",
    "SaltCell",
    "Sanitizer",
    "Season",
    "ServicePlan",
    "Site",
    "TimeWindow",
    "names_of",
    "still_served",
]


LEFT_FOR = timedelta(days=365)  # own choice: who gets no visit for a year is counted on no more


class Sanitizer(StrEnum):
    """What keeps the water clean."""

    CHLORINE = "chlorine"
    SALT = "salt"  # chlorine made on the spot from salt by a cell
    BROMINE = "bromine"
    OTHER = "other"


@dataclass(frozen=True, slots=True)
class Site:
    """A pool at an address.

    `place` is where the truck stops: the gate, not the roof. `pad_note` says what to know of the
    equipment pad. `pool_volume_l` is in litres. `email` is where the customer is told what
    `notices` name.
    """

    id: str
    name: str
    address: str
    place: Place
    plan: ServicePlan
    gate_note: str = ""
    gate_code: str = ""
    dog_note: str = ""
    pad_note: str = ""
    pool_volume_l: float | None = None
    sanitizer: Sanitizer = Sanitizer.CHLORINE
    equipment: Equipment = field(default_factory=Equipment)
    email: str = ""
    notices: frozenset[NoticeWish] = frozenset()

    def __post_init__(self) -> None:
        if not self.id or not self.name:
            raise InvalidValue(_("A site needs an id and a name."))
        if self.pool_volume_l is not None and not 500 <= self.pool_volume_l <= 10_000_000:
            raise InvalidValue(
                _(
                    "A pool of {pool_volume} litres is not believable: give 500 to 10,000,000, "
                    "or leave it empty."
                ).format(pool_volume=self.pool_volume_l)
            )
        check_contact(self.email, self.notices)


@dataclass(frozen=True, slots=True)
class Hold:
    """A dated span, both days included, in which a site gets no visits; it ends by itself."""

    site_id: str
    first_day: date
    last_day: date
    reason: str = ""

    def __post_init__(self) -> None:
        if self.last_day < self.first_day:
            raise InvalidValue(
                _(
                    "The hold of site {site} ends on {last_day}, before it begins on "
                    "{first_day}: swap the two days."
                ).format(site=self.site_id, last_day=self.last_day, first_day=self.first_day)
            )

    def covers(self, day: date) -> bool:
        """Whether `day` lies in the hold."""
        return self.first_day <= day <= self.last_day


def still_served(sites: Iterable[Site], holds: Iterable[Hold], day: date) -> list[Site]:
    """The sites without those that have left: a hold covers `day` and the year after it.

    Whoever left cannot be deleted, because records name the site, and has such a hold instead.
    """
    left = {one.site_id for one in holds if one.covers(day) and one.covers(day + LEFT_FOR)}
    return [site for site in sites if site.id not in left]
