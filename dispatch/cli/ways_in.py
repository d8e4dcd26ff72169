"""The one-time links that a starting service prints, so that somebody can sign in."""

from __future__ import annotations

from dispatch.cli.people import link_of
from dispatch.people import Person, Role
from dispatch.settings import Settings
from dispatch.words import _, worded

Links = list[tuple[str, str]]  # what each is for, and its address


def first_links(settings: Settings, url: str) -> Links:
    """The link by which a company without people gets its first owner; none where it has some."""
    from dispatch.actions import people
    from dispatch.store.db import make_engine, transaction
    from dispatch.store.directory import open_directory

    engine = make_engine(settings)
    directory = open_directory(settings, engine)
    try:
        with transaction(directory) as session:
            if people.everybody(session):
                return []
            secret = people.invite_first_owner(session, settings.now())
    finally:
        directory.dispose()
        engine.dispose()
    words = _("Nobody can sign in yet. This link makes the first owner; it works once, within 48 h")
    return [(words, link_of(settings, secret, settings.own_url or url))]


def demo_links(settings: Settings, url: str) -> Links:
    """Links that sign in an owner, a dispatcher and a technician of the invented company.

    The people are added where missing; the secrets are random and made anew at each start.
    """
    from dispatch.actions import book, people
    from dispatch.store.db import make_engine, transaction
    from dispatch.store.directory import open_directory

    engine = make_engine(settings)
    directory = open_directory(settings, engine)
    try:
        with transaction(engine, read_only=True) as session:
            technicians = book.technicians(session)
        first, known_ids = technicians[0], [one.id for one in technicians]
        with transaction(directory) as session:
            everybody = (
                Person("owner", "Invented Owner", Role.OWNER),
                Person("desk", "Invented Dispatcher", Role.DISPATCHER),
                Person("technician", first.name, Role.TECHNICIAN, first.id),
            )
            known = {one.id for one in people.everybody(session)}
            for person in everybody:
                if person.id not in known:
                    people.add_person(session, person, settings.now(), technicians=known_ids)
            return [
                (
                    _("To sign in as {role} ({name}), once").format(
                        role=worded(person.role), name=person.name
                    ),
                    link_of(settings, people.sign_in_link(session, person.id, settings.now()), url),
                )
                for person in everybody
            ]
    finally:
        directory.dispose()
        engine.dispose()
