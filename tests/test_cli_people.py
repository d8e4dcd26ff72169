from __future__ import annotations

import json
from pathlib import Path

import pytest

from dispatch.cli import run
from dispatch.cli.ways_in import demo_links, first_links
from dispatch.settings import load_settings
from dispatch.store.db import make_engine, transaction
from dispatch.store.people import caller_of_token, read_link
from tests.town import TECHNICIANS_CSV

URL = "http://127.0.0.1:8000"


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty company in a folder of its own."""
    monkeypatch.setenv("DISPATCH_DATA_DIR", str(tmp_path / "data"))
    monkeypatch.setenv("DISPATCH_FIXED_TODAY", "2026-11-25T23:59:59")
    return tmp_path


def use_of(link: str) -> tuple[str, str | None]:
    """What a printed link is for, and whose it is."""
    settings = load_settings()
    engine = make_engine(settings)
    with transaction(engine, read_only=True) as session:
        use, person = read_link(session, link.removeprefix(f"{URL}/welcome/"), settings.now())
    engine.dispose()
    return str(use), person


def test_people_are_added_listed_and_removed(capsys: pytest.CaptureFixture[str]) -> None:
    """From the machine itself, where nobody need be signed in."""
    assert run(["people", "add", "anna", "Invented Anna", "--role", "owner"]) == 0
    assert use_of(capsys.readouterr().out.split()[-1]) == ("set-password", "anna")
    assert run(["people", "add", "ben", "Invented Ben", "--role", "dispatcher"]) == 0
    assert run(["people", "reset", "ben"]) == 0
    assert use_of(capsys.readouterr().out.split()[-1]) == ("set-password", "ben")
    assert run(["people", "remove", "ben"]) == 0
    assert run(["people", "remove", "anna"]) != 0  # the only owner
    capsys.readouterr()
    assert run(["people", "list", "--json"]) == 0
    assert [one["person"] for one in json.loads(capsys.readouterr().out)] == ["anna"]
    assert run(["audit", "--json"]) == 0
    deeds = [one["deed"] for one in json.loads(capsys.readouterr().out)]
    assert deeds == ["people remove", "people reset", "people add", "people add"]


def test_a_technician_who_is_not_in_the_book_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    """He would sign in and find nothing, and nobody would know why."""
    assert run(["people", "add", "alma", "Invented Alma", "--technician", "T9"]) != 0
    assert "There is no technician 'T9' in the book" in capsys.readouterr().err


def test_a_token_made_here_works_and_can_be_taken_back(capsys: pytest.CaptureFixture[str]) -> None:
    """Its secret is printed once; the list shows everything but that."""
    run(["people", "add", "anna", "Invented Anna", "--role", "owner"])
    capsys.readouterr()
    assert run(["tokens", "add", "anna", "invented", "--scope", "read", "--days", "2"]) == 0
    secret = capsys.readouterr().out.split()[-1]
    assert run(["tokens", "list", "--json"]) == 0
    listed = capsys.readouterr().out
    assert secret not in listed
    settings = load_settings()
    engine = make_engine(settings)
    with transaction(engine, read_only=True) as session:
        assert caller_of_token(session, secret, settings.now()).person.id == "anna"
    engine.dispose()
    assert run(["tokens", "remove", json.loads(listed)[0]["token"]]) == 0


def test_a_company_without_people_is_given_a_way_in_and_one_with_people_none() -> None:
    """The service prints it when it starts; afterwards a link on a console is only a risk."""
    [(words, link)] = first_links(load_settings(), URL)
    assert "first owner" in words
    assert use_of(link) == ("first-owner", None)
    run(["people", "add", "anna", "Invented Anna", "--role", "owner"])
    assert first_links(load_settings(), URL) == []


def test_the_demo_has_a_link_for_each_role_made_anew_at_each_start(folder: Path) -> None:
    """Nothing fixed lets anybody in; a newcomer needs one click."""
    (folder / "t.csv").write_text(TECHNICIANS_CSV)
    run(["technicians", "import", str(folder / "t.csv")])
    first = demo_links(load_settings(), URL)
    second = demo_links(load_settings(), URL)
    assert [use_of(link) for _, link in second] == [
        ("sign-in", "owner"),
        ("sign-in", "desk"),
        ("sign-in", "technician"),
    ]
    assert not {link for _, link in first} & {link for _, link in second}


def test_gate_codes_get_a_new_key(capsys: pytest.CaptureFixture[str]) -> None:
    """The command is how a company answers a key that may have been copied."""
    assert run(["gate-codes", "rotate"]) == 0
    assert "0 gate codes are sealed with a new key" in capsys.readouterr().out


def test_rights_in_a_second_branch_are_given_in_its_name(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """One sign-in name, and nothing in the south until somebody says so."""
    assert run(["people", "add", "anna", "Invented Anna", "--role", "owner"]) == 0
    monkeypatch.setenv("DISPATCH_BRANCH", "south")
    assert run(["people", "grant", "nobody", "--role", "dispatcher"]) != 0
    capsys.readouterr()
    assert run(["people", "list", "--json"]) == 0
    assert json.loads(capsys.readouterr().out) == []
    assert run(["people", "grant", "anna", "--role", "dispatcher"]) == 0
    assert "may sign in to the branch 'south' as dispatcher" in capsys.readouterr().out
    assert run(["people", "list", "--json"]) == 0
    assert [one["role"] for one in json.loads(capsys.readouterr().out)] == ["dispatcher"]
    assert run(["audit", "--people", "--json"]) == 0
    assert [one["deed"] for one in json.loads(capsys.readouterr().out)] == ["people grant"]
    monkeypatch.delenv("DISPATCH_BRANCH")
    assert run(["people", "list", "--json"]) == 0
    assert [one["role"] for one in json.loads(capsys.readouterr().out)] == ["owner"]


def test_a_link_says_where_it_leads_unless_that_was_said(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The service may run on another port, and this command cannot know it."""
    run(["people", "add", "anna", "Invented Anna", "--role", "owner"])
    assert "give that with --url" in capsys.readouterr().err
    assert run(["people", "reset", "anna", "--url", "http://127.0.0.1:8123"]) == 0
    told = capsys.readouterr()
    assert "http://127.0.0.1:8123/welcome/" in told.out
    assert "--url" not in told.err
    monkeypatch.setenv("DISPATCH_PUBLIC_URL", "https://pools.example.org")
    assert run(["people", "invite", "anna"]) == 0
    told = capsys.readouterr()
    assert "https://pools.example.org/welcome/" in told.out
    assert "--url" not in told.err
