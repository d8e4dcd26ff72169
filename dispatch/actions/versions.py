"""Nobody overwrites what somebody else changed meanwhile without being told."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import tzinfo
from enum import Enum

from sqlmodel import Session, SQLModel

from dispatch.errors import ChangedMeanwhile, VersionMissing
from dispatch.store.people_tables import PersonRow
from dispatch.store.record_tables import RecordRow, WaterTargetRow
from dispatch.store.tables import HoldRow, OneOffRow, SiteRow, TechnicianRow, UpkeepKindRow
from dispatch.store.versions import (
    read_last_noted,
    read_people_version,
    read_people_versions,
    read_version,
    read_versions,
)
from dispatch.words import N_, _

ANY_VERSION = "*"  # RFC 9110, section 13.1.1: whatever stands there


@dataclass(frozen=True, slots=True)
class Kept:
    """Where a thing is kept: its table, its key columns with their names in calls, its path.

    Calls with that path in them may have changed it, and of a list all of them.
    """

    row: type[SQLModel]
    key: tuple[tuple[str, str], ...]
    path: str
    words: str


class Thing(Enum):
    """What two people may edit."""

    SITE = Kept(SiteRow, (("id", "site_id"),), "/sites", N_("The site"))
    SITES = Kept(SiteRow, (), "/sites/import", N_("The list of sites"))
    TECHNICIAN = Kept(
        TechnicianRow, (("id", "technician_id"),), "/technicians", N_("The technician")
    )
    TECHNICIANS = Kept(TechnicianRow, (), "/technicians/import", N_("The list of technicians"))
    HOLD = Kept(
        HoldRow, (("site_id", "site_id"), ("first_day", "first_day")), "/holds", N_("The hold")
    )
    HOLDS = Kept(HoldRow, (), "/holds", N_("The list of holds"))
    ONE_OFF = Kept(OneOffRow, (("id", "work_id"),), "/one-offs", N_("The work"))
    ONE_OFFS = Kept(OneOffRow, (), "/one-offs", N_("The list of one-off work"))
    UPKEEP_KIND = Kept(UpkeepKindRow, (("kind", "kind"),), "/upkeep", N_("The kind of upkeep"))
    UPKEEP_KINDS = Kept(UpkeepKindRow, (), "/upkeep", N_("The list of changed upkeep"))
    WATER_TARGETS = Kept(WaterTargetRow, (), "/water/targets", N_("The list of targets"))
    RECORD = Kept(RecordRow, (("id", "record_id"),), "/records", N_("The record"))
    WATER_TARGET = Kept(WaterTargetRow, (("kind", "kind"),), "/water/targets", N_("The target"))
    PERSON = Kept(PersonRow, (("id", "person_id"),), "/people", N_("The person"))
    PEOPLE = Kept(PersonRow, (), "/people", N_("The list of people"))


def version(session: Session, thing: Thing, names: Mapping[str, str]) -> str:
    """The version of a thing as it stands; `names` are its ids as calls have them."""
    key = {column: str(names.get(name, "")) for column, name in thing.value.key}
    return _version(session, thing, key)


def _version(session: Session, thing: Thing, key: Mapping[str, str]) -> str:
    """The version of what has that key; of the whole list without one."""
    if thing.value.row is PersonRow:  # with the rights in one branch, which lie apart
        return read_people_version(session, key.get("id"))
    return read_version(session, thing.value.row, key)


def versions(session: Session, thing: Thing) -> dict[tuple[str, ...], str]:
    """The versions of all of its kind, by their key."""
    if thing.value.row is PersonRow:
        return read_people_versions(session)
    return read_versions(session, thing.value.row, [column for column, _ in thing.value.key])


def check_version(
    session: Session, thing: Thing, names: Mapping[str, str], wanted: str, zone: tzinfo
) -> None:
    """Refuse a change that was made looking at another version than the present one.

    Parameters
    ----------
    wanted
        The version looked at, of the thing or of the list of all, as it was told; `*` for
        whatever stands there. A change of a list may leave it empty.
    zone
        Where the time of the other change is told.

    Raises
    ------
    ChangedMeanwhile
        With who changed it and when, as far as the audit log knows.
    VersionMissing
        When nothing was told.
    """
    seen, kept = wanted.strip().removeprefix("W/").strip('"'), thing.value
    if not seen and kept.key:
        raise VersionMissing(
            _(
                "Somebody else may have changed this meanwhile, so say what you looked at: send "
                "the ETag that reading it was answered with as If-Match (or * for whatever "
                "stands there), or open the page anew. Nothing was changed."
            )
        )
    if seen in {
        "",
        ANY_VERSION,
        version(session, thing, names),
        _version(session, thing, {}),
    }:
        return
    ids = " ".join(str(names[name]) for _, name in kept.key if name in names)
    named = [f"{name} {names[name]}" for _, name in kept.key if name in names][:1]
    last = read_last_noted(session, kept.path, named)
    what = f"{_(kept.words)} {ids}".rstrip()
    if last is None:
        raise ChangedMeanwhile(
            _(
                "{what} was changed by the service itself, or a command, after you had looked at "
                "it; nothing of yours was saved. Look at it as it is now, then decide."
            ).format(what=what)
        )
    raise ChangedMeanwhile(
        _(
            "{what} was changed by {who} on {day} at {time}, after you had looked at it; nothing "
            "of yours was saved. Look at it as it is now, then decide."
        ).format(
            what=what,
            who=last.person_name,
            day=last.at.astimezone(zone).date(),
            time=format(last.at.astimezone(zone), "%H:%M"),
        )
    )
