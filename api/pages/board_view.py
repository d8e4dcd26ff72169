"""The day as the dispatcher's board shows it: stops on a time axis, in percent of its width."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, tzinfo

from dispatch.actions.day import DayNow, StopNow, TechnicianNow
from dispatch.day.moments import seconds_of, wall_clock
from dispatch.day.projection import Flag, FlagKind
from dispatch.day.state import StopState
from dispatch.words import counted, joined

HOUR_S = 3600
SERIOUS = (  # a person may need help, a promise is broken, somebody drives in vain, the rest
    FlagKind.NO_SIGN,
    FlagKind.WINDOW_MISSED,
    FlagKind.OUT,
    FlagKind.IN_HOLD,
    FlagKind.NOT_STARTED,
    FlagKind.OVERDUE,
    FlagKind.SHIFT_OVER,
    FlagKind.WINDOW_CLOSE,
    FlagKind.LATE,
)
FOLDED = frozenset({FlagKind.WINDOW_CLOSE, FlagKind.LATE})
SIGNS = {
    "planned": "○",
    "late": "!",
    "under way": "▶",
    "done": "✓",
    "skipped": "×",  # noqa: RUF001 - a cross, as on paper
}


@dataclass(frozen=True, slots=True)
class Block:
    """A stop on the axis; `standing` says in a word how it is, `sign` as a shape."""

    row: StopNow
    standing: str
    sign: str
    start_s: int
    leave_s: int
    left: float
    width: float


@dataclass(frozen=True, slots=True)
class Lane:
    """One technician's stops on the axis."""

    technician: TechnicianNow
    blocks: tuple[Block, ...]


@dataclass(frozen=True, slots=True)
class Line:
    """One thing to look at; `site_name` is empty where it is about the whole day."""

    site_name: str
    words: str


@dataclass(frozen=True, slots=True)
class Look:
    """What to look at with one technician; `rest` is folded, `rest_words` sum it up."""

    technician_id: str
    name: str
    first: tuple[Line, ...]
    rest: tuple[Line, ...]
    rest_words: str


@dataclass(frozen=True, slots=True)
class Axis:
    """Whole hours from `first_s` to `last_s`, seconds of `day`."""

    day: date
    first_s: int
    last_s: int

    def percent(self, seconds: float) -> float:
        """Where a time stands, held within the axis."""
        share = (seconds - self.first_s) / (self.last_s - self.first_s)
        return round(100 * min(1.0, max(0.0, share)), 2)

    @property
    def ticks(self) -> list[tuple[int, float]]:
        """Every second hour with its place."""
        hours = range(self.first_s, self.last_s + 1, 2 * HOUR_S)
        return [(int(wall_clock(self.day, at)[:2]), self.percent(at)) for at in hours]

    def holds(self, seconds: float) -> bool:
        """Whether a time lies on the axis."""
        return self.first_s <= seconds <= self.last_s


def board(now: DayNow, zone: tzinfo) -> tuple[Axis, tuple[Lane, ...]]:
    """The axis of a day and a lane for each technician who has, or had, a stop."""
    spans = {
        row.stop.visit_id: _span(now, row, zone) for one in now.technicians for row in one.stops
    }
    starts = [start for start, _ in spans.values()] + [
        one.planned_start_s for one in now.technicians
    ]
    ends = [end for _, end in spans.values()] + [one.planned_end_s for one in now.technicians]
    first_s = min(starts, default=0) // HOUR_S * HOUR_S
    last_s = max(-(-max(ends, default=0) // HOUR_S) * HOUR_S, first_s + HOUR_S)
    axis = Axis(now.day, first_s, last_s)
    lanes = tuple(
        Lane(one, tuple(_block(row, axis, *spans[row.stop.visit_id]) for row in one.stops))
        for one in now.technicians
    )
    return axis, lanes


def looks(now: DayNow) -> tuple[Look, ...]:
    """What is flagged, by technician: a person without sign of life and broken promises first.

    Stops that will only be later than planned, and windows that will just be met, are folded.
    """
    found = []
    for one in now.technicians:
        names = {row.stop.visit_id: row.site_name for row in one.stops}
        own = [flag for flag in now.flags if flag.technician_id == one.technician_id]
        own.sort(key=lambda flag: (SERIOUS.index(flag.kind), -flag.amount_s))
        if not own:
            continue
        first = [flag for flag in own if flag.kind not in FOLDED]
        rest = [flag for flag in own if flag.kind in FOLDED]
        look = Look(
            technician_id=one.technician_id,
            name=one.name,
            first=tuple(Line(names.get(flag.visit_id or "", ""), flag.words) for flag in first),
            rest=tuple(Line(names.get(flag.visit_id or "", ""), flag.words) for flag in rest),
            rest_words=_folded_words(rest),
        )
        found.append((SERIOUS.index(own[0].kind), -own[0].amount_s, look))
    return tuple(look for _kind, _amount, look in sorted(found, key=lambda one: one[:2]))


def _folded_words(rest: list[Flag]) -> str:
    late = [flag.amount_s for flag in rest if flag.kind is FlagKind.LATE]
    close = sum(flag.kind is FlagKind.WINDOW_CLOSE for flag in rest)
    words = []
    if close:
        words.append(
            counted("{n} promised time only just kept", "{n} promised times only just kept", close)
        )
    if late:
        words.append(
            counted(
                "{n} stop later than planned, by {most} min",
                "{n} stops later than planned, by up to {most} min",
                len(late),
                most=-(-max(late) // 60),
            )
        )
    return joined(words)


def standing_of(row: StopNow) -> str:
    """How a stop is, in a word."""
    if row.now.state is StopState.PLANNED:
        return "late" if row.is_late else "planned"
    return str(row.now.state).replace("-", " ")


def _span(now: DayNow, row: StopNow, zone: tzinfo) -> tuple[int, int]:
    """From when to when, as it was or is expected; as planned where nothing else is known."""
    start_s, leave_s = row.stop.start_s, row.stop.leave_s
    if row.projected is not None:
        return row.projected.start_s, row.projected.leave_s
    if row.now.started_at is not None:
        begun_s = seconds_of(now.day, row.now.started_at, zone)
        start_s, leave_s = begun_s, begun_s + leave_s - start_s
    if row.now.left_at is not None:
        left_s = seconds_of(now.day, row.now.left_at, zone)
        return (start_s if row.now.started_at else left_s), left_s
    return start_s, max(leave_s, now.now_s) if row.now.started_at else leave_s


def _block(row: StopNow, axis: Axis, start_s: int, leave_s: int) -> Block:
    left = axis.percent(start_s)
    word = standing_of(row)
    width = round(max(axis.percent(leave_s) - left, 1.0), 2)
    return Block(row, word, SIGNS.get(word, "?"), start_s, leave_s, left, width)
