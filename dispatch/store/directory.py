"""The directory of people: one for all branches of an installation, seen from one of them.

A branch keeps its book, plans and records in a database of its own. People, their rights, sessions
and tokens lie in the database of the installation itself, so that somebody has one sign-in name
and one password however many branches he works for; each row of a right, session, link or token
names its branch. An installation without branches has one database, and the branch ''.
"""

from __future__ import annotations

from sqlalchemy import Engine, delete, insert, select
from sqlmodel import Session

from dispatch.settings import Settings
from dispatch.store.db import make_engine, transaction
from dispatch.store.people_tables import (
    ApiTokenRow,
    PersonLinkRow,
    PersonRightRow,
    PersonRow,
    PersonSessionRow,
)
from dispatch.store.tables import read_rows, table_of

OPTION = "directory_branch"


def open_directory(settings: Settings, engine: Engine) -> Engine:
    """The database of the people, seen from the branch that `settings` name.

    `engine` is that of the branch, and the answer itself where there are no branches. People who
    were added to a branch before there was a directory are taken over into it.

    Raises
    ------
    SettingsError
        When the database of the installation cannot be opened.
    """
    if not settings.branch:
        return engine
    root = make_engine(settings.of_branch(""))
    directory = root.execution_options(**{OPTION: settings.branch})
    take_over(engine, directory, settings.branch)
    return directory


def branch_of(session: Session) -> str:
    """The branch from which a session sees the people; empty without branches."""
    return str(session.get_bind().get_execution_options().get(OPTION, ""))


def take_over(engine: Engine, directory: Engine, branch: str) -> None:
    """Move the people of a branch's own database into the directory.

    A sign-in name that somebody has there already gets the branch's name behind it, because
    nobody can know whether it is the same person. Sessions and links end; tokens go on.
    """
    with transaction(engine, read_only=True) as session:
        people = read_rows(session, PersonRow)
        rights = {row["person_id"]: row for row in read_rows(session, PersonRightRow)}
        tokens = read_rows(session, ApiTokenRow)
    if not people:
        return
    with transaction(directory) as session:
        taken = set(session.scalars(select(table_of(PersonRow).c.id)))
        names = {
            row["id"]: f"{row['id'][:20]}.{branch[:19]}" if row["id"] in taken else row["id"]
            for row in people
        }
        for row in people:
            moved = {**row, "id": names[row["id"]]}
            session.execute(insert(table_of(PersonRow)).values(moved))
            right = {**rights[row["id"]], "person_id": moved["id"], "branch": branch}
            session.execute(insert(table_of(PersonRightRow)).values(right))
        for row in tokens:
            moved = {**row, "person_id": names[row["person_id"]], "branch": branch}
            session.execute(insert(table_of(ApiTokenRow)).values(moved))
    with transaction(engine) as session:
        for table in (PersonSessionRow, PersonLinkRow, ApiTokenRow, PersonRightRow, PersonRow):
            session.execute(delete(table_of(table)))
