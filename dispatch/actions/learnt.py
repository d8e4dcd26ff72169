"""Minutes and drive times learnt from records, and what was planned beside what was."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from statistics import mean

from sqlmodel import Session

from dispatch.drive.factors import (
    Driven,
    Factors,
    Learnt,
    corrected,
    learn_factors,
    read_factors,
    write_factors,
)
from dispatch.one_offs import work_id_of
from dispatch.records.learnt_minutes import (
    LearntMinutes,
    SiteMinutes,
    kind_of_pool,
    learn_minutes,
)
from dispatch.records.stays import gaps_of, stays_of
from dispatch.records.usage import chemicals_of_visit_kg, usage_of_sites
from dispatch.service_plan import LONGEST_SERVICE_MIN, ServicePlan
from dispatch.settings import Settings
from dispatch.sites import Site
from dispatch.store.book import read_site, read_sites, read_technicians
from dispatch.store.reading import read_while_records_stand
from dispatch.store.record_history import read_products_used
from dispatch.store.records import (
    Attendance,
    read_attendance,
    read_planned_minutes,
    read_state,
)
from dispatch.store.upkeep_kinds import read_rules

LOOK_BACK = timedelta(days=365)  # older visits say little: their weight is below a quarter
MOST_WAYS = 200  # whose road classes are looked up, a few milliseconds each on a town's map
USE_LOOK_BACK = timedelta(days=120)  # holds the last eight visits of a site visited every 2 weeks


# What was learnt last, with what it was learnt from: pages ask again long before records change.
_LATEST: dict[str, tuple[object, LearntMinutes]] = {}


@dataclass(frozen=True, slots=True)
class VisitMinutes:
    """One visit: the minutes planned (those agreed where no plan has it) and those it took."""

    record_id: str
    site_id: str
    technician_id: str
    day: date
    planned_min: float | None
    actual_min: float | None
    upkeep_kinds: tuple[str, ...]
    is_one_off: bool = False


@dataclass(frozen=True, slots=True)
class SitePlannedActual:
    """A site's minutes agreed, planned, actual and learnt; means and medians over its visits."""

    site: Site
    minutes: SiteMinutes
    planned_min: float | None


@dataclass(frozen=True, slots=True)
class LearntDrives:
    """Factors learnt from gaps between stops, how each came about, and the number of gaps."""

    factors: Factors
    learnt: tuple[Learnt, ...]
    gaps: int

    @property
    def enough(self) -> bool:
        """Whether any part of the day has enough drives to be learnt."""
        return any(one.enough for one in self.learnt)


def learnt_minutes(session: Session, settings: Settings) -> LearntMinutes:
    """Minutes of every site, paces of technicians, minutes of upkeep and months' factors."""
    return _learn(session, settings, read_sites(session))


def planned_and_actual(session: Session, settings: Settings) -> list[SitePlannedActual]:
    """Every site with what was agreed, planned, took place and was learnt, ordered by id."""
    sites = read_sites(session)
    found = _learn(session, settings, sites)
    planned: defaultdict[str, list[float]] = defaultdict(list)
    for visit in visit_minutes(session, settings):
        if visit.planned_min is not None and not visit.is_one_off:
            planned[visit.site_id].append(visit.planned_min)
    return [
        SitePlannedActual(
            site, found.sites[site.id], mean(planned[site.id]) if planned[site.id] else None
        )
        for site in sites
    ]


def site_minutes(session: Session, settings: Settings, site_id: str) -> SitePlannedActual:
    """One site as `planned_and_actual` has it; raises NotFound."""
    read_site(session, site_id)
    sites = {site.id: site for site in read_sites(session)}
    visits = visit_minutes(session, settings, site_id)
    planned = [one.planned_min for one in visits if one.planned_min and not one.is_one_off]
    found = _learn(session, settings, list(sites.values()))
    return SitePlannedActual(
        sites[site_id], found.sites[site_id], mean(planned) if planned else None
    )


def visit_minutes(
    session: Session, settings: Settings, site_id: str | None = None
) -> list[VisitMinutes]:
    """Planned and actual minutes of each visit, newest first; those of one site where named."""
    attended = [
        one
        for one in read_attendance(session, settings.today() - LOOK_BACK, site_id)
        if not one.skipped
    ]
    planned = read_planned_minutes(
        session, [one.visit_id for one in attended if one.visit_id is not None]
    )
    rows = [
        VisitMinutes(
            one.record_id,
            one.site_id,
            one.technician_id,
            one.day,
            planned.get(one.visit_id or ""),
            _minutes(one),
            one.upkeep_kinds,
            bool(work_id_of(one.visit_id or "")),
        )
        for one in attended
    ]
    return sorted(rows, key=lambda one: (one.day, one.record_id), reverse=True)


