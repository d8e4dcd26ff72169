"""`dispatch people`, `dispatch tokens` and `dispatch audit`: who may do what, and who did."""

from __future__ import annotations

from typing import Annotated

import typer

from dispatch.cli.console import CsvOption, JsonOption, note, open_book, open_people, say, show_list
from dispatch.intake.parse import parse_choice
from dispatch.people import TOKEN_LASTS_DAYS, Person, Role, Scope
from dispatch.settings import Settings, load_settings
from dispatch.words import _

app = typer.Typer(help="The people who may sign in.", no_args_is_help=True)
tokens_app = typer.Typer(help="API tokens of programs.", no_args_is_help=True)

LOCAL_URL = "http://127.0.0.1:8000"  # where 'dispatch serve' listens unless told otherwise
PersonArgument = Annotated[str, typer.Argument(metavar="PERSON", help="The sign-in name.")]
UrlOption = Annotated[
    str, typer.Option("--url", help="What the link begins with, as http://127.0.0.1:8001.")
]
RoleOption = Annotated[str, typer.Option(help="owner, dispatcher or technician.")]
TechnicianOption = Annotated[
    str, typer.Option(help="Id of the technician of the book that the person is.")
]


@app.command("list")
def list_command(to_csv: CsvOption = False, to_json: JsonOption = False) -> None:
    """List everybody who may sign in."""
    from dispatch.actions import people

    with open_people(read_only=True) as (session, _settings):
        table = people.people_list(people.everybody(session))
    show_list(table, _("People"), to_csv=to_csv, to_json=to_json)


@app.command("add")
def add_command(
    person: PersonArgument,
    name: Annotated[str, typer.Argument(metavar="NAME", help="The name, as it is to be shown.")],
    role: RoleOption = "technician",
    technician: TechnicianOption = "",
    url: UrlOption = "",
) -> None:
    """Let somebody sign in, and print the one-time link by which a password is set."""
    from dispatch.actions import people
    from dispatch.actions.audit import note_from_console

    who = Person(person, name, parse_choice(Role)(role), technician or None)
    known = _technicians()
    with open_people(read_only=False) as (session, settings):
        people.add_person(session, who, settings.now(), technicians=known)
        secret = people.invite(session, who.id, settings.now())
        note_from_console(session, settings.now(), "people add", f"person {who.id}")
    say(
        _("{name} may sign in as {id} once a password is set, by this link, within 48 h:").format(
            name=who.name, id=who.id
        )
    )
    _say_link(settings, secret, url)


@app.command("grant")
def grant_command(
    person: PersonArgument, role: RoleOption = "technician", technician: TechnicianOption = ""
) -> None:
    """Give somebody of another branch rights in this one (DISPATCH_BRANCH); the password stays."""
    from dispatch.actions import people
    from dispatch.actions.audit import note_from_console

    chosen, known = parse_choice(Role)(role), _technicians()
    with open_people(read_only=False) as (session, settings):
        who = people.grant(session, person, chosen, technician or None, technicians=known)
        note_from_console(session, settings.now(), "people grant", f"person {person}")
    say(
        _("{name} may sign in to the branch '{branch}' as {role}, as {person}.").format(
            name=who.name, branch=settings.branch, role=role, person=person
        )
    )


@app.command("invite")
def invite_command(
    person: Annotated[
        str, typer.Argument(metavar="[PERSON]", help="The sign-in name; none for the first owner.")
    ] = "",
    url: UrlOption = "",
) -> None:
    """Print a one-time link to set a password, or to make a new company's first owner."""
    from dispatch.actions import people
    from dispatch.actions.audit import note_from_console

    with open_people(read_only=False) as (session, settings):
        if person:
            secret = people.invite(session, person, settings.now())
        else:
            secret = people.invite_first_owner(session, settings.now())
        note_from_console(session, settings.now(), "people invite", f"person {person}")
    say(_("The link works once, within 48 h:"))
    _say_link(settings, secret, url)


@app.command("reset")
def reset_command(person: PersonArgument, url: UrlOption = "") -> None:
    """Sign somebody out everywhere, void the password and print a link to set a new one.

    The address of the technician's calendar ends as well.
    """
    from dispatch.actions import people
    from dispatch.actions.audit import note_from_console

    with open_people(read_only=False) as (session, settings):
        who = people.person_of(session, person)
        secret = people.reset(session, person, settings.now())
        note_from_console(session, settings.now(), "people reset", f"person {person}")
    _end_calendar(who)
    say(
        _("{person} is signed out everywhere; the link works once, within 48 h:").format(
            person=person
        )
    )
    _say_link(settings, secret, url)


