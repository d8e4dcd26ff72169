"""JSON of a new customer: the wish, the offers, the choice."""

from __future__ import annotations

from datetime import date

from pydantic import BaseModel, Field

from dispatch.actions.new_customer import SHOWN, Places, Wish
from dispatch.planning.plan import Broken
from dispatch.sites import Rhythm


class WishIn(BaseModel):
    """What a new customer asks for; weekdays are 0 (Monday) to 6."""

    name: str = Field(min_length=1, max_length=200)
    address: str = Field(min_length=1, max_length=200)
    rhythm: Rhythm = Rhythm.WEEKLY
    service_min: int = Field(default=30, ge=1, le=480)
    favourite: int | None = Field(default=None, ge=0, le=6)
    skills: list[str] = []
    allowed_weekdays: list[int] = [0, 1, 2, 3, 4]

    @property
    def wish(self) -> Wish:
        """The wish as a value, which checks itself."""
        return Wish(
            name=self.name,
            address=self.address,
            rhythm=self.rhythm,
            service_min=self.service_min,
            favourite=self.favourite,
            skills=frozenset(self.skills),
            allowed_weekdays=frozenset(self.allowed_weekdays),
        )


class TakeOnIn(WishIn):
    """A wish, and the offer that was chosen."""

    technician_id: str
    weekdays: list[int] = Field(min_length=1, max_length=7)


class OfferedDayOut(BaseModel):
    """What an offer does to one day."""

    day: date
    position: int
    extra_s: int
    work_s: int
    free_s: int
    broken: list[Broken]


class OfferOut(BaseModel):
    """A technician and weekdays; `extra_s` is the paid time that a week gets longer by."""

    technician_id: str
    technician_name: str
    weekdays: list[int]
    extra_s: int
    is_open: bool
    days: list[OfferedDayOut]


class PlacesOut(BaseModel):
    """The best offers; `favourite_s` is what insisting on the favourite day costs a week.

    `promised` are the sites taken on since the week was planned, counted where they were promised.
    """

    lat: float
    lon: float
    favourite_s: int | None
    offers: list[OfferOut]
    promised: list[str]

    @classmethod
    def of(cls, found: Places) -> PlacesOut:
        """The JSON of the offers."""
        offers = [
            OfferOut(
                technician_id=one.technician_id,
                technician_name=one.technician_name,
                weekdays=sorted(one.weekdays),
                extra_s=found.extra_s(one),
                is_open=one.is_open,
                days=[
                    OfferedDayOut(
                        day=day.day,
                        position=day.position,
                        extra_s=day.extra_s,
                        work_s=day.work_s,
                        free_s=day.free_s,
                        broken=list(day.broken),
                    )
                    for day in one.days
                ],
            )
            for one in found.offers[:SHOWN]
        ]
        return cls(
            lat=found.place.lat,
            lon=found.place.lon,
            favourite_s=found.favourite_s,
            offers=offers,
            promised=list(found.promised),
        )
