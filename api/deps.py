"""What endpoints ask for: settings, a transaction of their own, the jobs, a parsed week.

Those that wait for nothing are `async`: any other one is sent to a thread and back, which takes
longer than what it does.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path as FilePath
from typing import Annotated

from fastapi import Depends, HTTPException, Path, Request, Response, UploadFile
from sqlmodel import Session

from api.callers import note_call
from api.jobs.queue import Jobs
from api.pages.units import Units, units_of
from api.security import SAFE_METHODS
from api.uploads import receive_extract
from api.versions import check_match, etag_of
from dispatch.actions import book, people
from dispatch.clock import IsoWeek, parse_day
from dispatch.errors import NotSignedIn
from dispatch.intake.workbook import read_any
from dispatch.people import Caller, Person
from dispatch.settings import Settings
from dispatch.store.db import transaction
from dispatch.words import _

LARGEST_UPLOAD_B = 20_000_000  # bytes; a site's row has about 200, so this is 100,000 sites


async def the_settings(request: Request) -> Settings:
    """Settings the service was made with."""
    settings = request.app.state.settings
    assert isinstance(settings, Settings)  # noqa: S101
    return settings


async def the_jobs(request: Request) -> Jobs:
    """The service's jobs."""
    jobs = request.app.state.jobs
    assert isinstance(jobs, Jobs)  # noqa: S101
    return jobs


def read_session(request: Request, response: Response) -> Iterator[Session]:
    """A transaction that only reads; what has a version is answered with its `ETag`."""
    with transaction(request.app.state.engine, read_only=True) as session:
        if etag := etag_of(session, request, of_people=False):
            response.headers["ETag"] = etag
        yield session


def open_session(request: Request) -> Iterator[Session]:
    """A transaction that commits before the answer leaves, or not at all.

    Its line of the audit log is written in it, so that no change is without one.
    """
    with transaction(request.app.state.engine) as session:
        check_match(session, request, of_people=False)
        yield session
        if request.method not in SAFE_METHODS:
            note_call(session, request)


def read_people(request: Request, response: Response) -> Iterator[Session]:
    """As `read_session`, on the directory of people."""
    with transaction(request.app.state.directory, read_only=True) as session:
        if etag := etag_of(session, request, of_people=True):
            response.headers["ETag"] = etag
        yield session


def open_people(request: Request) -> Iterator[Session]:
    """As `open_session`, on the directory of people, which keeps the lines about itself."""
    with transaction(request.app.state.directory) as session:
        check_match(session, request, of_people=True)
        yield session
        if request.method not in SAFE_METHODS:
            note_call(session, request)


async def the_units(request: Request) -> Units:
    """The units of whoever calls."""
    return units_of(request)


async def the_caller(request: Request) -> Caller:
    """Who calls, with the scopes of the token where there is one.

    Raises
    ------
    NotSignedIn
        When nobody is signed in, which only a public route lets happen.
    """
    caller = request.state.caller
    if not isinstance(caller, Caller):
        raise NotSignedIn(_("Nobody is signed in: sign in first."))
    return caller


async def the_person(request: Request) -> Person:
    """The signed-in person; raises as `the_caller`."""
    return (await the_caller(request)).person


async def parsed_week(
    week: Annotated[str, Path(description="ISO 8601 week", examples=["2026-W49"])],
) -> IsoWeek:
    """The week in the address."""
    return IsoWeek.parse(week)


async def parsed_day(
    day: Annotated[str, Path(description="ISO 8601 date", examples=["2026-11-30"])],
) -> date:
    """The day in the address."""
    return parse_day(day)


def uploaded_text(file: UploadFile) -> str:
    """Text of an uploaded table: CSV, or the first sheet of a workbook.

    Raises
    ------
    ImportRejected
        When the bytes are neither UTF-8 text nor an honest workbook.
    HTTPException
        413 when there are more than `LARGEST_UPLOAD_B` of them.
    """
    content = file.file.read(LARGEST_UPLOAD_B + 1)
    if len(content) > LARGEST_UPLOAD_B:
        raise HTTPException(
            413,
            _(
                "The file '{filename}' is larger than {most} MB: split the table "
                "and import the parts one after the other."
            ).format(filename=file.filename, most=LARGEST_UPLOAD_B // 1_000_000),
        )
    return read_any(content)


SettingsDep = Annotated[Settings, Depends(the_settings)]


async def uploaded_extract(request: Request, settings: SettingsDep) -> FilePath:
    """The street map extract of the call; raises as `receive_extract` does."""
    return await receive_extract(request, settings)


CallerDep = Annotated[Caller, Depends(the_caller)]
PersonDep = Annotated[Person, Depends(the_person)]
UnitsDep = Annotated[Units, Depends(the_units)]
JobsDep = Annotated[Jobs, Depends(the_jobs)]
# `scope="function"` ends the transaction before the answer leaves: a commit that fails is told.
ReadSession = Annotated[Session, Depends(read_session, scope="function")]
WriteSession = Annotated[Session, Depends(open_session, scope="function")]
PeopleRead = Annotated[Session, Depends(read_people, scope="function")]
PeopleWrite = Annotated[Session, Depends(open_people, scope="function")]
WeekPath = Annotated[IsoWeek, Depends(parsed_week)]
DayPath = Annotated[date, Depends(parsed_day)]
UploadedText = Annotated[str, Depends(uploaded_text)]
UploadedExtract = Annotated[FilePath, Depends(uploaded_extract)]


def technician_ids(session: ReadSession) -> frozenset[str]:
    """Ids of the technicians of the book."""
    return frozenset(one.id for one in book.technicians(session))


def people_here(session: PeopleRead) -> list[Person]:
    """Everybody who may sign in to the branch."""
    return people.everybody(session)


TechnicianIds = Annotated[frozenset[str], Depends(technician_ids)]
PeopleHere = Annotated[list[Person], Depends(people_here)]
