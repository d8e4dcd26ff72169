"""What is read of a street map before speeds are put on it: streets as columns of arrays.

Cutting, clipping and tags are settled here; speeds and turns are not. It is kept beside the built
map, so that the map can be exported, and built again with other speeds without the extract.
"""

from __future__ import annotations

import json
from dataclasses import dataclass, fields
from typing import TYPE_CHECKING, Any

import numpy as np

from dispatch.drive.tags import Street

if TYPE_CHECKING:
    from pathlib import Path

    import numpy.typing as npt

    Ints = npt.NDArray[np.int32]
    Longs = npt.NDArray[np.int64]
    Floats = npt.NDArray[np.float64]

GATES = ("", "gate", "private-gate")


@dataclass(frozen=True, slots=True)
class Address:
    """A house number with its place; `town` and `postcode` are empty where the map lacks them.

    `within_range` says that the map gives no place for this number, but a range that holds it.
    """

    street: str
    number: str
    town: str
    postcode: str
    lat: float
    lon: float
    within_range: bool = False


@dataclass(frozen=True, slots=True)
class TurnRule:
    """At point `via`, a turn from way `from_way` into `to_way`: forbidden, or the only one."""

    only: bool
    from_way: int
    via: int
    to_way: int


@dataclass(frozen=True, slots=True)
class WayRule:
    """Coming from way `from_way` by the ways `via`, going on into `to_way`: forbidden, or the only.

    The only one: whoever has come by way of `via` must go on into `to_way`; who leaves before it is
    not bound.
    """

    only: bool
    from_way: int
    via: tuple[int, ...]
    to_way: int


@dataclass(frozen=True, eq=False, slots=True)
class Extract:
    """Streets cut at their junctions, turn rules and addresses.

    By node: `node_id` the map's number of the point (negative where a barrier parts a street),
    `node_lon`, `node_lat` in degrees, `control` (index into `control_kinds`) and `gate` (index into
    `GATES`). By piece, a stretch of a way from junction to junction in its drawing direction: `way`
    the map's number, `tail` and `head` node numbers, `street` and `name` indices into `streets` and
    `names`, `length_m`, and `along` and `against`, the signals and signs passed within it in each
    direction (indices into `passed`). The shape of piece p is rows `line_start[p]` to
    `line_start[p + 1]` of `line` (lon, lat). `left_out` counts by reason what was not taken.
    """

    node_id: Longs
    node_lon: Floats
    node_lat: Floats
    control: Ints
    gate: Ints
    way: Longs
    tail: Ints
    head: Ints
    street: Ints
    name: Ints
    length_m: Floats
    along: Ints
    against: Ints
    line_start: Longs
    line: Floats
    control_kinds: tuple[str, ...]
    streets: tuple[Street, ...]
    names: tuple[str, ...]
    passed: tuple[tuple[str, ...], ...]
    turn_rules: tuple[TurnRule, ...]
    way_rules: tuple[WayRule, ...]
    addresses: tuple[Address, ...]
    left_out: dict[str, int]

    @property
    def directions(self) -> tuple[npt.NDArray[np.bool_], npt.NDArray[np.bool_]]:
        """By piece, whether it may be driven along and against its drawing direction."""
        forward = np.array([street.forward for street in self.streets], dtype=np.bool_)
        backward = np.array([street.backward for street in self.streets], dtype=np.bool_)
        return forward[self.street], backward[self.street]


def save_extract(extract: Extract, file: Path) -> None:
    """Write an extract into one file (NumPy's npz, uncompressed)."""
    values = {f.name: getattr(extract, f.name) for f in fields(Extract)}
    arrays: dict[str, Any] = {
        name: value for name, value in values.items() if isinstance(value, np.ndarray)
    }
    words = {
        name: [_row(row) for row in value] if name in ROWS else value
        for name, value in values.items()
        if name not in arrays
    }
    packed = np.frombuffer(json.dumps(words).encode(), dtype=np.uint8)
    np.savez(file, words=packed, **arrays)


ROWS: dict[str, type] = {
    "streets": Street,
    "turn_rules": TurnRule,
    "way_rules": WayRule,
    "addresses": Address,
}


def load_extract(file: Path) -> Extract:
    """Read an extract back; damage ends in ValueError, KeyError, OSError or BadZipFile."""
    with np.load(file) as stored:
        words: dict[str, Any] = json.loads(stored["words"].tobytes())
        arrays = {name: stored[name] for name in stored.files if name != "words"}
    for name, kind in ROWS.items():
        words[name] = tuple(kind(*_tuples(row)) for row in words[name])
    for name in ("control_kinds", "names", "passed"):
        words[name] = tuple(_tuples(words[name]))
    return Extract(**arrays, **words)


def _row(value: Any) -> list[Any]:
    return [getattr(value, f.name) for f in fields(value)]


def _tuples(row: list[Any]) -> list[Any]:
    return [tuple(cell) if isinstance(cell, list) else cell for cell in row]
