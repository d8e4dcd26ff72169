"""Cutting ways into pieces from junction to junction, all at once on arrays.

A point where two ways meet is a junction, also inside both; so is an end, and a point with a
barrier, which in addition may part the street. Points without a place break a way in two.
"""

from __future__ import annotations

from array import array
from collections import Counter
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np

from dispatch.drive.extract import GATES, Address, Extract, TurnRule, WayRule
from dispatch.drive.tags import CONTROL_KINDS, Street
from dispatch.places import EARTH_RADIUS_M
from dispatch.words import N_

if TYPE_CHECKING:
    import numpy.typing as npt

    Longs = npt.NDArray[np.int64]
    Floats = npt.NDArray[np.float64]
    Flags = npt.NDArray[np.bool_]

APPROACH_M = 40.0  # a signal this near to a junction belongs to it; common practice


@dataclass(slots=True)
class Lines:
    """Ways one after another: `refs` the map's numbers of their points, `counts` how many each."""

    refs: array[int] = field(default_factory=lambda: array("q"))
    counts: list[int] = field(default_factory=list)

    def add(self, refs: list[int]) -> None:
        """Add a way."""
        self.refs.extend(refs)
        self.counts.append(len(refs))


@dataclass(slots=True)
class Raw:
    """What one pass over a map gathers, before the ways are cut.

    By way: `way` its number, `street` and `name` indices. `houses` are address tags without a
    place, their outlines in `house_lines`. `address_node` is the map's number of the point of each
    address, 0 where it is none. `ranges` are the rules of ranges of house numbers, along
    `range_lines`.
    """

    lines: Lines = field(default_factory=Lines)
    way: array[int] = field(default_factory=lambda: array("q"))
    street: array[int] = field(default_factory=lambda: array("q"))
    name: array[int] = field(default_factory=lambda: array("q"))
    streets: dict[Street, int] = field(default_factory=dict)
    names: dict[str, int] = field(default_factory=lambda: {"": 0})
    controls: dict[int, tuple[str, str]] = field(default_factory=dict)
    barriers: dict[int, str] = field(default_factory=dict)
    turn_rules: list[TurnRule] = field(default_factory=list)
    way_rules: list[WayRule] = field(default_factory=list)
    addresses: list[Address] = field(default_factory=list)
    address_node: array[int] = field(default_factory=lambda: array("q"))
    ranges: list[str] = field(default_factory=list)
    range_lines: Lines = field(default_factory=Lines)
    houses: list[dict[str, str]] = field(default_factory=list)
    house_lines: Lines = field(default_factory=Lines)
    left_out: Counter[str] = field(default_factory=Counter)


@dataclass(frozen=True, slots=True, eq=False)
class Points:
    """Points by rising number; places are NaN where the map has none."""

    ref: Longs
    lon: Floats
    lat: Floats


@dataclass(frozen=True, slots=True, eq=False)
class _Runs:
    """Unbroken stretches of ways, position after position: point, way, where runs begin and end."""

    point: Longs
    way: Longs
    begins: Flags
    ends: Flags


def cut(raw: Raw, points: Points) -> Extract:
    """Return the streets in pieces; pieces of no length are left out."""
    runs = _runs(raw, points)
    count = len(points.ref)
    uses = np.bincount(runs.point, minlength=count)
    uses += np.bincount(runs.point[runs.begins | runs.ends], minlength=count)
    barrier = _by_point(points.ref, {ref: _gate(kind) for ref, kind in raw.barriers.items()})
    cuts = np.flatnonzero((uses[runs.point] > 1) | (barrier[runs.point] != 0))
    first = cuts[:-1][~runs.ends[cuts[:-1]]]
    last = cuts[1:][~runs.ends[cuts[:-1]]]
    travelled_m = _travelled_m(points.lon[runs.point], points.lat[runs.point])
    length_m = travelled_m[last] - travelled_m[first]
    long = length_m > 0
    first, last, length_m = first[long], last[long], length_m[long]
    along, against, passed = _controls_within(raw, points, runs, travelled_m, (first, last))
    steps = last - first + 1
    line_start = np.concatenate([[0], np.cumsum(steps)]).astype(np.int64)
    row = np.repeat(first - line_start[:-1], steps) + np.arange(line_start[-1])
    way = runs.way[first]
    return Extract(
        **_nodes(raw, points, barrier, (runs.point[first], runs.point[last])),
        way=np.array(raw.way, dtype=np.int64)[way],
        street=np.array(raw.street, dtype=np.int32)[way],
        name=np.array(raw.name, dtype=np.int32)[way],
        length_m=length_m,
        along=along,
        against=against,
        line_start=line_start,
        line=np.column_stack([points.lon, points.lat])[runs.point[row]],
        control_kinds=CONTROL_KINDS,
        streets=tuple(raw.streets),
        names=tuple(raw.names),
        passed=passed,
        turn_rules=tuple(raw.turn_rules),
        way_rules=tuple(raw.way_rules),
        addresses=tuple(raw.addresses),
        left_out=dict(raw.left_out),
    )


BLOCKED = len(GATES)


def _gate(kind: str) -> int:
    return BLOCKED if kind == "blocked" else GATES.index(kind)


def _by_point(ref: Longs, values: dict[int, int]) -> Longs:
    """Return a value for each point, 0 where none is given."""
    found = np.zeros(len(ref), dtype=np.int64)
    if values and len(ref):
        keys = np.array(list(values), dtype=np.int64)
        at = np.minimum(np.searchsorted(ref, keys), len(ref) - 1)
        hit = ref[at] == keys
        found[at[hit]] = np.array(list(values.values()), dtype=np.int64)[hit]
    return found


