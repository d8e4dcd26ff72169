"""The front-end files: how they are pinned, and that what is served was built from them."""

from __future__ import annotations

import gzip
import importlib.util
import json
from pathlib import Path

import pytest

import api

WEB = Path(api.__file__).parent / "web"
STATIC = Path(api.__file__).parent / "static"


def test_the_lock_file_pins_contents_and_names_no_server() -> None:
    """An address in the lock would tie everybody to the machine that wrote it."""
    packages = json.loads((WEB / "package-lock.json").read_text())["packages"]

    for name, package in packages.items():
        assert "resolved" not in package, name
        assert name == "" or package["integrity"].startswith("sha512-"), name


def test_what_is_served_was_built_from_these_sources() -> None:
    """Whoever edits a script and forgets to build again would test the old one."""
    pytest.importorskip("hatchling", reason="the build hook is read with hatchling installed")
    spec = importlib.util.spec_from_file_location("web_build", WEB / "build.py")
    assert spec is not None
    assert spec.loader is not None
    build = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(build)

    assert (STATIC / "stamp.txt").read_text() == build.stamp(WEB)


def test_scripts_and_styles_leave_room_for_the_map_in_300_kb() -> None:
    """What the week page loads, compressed as it is sent, makes a third of what it may weigh.

    The rest is the page, its routes and the map's tiles: `tests.bench.first_page` measures all.
    """
    names = ("week.js", "job.js", "nav.js", "page.css", "map.css", "mark.svg")
    sizes = [len(gzip.compress((STATIC / name).read_bytes())) for name in names]

    assert sum(sizes) < 110_000


def test_licences_of_bundled_packages_go_along() -> None:
    """Their licences allow the bundle on the condition that their text is in it."""
    text = (STATIC / "licences.txt").read_text(encoding="utf-8")

    for name in ("leaflet", "protomaps-leaflet", "@mapbox/vector-tile", "pbf"):
        assert f"\n{name}\n" in text, name
