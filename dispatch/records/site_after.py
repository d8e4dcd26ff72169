"""How a record moves its site: the last visit, and the register of equipment."""

from __future__ import annotations

from dataclasses import replace
from datetime import tzinfo

from dispatch.equipment import Equipment
from dispatch.equipment_done import anode_judged, equipment_after, with_clean_pressure
from dispatch.one_offs import work_id_of
from dispatch.readings import Finding, ReadingKind, UpkeepDone
from dispatch.records.history import readings_at
from dispatch.records.record import Seen, VisitRecord
from dispatch.sites import Site

LOOKS = (  # what is seen of equipment is a look at it; of several findings the worst counts, last
    (Seen.NO_SCALE_ON_CELL, "cell-inspection", Finding.NO_SCALE),
    (Seen.SCALE_ON_CELL, "cell-inspection", Finding.SCALED),
    (Seen.COVERS_SOUND, "drain-cover-check", Finding.SOUND),
    (Seen.COVER_LOOSE, "drain-cover-check", Finding.LOOSE),
    (Seen.COVER_CRACKED, "drain-cover-check", Finding.CRACKED),
    (Seen.COVER_MISSING, "drain-cover-check", Finding.MISSING),
)


def site_after(site: Site, record: VisitRecord, zone: tzinfo) -> Site:
    """The site as a record leaves it: its last visit, and the dates of its equipment.

    Raises
    ------
    InvalidValue
        When the record names upkeep that is not known or does not fit the equipment.
    """
    if record.skipped:
        return site
    equipment = _as_found(site.equipment, record)
    for done in record.upkeep:
        equipment = equipment_after(equipment, done)
    media = equipment.filter
    if media is not None and media.cleaned_on == record.day:
        points = readings_at(record, zone)
        equipment = with_clean_pressure(equipment, points, zone)
    last = site.plan.last_visit_on
    plan = site.plan
    regular = not work_id_of(record.visit_id or "")  # a follow-up must not push the route aside
    if regular and (last is None or record.day > last):
        plan = replace(plan, last_visit_on=record.day)
    return replace(site, plan=plan, equipment=equipment)


def _as_found(equipment: Equipment, record: VisitRecord) -> Equipment:
    """The register with what was seen and read, before anything was done about it."""
    for seen, kind, finding in LOOKS:
        if seen is Seen.NO_SCALE_ON_CELL and equipment.salt_cell is None:
            continue  # no scale where there is no cell proves none
        if seen in record.seen:
            look = UpkeepDone(kind, record.day, finding=finding)
            equipment = equipment_after(equipment, look)
    left = record.value(ReadingKind.ANODE_REMAINING)
    return equipment if left is None else anode_judged(equipment, left, record.day)
