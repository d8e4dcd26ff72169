"""Map files that nobody means well with: refused in a sentence or read, and nothing else."""

from __future__ import annotations

import bz2
import contextlib
import gzip
import re
from collections.abc import Callable
from pathlib import Path

import osmium
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from dispatch.drive.extract import Extract
from dispatch.drive.osm import read_streets
from dispatch.drive.osmnx_graph import read_graphml, save_graphml
from dispatch.errors import MapError, UnreadableMap
from tests.drive.drawing import roads

ENDINGS = (".osm", ".osm.gz", ".osm.bz2", ".osm.pbf", ".graphml")
LAUGHS = "".join(f'<!ENTITY a{n} "{f"&a{n - 1};" * 10}">' for n in range(1, 10))
BOMB = f'<!DOCTYPE x [<!ENTITY a0 "ha">{LAUGHS}]>'  # two gigabytes of it


def reader_of(ending: str) -> Callable[[Path], Extract]:
    """What reads a file of this ending."""
    return read_graphml if ending == ".graphml" else read_streets


@pytest.fixture(scope="module")
def honest(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    """The same streets in each format."""
    folder = tmp_path_factory.mktemp("honest")
    file = roads("a---b---c").write(folder)
    xml = file.read_bytes()
    with osmium.SimpleWriter(str(folder / "one.osm.pbf")) as writer:
        for one in osmium.FileProcessor(str(file)):
            writer.add(one)
    save_graphml(read_streets(file), folder / "one.graphml")
    return {
        ".osm": xml,
        ".osm.gz": gzip.compress(xml),
        ".osm.bz2": bz2.compress(xml),
        ".osm.pbf": (folder / "one.osm.pbf").read_bytes(),
        ".graphml": (folder / "one.graphml").read_bytes(),
    }


@settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(st.sampled_from(ENDINGS), st.integers(0, 5000), st.binary(max_size=12))
def test_a_damaged_map_is_refused_or_read(
    honest: dict[str, bytes], tmp_path: Path, ending: str, at: int, junk: bytes
) -> None:
    """Bytes changed, put in or cut off anywhere; the reader is of C++ and must not fall over."""
    whole = honest[ending]
    at %= len(whole)
    file = tmp_path / f"map{ending}"
    rest = whole[at + len(junk) // 2 :] if len(junk) < 12 else b""
    file.write_bytes(whole[:at] + junk + rest)
    with contextlib.suppress(MapError):
        assert len(reader_of(ending)(file).way) > 0


@pytest.mark.parametrize("coordinate", ["1,5", " 1.5", "1.5;2", "1.5e", "777.0", ""])
def test_a_place_that_is_none_is_refused(coordinate: str, tmp_path: Path) -> None:
    """Written by a program of another country, or damaged."""
    text = roads("a---b---c").write(tmp_path).read_text(encoding="utf-8")
    file = tmp_path / "map.osm"
    file.write_text(re.sub(r'lat="[^"]*"', f'lat="{coordinate}"', text), encoding="utf-8")
    with pytest.raises(UnreadableMap):
        read_streets(file)


@pytest.mark.parametrize("ending", [".osm", ".osm.gz", ".osm.bz2", ".graphml"])
def test_entities_that_multiply_are_refused(ending: str, tmp_path: Path) -> None:
    """A kilobyte that means two gigabytes."""
    text = f"<?xml version='1.0'?>{BOMB}<osm version='0.6'><note>&a9;</note></osm>".encode()
    if ending == ".osm.gz":
        text = gzip.compress(text)
    if ending == ".osm.bz2":
        text = bz2.compress(text)
    file = tmp_path / f"map{ending}"
    file.write_bytes(text)
    with pytest.raises(UnreadableMap):
        reader_of(ending)(file)


@pytest.mark.parametrize("ending", [".osm", ".graphml"])
def test_a_map_cannot_read_other_files(ending: str, tmp_path: Path) -> None:
    """An entity may name a file of the machine, whose words would then stand in a message."""
    secret = tmp_path / "secret"
    secret.write_text("the words of the secret")
    file = tmp_path / f"map{ending}"
    entity = f'<!DOCTYPE x [<!ENTITY s SYSTEM "{secret.as_uri()}">]>'
    file.write_text(f"<?xml version='1.0'?>{entity}<osm version='0.6'><note>&s;</note></osm>")
    with pytest.raises(UnreadableMap) as error:
        reader_of(ending)(file)
    assert "the words" not in str(error.value)
