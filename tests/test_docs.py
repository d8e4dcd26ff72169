"""The documents say what is there: commands, settings, files, codes and terms cannot drift."""

from __future__ import annotations

import inspect
import re
from pathlib import Path

import typer.main
from typer.core import TyperGroup

from dispatch import errors
from dispatch.cli.app import app
from dispatch.settings import Settings
from tests.test_house import ROOT

README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")


def command_names() -> set[str]:
    """Every command of the shell, groups with their members, as 'map build'."""
    root = typer.main.get_command(app)
    assert isinstance(root, TyperGroup)
    names = set()
    for name, command in root.commands.items():
        if isinstance(command, TyperGroup):
            names |= {f"{name} {inner}" for inner in command.commands}
        else:
            names.add(name)
    return names


def test_every_command_in_the_readme_exists() -> None:
    """A newcomer types what stands there."""
    written = re.findall(r"\.venv/bin/dispatch ([a-z-]+(?: [a-z-]+)?)", README)
    known = command_names()
    unknown = [one for one in written if one not in known and one.split()[0] not in known]
    assert written
    assert not unknown


def test_every_command_group_is_told_of() -> None:
    """A command nobody hears of is not used."""
    told = set(re.findall(r"dispatch ([a-z-]+)", README))
    assert {name.split()[0] for name in command_names()} <= told


def test_every_setting_is_described() -> None:
    """`dispatch settings` is the one documented list; a field without words would leave a hole."""
    assert [name for name, one in Settings.model_fields.items() if not one.description] == []


def test_the_tree_of_errors_is_drawn_whole() -> None:
    """The docstring of errors.py shows every class with its code."""
    drawn = errors.__doc__ or ""
    classes = [
        one
        for _, one in inspect.getmembers(errors, inspect.isclass)
        if issubclass(one, errors.DispatchError) and one is not errors.DispatchError
    ]
    assert [one.__name__ for one in classes if one.__name__ not in drawn] == []
    leaves = [one for one in classes if not one.__subclasses__()]
    assert [one.code for one in leaves if one.code not in drawn] == []
    assert len({one.code for one in classes}) == len(classes)


def test_every_file_named_in_the_documents_is_there() -> None:
    """Paths in backticks and links lead somewhere."""
    text = README + DEVELOPERS
    named = re.findall(r"`((?:dispatch|api|tests|sample_region)/[\w/.]*)`", text)
    named += re.findall(r"\]\(([\w./-]+)\)", text)
    assert named
    assert [name for name in named if not (ROOT / name).exists()] == []


def test_every_room_is_in_the_picture() -> None:
    """A folder that the picture leaves out is one that a newcomer does not find."""
    rooms = [one.name for one in (ROOT / "dispatch").iterdir() if (one / "__init__.py").exists()]
    assert [room for room in rooms if f"{room}/" not in DEVELOPERS] == []


def test_the_picture_of_the_week_is_a_real_picture() -> None:
    """The README opens with a screenshot; a missing or empty one would greet every newcomer."""
    (name,) = re.findall(r"!\[[^\]]*\]\(([^)]+)\)", README)
    assert Path(ROOT / name).read_bytes().startswith(b"\x89PNG")
