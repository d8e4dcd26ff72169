"""Whether a packed extract is whole, and does not unpack to more than a map can.

A file of a few megabytes may unpack to gigabytes of nothing. So .gz and .bz2 are unpacked once
without keeping anything, and the blocks of a .pbf are counted, before anything is read from them.
"""

from __future__ import annotations

import bz2
import gzip
import zlib
from typing import TYPE_CHECKING, Any

from dispatch.errors import UnreadableMap
from dispatch.words import _

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

MOST_UNPACKED_BYTES = 64 * 10**9  # bytes; a large state's extract as XML is about half of it
MOST_TIMES = 120  # unpacked to packed size; extracts packed with bzip2 come to about 20
FREE_BYTES = 50 * 10**6  # so much may come out of any file, however small
CHUNK_BYTES = 1 << 20  # read and unpacked at a time
MOST_BLOCK_BYTES = 32 << 20  # the format allows no larger block
FULL_BLOCK = 8000  # things in a full block of a .pbf, as most programs write them


def check_packing(file: Path, most_bytes: int = MOST_UNPACKED_BYTES) -> None:
    """Refuse a packed file that is broken off, or unpacks to too much.

    Parameters
    ----------
    file
        Any extract; one that is not packed passes.
    most_bytes
        Size that it may have unpacked.

    Raises
    ------
    UnreadableMap
        With the size at which unpacking was stopped, or what breaks it off.
    """
    name = file.name.lower()
    packed_bytes = file.stat().st_size
    limit = min(most_bytes, max(FREE_BYTES, MOST_TIMES * packed_bytes))
    unpacked = 0
    for size in _pbf_sizes(file) if name.endswith(".pbf") else _unpacked_sizes(file, name):
        unpacked += size
        if unpacked > limit:
            raise UnreadableMap(
                _(
                    "{file} has {packed_bytes:,.1f} MB and unpacks to more than {limit:,.0f} "
                    "MB, which no street map of that size does. Download or export it again, "
                    "or cut it to the area that you serve."
                ).format(file=file, packed_bytes=packed_bytes / 1000000.0, limit=limit / 1000000.0)
            )


def _unpacked_sizes(file: Path, name: str) -> Iterator[int]:
    """Yield the sizes of what comes out, chunk by chunk; nothing is kept."""
    if not name.endswith((".gz", ".bz2")):
        return
    unpack: Any = gzip.open if name.endswith(".gz") else bz2.open
    try:
        with unpack(file) as unpacked:
            while chunk := unpacked.read(CHUNK_BYTES):
                yield len(chunk)
    except (EOFError, OSError, zlib.error) as error:
        raise broken(file, str(error)) from error


def _pbf_sizes(file: Path) -> Iterator[int]:
    """Yield the unpacked size of each block of a .pbf, as the block itself tells it.

    A file that ends with a full block of nodes or ways was most likely broken off between two
    blocks: the last block of a kind is full once in 8,000 files, and an extract ends with
    relations.
    """
    last = b""
    with file.open("rb") as blocks:
        while length := blocks.read(4):
            header = dict(fields_of(blocks.read(int.from_bytes(length, "big"))))
            size = header.get(3)
            if not isinstance(size, int) or size > MOST_BLOCK_BYTES:
                raise broken(file, _("it does not consist of blocks"))
            last = blocks.read(size)
            if len(last) < size:
                raise broken(
                    file,
                    _("its last block has {number:,} of {size:,} bytes").format(
                        number=len(last), size=size
                    ),
                )
            raw_size = dict(fields_of(last)).get(2, size)
            yield raw_size if isinstance(raw_size, int) else size
    kind, count = _things_in(last)
    if kind in ("nodes", "ways") and count == FULL_BLOCK:
        raise broken(
            file,
            _("it ends with a full block of {count:,} {kind}, and no relations").format(
                count=count, kind=kind
            ),
        )


def fields_of(message: bytes) -> Iterator[tuple[int, int | bytes]]:
    """Yield number and value of each field of a protocol buffer; a damaged one ends early.

    Encoding as of Protocol Buffers' own documentation: a field begins with its number · 8 + wire
    type, 0 for a varint, 1 for 8 bytes, 2 for bytes of a given length, 5 for 4 bytes.
    """
    at = 0
    while at < len(message):
        key, at = _varint(message, at)
        if key & 7 == 0:
            value, at = _varint(message, at)
            yield key >> 3, value
            continue
        if key & 7 == 2:
            size, at = _varint(message, at)
        else:
            size = {1: 8, 5: 4}.get(key & 7, len(message))
        yield key >> 3, message[at : at + size]
        at += size


def _varint(message: bytes, at: int) -> tuple[int, int]:
    value = shift = 0
    while at < len(message) and shift < 70:
        byte = message[at]
        value |= (byte & 127) << shift
        at, shift = at + 1, shift + 7
        if byte < 128:
            break
    return value, at


def _things_in(blob: bytes) -> tuple[str, int]:
    """Return kind and number of the things in the last group of a packed block.

    Field numbers as in the format's fileformat.proto and osmformat.proto, from memory: zlib data 3
    of a Blob, groups 2 of a PrimitiveBlock, dense nodes 2, ways 3, relations 4 of a group; numbers
    1 of dense nodes, one varint each.
    """
    fields = dict(fields_of(blob))
    packed = fields.get(3)
    try:
        block = zlib.decompress(packed) if isinstance(packed, bytes) else fields.get(1, b"")
    except zlib.error:
        return "", 0
    if not isinstance(block, bytes):
        return "", 0
    groups = [value for key, value in fields_of(block) if key == 2 and isinstance(value, bytes)]
    if not groups:
        return "", 0
    inside = [(key, value) for key, value in fields_of(groups[-1]) if isinstance(value, bytes)]
    for key, value in inside:
        ids = dict(fields_of(value)).get(1) if key == 2 else None
        if isinstance(ids, bytes):
            return "nodes", sum(byte < 128 for byte in ids)
    ways = sum(key == 3 for key, _ in inside)
    return ("ways", ways) if ways else ("", 0)


def broken(file: Path, why: str) -> UnreadableMap:
    """Return the sentence for a file that is damaged."""
    return UnreadableMap(
        _(
            "{file} cannot be read as an OpenStreetMap extract: {why}. It may be broken off in "
            "a download, or be of another kind than its ending says: download or export it "
            "again."
        ).format(file=file, why=why)
    )
