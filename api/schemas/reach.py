"""JSON of the sites near an address."""

from __future__ import annotations

from pydantic import BaseModel, Field

from dispatch.actions.reach import SiteReached, Within


class SiteReachedOut(BaseModel):
    """A site and the drive to it."""

    site_id: str
    name: str
    drive_s: int
    drive_m: int

    @classmethod
    def of(cls, one: SiteReached) -> SiteReachedOut:
        """The JSON of a site that is reached."""
        return cls(site_id=one.site_id, name=one.name, drive_s=one.drive_s, drive_m=one.drive_m)


class WithinOut(BaseModel):
    """Sites within a time of an address, the nearest first."""

    lat: float = Field(description="where the address was found")
    lon: float
    street: str = Field(description="where the drive begins")
    detour_m: float = Field(description="from there to the address, in a straight line")
    limit_s: int
    sites: list[SiteReachedOut]
    no_drive: dict[str, str] = Field(description="by site, why it cannot be told")

    @classmethod
    def of(cls, found: Within) -> WithinOut:
        """The JSON of what was found."""
        return cls(
            lat=found.place.lat,
            lon=found.place.lon,
            street=found.street,
            detour_m=found.detour_m,
            limit_s=found.limit_s,
            sites=[SiteReachedOut.of(one) for one in found.sites],
            no_drive=dict(found.no_drive),
        )
