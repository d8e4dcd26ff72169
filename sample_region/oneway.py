"""One-way streets that would trap a driver are opened to both directions."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

from sample_region.sheet import Sheet


def open_traps(sheet: Sheet) -> None:
    """Drop `oneway` from residential streets with a node that cannot be reached or left."""
    ahead: dict[int, list[int]] = {}
    behind: dict[int, list[int]] = {}
    for way in sheet.ways:
        for a, b in zip(way.nodes, way.nodes[1:], strict=False):
            one_way = way.tags.get("oneway", "no")
            if one_way != "-1":
                ahead.setdefault(a, []).append(b)
                behind.setdefault(b, []).append(a)
            if one_way in ("no", "-1"):
                ahead.setdefault(b, []).append(a)
                behind.setdefault(a, []).append(b)
    start = Counter({n: len(ahead[n]) for n in ahead if n in behind}).most_common(1)[0][0]
    core = _reached(ahead, start) & _reached(behind, start)
    for number, way in enumerate(sheet.ways):
        local = way.tags["highway"] == "residential" and "oneway" in way.tags
        if local and not core.issuperset(way.nodes):
            tags = {k: v for k, v in way.tags.items() if k != "oneway"}
            sheet.ways[number] = replace(way, tags=tags)


def _reached(beside: dict[int, list[int]], start: int) -> set[int]:
    found, todo = {start}, [start]
    while todo:
        for other in beside.get(todo.pop(), ()):
            if other not in found:
                found.add(other)
                todo.append(other)
    return found
