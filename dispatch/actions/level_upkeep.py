"""Spreading the upkeep of the coming weeks: a short read, a long search, a short write."""

from __future__ import annotations

import hashlib
import json
from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date

from sqlalchemy import Engine
from sqlmodel import Session

from dispatch.actions.due import closed_days
from dispatch.actions.lists import ListTable
from dispatch.actions.upkeep_now import histories_until
from dispatch.clock import IsoWeek
from dispatch.errors import InputsChanged, NotFound, NothingToPlan
from dispatch.levelling.level import level
from dispatch.levelling.values import Levelling, Progress, weeks_from
from dispatch.settings import Settings
from dispatch.sites import Hold, Site, still_served
from dispatch.store import levelling as store
from dispatch.store.book import read_holds, read_sites, read_technicians
from dispatch.store.db import transaction
from dispatch.store.job_reports import Claim, unclaimed
from dispatch.store.levelling import KeptLevelling, KeptLoad, KeptSlot
from dispatch.store.rows import hold_columns, site_columns, technician_columns
from dispatch.store.upkeep_kinds import read_rules, rule_columns
from dispatch.technicians import Technician
from dispatch.upkeep_rules import UpkeepRule
from dispatch.words import _

USUAL_WEEKS = 52


@dataclass(frozen=True, slots=True)
class _Inputs:
    sites: list[Site]
    technicians: list[Technician]
    holds: list[Hold]
    rules: tuple[UpkeepRule, ...]

    @property
    def digest(self) -> str:
        everything = [
            [site_columns(one) for one in self.sites],
            [technician_columns(one) for one in self.technicians],
            [hold_columns(one) for one in self.holds],
            [rule_columns(one) for one in self.rules],
        ]
        return hashlib.sha256(json.dumps(everything, default=str).encode()).hexdigest()


def level_upkeep(
    engine: Engine,
    settings: Settings,
    *,
    today: date,
    weeks: int = USUAL_WEEKS,
    say: Callable[[Progress], None] = lambda _progress: None,
    should_stop: Callable[[], bool] = lambda: False,
    claim: Claim = unclaimed,
) -> Levelling:
    """Spread the upkeep from next week on, and keep the outcome in place of the one before it.

    `claim` is called in the transaction that keeps it.

    Raises
    ------
    InvalidValue
        When the horizon is empty or too long.
    NothingToPlan
        Without any site or technician.
    Cancelled
        When `should_stop` says yes; the weeks set before stay.
    InputsChanged
        When the book or the table of upkeep changed meanwhile; nothing is stored.
    """
    first = IsoWeek.of(today).next
    horizon = weeks_from(first, weeks)
    with transaction(engine, read_only=True) as session:
        inputs = _read(session)
        histories = histories_until(session, today)
    if not inputs.sites or not inputs.technicians:
        raise NothingToPlan(
            _("There is no upkeep to spread without sites and technicians: import them first.")
        )
    closed: frozenset[date] = frozenset().union(*(closed_days(settings, one) for one in horizon))
    made = level(
        still_served(inputs.sites, inputs.holds, first.sunday),
        inputs.technicians,
        inputs.rules,
        first,
        weeks,
        holds=inputs.holds,
        closed=closed,
        histories=histories,
        say=say,
        should_stop=should_stop,
    )
    with transaction(engine) as session:
        claim(session)
        if _read(session).digest != inputs.digest:
            raise InputsChanged(
                _(
                    "Sites, technicians, holds or the table of upkeep changed while upkeep was "
                    "spread, so nothing was stored and the weeks set before stay: spread it "
                    "again."
                )
            )
        store.write_levelling(session, made, today, inputs.digest)
    return made


def levelling(session: Session) -> KeptLevelling | None:
    """The latest spreading; None while there has been none."""
    return store.read_levelling(session)


def latest(session: Session) -> KeptLevelling:
    """The latest spreading; raises NotFound while there has been none."""
    kept = levelling(session)
    if kept is None:
        raise NotFound(
            _("Upkeep has not been spread over the weeks yet: start it on the page of the year."),
            command="dispatch upkeep level",
        )
    return kept


def slot_list(slots: Iterable[KeptSlot]) -> ListTable:
    """Upkeep with the week it is set for, by week and technician."""
    columns = ("week", "technician_id", "site_id", "upkeep", "due_on", "latest_on", "minutes")
    rows = tuple(
        (
            str(one.week),
            one.technician_id,
            one.site_id,
            one.title,
            one.due_on,
            one.latest_on,
            one.minutes,
            one.mass_kg,
        )
        for one in sorted(slots, key=lambda one: (one.week, one.technician_id, one.site_id))
    )
    return ListTable((*columns, "mass_kg"), rows)


def left_out_list(reasons: Iterable[str]) -> ListTable:
    """What each upkeep that found no week is, and why."""
    return ListTable(("reason",), tuple((one,) for one in reasons))


def load_list(loads: Iterable[KeptLoad]) -> ListTable:
    """Minutes of each technician and week."""
    columns = ("technician_id", "week", "shift_min", "visit_min", "drive_min", "room_min")
    rows = tuple(
        (
            one.technician_id,
            str(one.week),
            one.shift_min,
            one.visit_min,
            one.drive_min,
            one.room_min,
            one.upkeep_min,
            one.mass_kg,
        )
        for one in loads
    )
    return ListTable((*columns, "upkeep_min", "mass_kg"), rows)


def by_technician(loads: Iterable[KeptLoad]) -> dict[str, list[KeptLoad]]:
    """Loads of each technician in the order of weeks."""
    found: dict[str, list[KeptLoad]] = defaultdict(list)
    for one in loads:
        found[one.technician_id].append(one)
    return dict(found)


def _read(session: Session) -> _Inputs:
    return _Inputs(
        read_sites(session), read_technicians(session), read_holds(session), read_rules(session)
    )
