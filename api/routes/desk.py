"""The week's desk: edits by hand, versions, locks, planning again, comparing, the check list."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import Response

from api.csvs import csv_answer
from api.deps import JobsDep, PersonDep, ReadSession, SettingsDep, WeekPath, WriteSession
from api.schemas.desk import (
    DeskOut,
    DifferenceOut,
    EditedOut,
    EditsIn,
    LockModel,
    PointOut,
    ProposalOut,
    TakeIn,
    VersionIn,
    VersionOut,
)
from api.schemas.job import PlanIn, PlanJobOut
from dispatch.actions import edit_plan, plan_again, plan_versions, week_check, week_desk
from dispatch.clock import IsoWeek

router = APIRouter(prefix="/weeks", tags=["desk"])


@router.get("/{week}/desk")
def show_desk(session: ReadSession, week: WeekPath) -> DeskOut:
    """Where the plan of the week stands: version, undo and redo, broken rules, locks."""
    return DeskOut.of(
        plan_versions.trail(session, week),
        edit_plan.broken_sentences(session, week),
        week_desk.locks(session, week),
    )


@router.post("/{week}/edits")
def edit(
    request: Request, settings: SettingsDep, person: PersonDep, week: WeekPath, wish: EditsIn
) -> EditedOut:
    """Edit the plan by hand; 412 when it has moved on since `version`.

    Broken rules are answered as data, with their amounts, and stop nothing.
    """
    done = edit_plan.edit_plan(
        request.app.state.engine,
        settings,
        week,
        wish.steps,
        version=wish.version,
        who=person.name,
        at=settings.now(),
        today=settings.today(),
        save=wish.save,
    )
    return EditedOut.of(done)


@router.post("/{week}/undo")
def undo(
    session: WriteSession, settings: SettingsDep, person: PersonDep, week: WeekPath, seen: VersionIn
) -> DeskOut:
    """Bring back the plan as it was before the latest step."""
    plan_versions.undo(
        session,
        week,
        version=seen.version,
        who=person.name,
        at=settings.now(),
        today=settings.today(),
    )
    return show_desk(session, week)


@router.post("/{week}/redo")
def redo(
    session: WriteSession, settings: SettingsDep, person: PersonDep, week: WeekPath, seen: VersionIn
) -> DeskOut:
    """Do the step again that was undone last."""
    plan_versions.redo(
        session,
        week,
        version=seen.version,
        who=person.name,
        at=settings.now(),
        today=settings.today(),
    )
    return show_desk(session, week)


@router.get("/{week}/versions")
def list_versions(session: ReadSession, week: WeekPath) -> list[VersionOut]:
    """The versions of the plan that are kept, earliest first."""
    return [
        VersionOut(number=one.number, what=one.what, who=one.who, at=one.at)
        for one in plan_versions.history(session, week)
    ]


@router.get("/{week}/versions.csv", response_class=Response)
def export_versions(session: ReadSession, week: WeekPath) -> Response:
    """One line for each version of the plan."""
    notes = plan_versions.history(session, week)
    return csv_answer(f"versions-{week}", plan_versions.history_list(notes))


@router.get("/{week}/locks")
def list_locks(session: ReadSession, week: WeekPath) -> list[LockModel]:
    """What planning again leaves alone."""
    return [LockModel.of(one) for one in week_desk.locks(session, week)]


@router.get("/{week}/locks.csv", response_class=Response)
def export_locks(session: ReadSession, week: WeekPath) -> Response:
    """One line for each lock."""
    return csv_answer(f"locks-{week}", week_desk.lock_list(week_desk.locks(session, week)))


@router.post("/{week}/locks")
def add_lock(session: WriteSession, week: WeekPath, wish: LockModel) -> list[LockModel]:
    """Lock a stop, a day or a route; answers all locks."""
    week_desk.lock(session, week, wish.lock)
    return list_locks(session, week)


@router.post("/{week}/locks/remove")
def remove_lock(session: WriteSession, week: WeekPath, wish: LockModel) -> list[LockModel]:
    """Take a lock away; answers those that are left."""
    week_desk.unlock(session, week, wish.lock)
    return list_locks(session, week)


@router.post("/{week}/proposal", status_code=202)
def start_proposal(
    person: PersonDep, week: WeekPath, wish: PlanIn, jobs: JobsDep, response: Response
) -> PlanJobOut:
    """Begin to plan again from the present plan; the result stands beside it."""
    job = jobs.plan_week(
        week,
        seed=wish.seed,
        iterations=wish.iterations,
        even_min=wish.even_min,
        is_proposal=True,
        who=person.name,
    )
    response.headers["Location"] = f"/api/jobs/{job.id}"
    return PlanJobOut.of(job)


@router.get("/{week}/proposal")
def show_proposal(session: ReadSession, week: WeekPath) -> ProposalOut:
    """The proposal, and what it does differently."""
    mark = plan_again.proposal_mark(session, week)
    return ProposalOut.of(plan_again.proposal(session, week), mark)


@router.post("/{week}/proposal/take")
def take_proposal(
    session: WriteSession, settings: SettingsDep, person: PersonDep, week: WeekPath, seen: TakeIn
) -> DeskOut:
    """Make the proposal the plan; undo brings the old one back."""
    plan_again.take_proposal(
        session,
        week,
        version=seen.version,
        who=person.name,
        at=settings.now(),
        mark=seen.proposal,
    )
    return show_desk(session, week)


@router.delete("/{week}/proposal", status_code=204)
def drop_proposal(session: WriteSession, week: WeekPath) -> None:
    """Throw the proposal away."""
    plan_again.drop_proposal(session, week)


@router.get("/{week}/compare")
def compare(
    session: ReadSession, week: WeekPath, before: str = "present", after: str = "proposal"
) -> DifferenceOut:
    """Two plans of the week: each `present`, `proposal`, or the number of a version."""
    return DifferenceOut.of(_compared(session, week, before, after).difference)


@router.get("/{week}/compare.csv", response_class=Response)
def export_difference(
    session: ReadSession, week: WeekPath, before: str = "present", after: str = "proposal"
) -> Response:
    """One line for each visit that stands elsewhere in the other plan."""
    found = _compared(session, week, before, after)
    return csv_answer(f"compare-{week}", week_check.difference_list(found))


@router.get("/{week}/check-list")
def show_check_list(session: ReadSession, settings: SettingsDep, week: WeekPath) -> list[PointOut]:
    """What to look at before the week is published."""
    points = week_check.week_check_list(session, settings, week, settings.today())
    return [PointOut.of(point) for point in points]


@router.get("/{week}/check-list.csv", response_class=Response)
def export_check_list(session: ReadSession, settings: SettingsDep, week: WeekPath) -> Response:
    """The check list as a table."""
    points = week_check.week_check_list(session, settings, week, settings.today())
    return csv_answer(f"check-list-{week}", week_check.check_table(points))


def _compared(session: ReadSession, week: IsoWeek, before: str, after: str) -> week_check.Compared:
    return week_check.compare_plans(session, week, before, after)