@app.command("remove")
def remove_command(person: PersonArgument) -> None:
    """Take somebody out, with sessions, links, API tokens and the calendar's address."""
    from dispatch.actions import people
    from dispatch.actions.audit import note_from_console

    with open_people(read_only=False) as (session, settings):
        who = people.person_of(session, person)
        people.remove_person(session, person)
        note_from_console(session, settings.now(), "people remove", f"person {person}")
    _end_calendar(who)
    say(_("{person} may sign in no more.").format(person=person))


@tokens_app.command("list")
def list_tokens_command(to_csv: CsvOption = False, to_json: JsonOption = False) -> None:
    """List the API tokens, without their secrets."""
    from dispatch.actions import people

    with open_people(read_only=True) as (session, _settings):
        table = people.token_list(people.tokens(session))
    show_list(table, _("API tokens"), to_csv=to_csv, to_json=to_json)


@tokens_app.command("add")
def add_token_command(
    person: PersonArgument,
    name: Annotated[str, typer.Argument(metavar="NAME", help="What the token is for.")],
    scope: Annotated[
        list[str], typer.Option(help="read, book, plan, records or feeds; may be repeated.")
    ],
    days: Annotated[int, typer.Option(min=1, max=TOKEN_LASTS_DAYS, help="How long it lasts.")] = 90,
) -> None:
    """Make an API token that may do, of what the person may do, what its scopes say."""
    from dispatch.actions import people
    from dispatch.actions.audit import note_from_console

    scopes = [parse_choice(Scope)(one) for one in scope]
    with open_people(read_only=False) as (session, settings):
        now = settings.now()
        token, secret = people.make_token(session, person, name, scopes, days=days, now=now)
        note_from_console(session, now, "tokens add", f"token {token.id}, person {person}")
    say(
        _("Token {id}, until {day}; its secret is shown only now:").format(
            id=token.id, day=token.expires_at.date()
        ),
        secret,
    )


@tokens_app.command("remove")
def remove_token_command(
    token: Annotated[str, typer.Argument(metavar="TOKEN", help="Its id, as the list shows it.")],
) -> None:
    """Take an API token back."""
    from dispatch.actions import people
    from dispatch.actions.audit import note_from_console

    with open_people(read_only=False) as (session, settings):
        people.remove_token(session, token)
        note_from_console(session, settings.now(), "tokens remove", f"token {token}")
    say(_("The token {token} works no more.").format(token=token))


def audit_command(
    most: Annotated[int, typer.Option("--most", min=1, help="How many lines.")] = 200,
    people: Annotated[bool, typer.Option("--people", help="Those about people.")] = False,
    to_csv: CsvOption = False,
    to_json: JsonOption = False,
) -> None:
    """List who did what and when (UTC), newest first.

    With branches, lines about sign-ins, people and tokens are listed by --people.
    """
    from dispatch.actions.audit import audit_lines, audit_list

    with (open_people if people else open_book)(read_only=True) as (session, _settings):
        table = audit_list(audit_lines(session, most=most))
    show_list(table, _("Audit log"), to_csv=to_csv, to_json=to_json)


def _technicians() -> list[str]:
    """Ids of the technicians of the book."""
    from dispatch.actions import book

    with open_book(read_only=True) as (session, _settings):
        return [one.id for one in book.technicians(session)]


def _say_link(settings: Settings, secret: str, url: str) -> None:
    say(link_of(settings, secret, url))
    if not (url or settings.own_url):
        note(
            _(
                "It leads to port 8000 of this machine. Where people reach the service under "
                "another address, give that with --url, or for good with DISPATCH_PUBLIC_URL."
            )
        )


def link_of(settings: Settings, secret: str, url: str = "") -> str:
    """The address of a one-time link."""
    return f"{(url or settings.own_url or LOCAL_URL).rstrip('/')}/welcome/{secret}"


def _end_calendar(person: Person) -> None:
    """End the address of the calendar that somebody may have on a phone."""
    from dispatch.actions.calendars import end_calendar_of
    from dispatch.store.db import make_engine

    engine = make_engine(load_settings())
    try:
        end_calendar_of(engine, person)
    finally:
        engine.dispose()
