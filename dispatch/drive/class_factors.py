"""How a company's drives on motorways, main roads and streets differ from the map's own times.

A factor of a class is relative: what all driving is slower than the map is the factor of its region
and time of day (`factors`). Both together correct a drive.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import lru_cache
from types import MappingProxyType
from typing import TYPE_CHECKING

import numpy as np

from dispatch.drive.factors import (
    CLASSES,
    DRIVE_SPREAD,
    ENOUGH_DRIVES,
    SPREAD,
    Driven,
    Learnt,
    without_stops,
)
from dispatch.drive.paths import leg_edges
from dispatch.words import N_, _

if TYPE_CHECKING:
    from dispatch.drive.graph import RoadMap
    from dispatch.drive.snap import Snap

CLASS_OF: Mapping[str, str] = MappingProxyType(
    {
        kind + link: name
        for name, kinds in (
            ("motorways", ("motorway", "trunk")),
            ("main roads", ("primary", "secondary", "tertiary")),
        )
        for kind in kinds
        for link in ("", "_link")
    }
)
REGION = N_("by road class")  # stands for the region in what was learnt


def class_of(kind: str) -> str:
    """Return the class of a kind of road, one of `CLASSES`."""
    return CLASS_OF.get(kind, "streets")


@lru_cache(maxsize=4096)
def seconds_by_class(road_map: RoadMap, start: Snap, end: Snap) -> dict[str, float]:
    """Return the seconds of a drive by road class, without its turns; kept, not to be changed."""
    edges = leg_edges(road_map, start, end)
    seconds = dict.fromkeys(CLASSES, 0.0)
    for edge in edges:
        seconds[class_of(road_map.kinds[road_map.kind[edge]])] += road_map.drive_ms[edge] / 1000
    return seconds


def with_classes(road_map: RoadMap, classes: Mapping[str, float]) -> RoadMap:
    """Return a map whose streets take the factor of their class longer; turns stay as they are."""
    if all(factor == 1 for factor in classes.values()):
        return road_map
    by_kind = np.array([classes.get(class_of(kind), 1.0) for kind in road_map.kinds])
    drive_ms = np.maximum(1, np.rint(road_map.drive_ms * by_kind[road_map.kind])).astype(np.int32)
    words = f"{road_map.digest} {sorted(classes.items())}"
    digest = hashlib.sha256(words.encode()).hexdigest()[:32]
    return replace(road_map, drive_ms=drive_ms, digest=digest)


def learn_classes(records: Sequence[Driven]) -> tuple[dict[str, float], tuple[Learnt, ...]]:
    """Learn from drives that were made how road classes differ from each other.

    Parameters
    ----------
    records
        Drives with `class_s`; others, and those with a stop in them, are left out.

    Returns
    -------
    tuple
        Factors by class, none where there is too little data, and how each came about.

    Notes
    -----
    Ridge regression of driven over expected seconds on the share of each class, drawn towards the
    ratio of all drives with the same spreads as `factors.learn_factors` (A. E. Hoerl and
    R. W. Kennard, Technometrics 12, 1970). A class counts with as many drives as its shares add up
    to; where only one has enough, nothing can be told apart.
    """
    used = [one for one in without_stops(records) if sum(one.class_s.values()) > 0]
    if not used:
        return {}, tuple(_row(name, 0.0, 1.0, False) for name in CLASSES)
    share = np.array([[one.class_s.get(name, 0.0) for name in CLASSES] for one in used])
    share /= share.sum(axis=1, keepdims=True)
    ratio = np.array([one.drove_s / one.expected_s for one in used])
    overall = float(np.exp(np.log(ratio).mean()))
    ridge = DRIVE_SPREAD**2 / SPREAD**2
    matrix = share.T @ share + ridge * np.eye(len(CLASSES))
    observed = np.linalg.solve(matrix, share.T @ ratio + ridge * overall)
    drives = share.sum(axis=0)
    enough = drives >= ENOUGH_DRIVES
    if enough.sum() < 2:
        return {}, tuple(
            _row(name, float(count), 1.0, False)
            for name, count in zip(CLASSES, drives, strict=True)
        )
    mean = float((observed * drives)[enough].sum() / drives[enough].sum())
    factors = {
        name: round(float(value / mean), 3) if known else 1.0
        for name, value, known in zip(CLASSES, observed, enough, strict=True)
    }
    rows = zip(CLASSES, drives.tolist(), enough.tolist(), strict=True)
    return factors, tuple(_row(name, count, factors[name], known) for name, count, known in rows)


def _row(name: str, drives: float, factor: float, enough: bool) -> Learnt:
    count = round(drives)
    words = (
        _("{name}: {factor} times what all roads take, in the time of {count} drives.").format(
            name=name, factor=factor, count=count
        )
        if enough
        else _(
            "{name}: too little data, the time of {count} drives of at least {enough_drives} "
            "on it and on another class; counted as the map has it."
        ).format(name=name, count=count, enough_drives=ENOUGH_DRIVES)
    )
    return Learnt(REGION, name, count, factor if enough else 0.0, factor, enough, words)
