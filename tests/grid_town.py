"""A street map of many crossings, for what takes a while to build."""

from __future__ import annotations

from pathlib import Path

STEP = 0.001  # degrees between two streets, 111 m on the equator


def write_grid(file: Path, side: int) -> Path:
    """Write a square of `side` streets each way as OpenStreetMap XML."""
    lines = ['<?xml version="1.0" encoding="UTF-8"?>', '<osm version="0.6">']
    for row in range(side):
        for column in range(side):
            place = f'lat="{row * STEP:.3f}" lon="{column * STEP:.3f}"'
            lines.append(f'<node id="{row * side + column + 1}" version="1" {place}/>')
    along = [[row * side + n + 1 for n in range(side)] for row in range(side)]
    across = [[n * side + column + 1 for n in range(side)] for column in range(side)]
    for way, refs in enumerate([*along, *across], start=1):
        points = "".join(f'<nd ref="{ref}"/>' for ref in refs)
        lines.append(f'<way id="{way}">{points}<tag k="highway" v="residential"/></way>')
    file.write_text("\n".join([*lines, "</osm>"]), encoding="utf-8")
    return file
