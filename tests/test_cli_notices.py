"""Messages to customers from the shell, as a timer sends them."""

from __future__ import annotations

import json
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from dispatch.actions.day_publish import publish_day
from dispatch.actions.doctor import Finding, State, examine
from dispatch.actions.notices import tell
from dispatch.actions.site_contact import set_contact
from dispatch.cli import run
from dispatch.contacts import NoticeWish
from dispatch.settings import Settings, load_settings
from dispatch.store.db import make_engine, transaction
from tests.mail_server import HERE, PUBLIC_URL, SENDER, MailServer, mail_server
from tests.town import MONDAY, planned_company

DAY = ("notices", "--day", "2026-11-30")


@pytest.fixture(scope="module")
def published(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Data of a company with a published Monday, whose customer S1 wishes everything."""
    folder = tmp_path_factory.mktemp("published")
    company = planned_company(folder)
    with company.writing() as session:
        publish_day(session, company.settings, MONDAY, who="Ada", at=company.settings.now())
        set_contact(session, "S1", "one@example.org", list(NoticeWish))
    company.engine.dispose()
    return folder / "data"


@pytest.fixture(autouse=True)
def server(
    published: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> Iterator[MailServer]:
    """A mail server, and that company in a folder of its own."""
    for name in Settings.model_fields:
        monkeypatch.delenv(f"DISPATCH_{name.upper()}", raising=False)
    monkeypatch.setenv("DISPATCH_DATA_DIR", str(tmp_path / "data"))
    monkeypatch.setenv("DISPATCH_FIXED_TODAY", "2026-11-25T23:59:59")
    monkeypatch.setenv("DISPATCH_COUNTRY", "")
    shutil.copytree(published, tmp_path / "data")
    with mail_server() as found:
        monkeypatch.setenv("DISPATCH_MAIL_SERVER", HERE)
        monkeypatch.setenv("DISPATCH_MAIL_PORT", str(found.port))
        monkeypatch.setenv("DISPATCH_MAIL_SECURITY", "none")
        monkeypatch.setenv("DISPATCH_MAIL_SENDER", SENDER)
        monkeypatch.setenv("DISPATCH_PUBLIC_URL", PUBLIC_URL)
        yield found


def told(capsys: pytest.CaptureFixture[str], *words: str) -> list[str]:
    """The states of the messages that a command lists."""
    capsys.readouterr()
    assert run([*words, "--json"]) == 0
    out = capsys.readouterr().out
    assert "example.org" not in out
    return [row["state"] for row in json.loads(out)]


def examined(check: str = "messages") -> Finding | None:
    return next((one for one in examine(load_settings()) if one.check == check), None)


def test_a_timer_tells_each_once_and_a_try_tells_nobody(
    capsys: pytest.CaptureFixture[str], server: MailServer, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Then the server is away, and then a setting is missing: whoever looks is told what to do."""
    assert told(capsys, *DAY, "--try") == ["waiting"]
    assert server.letters == []
    assert told(capsys, *DAY) == ["sent"]
    assert told(capsys, *DAY) == []
    assert server.recipients == ["one@example.org"]
    found = examined()
    assert found is not None
    assert found.state is State.WELL
    assert examined("outbox") is None

    monkeypatch.setenv("DISPATCH_MAIL_PORT", "9")
    found = examined()
    assert found is not None
    assert found.state is State.WRONG
    assert found.mend.startswith("See that it runs, and DISPATCH_MAIL_SERVER")

    monkeypatch.setenv("DISPATCH_MAIL_SENDER", "")
    assert run([*DAY]) == 1
    assert "DISPATCH_MAIL_SENDER must be set" in capsys.readouterr().err
    found = examined()
    assert found is not None
    assert found.mend == "Set DISPATCH_MAIL_SENDER."


def test_one_timer_tells_the_customers_of_every_branch(
    capsys: pytest.CaptureFixture[str],
    server: MailServer,
    monkeypatch: pytest.MonkeyPatch,
    tmp_path: Path,
) -> None:
    """Each with links to the own branch; one whose database is broken keeps no other waiting."""
    data = tmp_path / "data"
    for name in ("north", "south"):
        shutil.copytree(data, tmp_path / name)
        shutil.move(tmp_path / name, data / "branches" / name)
    (data / "branches" / "east").mkdir()
    (data / "branches" / "east" / "dispatch.sqlite").write_text("no database")
    monkeypatch.setenv("DISPATCH_FIXED_TODAY", "2026-11-29T20:00:00")

    assert run(["branches", "notices"]) == 1
    assert "write {branch} in DISPATCH_PUBLIC_URL" in capsys.readouterr().err
    assert server.letters == []

    monkeypatch.setenv("DISPATCH_PUBLIC_URL", "https://{branch}.pools.example")
    assert run(["branches", "notices", "--json"]) == 1
    said = capsys.readouterr()
    assert [(one["branch"], one["state"]) for one in json.loads(said.out)] == [
        ("north", "sent"),
        ("south", "sent"),
    ]
    assert "east: The database" in said.err
    links = [str(one.get_body(("plain",)).get_content()) for one in server.letters]  # type: ignore[union-attr]
    assert ["https://north.pools.example/visit/" in one for one in links] == [True, False]
    assert ["https://south.pools.example/visit/" in one for one in links] == [False, True]
    assert load_settings().own_url == "https://pools.example"


def test_messages_that_nobody_sends_are_noticed(monkeypatch: pytest.MonkeyPatch) -> None:
    """Decided on by a phone's record, and no timer runs: found the day after."""
    settings = load_settings()
    engine = make_engine(settings)
    with transaction(engine) as session:
        tell(session, settings, MONDAY, now=settings.now())
    engine.dispose()
    assert examined("outbox") is None
    monkeypatch.setenv("DISPATCH_FIXED_TODAY", "2026-11-26T23:59:59")
    found = examined("outbox")
    assert found is not None
    assert "more than an hour: 1" in found.found


def test_a_password_is_not_shown_among_the_settings(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """They are copied into reports."""
    monkeypatch.setenv("DISPATCH_MAIL_PASSWORD", "hush-hush")
    assert run(["settings", "--csv"]) == 0
    assert "DISPATCH_MAIL_PASSWORD,***" in (shown := capsys.readouterr().out)
    assert "hush-hush" not in shown + repr(load_settings())