def sites_to_plan_with(session: Session, settings: Settings, sites: Sequence[Site]) -> list[Site]:
    """The sites as planning should see them: what records say, where the book says nothing.

    Regulated chemicals come from the last visits where none were agreed. Learnt minutes take the
    place of those agreed only where the company has switched it on (`use_learnt_minutes`).
    """
    carried = _with_chemicals(session, settings, sites)
    if not settings.use_learnt_minutes:
        return carried
    found = _learn(session, settings, sites)
    return [
        replace(site, plan=_taking(site.plan, found.sites[site.id].planning_min))
        if found.sites[site.id].visits
        else site
        for site in carried
    ]


def _taking(plan: ServicePlan, minutes: int) -> ServicePlan:
    """A plan whose visits take so many minutes, those of its seasons longer or shorter alike."""
    share = minutes / plan.service_min
    seasons = tuple(
        one
        if one.service_min is None
        else replace(
            one, service_min=min(LONGEST_SERVICE_MIN, max(1, round(one.service_min * share)))
        )
        for one in plan.seasons
    )
    return replace(plan, service_min=minutes, seasons=seasons)


def learn_drives(session: Session, settings: Settings) -> LearntDrives:
    """Learn the factors of drive times from the gaps between departures and next arrivals.

    Nothing is stored: `apply_drives` does that once somebody has looked.

    Raises
    ------
    NoMap
        When there is no street map, whose own times the gaps are compared with.
    """
    from dispatch.drive.class_factors import learn_classes

    known = read_factors(settings.factors_file)
    driven = _driven(session, settings)
    classes, by_road = learn_classes(driven)
    factors, learnt = learn_factors(
        [corrected(drive, classes) for drive in driven], replace(known, classes=classes)
    )
    return LearntDrives(factors, (*learnt, *by_road), len(driven))


def _driven(session: Session, settings: Settings) -> list[Driven]:
    """Each gap between two sites on the map, with the map's own time for it."""
    from dispatch.actions.maps import places_of, road_map
    from dispatch.drive.class_factors import seconds_by_class
    from dispatch.drive.matrix import drive_matrix
    from dispatch.drive.snap import snap_all

    sites = read_sites(session)
    places = {site.id: site.place for site in sites}
    roads = road_map(settings)
    snaps, _ = snap_all(roads, places_of(sites, read_technicians(session)))
    # Not slowed, and kept apart from those that are planned with.
    matrix = drive_matrix(roads, snaps, settings.matrix_dir / "as-built", settings.map_dir)
    by_class: dict[tuple[str, str], dict[str, float]] = {}
    driven = []
    for gap in gaps_of(read_attendance(session, settings.today() - LOOK_BACK)):
        start, end = f"site:{gap.from_site_id}", f"site:{gap.to_site_id}"
        if start not in snaps or end not in snaps:
            continue
        if (start, end) not in by_class and len(by_class) < MOST_WAYS:
            by_class[start, end] = seconds_by_class(roads, snaps[start], snaps[end])
        local = gap.left_at.astimezone(settings.zone)
        driven.append(
            Driven(
                places[gap.from_site_id],
                places[gap.to_site_id],
                local.hour * 3600 + local.minute * 60 + local.second,
                gap.seconds,
                float(matrix.drive(start, end)[0]),
                by_class.get((start, end), {}),
            )
        )
    return driven


def apply_drives(settings: Settings, found: LearntDrives) -> None:
    """Count with the learnt factors from now on; weeks planned before keep their times."""
    write_factors(found.factors, settings.factors_file)


def _learn(session: Session, settings: Settings, sites: Sequence[Site]) -> LearntMinutes:
    """Learn, or give what was learnt from the same records, sites and table of upkeep before."""
    today = settings.today()
    rules = tuple((rule.kind, float(rule.minutes)) for rule in read_rules(session))
    book = tuple((site.id, *_agreed_minutes(site.plan), kind_of_pool(site)) for site in sites)
    state = (settings.database_url, read_state(session), today, rules, book)
    latest = _LATEST.get("minutes")
    if latest is None or latest[0] != state:
        stays, left_out = stays_of(read_attendance(session, today - LOOK_BACK))
        found = learn_minutes(sites, stays, today, upkeep_min=dict(rules), left_out=left_out)
        latest = _LATEST["minutes"] = (state, found)
    return latest[1]


def _agreed_minutes(plan: ServicePlan) -> tuple[object, ...]:
    return plan.service_min, plan.seasons, plan.first_service_min, plan.started_on


def _with_chemicals(session: Session, settings: Settings, sites: Sequence[Site]) -> list[Site]:
    since = settings.today() - USE_LOOK_BACK
    used = read_while_records_stand(
        session, ("products", since), lambda: read_products_used(session, since)
    )
    if not used:
        return list(sites)
    usage = usage_of_sites(sites, used)
    return [
        replace(
            site,
            plan=replace(site.plan, chemicals_kg=chemicals_of_visit_kg(site, usage[site.id])),
        )
        for site in sites
    ]


def _minutes(one: Attendance) -> float | None:
    if one.arrived_at is None or one.left_at is None:
        return None
    return (one.left_at - one.arrived_at).total_seconds() / 60
