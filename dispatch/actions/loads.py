"""What goes on a truck for a day, from the plan, from usual use and from last readings."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import date

from sqlmodel import Session

from dispatch.actions.day_sheet import DaySheet, SheetStop
from dispatch.actions.learnt import USE_LOOK_BACK
from dispatch.actions.lists import ListTable
from dispatch.errors import InvalidValue
from dispatch.measures import kept_amount, measured
from dispatch.readings import LIMITS, ReadingAt, ReadingKind
from dispatch.records.history import last_readings
from dispatch.records.load_list import LoadList, Wanted, load_list
from dispatch.records.usage import BULKY, Usage, chemicals_of_visit_kg, usage_of_sites, usual_use
from dispatch.settings import Settings
from dispatch.sites import Site
from dispatch.store.book import read_some_sites
from dispatch.store.record_history import read_last_readings, read_products_used
from dispatch.store.record_lists import read_targets
from dispatch.water.advice import OTHERS_OLDEST_DAYS, RAISED_BY, Last
from dispatch.water.dosing import dose_kg
from dispatch.water.ranges import Range, Standing
from dispatch.words import _


def load_of(
    session: Session, settings: Settings, sheet: DaySheet, *, customary: bool = True
) -> LoadList:
    """The load of the truck for a day sheet, checked against payload and law."""
    site_ids = sorted({stop.site.id for stop in sheet.stops})
    points = read_last_readings(session, site_ids=site_ids) if site_ids else []
    targets = read_targets(session)
    return load_from(session, settings, sheet, points, targets, customary=customary)


def load_from(
    session: Session,
    settings: Settings,
    sheet: DaySheet,
    points: Iterable[ReadingAt],
    targets: Mapping[ReadingKind, Range],
    *,
    customary: bool = True,
) -> LoadList:
    """As `load_of`, with the last readings of the sites on the route as they were read before."""
    technician = sheet.technician
    on_route = [stop.site for stop in sheet.stops]
    usage = _usage(session, settings, on_route)
    jobs = _usage_of_jobs(session, settings, sheet)
    return load_list(
        [_taker(stop, jobs) for stop in sheet.stops],
        sheet.load,
        sheet.waste_kg,
        {**usage, **jobs},
        _wanted(settings, on_route, points, targets),
        technician.payload_kg,
        most_regulated_kg=technician.chemicals_most_kg,
        expected_regulated_kg=_most_aboard_kg(sheet, usage),
        refills=sheet.route is not None and sheet.route.supply_after is not None,
        beside=_chemicals_of_jobs(sheet, jobs),
        customary=customary,
    )


def _usage(session: Session, settings: Settings, on_route: Sequence[Site]) -> dict[str, Usage]:
    """Usual use of the sites; a pool without records takes what others of its kind do.

    Without such a one none of the others is asked: they have a hundred times as many records.
    """
    since = settings.today() - USE_LOOK_BACK
    book = {site.id: site for site in on_route}
    used = read_products_used(session, since, sorted(book))
    if not book.keys() <= used.keys():
        used = read_products_used(session, since)
        book |= read_some_sites(session, used.keys() - book.keys())
    return usage_of_sites(book.values(), used)


def _usage_of_jobs(session: Session, settings: Settings, sheet: DaySheet) -> dict[str, Usage]:
    """What earlier visits of the day's jobs took, by their demands: a green pool takes more."""
    site_ids = sorted({stop.site.id for stop in sheet.stops if stop.work is not None})
    if not site_ids:
        return {}
    since = settings.today() - USE_LOOK_BACK
    used = read_products_used(session, since, site_ids, by_jobs=True)
    return {demand_id: usual_use(found) for demand_id, found in used.items()}


def _taker(stop: SheetStop, jobs: Mapping[str, Usage]) -> str:
    """Whose use says what a stop takes: its job's where that is known, else its site's."""
    own = stop.work.demand_id if stop.work is not None else ""
    return own if own in jobs else stop.site.id


def _chemicals_of_jobs(sheet: DaySheet, jobs: Mapping[str, Usage]) -> list[str]:
    """Chemicals put down for jobs of which no earlier visit says what they were, in sentences."""
    return [
        _(
            "{title} ({site}) takes {mass} of chemicals, as agreed. Which ones is not known, so "
            "the list is without them: load them too."
        ).format(
            title=stop.work.title,
            site=stop.site.name,
            mass=measured(kept_amount(stop.work.chemicals_kg, "kg")),
        )
        for stop in sheet.stops
        if stop.work is not None and stop.work.chemicals_kg and stop.work.demand_id not in jobs
    ]


def _most_aboard_kg(sheet: DaySheet, usage: Mapping[str, Usage]) -> float:
    """Regulated chemicals for the visits before or after the supply stop, whichever are more."""
    takes = [
        chemicals_of_visit_kg(stop.site, usage[stop.site.id])
        if stop.work is None
        else stop.work.chemicals_kg
        for stop in sheet.stops
    ]
    supply_after = sheet.route.supply_after if sheet.route is not None else None
    return round(max(sum(takes[:supply_after]), sum(takes[supply_after or 0 :])), 1)


def load_table(found: LoadList) -> ListTable:
    """The load as one table: parts first, then products by tub."""
    columns = ("what", "tub", "amount", "packages", "package", "gross_kg", "regulated", "because")
    parts = tuple(
        (part.name, "parts", f"{part.quantity:g}", None, "", round(part.mass_kg, 1), "no", "work")
        for part in found.parts
    )
    products = tuple(
        (
            line.title,
            str(line.tub),
            line.amount,
            line.packages,
            line.package,
            round(line.gross_kg, 1),
            "yes" if line.regulated else "no",
            "; ".join(line.reasons),
        )
        for line in found.products
    )
    return ListTable(columns, (*parts, *products))


def _wanted(
    settings: Settings,
    on_route: Sequence[Site],
    points: Iterable[ReadingAt],
    targets: Mapping[ReadingKind, Range],
) -> list[Wanted]:
    """Bulky products that the last readings of the sites on the route ask for."""
    kinds = {kind for kind, product in RAISED_BY.items() if product in BULKY}
    at_site: defaultdict[str, list[ReadingAt]] = defaultdict(list)
    for point in points:
        if point.reading.kind in kinds:
            at_site[point.site_id].append(point)
    found = []
    for site in {site.id: site for site in on_route}.values():
        last = last_readings(at_site[site.id], settings.zone)
        found += _wanted_at(site, last, targets, settings.today())
    return found


def _wanted_at(
    site: Site,
    last: Mapping[ReadingKind, Last],
    targets: Mapping[ReadingKind, Range],
    today: date,
) -> list[Wanted]:
    found = []
    for kind, one in last.items():
        target = targets.get(kind)
        if target is None or site.pool_volume_l is None:
            continue
        if (today - one.on).days > OTHERS_OLDEST_DAYS:
            continue
        value = one.reading.value
        if target.standing(value) not in (Standing.BELOW, Standing.LOW):
            continue
        product = RAISED_BY[kind]
        try:
            mass_kg = dose_kg(product, site.pool_volume_l, target.aim - value)
        except InvalidValue:  # the aim of an odd range may lie below the reading
            continue
        reason = _("{title} {value:,.0f} ppm on {on}").format(
            title=_(LIMITS[kind].title).lower(), value=value, on=one.on
        )
        found.append(Wanted(site.id, product, mass_kg, reason))
    return found
