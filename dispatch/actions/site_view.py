"""Everything that is known of one site, for its page."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from sqlmodel import Session

from dispatch.actions.forecasts import forecasts
from dispatch.actions.learnt import (
    SitePlannedActual,
    VisitMinutes,
    site_minutes,
    visit_minutes,
)
from dispatch.actions.record_photos import with_photos
from dispatch.actions.upkeep_now import histories_until
from dispatch.actions.water import WaterAdvice, water_advice
from dispatch.filter_rules import PRESSURE_RISE_KPA
from dispatch.readings import ReadingAt, ReadingKind, UpkeepDone
from dispatch.records.follow_ups import FollowUp
from dispatch.settings import Settings
from dispatch.sites import Site
from dispatch.store.record_history import read_history, read_upkeep_done
from dispatch.store.record_lists import read_follow_ups, read_targets
from dispatch.store.records import KeptRecord, read_records
from dispatch.store.upkeep_kinds import read_rules
from dispatch.upkeep import UpkeepDue, next_upkeep
from dispatch.upkeep_conditions import NO_HISTORY
from dispatch.upkeep_forecast import Forecast
from dispatch.water.ranges import Range
from dispatch.words import _


@dataclass(frozen=True, slots=True)
class SiteView:
    """A site with its readings, records and what is due.

    `history` is in the order of time, `records` and `visits` are newest first. `upkeep` is what is
    due next, soonest first; `done` was done, oldest first. `titles` names each kind of upkeep.
    `forecasts` are those of its parts whose age is known, soonest first.
    """

    site: Site
    water: WaterAdvice
    targets: Mapping[ReadingKind, Range]
    history: tuple[ReadingAt, ...]
    records: tuple[KeptRecord, ...]
    follow_ups: tuple[FollowUp, ...]
    minutes: SitePlannedActual
    visits: tuple[VisitMinutes, ...]
    upkeep: tuple[UpkeepDue, ...]
    done: tuple[UpkeepDone, ...]
    titles: Mapping[str, str]
    forecasts: tuple[Forecast, ...]

    @property
    def clean_kpa(self) -> float | None:
        """The filter's clean pressure, kPa; None where nobody has read it."""
        media = self.site.equipment.filter
        return media.clean_kpa if media is not None else None

    @property
    def threshold_kpa(self) -> float | None:
        """The pressure at which the filter is to be cleaned, kPa."""
        media = self.site.equipment.filter
        if media is None or media.clean_kpa is None:
            return None
        return media.clean_kpa + (media.rise_kpa or PRESSURE_RISE_KPA)


def site_view(
    session: Session, settings: Settings, site_id: str, *, customary: bool = True
) -> SiteView:
    """What is known of a site; raises NotFound."""
    water = water_advice(session, settings, site_id, customary=customary)
    history = tuple(read_history(session, site_id))
    done = read_upkeep_done(session, site_id).get(site_id, ())
    rules = read_rules(session)
    kept = read_records(session, settings.zone, site_id=site_id)
    past = histories_until(session, settings.today(), site_id)
    known = past.get(site_id, NO_HISTORY)
    due = [found for rule in rules if (found := next_upkeep(water.site, rule, known))]
    return SiteView(
        site=water.site,
        water=water,
        targets=read_targets(session),
        history=history,
        records=tuple(reversed(with_photos(session, kept))),
        follow_ups=tuple(read_follow_ups(session, site_id=site_id)),
        minutes=site_minutes(session, settings, site_id),
        visits=tuple(visit_minutes(session, settings, site_id)),
        upkeep=tuple(sorted(due, key=lambda one: (one.due_on, one.kind))),
        done=done,
        titles={rule.kind: _(rule.title) for rule in rules},
        forecasts=forecasts(session, settings.today(), site_id),
    )
