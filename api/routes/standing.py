"""Standing routes: as they are, studies of better ones, and dated changes."""

from __future__ import annotations

from datetime import date
from enum import StrEnum

from fastapi import APIRouter
from fastapi.responses import Response
from pydantic import BaseModel, Field

from api.csvs import csv_answer
from api.deps import JobsDep, PersonDep, ReadSession, SettingsDep, WriteSession
from api.schemas.job import StudyJobOut
from api.schemas.named import NamedDay
from dispatch.actions import standing, standing_changes, standing_days
from dispatch.actions.standing import MovesFigures
from dispatch.actions.standing_days import WeekdayFigures
from dispatch.actions.standing_lists import move_list
from dispatch.clock import WEEKDAYS, IsoWeek
from dispatch.intake.parse import parse_weekdays
from dispatch.standing.values import LONGEST_WHY, Habit, StandingChange

router = APIRouter(tags=["standing routes"])


class StudyName(StrEnum):
    """The studies of standing routes there are."""

    IMPROVE = standing.IMPROVE
    EVEN_OUT = standing.EVEN_OUT
    DESIGN = standing.DESIGN


class MostIn(BaseModel):
    """How many customers may move."""

    most: int = Field(default=20, ge=1, le=standing.MOST_MOVES)


class DecideIn(BaseModel):
    """How far to go down the ranked list, and from when."""

    count: int | None = Field(
        default=None,
        ge=1,
        description="how many moves, from the first on; all when left out. A design is decided on "
        "as a whole",
    )
    from_on: NamedDay = Field(description="a Monday after today")


class WishIn(BaseModel):
    """One customer's new habit, decided by hand."""

    site_id: str
    technician_id: str | None
    weekdays: list[str] = Field(description="as Mon, Thu")
    anchor_on: NamedDay | None = Field(
        default=None, description="a day of a week with a turn, for every 2 or 4 weeks"
    )
    from_on: NamedDay = Field(description="a Monday after today")
    why: str = Field(min_length=1, max_length=LONGEST_WHY)


class HabitOut(BaseModel):
    """Who usually comes, and when."""

    technician_id: str | None
    weekdays: list[str]
    anchor_on: date | None

    @classmethod
    def of(cls, habit: Habit) -> HabitOut:
        """The JSON of a habit."""
        days = [WEEKDAYS[n] for n in sorted(habit.weekdays)]
        return cls(technician_id=habit.technician_id, weekdays=days, anchor_on=habit.anchor_on)


class ChangeOut(BaseModel):
    """A dated change."""

    id: str
    batch: str = Field(description="shared by changes decided together")
    site_id: str
    from_on: date
    old: HabitOut
    new: HabitOut
    why: str
    who: str
    made_on: date
    state: str

    @classmethod
    def of(cls, change: StandingChange) -> ChangeOut:
        """The JSON of a change."""
        return cls(
            id=change.id,
            batch=change.batch,
            site_id=change.site_id,
            from_on=change.from_on,
            old=HabitOut.of(change.old),
            new=HabitOut.of(change.new),
            why=change.why,
            who=change.who,
            made_on=change.made_on,
            state=change.state,
        )


class WithdrawnOut(BaseModel):
    """How many changes were taken back."""

    count: int


@router.get("/standing")
def show_standing(session: ReadSession, settings: SettingsDep) -> list[WeekdayFigures]:
    """Each technician's standing weekdays: who is served on them, as agreed."""
    return standing_days.standing_days(session, IsoWeek.of(settings.today()))


@router.get("/standing.csv", response_class=Response)
def export_standing(session: ReadSession, settings: SettingsDep) -> Response:
    """One line for each customer of each standing weekday."""
    days = standing_days.standing_days(session, IsoWeek.of(settings.today()))
    return csv_answer("standing", standing_days.standing_list(days))


@router.post("/standing/studies/{name}", status_code=202)
def start_study(name: StudyName, wish: MostIn, jobs: JobsDep, response: Response) -> StudyJobOut:
    """Begin a study in the background; `Location` is where to watch it."""
    job = jobs.study(name, "", {"most": wish.most})
    response.headers["Location"] = f"/api/jobs/{job.id}"
    return StudyJobOut.of(job)


@router.get("/standing/studies/{name}")
def show_study(session: ReadSession, name: StudyName) -> MovesFigures:
    """The latest study: the moves in their rank, and how the routes stand before and after.

    The moves of a design only make sense together: in the order of their sites, without a gain.
    """
    return standing.study(session, name)


@router.get("/standing/studies/{name}/moves.csv", response_class=Response)
def export_moves(session: ReadSession, name: StudyName) -> Response:
    """One line for each move, in its rank; for a design without rank and gain."""
    return csv_answer(f"standing-{name}", move_list(standing.study(session, name)))


@router.post("/standing/studies/{name}/decide", status_code=201)
def decide_on_study(
    session: WriteSession,
    settings: SettingsDep,
    person: PersonDep,
    name: StudyName,
    wish: DecideIn,
) -> list[ChangeOut]:
    """Make the first moves of the latest study a dated change."""
    made = standing.decide_on(
        session,
        name,
        wish.count,
        from_on=wish.from_on,
        who=person.name,
        today=settings.today(),
    )
    return [ChangeOut.of(one) for one in made]


@router.get("/standing/changes")
def list_changes(session: ReadSession) -> list[ChangeOut]:
    """All dated changes, whatever has become of them."""
    return [ChangeOut.of(one) for one in standing_changes.all_changes(session)]


@router.get("/standing/changes.csv", response_class=Response)
def export_changes(session: ReadSession) -> Response:
    """One line for each dated change."""
    names = standing_changes.site_names(session)
    table = standing_changes.change_list(standing_changes.all_changes(session), names)
    return csv_answer("standing-changes", table)


@router.post("/standing/changes", status_code=201)
def decide_by_hand(
    session: WriteSession, settings: SettingsDep, person: PersonDep, wish: WishIn
) -> ChangeOut:
    """Decide on one customer's change."""
    weekdays = parse_weekdays(";".join(wish.weekdays)) if wish.weekdays else frozenset[int]()
    new = Habit(wish.technician_id, weekdays, wish.anchor_on)
    (made,) = standing_changes.decide(
        session,
        [standing_changes.Wish(wish.site_id, new, wish.why)],
        from_on=wish.from_on,
        who=person.name,
        today=settings.today(),
    )
    return ChangeOut.of(made)


@router.post("/standing/changes/{change_id}/withdraw")
def withdraw_change(
    session: WriteSession, settings: SettingsDep, person: PersonDep, change_id: str
) -> WithdrawnOut:
    """Take back a change, or all that were decided together, before their date."""
    count = standing_changes.withdraw(session, change_id, who=person.name, today=settings.today())
    return WithdrawnOut(count=count)