def _runs(raw: Raw, points: Points) -> _Runs:
    """Drop points without a place, points repeated in a row, and runs of a single point."""
    refs = np.frombuffer(raw.lines.refs, dtype=np.int64)
    point = np.searchsorted(points.ref, refs)
    way = np.repeat(np.arange(len(raw.lines.counts)), raw.lines.counts)
    missing = np.isnan(points.lon[point])
    if missing.any():
        raw.left_out[N_("points without a place")] += int(missing.sum())
    run = np.cumsum(_changes(way) | missing)[~missing]
    point, way = point[~missing], way[~missing]
    fresh = _changes(run) | _changes(point)
    run, point, way = run[fresh], point[fresh], way[fresh]
    begins = _changes(run)
    size = np.bincount(np.cumsum(begins) - 1)[np.cumsum(begins) - 1] if len(run) else run
    point, way, begins = point[size > 1], way[size > 1], begins[size > 1]
    return _Runs(point, way, begins, np.append(begins[1:], [True]) if len(begins) else begins)


def _changes(values: npt.NDArray[Any]) -> Flags:
    """Return whether each value differs from the one before; the first does."""
    changes: Flags = np.ones(len(values), dtype=np.bool_)
    changes[1:] = values[1:] != values[:-1]
    return changes


def _travelled_m(lon: Floats, lat: Floats) -> Floats:
    """Return metres from the first point to each (haversine; steps between runs count too)."""
    lon, lat = np.radians(lon), np.radians(lat)
    h = np.sin(np.diff(lat) / 2) ** 2
    h += np.cos(lat[:-1]) * np.cos(lat[1:]) * np.sin(np.diff(lon) / 2) ** 2
    step_m = 2 * EARTH_RADIUS_M * np.arcsin(np.sqrt(np.minimum(h, 1.0)))
    return np.concatenate([np.zeros(min(1, len(lon))), np.cumsum(step_m)])


def _nodes(
    raw: Raw, points: Points, barrier: Longs, ends: tuple[Longs, Longs]
) -> dict[str, npt.NDArray[Any]]:
    """Return the columns of nodes, and the tail and head of each piece.

    At a point that stops a truck each piece gets an end of its own, numbered after all points.
    """
    point = np.concatenate(ends)
    blocked = barrier[point] == BLOCKED
    end = point.copy()
    end[blocked] = len(points.ref) + np.arange(int(blocked.sum()))
    node, number = np.unique(end, return_inverse=True)
    spare = node >= len(points.ref)
    at = np.where(spare, 0, node)
    at[spare] = point[blocked]
    controls = {ref: CONTROL_KINDS.index(kind) for ref, (kind, _) in raw.controls.items()}
    return {
        "node_id": np.where(spare, -1 - np.cumsum(spare), points.ref[at]),
        "node_lon": points.lon[at],
        "node_lat": points.lat[at],
        "control": np.where(spare, 0, _by_point(points.ref, controls)[at]).astype(np.int32),
        "gate": np.where(spare, 0, barrier[at]).astype(np.int32),
        "tail": number[: len(ends[0])].astype(np.int32),
        "head": number[len(ends[0]) :].astype(np.int32),
    }


def _controls_within(
    raw: Raw, points: Points, runs: _Runs, travelled_m: Floats, pieces: tuple[Longs, Longs]
) -> tuple[Any, Any, tuple[tuple[str, ...], ...]]:
    """Return the signals and signs that each piece passes between its ends, along and against.

    One without a direction counts for the traffic that meets the nearer junction just after it:
    whoever leaves that junction has waited already. A signal far from both, as at a crossing for
    walkers, counts for both; so does every crossing.
    """
    first, last = pieces
    has_control = _by_point(points.ref, dict.fromkeys(raw.controls, 1)) > 0
    at = np.flatnonzero(has_control[runs.point])
    piece = np.searchsorted(first, at, side="right") - 1
    inner = (piece >= 0) & (at > first[piece]) & (at < last[piece]) if len(first) else at < 0
    at, piece = at[inner], piece[inner]
    behind_m = travelled_m[at] - travelled_m[first[piece]]
    ahead_m = travelled_m[last[piece]] - travelled_m[at]
    sides: tuple[dict[int, list[str]], dict[int, list[str]]] = ({}, {})
    for ref, p, behind, ahead in zip(
        points.ref[runs.point[at]].tolist(),
        piece.tolist(),
        behind_m.tolist(),
        ahead_m.tolist(),
        strict=True,
    ):
        control, direction = raw.controls[ref]
        near = control != "signals" or min(behind, ahead) < APPROACH_M
        if not direction and near and control in BEFORE_A_JUNCTION:
            direction = "forward" if ahead <= behind else "backward"
        for side, other in enumerate(("backward", "forward")):
            if direction != other:
                sides[side].setdefault(p, []).append(control)
    return _indexed(sides, len(first))


BEFORE_A_JUNCTION = frozenset({"signals", "stop", "give_way"})


def _indexed(
    sides: tuple[dict[int, list[str]], dict[int, list[str]]], count: int
) -> tuple[Any, Any, tuple[tuple[str, ...], ...]]:
    passed: dict[tuple[str, ...], int] = {(): 0}
    columns = []
    for side in sides:
        column = np.zeros(count, dtype=np.int32)
        for piece, controls in side.items():
            column[piece] = passed.setdefault(tuple(controls), len(passed))
        columns.append(column)
    return columns[0], columns[1], tuple(passed)
