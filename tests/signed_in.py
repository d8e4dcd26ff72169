"""Test clients and browsers in which somebody is signed in, as a person would be."""

from __future__ import annotations

from sqlalchemy import Engine
from starlette.testclient import TestClient

from api.app import create_app
from api.callers import cookie_of
from dispatch.passwords import new_secret
from dispatch.people import SESSION_LASTS, Person, Role
from dispatch.settings import Settings
from dispatch.store import people
from dispatch.store.db import make_engine, transaction
from dispatch.store.directory import open_directory

OWNER = Person("owner", "Invented Owner", Role.OWNER)
DISPATCHER = Person("desk", "Invented Desk", Role.DISPATCHER)
ALMA = Person("alma", "Invented Alma", Role.TECHNICIAN, "T1")
BEN = Person("ben", "Invented Ben", Role.TECHNICIAN, "T2")
FROM_HERE = {"Sec-Fetch-Site": "same-origin"}  # what a browser says of our own pages' calls


def session_of(engine: Engine, settings: Settings, person: Person = OWNER) -> str:
    """Sign the person in, who is added where missing, and return the secret of the cookie."""
    secret, now = new_secret(), settings.now()
    directory = open_directory(settings, engine)
    with transaction(directory) as session:
        people.write_person(session, person, now)
        until = now + SESSION_LASTS
        people.write_session(session, secret, person.id, now=now, until=until, device="a test")
    if directory is not engine:
        directory.dispose()
    return secret


def signed_in_client(
    settings: Settings, person: Person | None = OWNER, *, raises: bool = True
) -> TestClient:
    """The service in which `person` is signed in; nobody where that is None."""
    client = TestClient(create_app(settings), raise_server_exceptions=raises, headers=FROM_HERE)
    if person is not None:
        engine = make_engine(settings)
        client.cookies.set(cookie_of(settings), session_of(engine, settings, person))
        engine.dispose()
    return client
