"""A repair as a short list of options, each with its price and checked like any plan."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date

from dispatch.clock import DAY_S, weekday_name
from dispatch.day.engines import best_rest
from dispatch.day.field import Field
from dispatch.day.new_times import NewTime, new_times
from dispatch.day.own_search import ROUNDS, cost_of, inserted, own_search
from dispatch.day.rest import Order, Rest, field_of, plan_of
from dispatch.day.situation import Situation
from dispatch.day.state import Gone, Noted, StopState
from dispatch.day.triggers import StopCancelled, StopMoved, noted_of
from dispatch.day.work import Work
from dispatch.planning.check import Violation, violations
from dispatch.planning.plan import Rule, Unplaced
from dispatch.words import _

DEAR = 20.0  # price of a second beyond the shift where nobody is to work longer
MOST_OPTIONS = 5
MINUTE_S = 60  # less beyond the shift is no late work


@dataclass(frozen=True, slots=True)
class OtherDay:
    """A place for a visit on another day, and what it costs there.

    `technician_id` is None where the day has not been published: planning will decide.
    """

    visit_id: str
    day: date
    technician_id: str | None
    extra_drive_s: int
    over_s: int


Elsewhere = Callable[[Sequence[Work], date | None], list[OtherDay]]


@dataclass(frozen=True, slots=True)
class LongDay:
    """Somebody who will work beyond the shift, and by how much he would have without the repair."""

    technician_id: str
    over_s: int
    before_s: int


@dataclass(frozen=True, slots=True)
class Choice:
    """A repair as it can be taken: who has which visits ahead, in their order, and what is new.

    Technicians that are not named keep what they have.
    """

    ahead: Mapping[str, tuple[str, ...]]
    gone: tuple[Gone, ...] = ()
    added: tuple[Work, ...] = ()
    why: str = ""
    noted: Noted = field(default_factory=Noted)


@dataclass(frozen=True, slots=True)
class Option:
    """One way to repair the day.

    `cost_s` is what options are compared by, in seconds of driving; `extra_drive_s` what is driven
    more than without the repair, other days included. `changed` are technicians whose stops ahead
    are others, or in another order.
    """

    key: str
    title: str
    choice: Choice
    cost_s: int
    extra_drive_s: int
    late_workers: tuple[LongDay, ...]
    new_times: tuple[NewTime, ...]
    unplaced: tuple[Unplaced, ...]
    other_days: tuple[OtherDay, ...]
    violations: tuple[Violation, ...]
    changed: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Draft:
    key: str
    title: str
    orders: tuple[Order, ...]
    to_other_day: tuple[OtherDay, ...] = ()


def no_other_day(_works: Sequence[Work], _day: date | None) -> list[OtherDay]:
    """There is no other day."""
    return []


def options(
    one: Situation,
    before: Situation,
    *,
    seed: int,
    why: str = "",
    rounds: int = ROUNDS,
    elsewhere: Elsewhere = no_other_day,
) -> tuple[Option, ...]:
    """The options for a day that was upset, cheapest first; two that come to the same are one.

    Parameters
    ----------
    one, before
        The day with what happened, and as it stood without.
    why
        What happened in words, for the history.
    elsewhere
        Finds places on other days for visits (all on one day, where a day is given).
    """
    f = field_of(one.rest)
    drafts = _drafts(one, f, seed, rounds, elsewhere)
    found: dict[tuple[object, ...], Option] = {}
    for draft in drafts:
        made = _option(one, before, f, draft, why)
        same = (tuple(sorted(made.choice.ahead.items())), made.choice.gone)
        found.setdefault(same, made)
    ranked = sorted(found.values(), key=lambda option: option.cost_s)
    return tuple(ranked[:MOST_OPTIONS])


def _drafts(one: Situation, f: Field, seed: int, rounds: int, elsewhere: Elsewhere) -> list[_Draft]:
    rest = one.rest
    plain = inserted(f, rest.base, one.wanted)
    drafts = [_Draft("keep-order", _("Nobody's order changes"), plain.orders)]
    best = best_rest(f, plain.orders, seed=seed, rounds=rounds)
    drafts.append(_Draft("best", _("Least driving and waiting"), best.orders))
    if _over_s(rest, best.orders) > 0:
        strict = replace(rest, prices=replace(rest.prices, overtime=DEAR, over=int(DEAR)))
        short = own_search(field_of(strict), best.orders, seed=seed, rounds=rounds // 2)
        drafts.append(_Draft("no-overtime", _("Nobody works longer than need be"), short.orders))
    if isinstance(one.trigger, StopMoved) and one.off is not None:
        return _moving(drafts, elsewhere([one.off.work], one.trigger.to_day))
    if isinstance(one.trigger, StopCancelled):
        return drafts
    if not one.wanted:
        drafts.append(_Draft("leave", _("Leave everything as it is"), rest.base))
    drafts += _other_day(one, f, plain.orders, elsewhere)
    return drafts


def _moving(drafts: list[_Draft], places: list[OtherDay]) -> list[_Draft]:
    """Every draft with the visit on its best other day, then the other days it could have."""
    if not places:
        return drafts
    found = [replace(draft, to_other_day=(places[0],)) for draft in drafts]
    keep = found[0]
    for place in places[1:3]:
        title = _("{title}; the visit on {weekday}").format(
            title=keep.title, weekday=weekday_name(place.day)
        )
        found.append(_Draft(f"keep-order-{place.day}", title, keep.orders, (place,)))
    return found


def _other_day(
    one: Situation, f: Field, plain: tuple[Order, ...], elsewhere: Elsewhere
) -> list[_Draft]:
    """What looks for a place, or comes too late as things stand, goes to another day."""
    rest = one.rest
    losing = list(one.wanted) or _suffering(rest)
    found = elsewhere([rest.works[n] for n in losing], None) if losing else []
    places = list({place.visit_id: place for place in reversed(found)}.values())
    if not places:
        return []
    moved = {place.visit_id for place in places}
    orders = tuple(
        tuple(n for n in order if rest.works[n].visit_id not in moved)
        for order in (plain if one.wanted else rest.base)
    )
    left = [n for n in losing if rest.works[n].visit_id not in moved]
    kept = inserted(f, orders, [n for n in left if all(n not in order for order in orders)])
    return [_Draft("other-day", _("To another day"), kept.orders, tuple(places))]


def _suffering(rest: Rest) -> list[int]:
    """Visits that break their window as things stand, and the last of days that are too long."""
    found = []
    for cell, order in enumerate(rest.base):
        times = rest.times(cell, order)
        found += [n for n, late_s in zip(order, times.late_s, strict=True) if late_s > 0]
        left = list(order)
        while left and rest.times(cell, left).end_s > rest.standings[cell].cell.regular_end_s:
            found.append(left.pop())
    return list(dict.fromkeys(found))


def _over_s(rest: Rest, orders: Sequence[Order]) -> int:
    return sum(
        max(0, rest.times(r, order).end_s - rest.standings[r].cell.regular_end_s)
        for r, order in enumerate(orders)
        if order
    )


def _option(one: Situation, before: Situation, f: Field, draft: _Draft, why: str) -> Option:
    rest = one.rest
    plan = plan_of(rest, draft.orders)
    moved = {place.visit_id: place for place in draft.to_other_day}
    left = tuple(one for one in plan.unplaced if one.visit_id not in moved)
    days = {place.visit_id: place.day for place in draft.to_other_day}
    if isinstance(one.trigger, StopMoved) and one.trigger.to_day is not None:
        days[one.trigger.visit_id] = one.trigger.to_day
    others_s = sum(place.extra_drive_s for place in draft.to_other_day)
    placed_elsewhere = [n for n, work in enumerate(rest.works) if work.visit_id in moved]
    cost_s = cost_of(f, draft.orders) + others_s
    cost_s -= sum(int(f.unplaced_s[n]) for n in placed_elsewhere)
    cost_s += sum(rest.prices.over * place.over_s for place in draft.to_other_day)
    return Option(
        key=draft.key,
        title=draft.title,
        choice=Choice(
            ahead=one.ahead(draft.orders),
            gone=_gone(one, draft, left),
            added=one.added,
            why=f"{why}: {draft.title[0].lower()}{draft.title[1:]}",
            noted=noted_of(one.trigger),
        ),
        cost_s=cost_s,
        extra_drive_s=_drive_s(one, draft.orders) - _drive_s(before, before.rest.base) + others_s,
        late_workers=_long_days(one, before, draft.orders),
        new_times=new_times(one, before, draft.orders, days),
        unplaced=(*left, *_without_room(one, draft)),
        other_days=draft.to_other_day,
        violations=broken_by(one, draft.orders),
        changed=_changed(one, before, draft.orders),
    )


def broken_by(one: Situation, orders: Sequence[Order]) -> tuple[Violation, ...]:
    """The rules that the day breaks with these orders of what is left."""
    plan = plan_of(one.rest, orders)
    return violations(one.rest.problem(), plan, is_part=True) + _on_the_way(one, orders)


def _on_the_way(one: Situation, orders: Sequence[Order]) -> tuple[Violation, ...]:
    """What stops being driven to, or kept by who is out, will break whatever is chosen.

    Their windows, and the shift of those who have nothing else ahead.
    """
    found = []
    free = {s.technician_id for s, order in zip(one.rest.standings, orders, strict=True) if order}
    for who, standing in one.standings.items():
        times = standing.times(one.rest.roads)
        count = len(one.pinned[who]) if who in one.pinned else int(standing.on_way is not None)
        rows = zip(standing.ahead[:count], times.late_s, strict=False)
        found += [
            Violation(Rule.WINDOW, visit.work.visit_id, who, one.state.day, late_s)
            for visit, late_s in rows
            if late_s > 0
        ]
        works = [visit.work for visit in standing.ahead[:count]]
        over_s = standing.times(one.rest.roads, works).overfull_s if works else 0
        if over_s > 0 and who not in free:
            found.append(Violation(Rule.OVERFULL, who, who, one.state.day, over_s))
    return tuple(found)


def _gone(one: Situation, draft: _Draft, unplaced: Sequence[Unplaced]) -> tuple[Gone, ...]:
    found = [Gone(place.visit_id, StopState.MOVED, place.day) for place in draft.to_other_day]
    known = {place.visit_id for place in draft.to_other_day}
    if one.off is not None and one.off.work.visit_id not in known:
        if isinstance(one.trigger, StopMoved):
            state = StopState.MOVED if one.trigger.to_day else StopState.UNPLACED
            found.append(Gone(one.off.work.visit_id, state, one.trigger.to_day))
        else:
            found.append(Gone(one.off.work.visit_id, StopState.CANCELLED))
    found += [Gone(left.visit_id, StopState.UNPLACED) for left in unplaced]
    return tuple(found)


def _without_room(one: Situation, draft: _Draft) -> tuple[Unplaced, ...]:
    """The visit that goes to a day on which it has no place as things stand."""
    if not isinstance(one.trigger, StopMoved) or one.off is None or draft.to_other_day:
        return ()
    work, to_day = one.off.work, one.trigger.to_day
    reason = (
        _("No day that was looked at has room for it: it stays without a day.")
        if to_day is None
        else _("{day} has no room for it: it comes to that day without a place.").format(day=to_day)
    )
    return (Unplaced(work.visit_id, work.site_id, reason),)


def _drive_s(one: Situation, orders: Sequence[Order]) -> int:
    """All driving still to come, that to stops which stay with somebody included, in seconds."""
    total = sum(one.rest.drive_s(r, order) for r, order in enumerate(orders))
    drive_s = one.rest.roads.drive_s
    for who, standing in one.standings.items():
        ahead = one.pinned.get(who)
        if ahead is None:
            ahead = (standing.on_way.work.visit_id,) if standing.on_way is not None else ()
            end = None
        else:
            end = standing.cell.end
        places = [one.rest.roads.place_of(one.state.visits[visit].work) for visit in ahead]
        here = standing.cell.start
        for place in [*places, *([end] if end is not None and (places or standing.is_out) else [])]:
            total += min(int(drive_s[here, place]), DAY_S)
            here = place
    return total


def _long_days(one: Situation, before: Situation, orders: Sequence[Order]) -> tuple[LongDay, ...]:
    """Who works beyond the shift, by a minute at least."""
    was = _overs(before, before.rest.base)
    now = _overs(one, orders)
    return tuple(
        LongDay(who, over_s, was.get(who, 0))
        for who, over_s in sorted(now.items())
        if over_s >= MINUTE_S
    )


def _overs(one: Situation, orders: Sequence[Order]) -> dict[str, int]:
    """By how much each technician with stops ahead works beyond the shift, in seconds."""
    found = {}
    for r, order in enumerate(orders):
        cell = one.rest.standings[r].cell
        has_stops = order or one.standings[cell.technician_id].on_way is not None
        end_s = one.rest.times(r, order).end_s if has_stops else 0
        found[cell.technician_id] = max(0, end_s - cell.regular_end_s)
    return found


def _changed(one: Situation, before: Situation, orders: Sequence[Order]) -> tuple[str, ...]:
    was, now = before.ahead(before.rest.base), one.ahead(orders)
    return tuple(sorted(who for who in now if now[who] != was.get(who, ())))
