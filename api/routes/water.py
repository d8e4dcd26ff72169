"""Water: a site's readings and advice, doses, the saturation index, ranges and targets."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query
from fastapi.responses import Response

from api.csvs import csv_answer
from api.deps import ReadSession, SettingsDep, UnitsDep, WriteSession
from api.schemas.records import ReadingOut
from api.schemas.water import AnswerOut, DoseIn, IndexIn, RangeOut, TargetIn, WaterOut
from dispatch.actions import record_files, records, water
from dispatch.readings import ReadingKind
from dispatch.water.dosing import dose
from dispatch.water.index import Variant, Water, saturation_index
from dispatch.water.products import product_of
from dispatch.water.ranges import PUBLISHED

router = APIRouter(tags=["water"])

Kinds = Annotated[
    list[ReadingKind],
    Query(default_factory=list, alias="kind", description="all kinds when none is named"),
]


@router.get("/sites/{site_id}/readings")
def list_readings(session: ReadSession, site_id: str, kinds: Kinds) -> list[ReadingOut]:
    """Readings of a site in the order they were made."""
    water.one_site(session, site_id)
    history = records.site_history(session, site_id, tuple(kinds))
    return [ReadingOut.of(one) for one in history]


@router.get("/sites/{site_id}/readings.csv", response_class=Response)
def export_readings(
    session: ReadSession, settings: SettingsDep, site_id: str, kinds: Kinds
) -> Response:
    """Readings of a site as a table."""
    water.one_site(session, site_id)
    history = records.site_history(session, site_id, tuple(kinds))
    table = record_files.reading_list(history, settings.zone)
    return csv_answer(f"readings-{site_id}", table)


@router.get("/sites/{site_id}/water")
def show_water(
    session: ReadSession, settings: SettingsDep, units: UnitsDep, site_id: str
) -> WaterOut:
    """What the last readings of a site ask for."""
    return WaterOut.of(water.water_advice(session, settings, site_id, customary=units.customary))


@router.get("/sites/{site_id}/water.csv", response_class=Response)
def export_water(
    session: ReadSession, settings: SettingsDep, units: UnitsDep, site_id: str
) -> Response:
    """What the last readings of a site ask for, as a table."""
    found = water.water_advice(session, settings, site_id, customary=units.customary)
    return csv_answer(f"water-{site_id}", water.advice_list(found))


@router.post("/water/dose")
def compute_dose(units: UnitsDep, wanted: DoseIn) -> AnswerOut:
    """A dose by mass balance, in the unit on the jug or bag; the label comes first."""
    answer = dose(
        product_of(wanted.product),
        wanted.volume_l,
        wanted.change_ppm,
        wanted.strength,
        customary=units.customary,
    )
    return AnswerOut.of(answer)


@router.post("/water/index")
def compute_index(wanted: IndexIn) -> list[AnswerOut]:
    """The saturation index by each named method; never compare one with the other."""
    found = Water(**wanted.model_dump())
    return [AnswerOut.of(saturation_index(found, variant)) for variant in Variant]


@router.get("/water/ranges")
def list_ranges() -> list[RangeOut]:
    """Published ranges, each with its source and edition."""
    return [RangeOut.of(one) for one in PUBLISHED]


@router.get("/water/ranges.csv", response_class=Response)
def export_ranges() -> Response:
    """Published ranges as a table."""
    return csv_answer("ranges", water.published_list())


@router.get("/water/targets")
def list_targets(session: ReadSession) -> list[RangeOut]:
    """The ranges in use: the company's own where it set one, else those delivered."""
    return [RangeOut.of(one) for one in water.targets(session)]


@router.put("/water/targets/{kind}")
def set_target(
    session: WriteSession, settings: SettingsDep, kind: ReadingKind, wanted: TargetIn
) -> RangeOut:
    """Set the company's own range of a reading, in the unit it is kept in."""
    figures = (wanted.least, wanted.ideal_low, wanted.ideal_high, wanted.most)
    target = water.set_target(session, settings, kind, figures, by=wanted.by, note=wanted.note)
    return RangeOut.of(target)


@router.delete("/water/targets/{kind}", status_code=204)
def reset_target(session: WriteSession, kind: ReadingKind) -> None:
    """Go back to the delivered range."""
    water.reset_target(session, kind)
