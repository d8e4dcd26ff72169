"""Map tiles from several files into one PMTiles archive.

Layout as in the PMTiles specification, version 3, from memory: a header of 127 bytes, the root
directory, metadata as JSON, leaf directories, tiles. Directories list tiles along a Hilbert curve
through each zoom level and are packed with gzip; so are the tiles, which GDAL writes packed.
"""

from __future__ import annotations

import gzip
import json
import sqlite3
import struct
from contextlib import closing
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence
    from pathlib import Path

HEADER_BYTES = 127
ROOT_BYTES = 16_384 - HEADER_BYTES  # header and root directory are read at once: 16 KiB
LEAF_ENTRIES = 4096  # tiles in a leaf directory; any number is allowed
GZIP, VECTOR = 2, 1  # codes of the header
E7 = 10_000_000  # degrees are written as whole ten-millionths


@dataclass(frozen=True, slots=True)
class Entry:
    """A line of a directory; `run` is 1 for a tile and 0 for a leaf directory."""

    tile: int
    offset: int
    length: int
    run: int = 1


def write_pmtiles(
    sources: Sequence[Path], file: Path, bounds: tuple[float, float, float, float]
) -> None:
    """Write the tiles of MBTiles files, each of other zoom levels, into one archive.

    Parameters
    ----------
    sources
        MBTiles files; the layers are described as the last of them describes them.
    file
        The archive; replaced if there.
    bounds
        South, west, north, east in degrees.
    """
    data = file.with_suffix(".tiles")
    entries: list[Entry] = []
    zooms: set[int] = set()
    at = 0
    with data.open("wb") as tiles:
        for tile, zoom, content in sorted_tiles(sources):
            zooms.add(zoom)
            entries.append(Entry(tile, at, len(content)))
            at += tiles.write(content)
    low, high = min(zooms, default=0), max(zooms, default=0)
    root, leaves = _directories(entries)
    metadata = gzip.compress(json.dumps(_metadata(sources[-1], low, high)).encode(), mtime=0)
    sizes = (len(root), len(metadata), len(leaves), at)
    header = _header(sizes, len(entries), (low, high), bounds)
    with file.open("wb") as archive:
        archive.writelines((header, root, metadata, leaves))
        with data.open("rb") as tiles:
            while chunk := tiles.read(1 << 20):
                archive.write(chunk)
    data.unlink()


def sorted_tiles(sources: Iterable[Path]) -> Iterator[tuple[int, int, bytes]]:
    """Yield number, zoom level and content of all tiles by rising number."""
    found: list[tuple[int, int, Path, int, int]] = []
    for source in sources:
        with closing(sqlite3.connect(source)) as tiles:
            for zoom, x, row in tiles.execute(
                "SELECT zoom_level, tile_column, tile_row FROM tiles"
            ):
                number = tile_number(zoom, x, (1 << zoom) - 1 - row)  # MBTiles count from the south
                found.append((number, zoom, source, x, row))
    connections = {source: sqlite3.connect(source) for source in {one[2] for one in found}}
    wanted = "SELECT tile_data FROM tiles WHERE zoom_level=? AND tile_column=? AND tile_row=?"
    try:
        for number, zoom, source, x, row in sorted(found):
            (content,) = connections[source].execute(wanted, (zoom, x, row)).fetchone()
            yield number, zoom, content
    finally:
        for connection in connections.values():
            connection.close()


def tile_number(zoom: int, x: int, y: int) -> int:
    """Return the place of a tile in the order of the archive; y counts from the north."""
    number = ((1 << 2 * zoom) - 1) // 3  # tiles of all lower levels
    step = (1 << zoom) >> 1
    while step:
        right, down = int(x & step > 0), int(y & step > 0)
        number += step * step * ((3 * right) ^ down)
        if not down:
            if right:
                x, y = step - 1 - x, step - 1 - y
            x, y = y, x
        step >>= 1
    return number


def _directories(entries: Sequence[Entry]) -> tuple[bytes, bytes]:
    """Return the root directory and the leaf directories one after another."""
    root = _directory(entries)
    if len(root) <= ROOT_BYTES:
        return root, b""
    leaves, pointers = b"", []
    for first in range(0, len(entries), LEAF_ENTRIES):
        part = entries[first : first + LEAF_ENTRIES]
        leaf = _directory(part)
        pointers.append(Entry(part[0].tile, len(leaves), len(leaf), run=0))
        leaves += leaf
    return _directory(pointers), leaves


def _directory(entries: Sequence[Entry]) -> bytes:
    """Return a directory: column after column of varints, tiles as steps, packed."""
    numbers = [len(entries)]
    numbers += [
        one.tile - before for one, before in zip(entries, _tiles_before(entries), strict=True)
    ]
    numbers += [one.run for one in entries]
    numbers += [one.length for one in entries]
    end = -1
    for one in entries:
        numbers.append(0 if one.offset == end else one.offset + 1)  # 0: right after the one before
        end = one.offset + one.length
    return gzip.compress(b"".join(map(_varint, numbers)), mtime=0)


def _tiles_before(entries: Sequence[Entry]) -> list[int]:
    return [0, *(one.tile for one in entries[:-1])] if entries else []


def _varint(number: int) -> bytes:
    out = bytearray()
    while number > 127:
        out.append(number & 127 | 128)
        number >>= 7
    out.append(number)
    return bytes(out)


def _header(
    sizes: tuple[int, int, int, int],
    tiles: int,
    zooms: tuple[int, int],
    bounds: tuple[float, float, float, float],
) -> bytes:
    root, metadata, leaves, data = sizes
    south, west, north, east = (round(degrees * E7) for degrees in bounds)
    at = [HEADER_BYTES]
    for size in (root, metadata, leaves):
        at.append(at[-1] + size)
    places = (at[0], root, at[1], metadata, at[2], leaves, at[3], data, tiles, tiles, tiles)
    middle = ((west + east) // 2, (south + north) // 2)
    codes = (1, GZIP, GZIP, VECTOR, *zooms, west, south, east, north, zooms[0], *middle)
    return b"PMTiles" + struct.pack("<B11Q6B4iB2i", 3, *places, *codes)


def _metadata(source: Path, low: int, high: int) -> dict[str, Any]:
    """Return what the archive says of itself; readers look for the layers and their fields."""
    with closing(sqlite3.connect(source)) as tiles:
        rows = dict(tiles.execute("SELECT name, value FROM metadata").fetchall())
    layers = json.loads(rows.get("json", "{}")).get("vector_layers", [])
    for layer in layers:
        layer |= {"minzoom": low, "maxzoom": high}
    return {"name": rows.get("name", ""), "format": "pbf", "vector_layers": layers}
