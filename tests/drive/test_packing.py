"""Packed files that are broken off, or unpack to more than a map can."""

from __future__ import annotations

import bz2
import gzip
import zlib
from collections.abc import Callable
from pathlib import Path

import osmium
import pytest
from osmium.osm import mutable

from dispatch.drive.osm import read_streets
from dispatch.drive.packing import check_packing, fields_of
from dispatch.errors import NoStreets, UnreadableMap

ZEROS = b" " * 200_000_000  # 200 MB of blanks


@pytest.mark.parametrize(("ending", "pack"), [("gz", gzip.compress), ("bz2", bz2.compress)])
def test_a_bomb_is_not_unpacked(
    ending: str, pack: Callable[[bytes], bytes], tmp_path: Path
) -> None:
    """200 kB (or less) that unpack to 200 MB stop at the 50 MB that any file may have."""
    file = tmp_path / f"bomb.osm.{ending}"
    file.write_bytes(pack(b"<osm>" + ZEROS + b"</osm>"))
    with pytest.raises(UnreadableMap, match="unpacks to more than 50 MB"):
        read_streets(file)


def test_a_bomb_of_blocks_is_not_unpacked(tmp_path: Path) -> None:
    """Blocks of 30 MB of zeros, each packed to 30 kB."""
    block = blob(zlib.compress(bytes(30_000_000)), 30_000_000, b"OSMData")
    file = tmp_path / "bomb.osm.pbf"
    file.write_bytes(block * 20)
    with pytest.raises(UnreadableMap, match="unpacks to more than"):
        read_streets(file)


def test_the_size_allowed_can_be_set(helsinki_file: Path) -> None:
    """The extract unpacks to about a megabyte and a half."""
    check_packing(helsinki_file, 10_000_000)
    with pytest.raises(UnreadableMap, match="unpacks to more than 1 MB"):
        check_packing(helsinki_file, 1_000_000)


def test_a_file_cut_between_two_blocks_is_told(tmp_path: Path) -> None:
    """It reads without an error as a smaller map; its full last block betrays it."""
    whole = tmp_path / "whole.osm.pbf"
    with osmium.SimpleWriter(str(whole)) as writer:
        for i in range(1, 20_001):
            place = (i % 100 * 1e-3, i // 100 * 1e-3)
            writer.add_node(mutable.Node(id=i, location=place, version=1))
        for i in range(1, 20_000):
            tags = {"highway": "residential"}
            writer.add_way(mutable.Way(id=i, nodes=[i, i + 1], tags=tags, version=1))
    assert len(read_streets(whole).way) > 19_000
    data = whole.read_bytes()
    ends = block_ends(data)
    assert len(ends) == 7  # a header, three blocks of nodes, three of ways
    file = tmp_path / "cut.osm.pbf"
    for end, kind in ((ends[-2], "ways"), (ends[2], "nodes")):
        file.write_bytes(data[:end])
        with pytest.raises(UnreadableMap, match=f"full block of 8,000 {kind}.*download"):
            read_streets(file)
    file.write_bytes(data[: ends[3]])  # after the last, partly filled block of nodes
    with pytest.raises(NoStreets):
        read_streets(file)


@pytest.mark.parametrize("size", [1, 3, 4, 10, 100, 1000])
def test_any_other_cut_is_told_too(size: int, helsinki_file: Path, tmp_path: Path) -> None:
    """Wherever the download stops."""
    file = tmp_path / "cut.osm.pbf"
    file.write_bytes(helsinki_file.read_bytes()[:-size])
    with pytest.raises(UnreadableMap, match="cannot be read"):
        read_streets(file)


def test_a_changed_byte_is_told(helsinki_file: Path, tmp_path: Path) -> None:
    """Packed data have check sums."""
    data = bytearray(helsinki_file.read_bytes())
    data[len(data) // 2] ^= 0xFF
    file = tmp_path / "changed.osm.pbf"
    file.write_bytes(bytes(data))
    with pytest.raises(UnreadableMap, match="cannot be read"):
        read_streets(file)


def blob(packed: bytes, raw_size: int, kind: bytes) -> bytes:
    """Return a block of a .pbf: its header's length, its header, its data."""
    body = b"\x10" + varint(raw_size) + b"\x1a" + varint(len(packed)) + packed
    header = b"\x0a" + varint(len(kind)) + kind + b"\x18" + varint(len(body))
    return len(header).to_bytes(4, "big") + header + body


def varint(number: int) -> bytes:
    out = b""
    while number > 127:
        out += bytes([number & 127 | 128])
        number >>= 7
    return out + bytes([number])


def block_ends(data: bytes) -> list[int]:
    ends, at = [], 0
    while at < len(data):
        header = int.from_bytes(data[at : at + 4], "big")
        size = dict(fields_of(data[at + 4 : at + 4 + header]))[3]
        assert isinstance(size, int)
        at += 4 + header + size
        ends.append(at)
    return ends
