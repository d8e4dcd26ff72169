"""The container file, read and checked against what it speaks of; no image is built here."""

from __future__ import annotations

import importlib.util
import re
import shlex
import tomllib
from pathlib import Path

from typer.main import get_command
from typer.testing import CliRunner

from api.rights import RIGHTS
from dispatch.cli.app import app
from dispatch.settings import Settings

ROOT = Path(__file__).parents[2]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))


def steps() -> list[tuple[str, str]]:
    """The instructions of the file with what follows each, in order; lines joined."""
    text = (ROOT / "api" / "Containerfile").read_text(encoding="utf-8").replace("\\\n", " ")
    lines = [line for line in text.splitlines() if line.strip() and not line.startswith("#")]
    return [(line.split(maxsplit=1)[0], line.split(maxsplit=1)[1]) for line in lines]


def all_of(name: str) -> list[str]:
    """What follows each instruction of this name."""
    return [rest for step, rest in steps() if step == name]


def test_all_that_the_package_is_made_of_is_copied() -> None:
    """A file that is missing there stops the build, and nobody builds on every change."""
    copied = {one for rest in all_of("COPY") for one in shlex.split(rest)[:-1]}
    assert all((ROOT / one).exists() for one in copied)
    wheel = PROJECT["tool"]["hatch"]["build"]["targets"]["wheel"]["packages"]
    hook = PROJECT["tool"]["hatch"]["build"]["hooks"]["custom"]["path"]
    needed = {*wheel, hook.split("/")[0], "pyproject.toml", PROJECT["project"]["readme"]}
    assert needed | {"requirements.lock"} <= copied


def test_it_runs_as_nobody_special_with_a_python_that_fits() -> None:
    """Whoever breaks out of a service that is root has the machine."""
    names = [step for step, _ in steps()]
    (user,) = all_of("USER")
    assert user not in {"root", "0"}
    assert names.index("USER") < names.index("ENTRYPOINT")
    assert re.search(rf"useradd .*{user}\b", " ".join(all_of("RUN")))
    (base,) = all_of("FROM")
    minor = int(re.findall(r"python:3\.(\d+)", base)[0])
    assert minor >= int(re.findall(r">=3\.(\d+)", PROJECT["project"]["requires-python"])[0])


def test_its_commands_and_its_check_of_health_are_there() -> None:
    """Names that were changed elsewhere would be found by whoever starts the image."""
    (entry,), (command,) = all_of("ENTRYPOINT"), all_of("CMD")
    assert shlex.split(entry.strip("[]"))[0] in PROJECT["project"]["scripts"]
    words = [one.strip('", ') for one in command.strip("[]").split(",")]
    assert words[0] in get_command(app).commands  # type: ignore[attr-defined]
    told = CliRunner().invoke(app, [words[0], "--help"], env={"COLUMNS": "200", "TERM": "dumb"})
    assert all(one in told.output for one in words[1:] if one.startswith("--"))
    modules = re.findall(r"python -m ([\w.]+)", " ".join(all_of("RUN")))
    assert modules
    assert all(importlib.util.find_spec(one) is not None for one in modules)
    (health,) = all_of("HEALTHCHECK")
    (path,) = re.findall(r"http://127\.0\.0\.1:8000(/\w+)", health)
    assert RIGHTS[f"GET {path}"].is_public
    settings = {
        name.removeprefix("DISPATCH_").lower()
        for rest in all_of("ENV")
        for name in re.findall(r"(DISPATCH_\w+)=", rest)
    }
    assert settings <= set(Settings.model_fields)
