"""Matrices kept on the disk: what is read, what is computed anew, what is deleted."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np

from dispatch.drive.graph import RoadMap, hierarchy_file
from dispatch.drive.hierarchy import stored_hierarchy
from dispatch.drive.matrix import compute_matrix, drive_matrix
from dispatch.drive.snap import Snap, snap_all
from dispatch.drive.turn_graph import turn_graph
from tests.drive.drawing import NO_DELAYS, roads

HOUR_S = 3600


def doctored(folder: Path) -> None:
    """Add an hour to every drive on the disk, so that what is read from there can be told."""
    (file,) = folder.glob("matrix-*.npz")
    with np.load(file) as kept:
        arrays = dict(kept)
    arrays["drive_s"] = arrays["drive_s"] + HOUR_S
    np.savez(file, **arrays)


def test_the_same_places_are_read_from_the_disk(
    helsinki: RoadMap, helsinki_places: dict[str, Snap], tmp_path: Path
) -> None:
    """A stored matrix is used as it is, under other names too, and less of it for fewer places."""
    matrix = drive_matrix(helsinki, helsinki_places, tmp_path)
    doctored(tmp_path)
    later = matrix.drive_s + HOUR_S - HOUR_S * np.eye(len(matrix.ids), dtype=np.int32)
    again = drive_matrix(helsinki, helsinki_places, tmp_path)
    assert np.array_equal(again.drive_s, later)
    renamed = drive_matrix(
        helsinki, {f"{name}-": place for name, place in helsinki_places.items()}, tmp_path
    )
    assert np.array_equal(renamed.drive_s, later)
    few = dict(list(helsinki_places.items())[10:14])
    assert np.array_equal(drive_matrix(helsinki, few, tmp_path).drive_s, later[10:14, 10:14])
    whole = drive_matrix(helsinki, helsinki_places, tmp_path)
    assert np.array_equal(whole.drive_s, later)


def test_only_drives_of_new_and_moved_places_are_computed(
    helsinki: RoadMap, helsinki_places: dict[str, Snap], tmp_path: Path
) -> None:
    """Forty places are known; one of them moves, one goes, one is new: the rest is read."""
    names = list(helsinki_places)
    known = {name: helsinki_places[name] for name in names[:40]}
    drive_matrix(helsinki, known, tmp_path)
    doctored(tmp_path)
    moved, gone, new = names[3], names[7], names[50]
    wanted = known | {moved: helsinki_places[names[60]], new: helsinki_places[new]}
    del wanted[gone]
    matrix = drive_matrix(helsinki, wanted, tmp_path)
    exact = compute_matrix(helsinki, wanted)
    fresh = np.isin(matrix.ids, [moved, new])
    computed = fresh[:, None] | fresh[None, :] | np.eye(len(fresh), dtype=np.bool_)
    assert np.array_equal(matrix.drive_s[computed], exact.drive_s[computed])
    assert np.array_equal(matrix.drive_s[~computed], exact.drive_s[~computed] + HOUR_S)
    assert np.array_equal(matrix.drive_m, exact.drive_m)
    assert np.array_equal(drive_matrix(helsinki, wanted, tmp_path).drive_s, matrix.drive_s)


def test_another_map_or_speed_is_computed_anew_and_old_files_go(tmp_path: Path) -> None:
    """A matrix is never used for a map that it was not made for, nor kept for ever."""
    square = roads("""
a---b
|   |
d---c
""")
    places = {"x": square.at("ab", 0.5), "y": square.at("dc", 0.5)}
    cache = tmp_path / "matrices"
    for factor, drive_s in ((2, 36), (1, 18)):
        road_map = square.road_map(tmp_path, replace(NO_DELAYS, factor=factor))
        matrix = drive_matrix(road_map, snap_all(road_map, places)[0], cache)
        assert matrix.drive("x", "y") == (drive_s, 200)
        assert len(list(cache.iterdir())) == 1


def test_two_places_in_one_spot_are_no_drive_apart(tmp_path: Path) -> None:
    """Two pools behind one gate: no round trip, in whichever order they are taken in."""
    loop = roads("""
a-->b
^   v
d<--c
""")
    road_map = loop.road_map(tmp_path)
    spot, other = loop.at("ab", 0.4), loop.at("bc", 0.5)
    snaps, _ = snap_all(road_map, {"x": spot, "y": spot, "z": other})
    cache = tmp_path / "matrices"
    drive_matrix(road_map, {"x": snaps["x"], "z": snaps["z"]}, cache)
    matrix = drive_matrix(road_map, snaps, cache)
    assert matrix.drive_m.tolist() == [[0, 0, 110], [0, 0, 110], [290, 290, 0]]


def test_a_damaged_stored_matrix_is_computed_again(
    helsinki: RoadMap, helsinki_places: dict[str, Snap], tmp_path: Path
) -> None:
    """A disk that filled up must not stop planning."""
    matrix = drive_matrix(helsinki, helsinki_places, tmp_path)
    (file,) = tmp_path.iterdir()
    file.write_bytes(file.read_bytes()[:100])
    again = drive_matrix(helsinki, helsinki_places, tmp_path)
    assert np.array_equal(again.drive_s, matrix.drive_s)


def test_a_kept_hierarchy_gives_the_same_drives(
    helsinki: RoadMap, helsinki_places: dict[str, Snap], tmp_path: Path
) -> None:
    """With a hierarchy at hand a new place is searched in it; without one, by Dijkstra."""
    names = list(helsinki_places)
    known = {name: helsinki_places[name] for name in names[:40]}
    for folder in ("plain", "quick"):
        drive_matrix(helsinki, known, tmp_path / folder)
    (file,) = (tmp_path / "quick").iterdir()
    kept = file.with_name(file.name.replace("matrix", "hierarchy"))
    stored_hierarchy(turn_graph(helsinki), kept)
    plain = drive_matrix(helsinki, helsinki_places, tmp_path / "plain")
    quick = drive_matrix(helsinki, helsinki_places, tmp_path / "quick")
    assert np.array_equal(plain.drive_s, quick.drive_s)
    assert np.array_equal(plain.drive_m, quick.drive_m)
    assert kept.is_file()


def test_a_hierarchy_that_was_built_with_the_map_is_used(tmp_path: Path) -> None:
    """On a large map it would take the first matrix half a minute and twice the memory.

    The one kept here is of the same streets driven four times slower, which shows in the drives.
    """
    road_map = roads("a---b\n|   |\nc---d").road_map(tmp_path)
    places = corners(road_map)
    plain = drive_matrix(road_map, places, tmp_path / "cache")
    slow = replace(road_map, drive_ms=road_map.drive_ms * 4)
    folder = tmp_path / "map"
    folder.mkdir()
    stored_hierarchy(turn_graph(slow), hierarchy_file(road_map, folder))
    slower = drive_matrix(road_map, places, tmp_path / "other", folder)
    assert slower.drive("x", "y")[0] > plain.drive("x", "y")[0]
    assert not list((tmp_path / "other").glob("hierarchy-*"))


def corners(road_map: RoadMap) -> dict[str, Snap]:
    """Return two places on opposite streets of a square."""
    square = roads("a---b\n|   |\nc---d")
    snaps, _ = snap_all(road_map, {"x": square.at("ab", 0.25), "y": square.at("cd", 0.75)})
    return snaps
