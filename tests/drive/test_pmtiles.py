"""The archive of tiles, read back by GDAL and by hand."""

from __future__ import annotations

import gzip
import json
import sqlite3
import struct
from pathlib import Path

import pytest

from dispatch.drive.pmtiles import tile_number, write_pmtiles


@pytest.mark.parametrize(
    ("tile", "number"),
    [
        ((0, 0, 0), 0),
        ((1, 0, 0), 1),
        ((1, 0, 1), 2),
        ((1, 1, 1), 3),
        ((1, 1, 0), 4),
        ((2, 0, 0), 5),
        ((2, 1, 0), 6),  # the curve turns with each level
    ],
)
def test_tiles_are_numbered_along_the_curve(tile: tuple[int, int, int], number: int) -> None:
    """Zoom, x, y: one tile, then four, then sixteen, each level along a Hilbert curve."""
    assert tile_number(*tile) == number


def test_a_level_is_numbered_without_gaps_and_in_steps_to_neighbours() -> None:
    """Both make it a Hilbert curve."""
    places = {tile_number(4, x, y): (x, y) for x in range(16) for y in range(16)}
    first = (4**4 - 1) // 3
    assert sorted(places) == list(range(first, first + 256))
    for number in range(first, first + 255):
        (x, y), (u, v) = places[number], places[number + 1]
        assert abs(x - u) + abs(y - v) == 1


def test_every_tile_is_found_through_leaf_directories(tmp_path: Path) -> None:
    """128 x 128 tiles are too many for the root directory; each holds its own number."""
    source, file = tmp_path / "a.mbtiles", tmp_path / "map.pmtiles"
    with sqlite3.connect(source) as tiles:
        tiles.execute("CREATE TABLE metadata (name, value)")
        tiles.execute("CREATE TABLE tiles (zoom_level, tile_column, tile_row, tile_data)")
        tiles.execute("CREATE INDEX one ON tiles (zoom_level, tile_column, tile_row)")
        layers = {"vector_layers": [{"id": "map", "fields": {}}]}
        tiles.execute("INSERT INTO metadata VALUES ('json', ?)", (json.dumps(layers),))
        for x in range(128):
            for y in range(128):
                content = f"{tile_number(7, x, 127 - y)}".encode() * (1 + (x * y) % 3)
                tiles.execute("INSERT INTO tiles VALUES (7, ?, ?, ?)", (x, y, content))
    write_pmtiles([source], file, (-10.0, -20.0, 30.0, 40.0))
    archive = file.read_bytes()
    found = dict(read_tiles(archive))
    assert len(found) == 128 * 128
    assert all(content.startswith(f"{number}".encode()) for number, content in found.items())
    root_end = struct.unpack_from("<2Q", archive, 8)
    assert sum(root_end) <= 16_384  # header and root directory come with the first request
    bounds = struct.unpack_from("<4i", archive, 102)
    assert bounds == (-200_000_000, -100_000_000, 400_000_000, 300_000_000)


def read_tiles(archive: bytes) -> list[tuple[int, bytes]]:
    """Read an archive as its specification says, apart from the writer's code."""
    root, root_size, _, _, leaves, _, data, _ = struct.unpack_from("<8Q", archive, 8)
    tiles = []
    pending = read_directory(archive[root : root + root_size])
    while pending:
        number, run, size, offset = pending.pop()
        if run == 0:
            at = leaves + offset
            pending += read_directory(archive[at : at + size])
        else:
            at = data + offset
            tiles.append((number, archive[at : at + size]))
    return tiles


def read_directory(packed: bytes) -> list[tuple[int, int, int, int]]:
    numbers, value, shift = [], 0, 0
    for byte in gzip.decompress(packed):
        value |= (byte & 127) << shift
        shift += 7
        if byte < 128:
            numbers.append(value)
            value = shift = 0
    count = numbers[0]
    steps, runs, sizes, offsets = (numbers[1 + i * count : 1 + (i + 1) * count] for i in range(4))
    rows, number, end = [], 0, 0
    for step, run, size, offset in zip(steps, runs, sizes, offsets, strict=True):
        number += step
        at = end if offset == 0 else offset - 1
        rows.append((number, run, size, at))
        end = at + size
    return rows
