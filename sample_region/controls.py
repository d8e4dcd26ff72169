"""What governs the crossings: signals, stops and turn rules."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from random import Random

from sample_region.frame import Frame
from sample_region.main_roads import DrawnRoads
from sample_region.sheet import Restriction, Sheet

STOP_M = 9.0  # metres from the crossing to the stop line, common practice


def add_signals(sheet: Sheet, frame: Frame, roads: DrawnRoads) -> set[int]:
    """Signals where primary or secondary roads meet; the frame crossings that have them."""
    signalled = set()
    for n, arms in _arms(frame).items():
        big = [m for m in arms if roads.classes[m].highway != "tertiary"]
        names = {roads.classes[m].name for m in arms}
        if n in roads.crossings and len(arms) >= 3 and len(big) >= 2 and len(names) >= 2:
            sheet.tag_node(roads.crossings[n], highway="traffic_signals")
            signalled.add(n)
    return signalled


def _arms(frame: Frame) -> dict[int, list[int]]:
    """The edges at each crossing."""
    arms: dict[int, list[int]] = {}
    for number, edge in enumerate(frame.edges):
        arms.setdefault(edge.a, []).append(number)
        arms.setdefault(edge.b, []).append(number)
    return dict(sorted(arms.items()))


def add_stops(sheet: Sheet, frame: Frame, first_local: int, last_local: int) -> None:
    """A stop where a local street reaches a main road, for those who come out of it."""
    doors = {node for edge in frame.edges for _, node in edge.doors}
    for number in range(first_local, last_local):
        way = sheet.ways[number]
        nodes = list(way.nodes)
        if way.tags.get("service") == "alley":
            continue
        if nodes[-1] in doors:
            tags = {"highway": "stop", "direction": "forward"}
            nodes = sheet.with_node(nodes[::-1], STOP_M, tags)[::-1]
        if nodes[0] in doors:
            tags = {"highway": "stop", "direction": "backward"}
            nodes = sheet.with_node(nodes, STOP_M, tags)
        sheet.ways[number] = replace(way, nodes=tuple(nodes))


def add_turn_rules(
    sheet: Sheet, frame: Frame, roads: DrawnRoads, signalled: set[int], rng: Random
) -> None:
    """Some signalled crossings forbid a left turn or turning round, or allow only straight on."""
    arms = _arms(frame)
    for n in sorted(signalled):
        if len(arms[n]) < 4 or rng.random() < 0.2:
            continue
        via = roads.crossings[n]
        order = sorted(arms[n], key=lambda m: _bearing(sheet, roads.ways[m], via))
        start = rng.randrange(len(order))
        here = roads.ways[order[start]]
        left = roads.ways[order[start - 1]]
        ahead = roads.ways[order[(start + 2) % 4]] if len(order) == 4 else None
        draw = rng.random()
        if draw < 0.15 and ahead is not None:
            sheet.restrictions.append(Restriction("only_straight_on", here, via, ahead))
        elif draw < 0.7:
            sheet.restrictions.append(Restriction("no_left_turn", here, via, left))
        for m in order:
            if roads.classes[m].highway == "primary" and rng.random() < 0.5:
                way = roads.ways[m]
                sheet.restrictions.append(Restriction("no_u_turn", way, via, way))


def _bearing(sheet: Sheet, way: int, via: int) -> float:
    """The direction in which a way leaves a node, radians, counter-clockwise."""
    nodes: Sequence[int] = sheet.ways[way].nodes
    nodes = nodes if nodes[0] == via else nodes[::-1]
    (x1, y1), (x2, y2) = sheet.points[nodes[0]], sheet.points[nodes[1]]
    return math.atan2(y2 - y1, x2 - x1)
