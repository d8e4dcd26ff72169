"""A visit as the day knows it, and a technician's route at one of its revisions."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from dispatch.errors import InvalidValue
from dispatch.planning.plan import Route
from dispatch.windows import ALL_DAY, TimeWindow
from dispatch.words import _


@dataclass(frozen=True, slots=True)
class Work:
    """What one visit of the day asks for, as it stood when the day was published.

    Service lasts `service_s`, upkeep included, and begins in one of the `windows`, which rise.
    `days` are the days that the visit may have; `load_kg` is what it takes from the payload,
    `chemicals_kg` of it regulated chemicals. `importance` multiplies the price of leaving it out.

    Raises
    ------
    InvalidValue
        Without an id, or when the service takes no time.
    """

    visit_id: str
    site_id: str
    service_s: int
    windows: tuple[TimeWindow, ...] = ALL_DAY
    skills: frozenset[str] = frozenset()
    usual_technician_id: str | None = None
    technician_locked: bool = False
    unwanted_technician_ids: frozenset[str] = frozenset()
    load_kg: float = 0.0
    chemicals_kg: float = 0.0
    crew: int = 1
    importance: float = 1.0
    days: tuple[date, ...] = ()
    upkeep_ids: tuple[str, ...] = ()
    title: str = ""

    def __post_init__(self) -> None:
        if not self.visit_id or not self.site_id:
            raise InvalidValue(_("A visit of the day needs an id and a site."))
        if self.service_s <= 0:
            raise InvalidValue(
                _("The visit {visit} is to last {service} seconds: give a minute or more.").format(
                    visit=self.visit_id, service=self.service_s
                )
            )

    @property
    def has_window(self) -> bool:
        """Whether service was promised within certain times."""
        return self.windows != ALL_DAY

    def open_to(self, technician_id: str, skills: frozenset[str], crew: int) -> bool:
        """Whether a technician with these skills and persons aboard may do it at all."""
        locked_out = self.technician_locked and self.usual_technician_id != technician_id
        unwanted = technician_id in self.unwanted_technician_ids
        return not (locked_out or unwanted) and self.skills <= skills and self.crew <= crew


@dataclass(frozen=True, slots=True)
class Revision:
    """A technician's route of a day as published, and what its visits ask for.

    `revision` counts from 1; `number` is the place of the event that published it in the day's
    history. A technician whose stops all went to others has a route without stops.
    """

    revision: int
    number: int
    route: Route
    works: tuple[Work, ...]

    @property
    def technician_id(self) -> str:
        """Whose route it is."""
        return self.route.technician_id

    @property
    def visit_ids(self) -> tuple[str, ...]:
        """The visits in their order."""
        return tuple(stop.visit_id for stop in self.route.stops)
