"""JSON of what was learnt from records, and of a truck's load."""

from __future__ import annotations

from datetime import date

from pydantic import BaseModel, Field

from dispatch.actions.learnt import LearntDrives, SitePlannedActual, VisitMinutes
from dispatch.records.carriage import TooMuch, Tub
from dispatch.records.learnt_minutes import LearntMinutes
from dispatch.records.load_list import LoadList
from dispatch.upkeep import Part
from dispatch.water.products import Product
from dispatch.words import _


class SiteMinutesOut(BaseModel):
    """A site's minutes; the 80 % interval is that of the learnt mean."""

    site_id: str
    name: str
    visits: int
    agreed_min: float
    planned_min: float | None
    actual_min: float | None = Field(description="median")
    learnt_min: float
    low_min: float
    high_min: float
    words: str

    @classmethod
    def of(cls, one: SitePlannedActual) -> SiteMinutesOut:
        """The JSON of a site's minutes."""
        minutes = one.minutes
        return cls(
            site_id=one.site.id,
            name=one.site.name,
            visits=minutes.visits,
            agreed_min=minutes.agreed_min,
            planned_min=one.planned_min,
            actual_min=minutes.actual_min,
            learnt_min=minutes.learnt_min,
            low_min=minutes.low_min,
            high_min=minutes.high_min,
            words=minutes.words,
        )


class VisitMinutesOut(BaseModel):
    """Planned and actual minutes of one visit; None where not known."""

    record_id: str
    site_id: str
    technician_id: str
    day: date
    planned_min: float | None
    actual_min: float | None
    upkeep: list[str]

    @classmethod
    def of(cls, one: VisitMinutes) -> VisitMinutesOut:
        """The JSON of one visit's minutes."""
        return cls(
            record_id=one.record_id,
            site_id=one.site_id,
            technician_id=one.technician_id,
            day=one.day,
            planned_min=one.planned_min,
            actual_min=one.actual_min,
            upkeep=list(one.upkeep_kinds),
        )


class PaceOut(BaseModel):
    """A technician's pace; 1.1 takes a tenth longer than others at the same pools."""

    technician_id: str
    factor: float
    visits: int


class UpkeepMinutesOut(BaseModel):
    """Minutes by which an upkeep lengthens a visit."""

    kind: str
    table_min: float
    learnt_min: float
    visits: int


class PacesOut(BaseModel):
    """Paces, minutes of upkeep, and months' factors from January."""

    paces: list[PaceOut]
    upkeep: list[UpkeepMinutesOut]
    months: list[float]
    stays: int
    left_out: int

    @classmethod
    def of(cls, found: LearntMinutes) -> PacesOut:
        """The JSON of what was learnt besides the sites' minutes."""
        return cls(
            paces=[
                PaceOut(technician_id=one.technician_id, factor=one.factor, visits=one.visits)
                for one in found.paces
            ],
            upkeep=[
                UpkeepMinutesOut(
                    kind=one.kind,
                    table_min=one.table_min,
                    learnt_min=one.learnt_min,
                    visits=one.visits,
                )
                for one in found.upkeep
            ],
            months=list(found.months),
            stays=found.stays,
            left_out=found.left_out,
        )


class DriveFactorOut(BaseModel):
    """The factor of one region and part of the day."""

    region: str
    part: str
    drives: int
    observed: float
    factor: float
    enough: bool
    words: str


class DrivesOut(BaseModel):
    """Factors learnt from the gaps between stops."""

    gaps: int
    enough: bool = Field(description="false: too little data, and nothing was learnt")
    factors: list[DriveFactorOut]

    @classmethod
    def of(cls, found: LearntDrives) -> DrivesOut:
        """The JSON of learnt factors."""
        return cls(
            gaps=found.gaps,
            enough=found.enough,
            factors=[
                DriveFactorOut(
                    region=one.region,
                    part=one.part,
                    drives=one.drives,
                    observed=one.observed,
                    factor=one.factor,
                    enough=one.enough,
                    words=one.words,
                )
                for one in found.learnt
            ],
        )


class LoadLineOut(BaseModel):
    """One product to load."""

    product: Product
    title: str
    tub: Tub
    amount: str
    packages: int
    package: str
    net_kg: float
    gross_kg: float
    regulated: bool
    reasons: list[str]


class LoadViolationOut(BaseModel):
    """A limit passed."""

    limit: TooMuch
    amount: float
    most: float
    reason: str


class LoadOut(BaseModel):
    """A truck's load for a day."""

    parts: list[Part]
    waste_kg: float
    products: list[LoadLineOut]
    regulated_kg: float = Field(description="gross, in whole packages")
    expected_regulated_kg: float = Field(description="gross, aboard at once as planning counts it")
    most_regulated_kg: float
    mass_kg: float
    payload_kg: float
    violations: list[LoadViolationOut]
    cautions: list[str]
    unknown_sites: list[str]

    @classmethod
    def of(cls, found: LoadList) -> LoadOut:
        """The JSON of a load."""
        return cls(
            parts=list(found.parts),
            waste_kg=found.waste_kg,
            products=[
                LoadLineOut(
                    product=line.product,
                    title=line.title,
                    tub=line.tub,
                    amount=line.amount,
                    packages=line.packages,
                    package=line.package,
                    net_kg=line.net_kg,
                    gross_kg=line.gross_kg,
                    regulated=line.regulated,
                    reasons=list(line.reasons),
                )
                for line in found.products
            ],
            regulated_kg=found.regulated_kg,
            expected_regulated_kg=found.expected_regulated_kg,
            most_regulated_kg=found.most_regulated_kg,
            mass_kg=found.mass_kg,
            payload_kg=found.payload_kg,
            violations=[
                LoadViolationOut(
                    limit=one.limit, amount=one.amount, most=one.most, reason=one.reason
                )
                for one in found.violations
            ],
            cautions=[_(one) for one in found.cautions],
            unknown_sites=list(found.unknown_sites),
        )
