"""Nobody overwrites what somebody else changed meanwhile without being told."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import tzinfo
from enum import Enum

from sqlmodel import Session, SQLModel

from dispatch.errors import ChangedMeanwhile
from dispatch.store.record_tables import WaterTargetRow
from dispatch.store.tables import HoldRow, OneOffRow, SiteRow, TechnicianRow, UpkeepKindRow
from dispatch.store.versions import read_last_noted, read_version, read_versions

ANY_VERSION = "*"  # RFC 9110, section 13.1.1: whatever stands there


@dataclass(frozen=True, slots=True)
class Kept:
    """Where a thing is kept: its table, its key columns with their names in calls, its path."""

    row: type[SQLModel]
    key: tuple[tuple[str, str], ...]
    path: str
    words: str


class Thing(Enum):
    """What two people may edit."""

    SITE = Kept(SiteRow, (("id", "site_id"),), "/sites", "The site")
    SITES = Kept(SiteRow, (), "/sites", "The list of sites")
    TECHNICIAN = Kept(TechnicianRow, (("id", "technician_id"),), "/technicians", "The technician")
    TECHNICIANS = Kept(TechnicianRow, (), "/technicians", "The list of technicians")
    HOLD = Kept(HoldRow, (("site_id", "site_id"), ("first_day", "first_day")), "/holds", "The hold")
    HOLDS = Kept(HoldRow, (), "/holds", "The list of holds")
    ONE_OFF = Kept(OneOffRow, (("id", "work_id"),), "/one-offs", "The work")
    ONE_OFFS = Kept(OneOffRow, (), "/one-offs", "The list of one-off work")
    UPKEEP_KIND = Kept(UpkeepKindRow, (("kind", "kind"),), "/upkeep", "The kind of upkeep")
    WATER_TARGET = Kept(WaterTargetRow, (("kind", "kind"),), "/water/targets", "The target")


def version(session: Session, thing: Thing, names: Mapping[str, str]) -> str:
    """The version of a thing as it stands; `names` are its ids as calls have them."""
    key = {column: str(names.get(name, "")) for column, name in thing.value.key}
    return read_version(session, thing.value.row, key)


def versions(session: Session, thing: Thing) -> dict[tuple[str, ...], str]:
    """The versions of all of its kind, by their key."""
    return read_versions(session, thing.value.row, [column for column, _ in thing.value.key])


def check_version(
    session: Session, thing: Thing, names: Mapping[str, str], wanted: str, zone: tzinfo
) -> None:
    """Refuse a change that was made looking at another version than the present one.

    Parameters
    ----------
    wanted
        The version looked at, as it was told; empty or `*` for none in particular.
    zone
        Where the time of the other change is told.

    Raises
    ------
    ChangedMeanwhile
        With who changed it and when, as far as the audit log knows.
    """
    seen = wanted.strip().removeprefix("W/").strip('"')
    if seen in {"", ANY_VERSION} or seen == version(session, thing, names):
        return
    kept = thing.value
    ids = " ".join(str(names[name]) for _, name in kept.key if name in names)
    named = [f"{name} {names[name]}" for _, name in kept.key if name in names][:1]
    last = read_last_noted(session, kept.path, named)
    who = "the service itself, or a command" if last is None else last.person_name
    when = "" if last is None else f" on {last.at.astimezone(zone):%Y-%m-%d at %H:%M}"
    raise ChangedMeanwhile(
        f"{kept.words} {ids}".rstrip() + f" was changed by {who}{when}, after you had looked at "
        "it; nothing of yours was saved. Look at it as it is now, then decide."
    )
