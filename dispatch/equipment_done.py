"""How a site's register moves when upkeep was done there.

A record may arrive late: a date in the register that is later than that of the record stays, and
so does everything found with it. Upkeep done on a thing that the register does not hold proves
that it is there, so it is entered.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from datetime import UTC, date, datetime, tzinfo

from dispatch.clock import is_of_day
from dispatch.equipment import (
    Anode,
    CoverState,
    DrainCovers,
    Equipment,
    Filter,
    Heater,
    Media,
    Pump,
    SaltCell,
)
from dispatch.errors import InvalidValue
from dispatch.readings import Finding, ReadingAt, ReadingKind, UpkeepDone
from dispatch.words import _

CHANGES = {
    "sand-change": Media.SAND,
    "cartridge-change": Media.CARTRIDGE,
    "de-change": Media.DE,
}
_COVER_FINDINGS = frozenset({Finding.SOUND, Finding.LOOSE, Finding.CRACKED, Finding.MISSING})
CLEANINGS = {"backwash": Media.SAND, "cartridge-clean": Media.CARTRIDGE, "de-recharge": Media.DE}


def equipment_after(equipment: Equipment, done: UpkeepDone) -> Equipment:
    """The register after upkeep was done.

    Parameters
    ----------
    equipment
        The register before.
    done
        What was done, on which day, and what was found.

    Raises
    ------
    InvalidValue
        When the kind of upkeep is not known.
    """
    if done.kind in CHANGES or done.kind in CLEANINGS:
        return replace(equipment, filter=_filter_after(equipment.filter, done))
    makers: dict[str, Callable[[], Equipment]] = {
        "anode-swap": lambda: replace(equipment, anode=_anode_swapped(equipment.anode, done)),
        "anode-cleaning": lambda: replace(equipment, anode=_anode_after(equipment.anode, done)),
        "cell-inspection": lambda: replace(equipment, salt_cell=_cell_seen(equipment, done)),
        "cell-cleaning": lambda: replace(equipment, salt_cell=_cell_cleaned(equipment, done)),
        "cell-replacement": lambda: replace(equipment, salt_cell=_cell_swapped(equipment, done)),
        "pump-oring": lambda: replace(equipment, pump=_pump_after(equipment.pump, done)),
        "shaft-seal": lambda: replace(equipment, pump=_pump_after(equipment.pump, done)),
        "heater-service": lambda: replace(equipment, heater=_heater_after(equipment, done)),
        "drain-cover-check": lambda: replace(equipment, covers=_covers_after(equipment, done)),
        "drain-cover-change": lambda: replace(equipment, covers=_covers_after(equipment, done)),
    }
    if done.kind not in makers:
        known = ", ".join(sorted([*CHANGES, *CLEANINGS, *makers]))
        raise InvalidValue(
            _("There is no upkeep '{kind}': give one of {known}.").format(
                kind=done.kind, known=known
            )
        )
    return makers[done.kind]()


def anode_judged(equipment: Equipment, share: float, on: date) -> Equipment:
    """The register with the share of the anode that somebody saw to be left on a day."""
    before = equipment.anode or Anode()
    return replace(equipment, anode=_with_share(before, share, on))


def with_clean_pressure(
    equipment: Equipment, readings: Iterable[ReadingAt], zone: tzinfo = UTC
) -> Equipment:
    """The register with the clean pressure of its filter, read on the day it was cleaned.

    Of a day's readings the last one counts, because a filter is read before and after. A baseline
    that is there stays unless the new one is lower or the media has been changed since: a filter
    that no longer comes back to its clean pressure must not make its own bad pressure the norm.
    One without its speed, at a pump whose speed varies, says nothing and gives way to one with it.

    Parameters
    ----------
    equipment
        The register, already moved by the day's upkeep.
    readings
        Readings of this site; only pressures of the day of the last cleaning are looked at, and
        of the night after it, because a visit of a night shift is of the day before.
    zone
        Time zone that says on which day a reading was taken.
    """
    media = equipment.filter
    if media is None or media.cleaned_on is None:
        return equipment
    taken = [
        one
        for one in readings
        if is_of_day(one.at.astimezone(zone), media.cleaned_on)
        and one.reading.kind in (ReadingKind.FILTER_PRESSURE, ReadingKind.PUMP_SPEED)
    ]
    pressures = [one for one in taken if one.reading.kind is ReadingKind.FILTER_PRESSURE]
    if not pressures:
        return equipment
    last = max(pressures, key=lambda one: one.at)
    speed = _speed_at(taken, last.at)
    varies = equipment.pump is not None and bool(equipment.pump.variable_speed)
    if not _is_better(media, last.reading.value, speed, varies=varies):
        return equipment
    return replace(
        equipment,
        filter=replace(
            media, clean_kpa=last.reading.value, clean_on=media.cleaned_on, clean_rpm=speed
        ),
    )


def _speed_at(readings: Iterable[ReadingAt], at: datetime) -> float | None:
    speeds = (
        one.reading.value
        for one in readings
        if one.reading.kind is ReadingKind.PUMP_SPEED and one.at == at
    )
    return next(speeds, None)


def _is_better(media: Filter, clean_kpa: float, speed: float | None, *, varies: bool) -> bool:
    """Whether a pressure stands for the clean filter rather than what is known, if anything is."""
    says_nothing = varies and media.clean_rpm is None and speed is not None
    if media.clean_kpa is None or says_nothing:
        return True
    return speed == media.clean_rpm and clean_kpa < media.clean_kpa


def _filter_after(media: Filter | None, done: UpkeepDone) -> Filter:
    kind = CHANGES.get(done.kind) or CLEANINGS[done.kind]
    before = media or Filter(kind)
    if before.media is not kind:
        raise InvalidValue(
            _(
                "The upkeep '{kind}' was recorded on {on}, but the filter holds {media}: "
                "correct the kind, or the filter of the site."
            ).format(kind=done.kind, on=done.on, media=before.media)
        )
    after = replace(before, cleaned_on=_later(before.cleaned_on, done.on))
    if done.kind in CLEANINGS or _is_older(before.media_changed_on, done.on):
        return after
    after = replace(after, media_changed_on=done.on)
    if _is_older(before.clean_on, done.on):
        return after
    return replace(after, clean_kpa=None, clean_on=None, clean_rpm=None)


def _anode_swapped(anode: Anode | None, done: UpkeepDone) -> Anode:
    if anode is not None and _is_older(anode.installed_on, done.on):
        return anode
    new = Anode(installed_on=done.on, remaining_share=1.0, judged_on=done.on)
    if anode is None:
        return new
    if _is_older(anode.judged_on, done.on):
        new = replace(new, remaining_share=anode.remaining_share, judged_on=anode.judged_on)
    return replace(new, cleaned_on=_since(anode.cleaned_on, done.on))


def _anode_after(anode: Anode | None, done: UpkeepDone) -> Anode:
    before = anode or Anode()
    after = replace(before, cleaned_on=_later(before.cleaned_on, done.on))
    return (
        after if done.remaining_share is None else _with_share(after, done.remaining_share, done.on)
    )


def _with_share(anode: Anode, share: float, on: date) -> Anode:
    if _is_older(anode.judged_on, on) or _is_older(anode.installed_on, on):
        return anode
    return replace(anode, remaining_share=share, judged_on=on)


def _cell_seen(equipment: Equipment, done: UpkeepDone) -> SaltCell:
    before = equipment.salt_cell or SaltCell()
    if _is_older(before.installed_on, done.on):
        return before
    after = replace(before, inspected_on=_later(before.inspected_on, done.on))
    if done.finding is not None and not _is_older(before.inspected_on, done.on):
        after = replace(after, scaled=done.finding is Finding.SCALED)
    if done.remaining_share is not None and not _is_older(before.tested_on, done.on):
        after = replace(after, output_share=done.remaining_share, tested_on=done.on)
    return after


def _cell_cleaned(equipment: Equipment, done: UpkeepDone) -> SaltCell:
    before = equipment.salt_cell or SaltCell()
    if _is_older(before.installed_on, done.on):
        return before
    after = replace(before, cleaned_on=_later(before.cleaned_on, done.on))
    return after if _is_older(before.inspected_on, done.on) else replace(after, scaled=None)


def _cell_swapped(equipment: Equipment, done: UpkeepDone) -> SaltCell:
    before = equipment.salt_cell or SaltCell()
    if _is_older(before.installed_on, done.on):
        return before
    new = SaltCell(
        installed_on=done.on, rated_hours=before.rated_hours, hours_per_day=before.hours_per_day,
        inspected_on=_since(before.inspected_on, done.on),
        cleaned_on=_since(before.cleaned_on, done.on),
    )  # fmt: skip
    if new.inspected_on is not None:
        new = replace(new, scaled=before.scaled)
    if _is_older(before.tested_on, done.on):
        new = replace(new, output_share=before.output_share, tested_on=before.tested_on)
    return new


def _pump_after(pump: Pump | None, done: UpkeepDone) -> Pump:
    before = pump or Pump()
    if done.kind == "pump-oring":
        return replace(before, oring_changed_on=_later(before.oring_changed_on, done.on))
    return replace(before, seal_changed_on=_later(before.seal_changed_on, done.on))


def _heater_after(equipment: Equipment, done: UpkeepDone) -> Heater:
    before = equipment.heater or Heater()
    return replace(before, serviced_on=_later(before.serviced_on, done.on))


def _covers_after(equipment: Equipment, done: UpkeepDone) -> DrainCovers:
    before = equipment.covers or DrainCovers()
    if _is_older(before.checked_on, done.on):
        changed = done.kind == "drain-cover-change"  # what was looked at since is the new cover
        return replace(before, expires_on=None) if changed else before
    if done.kind == "drain-cover-change":  # its date stands on the new cover and is to be entered
        return DrainCovers(checked_on=done.on, state=CoverState.SOUND)
    found = CoverState(done.finding) if done.finding in _COVER_FINDINGS else before.state
    return replace(before, checked_on=done.on, state=found)


def _is_older(register: date | None, done_on: date) -> bool:
    """Whether the register knows of something later than what was done."""
    return register is not None and done_on < register


def _since(register: date | None, done_on: date) -> date | None:
    """A date of the register that came after what was done, None for one that came before."""
    return register if _is_older(register, done_on) else None


def _later(register: date | None, done_on: date) -> date:
    return done_on if register is None else max(register, done_on)
