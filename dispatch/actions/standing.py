"""Standing routes: how they are, how they could be, and what it takes to get there."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING

from pydantic import TypeAdapter
from sqlalchemy import Engine
from sqlmodel import Session

from dispatch.actions.maps import drive_times
from dispatch.actions.sites_of_week import sites_from_week
from dispatch.actions.standing_changes import Wish, decide
from dispatch.clock import IsoWeek
from dispatch.errors import Cancelled, InvalidValue, NotFound, NothingToPlan
from dispatch.planning.progress import Report, ShouldStop, never, silent
from dispatch.settings import Settings
from dispatch.sites import Site
from dispatch.standing.changes import sites_in
from dispatch.standing.values import Habit, StandingChange
from dispatch.standing.weekdays import weekdays_with
from dispatch.store.book import read_some_sites, read_technicians
from dispatch.store.db import transaction
from dispatch.store.standing import Study, read_planned_changes, read_study, write_study
from dispatch.technicians import Technician
from dispatch.words import N_, _, counted

if TYPE_CHECKING:  # compiled code, slow to import
    from dispatch.standing.moves import Aim, Measure, Move
    from dispatch.standing.rounds import Rounds, Stand
    from dispatch.standing.typical import Typical

IMPROVE, EVEN_OUT, DESIGN = "improve", "even-out", "design"  # the studies there are
STUDIES = (IMPROVE, EVEN_OUT, DESIGN)
MOST_MOVES = 200  # customers; whoever moves more designs anew
WHY = {
    IMPROVE: N_("It shortens the rounds."),
    EVEN_OUT: N_("It evens the technicians' hours."),
    DESIGN: N_("The standing routes were designed anew."),
}


@dataclass(frozen=True, slots=True)
class StandFigures:
    """How standing routes stand, a week on average, in seconds; `spread_s` of the worst week.

    `broken_s` is by how much the routes break shifts, meals and windows together.
    """

    drive_s: int
    spread_s: int
    broken_s: int


@dataclass(frozen=True, slots=True)
class MoveFigures:
    """A customer's move, and how the routes stand after it and all moves before it.

    `drive_s` is what the week's driving changes by; below 0 it gets less. A design only makes
    sense as a whole: its moves are in the order of their sites, have no gain of their own
    (None), and `after` is how the routes stand after all of them.
    """

    rank: int
    site_id: str
    site: str
    old: str
    new: str
    old_habit: Habit
    new_habit: Habit
    drive_s: int | None
    spread_s: int | None
    after: StandFigures


@dataclass(frozen=True, slots=True)
class MovesFigures:
    """A study of standing routes: before, the moves in their rank, and after.

    After the last move every route is ordered anew, so `after` may be better than what the last
    move says. `homeless` are customers without a full habit, or without a place in the new routes.
    """

    name: str
    made_at: datetime
    first_week: str
    weeks: int
    most: int
    before: StandFigures
    moves: tuple[MoveFigures, ...]
    after: StandFigures
    homeless: tuple[str, ...]

    @property
    def left_out(self) -> str:
        """Who is in none of the routes, in a sentence; '' where there is nobody."""
        if not self.homeless:
            return ""
        if self.name == DESIGN:
            return counted(
                "{n} customer found no place that breaks nothing; nothing changes there, and the "
                "figures of the new routes are without that visit:",
                "{n} customers found no place that breaks nothing; nothing changes there, and the "
                "figures of the new routes are without their visits:",
                len(self.homeless),
            )
        return counted(
            "{n} customer is used to no technician or weekday, and is left out:",
            "{n} customers are used to no technician or weekday, and are left out:",
            len(self.homeless),
        )


_MOVES = TypeAdapter(MovesFigures)


def reckon_standing(
    engine: Engine,
    settings: Settings,
    name: str,
    *,
    today: date,
    most: int = 20,
    progress: Report = silent,
    should_stop: ShouldStop = never,
) -> MovesFigures:
    """Reckon a study of standing routes and keep it; nothing else is changed.

    Parameters
    ----------
    name
        `improve` (less driving), `even-out` (even hours) or `design` (from nothing).
    most
        How many customers may move; a design moves as many as it likes.

    Raises
    ------
    InvalidValue
        On another name, or on a number of customers nobody would move.
    NothingToPlan
        Without any site or technician.
    NoMap, OffStreet
        As planning a week does.
    Cancelled
        When `should_stop` says yes before the search has begun; an older study stays.
    """
    from dispatch.standing.design import as_used
    from dispatch.standing.moves import Scale
    from dispatch.standing.typical import typical_cycle

    if name not in STUDIES or not 1 <= most <= MOST_MOVES:
        raise InvalidValue(
            _(
                "A study '{name}' of {most} customers cannot be made: choose {studies}, and 1 "
                "to {most_moves} customers."
            ).format(name=name, most=most, studies=", ".join(STUDIES), most_moves=MOST_MOVES)
        )
    first = IsoWeek.of(today).next
    sites, technicians = _book(engine, first)
    matrix = drive_times(settings, sites, technicians).matrix
    typical = typical_cycle(first, sites, technicians, matrix)
    aim = _aim(settings, name)
    used = as_used(typical, should_stop)
    if should_stop():
        raise Cancelled(_("It was stopped before it began; nothing was reckoned."))
    before = Scale(used, aim).measure(used)
    told = _Words(typical, sites, technicians)
    if name == DESIGN:
        new, moves = _designed(settings, typical, used, aim, told, progress, should_stop)
    else:
        new, moves = _moved(used, aim, most, told, progress, should_stop)
    made = MovesFigures(
        name=name,
        made_at=settings.now(),
        first_week=str(first),
        weeks=typical.weeks,
        most=most,
        before=_stand(before),
        moves=moves,
        after=_stand(Scale(new, aim).measure(new)),
        homeless=tuple(
            typical.problem.demands[d].site_id for d, one in enumerate(new.stands) if one is None
        ),
    )
    with transaction(engine) as session:
        write_study(session, Study(name, "", made.made_at, _MOVES.dump_python(made, mode="json")))
    return made


def study(session: Session, name: str) -> MovesFigures:
    """The latest study of this name.

    Raises
    ------
    NotFound
        When there has been none.
    """
    kept = read_study(session, name)
    if kept is None:
        raise NotFound(
            _(
                "There is no study '{name}' of the standing routes yet: make it first. There "
                "are {studies}."
            ).format(name=name, studies=", ".join(STUDIES)),
            command=f"dispatch standing {name}",
        )
    return _MOVES.validate_python(kept.result)


def decide_on(
    session: Session, name: str, count: int | None, *, from_on: date, who: str, today: date
) -> list[StandingChange]:
    """Make the first `count` moves of the latest study a dated change of the standing routes.

    None is all of them. A design is decided on as a whole: its routes work only once everybody
    has moved, and the first lines of its list are no better than any others.

    Raises
    ------
    NotFound
        Without a study.
    InvalidValue
        When it has fewer moves, or is a design and has more; when the book says something else by
        now, or as `decide` does.
    """
    found = study(session, name)
    count = len(found.moves) if count is None else count
    if not 1 <= count <= len(found.moves):
        raise InvalidValue(
            _(
                "The study has {number} moves, and the first {count} cannot be made: give a "
                "number between."
            ).format(number=len(found.moves), count=count)
        )
    if name == DESIGN and count < len(found.moves):
        raise InvalidValue(
            _(
                "A design only makes sense as a whole, so the first {count} of its {number} moves "
                "cannot be made alone: decide on all of them, or take '{improve}', which ranks "
                "the few moves that gain most."
            ).format(count=count, number=len(found.moves), improve=IMPROVE)
        )
    chosen = found.moves[:count]
    sites = read_some_sites(session, [one.site_id for one in chosen])
    now = {
        site.id: Habit.of(site.plan)
        for site in sites_in(IsoWeek.of(from_on), sites.values(), read_planned_changes(session))
    }
    stale = [one.site for one in chosen if now.get(one.site_id) != one.old_habit]
    if stale:
        raise InvalidValue(
            _(
                "The routes of {stale} have changed since the study was made: reckon it again."
            ).format(stale=", ".join(stale[:3]))
        )
    wishes = [Wish(one.site_id, one.new_habit, _(WHY[name])) for one in chosen]
    return decide(session, wishes, from_on=from_on, who=who, today=today)


def _book(engine: Engine, first: IsoWeek) -> tuple[list[Site], list[Technician]]:
    with transaction(engine, read_only=True) as session:
        sites = sites_from_week(session, first)
        technicians = read_technicians(session)
    if not sites or not technicians:
        raise NothingToPlan(
            _("There are no standing routes without sites and technicians: import them first.")
        )
    return sites, technicians


def _aim(settings: Settings, name: str) -> Aim:
    from dispatch.standing.moves import Aim

    if name == EVEN_OUT:
        return Aim(60 * min(settings.even_bands_min), settings.even_price, evener=True)
    return Aim(shorter=name == IMPROVE)


def _moved(
    used: Rounds,
    aim: Aim,
    most: int,
    told: _Words,
    progress: Report,
    should_stop: ShouldStop,
) -> tuple[Rounds, tuple[MoveFigures, ...]]:
    from dispatch.standing.moves import best_moves, order_anew

    moves = best_moves(used, aim, most, progress=progress, should_stop=should_stop)
    if moves and not should_stop():
        order_anew(used, aim)
    return used, tuple(told.move(n, move) for n, move in enumerate(moves, 1))


def _designed(
    settings: Settings,
    typical: Typical,
    used: Rounds,
    aim: Aim,
    told: _Words,
    progress: Report,
    should_stop: ShouldStop,
) -> tuple[Rounds, tuple[MoveFigures, ...]]:
    from dispatch.standing.design import from_nothing
    from dispatch.standing.moves import Scale

    new = from_nothing(
        typical,
        aim,
        seed=settings.seed,
        iterations=settings.default_iterations,
        runs=settings.search_runs,
        progress=progress,
        should_stop=should_stop,
    )
    after = _stand(Scale(new, aim).measure(new))
    moves = list[MoveFigures]()
    for d, (old, stand) in enumerate(zip(used.stands, new.stands, strict=True)):
        if stand is None or stand == old or told.habit(d, stand) == typical.habits[d]:
            continue
        moves.append(told.changed(len(moves) + 1, d, stand, after))
    return new, tuple(moves)


def _stand(measure: Measure) -> StandFigures:
    return StandFigures(round(measure.drive_s), measure.spread_s, round(measure.broken_s))


class _Words:
    """Names of customers and technicians, and stands as habits."""

    def __init__(
        self, typical: Typical, sites: Iterable[Site], technicians: Iterable[Technician]
    ) -> None:
        self._typical = typical
        self._sites = {site.id: site for site in sites}
        self._names = {one.id: one.name for one in technicians}

    def habit(self, d: int, stand: Stand) -> Habit:
        """The habit of a stand; its anchor is the one agreed where the turns stay as they are.

        A stand has the visits of the season that was looked at, a habit the weekdays of all.
        """
        typical = self._typical
        cells = [typical.problem.cells[r] for r in stand.cells]
        who = cells[0].technician_id
        worked = {cell.day for cell in typical.problem.cells if cell.technician_id == who}
        plan = self._sites[typical.problem.demands[d].site_id].plan
        anchor_on = typical.habits[d].anchor_on
        if typical.every[d] > 1 and stand.phase != typical.phases[d]:
            anchor_on = min(cell.day for cell in cells) + timedelta(weeks=stand.phase)
        visits = tuple(sorted(cell.day for cell in cells))
        return Habit(who, weekdays_with(plan, visits, worked), anchor_on)

    def move(self, rank: int, move: Move) -> MoveFigures:
        """A move of the ranked list."""
        made = self.changed(rank, move.demand, move.new, _stand(move.after))
        return MoveFigures(
            rank,
            made.site_id,
            made.site,
            made.old,
            made.new,
            made.old_habit,
            made.new_habit,
            round(move.after.drive_s - move.before.drive_s),
            move.after.spread_s - move.before.spread_s,
            made.after,
        )

    def changed(self, rank: int, d: int, stand: Stand, after: StandFigures) -> MoveFigures:
        """A customer of a design, whose own gain nobody can tell from that of the others."""
        site_id = self._typical.problem.demands[d].site_id
        old, new = self._typical.habits[d], self.habit(d, stand)
        then = new.words(self._names)
        if new.anchor_on != old.anchor_on:
            then = _("{habit}, in other weeks").format(habit=then)
        return MoveFigures(
            rank,
            site_id,
            self._sites[site_id].name,
            old.words(self._names),
            then,
            old,
            new,
            None,
            None,
            after,
        )
