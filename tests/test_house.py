"""The house rules, kept by machines: lint, types, arrows between rooms, one place that commits."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import networkx as nx
import pytest

ROOT = Path(__file__).parents[1]
ROOMS = ("dispatch", "api", "sample_region")
MOST_LINES = 400  # of a source file; the usual one has 60 to 200


def sources(*rooms: str) -> list[Path]:
    """Python files of the rooms, generated ones aside."""
    return sorted(
        file
        for room in rooms
        for file in (ROOT / room).rglob("*.py")
        if "node_modules" not in file.parts
    )


@pytest.mark.parametrize(
    "words",
    [
        ["ruff", "check", "."],
        ["ruff", "format", "--check", "."],
        ["mypy"],
    ],
    ids=["lint", "format", "types"],
)
def test_a_tool_finds_nothing_to_mend(words: list[str]) -> None:
    """Style and strict types are checked with every test run, not in somebody's editor only."""
    done = subprocess.run(  # noqa: S603 - our own words
        [sys.executable, "-m", *words], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr


def test_imports_point_down_only() -> None:
    """The rooms and arrows of pyproject.toml, read by import-linter."""
    code = "from importlinter.cli import lint_imports; raise SystemExit(lint_imports())"
    done = subprocess.run(  # noqa: S603 - our own words
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr


def test_no_module_needs_itself_by_way_of_others() -> None:
    """Two modules that import each other are one; an import within a function hides it only."""
    names = {
        ".".join(file.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__"): file
        for file in sources(*ROOMS)
    }
    arrows = nx.DiGraph()
    for name, file in names.items():
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ImportFrom):
                whole = [f"{node.module}.{one.name}" for one in node.names]
                needed = {one if one in names else node.module for one in whole}
                arrows.add_edges_from((name, one) for one in needed & names.keys() - {name})
    assert arrows.number_of_edges() > 1000
    assert [sorted(one) for one in nx.strongly_connected_components(arrows) if len(one) > 1] == []


def test_only_one_place_commits() -> None:
    """A transaction ends in store/db.py and nowhere else, so that no action is half done."""
    guilty = [
        str(file.relative_to(ROOT))
        for file in sources("dispatch", "api")
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8")))
        if isinstance(node, ast.Attribute) and node.attr == "commit"
    ]
    assert set(guilty) == {"dispatch/store/db.py"}


def test_no_file_outgrows_its_reader() -> None:
    """A file that nobody reads whole hides its faults."""
    long = [
        f"{file.relative_to(ROOT)}: {lines}"
        for file in sources(*ROOMS, "tests")
        if (lines := len(file.read_text(encoding="utf-8").splitlines())) > MOST_LINES
    ]
    assert not long
