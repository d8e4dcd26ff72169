"""Repairs as a dispatcher compares them: whom an option touches, what it breaks and mends."""

from __future__ import annotations

from dataclasses import dataclass

from dispatch.actions.day_repair import Offer
from dispatch.clock import short_day
from dispatch.day.moments import clock_time
from dispatch.day.new_times import NewTime
from dispatch.day.options import LongDay, Option
from dispatch.edits.words import sentence_of, time_words
from dispatch.measures import measured
from dispatch.planning.check import Violation
from dispatch.words import _

MORE = 60.0  # seconds, or kg, by which a rule must be broken further to count as new


@dataclass(frozen=True, slots=True)
class Told:
    """An option in names and sentences, a line for each person, customer or rule.

    `late` is who works late, `new_times` whose time or day is another, `unplaced` what is left
    without a place. Rules that it breaks are `new`, or broken `already` as the day stands; those
    that it keeps again are `mended`.
    """

    late: tuple[str, ...]
    new_times: tuple[str, ...]
    unplaced: tuple[str, ...]
    new: tuple[str, ...]
    already: tuple[str, ...]
    mended: tuple[str, ...]


def told(offer: Offer) -> dict[str, Told]:
    """Each option in words, against how the day stands now, by the key of the option."""
    return {one.key: _told(offer, one) for one in offer.options}


def option_lines(offer: Offer) -> list[str]:
    """The options one below the other, as a shell shows them."""
    found = list[str]()
    for option in offer.options:
        one = _told(offer, option)
        found += [
            "",
            f"{option.title} (--take {option.key})",
            _line(_("Driving"), [_drive(option)]),
            _line(_("Works late"), one.late or [_("nobody")]),
            _line(_("New time or day"), one.new_times or [_("nobody")]),
            _line(_("Left without a place"), one.unplaced or [_("none")]),
            _line(_("Rules broken"), one.new or [_no_new_rule(one)]),
        ]
        found += [_line(_("Broken now as well"), one.already)] if one.already else []
        found += [_line(_("Put right"), one.mended)] if one.mended else []
    return found


def _no_new_rule(one: Told) -> str:
    return _("none that is not broken now") if one.already else _("none")


def _line(name: str, said: tuple[str, ...] | list[str]) -> str:
    return f"  {name}: {'; '.join(said)}"


def _drive(option: Option) -> str:
    return _("{minutes} min").format(minutes=f"{round(option.extra_drive_s / 60):+d}")


def _told(offer: Offer, option: Option) -> Told:
    stood = {_subject(one): one.amount for one in offer.stood}
    new = [one for one in option.violations if _is_new(one, stood)]
    kept = {_subject(one) for one in option.violations}
    gone = {one.visit_id for one in option.choice.gone}
    return Told(
        late=tuple(_late(offer, one) for one in option.late_workers),
        new_times=tuple(_new_time(offer, option, one) for one in option.new_times),
        unplaced=tuple(
            f"{_site(offer, one.site_id)}: {measured(one.reason)}" for one in option.unplaced
        ),
        new=tuple(sentence_of(one, offer.names) for one in new),
        already=tuple(sentence_of(one, offer.names) for one in option.violations if one not in new),
        mended=tuple(
            sentence_of(one, offer.names)
            for one in offer.stood
            if _subject(one) not in kept and one.subject not in gone  # what leaves is not served
        ),
    )


def _late(offer: Offer, one: LongDay) -> str:
    return _("{technician} {over} (was {before})").format(
        technician=offer.names.technician(one.technician_id),
        over=_up(one.over_s),
        before=_up(one.before_s),
    )


def _up(seconds: int) -> str:
    return time_words(60 * -(-seconds // 60))


def _new_time(offer: Offer, option: Option, one: NewTime) -> str:
    """From which time to which, and with whom that is somebody else, or on another day."""
    after = _("no time today")
    if one.to_day is not None:
        after = short_day(one.to_day, offer.day)
    elif one.start_after_s is not None:
        after = clock_time(offer.day, one.start_after_s)
    site = _site(offer, one.site_id)
    if one.start_before_s is None:
        said = [_("{site}: in no route yet, then {after}").format(site=site, after=after)]
    else:
        before = clock_time(offer.day, one.start_before_s)
        said = [_("{site}: {before} to {after}").format(site=site, before=before, after=after)]
    if one.technician_after and one.technician_after != one.technician_before:
        said.append(offer.names.technician(one.technician_after))
    said += [
        offer.names.technician(place.technician_id)
        if place.technician_id
        else _("comes into a route when that day is published")
        for place in option.other_days
        if place.visit_id == one.visit_id
    ]
    return ", ".join(said)


def _site(offer: Offer, site_id: str) -> str:
    return offer.names.sites.get(site_id, site_id)


def _is_new(one: Violation, stood: dict[tuple[str, str], float]) -> bool:
    before = stood.get(_subject(one))
    return before is None or one.amount > before + MORE


def _subject(one: Violation) -> tuple[str, str]:
    """What a rule is broken for, by whomever."""
    return str(one.rule), one.subject
