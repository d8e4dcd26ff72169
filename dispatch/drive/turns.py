"""Which turns may be taken at a junction, and what each costs.

A turn leads from a directed edge to a directed edge that begins where the first one ends. A turn
on the spot is an ordinary one only where no other way on is left: at a dead end, and before a
private street or gate. Elsewhere it is spare: taken where else one direction of a street would be
lost, as on a ring of streets, round which there is no other way to turn about.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from dispatch.drive.speeds import ABOUT_DEG

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    import numpy.typing as npt

    from dispatch.drive.extract import TurnRule
    from dispatch.drive.speeds import SpeedModel

    Ints = npt.NDArray[np.int64]
    Floats = npt.NDArray[np.float64]
    Flags = npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class Streets:
    """Directed edges as arrays of one length; the input from which turns are made.

    `tail` and `head` are node numbers; `twin` the opposite edge of the same piece of street or -1;
    `way` the map's number of the way; `leaves_deg` and `arrives_deg` the compass bearings at the
    two ends; `end_only` edges may only begin or end a drive.
    """

    tail: Ints
    head: Ints
    twin: Ints
    way: Ints
    leaves_deg: Floats
    arrives_deg: Floats
    end_only: Flags


NO_COPIES: Ints = np.zeros(0, dtype=np.int64)


@dataclass(frozen=True, slots=True, eq=False)
class Turns:
    """Allowed turns: from edge, to edge, delay in milliseconds, through a private gate, spare.

    Numbers from `len(edges)` on are copies of edges: `copy_of` names the edge of each. A truck on a
    copy came by a certain way, and is not free in where it goes next.
    """

    source: Ints
    target: Ints
    delay_ms: Ints
    private_gate: Flags
    spare: Flags
    copy_of: Ints


def allowed_turns(
    streets: Streets,
    controls: Sequence[str],
    gates: Sequence[str],
    rules: Iterable[TurnRule],
    node_of: dict[int, int],
    known_ways: frozenset[int],
    model: SpeedModel,
) -> tuple[Turns, int]:
    """Return every allowed turn, ordered by its first edge, then its second.

    Returned too is how many rules were left out, because one of their ways passes the point and it
    is not said from or to which side.

    Parameters
    ----------
    streets
        The edges.
    controls, gates
        By node: 'signals', 'stop', 'give_way' or ''; 'gate', 'private-gate' or ''.
    rules
        Turn restrictions by way and point of the map.
    node_of
        Node number by the map's number of a point.
    known_ways
        The map's numbers of all streets that were read, in the core or not.
    model
        Delays.
    """
    source, target = _all_turns(streets, len(controls))
    private = np.array([gate == "private-gate" for gate in gates], dtype=np.bool_)
    on_the_spot = streets.twin[source] == target
    forbidden, unclear = _forbidden(streets, source, target, rules, node_of, known_ways)
    kept = ~forbidden
    onward = kept & ~on_the_spot & (streets.end_only[source] | ~streets.end_only[target])
    onward &= ~private[streets.head[source]]
    ways_on = np.bincount(source[onward], minlength=len(streets.tail))
    spare = (on_the_spot & (ways_on[source] > 0))[kept]
    source, target = source[kept], target[kept]
    node = streets.head[source]
    delay_s = _bend_delays_s(streets, source, target, len(controls), model)
    delay_s += np.array([model.control_s(control) for control in controls])[node]
    delay_s += np.array([model.gate_s if gate else 0.0 for gate in gates])[node]
    delay_ms = np.rint(delay_s * model.factor * 1000).astype(np.int64)
    through_gate = private[node] & ~on_the_spot[kept]
    return Turns(source, target, delay_ms, through_gate, spare, NO_COPIES), unclear


def _all_turns(streets: Streets, node_count: int) -> tuple[Ints, Ints]:
    """Return each pair of an edge and an edge that begins at its end."""
    by_tail = np.argsort(streets.tail, kind="stable")
    exits = np.bincount(streets.tail, minlength=node_count)
    first_exit = np.concatenate([[0], np.cumsum(exits)])
    count = exits[streets.head]
    source = np.repeat(np.arange(len(streets.tail)), count)
    within = np.arange(len(source)) - np.repeat(np.cumsum(count) - count, count)
    target = by_tail[first_exit[streets.head[source]] + within]
    return source.astype(np.int64), target.astype(np.int64)


def _forbidden(
    streets: Streets,
    source: Ints,
    target: Ints,
    rules: Iterable[TurnRule],
    node_of: dict[int, int],
    known_ways: frozenset[int],
) -> tuple[Flags, int]:
    """Return by turn whether a rule of the map forbids it, and how many rules are ambiguous.

    A rule whose ways do not end at its point is ambiguous and is left out, as is one whose ways
    were not read. Where the only turn allowed leads off the core, no turn is left.
    """
    rules = list(rules)
    bound = {way for rule in rules for way in (rule.from_way, rule.to_way)}
    edges = np.flatnonzero(np.isin(streets.way, sorted(bound)))
    arriving = _by_way_and_node(edges, streets.way, streets.head)
    leaving = _by_way_and_node(edges, streets.way, streets.tail)
    unclear = 0
    banned: set[tuple[int, int]] = set()
    only: dict[int, set[int]] = {}
    for rule in rules:
        node = node_of.get(rule.via)
        if node is None:
            continue
        before = arriving.get((rule.from_way, node), [])
        after = leaving.get((rule.to_way, node), [])
        if rule.from_way == rule.to_way and not rule.only:
            banned |= {(edge, int(streets.twin[edge])) for edge in before}  # nobody turns about
            continue
        unclear += len(before) > 1 or (len(after) > 1 and not rule.only)
        if len(before) != 1:
            continue
        if rule.only and rule.to_way in known_ways:
            only.setdefault(before[0], set()).update(after)
        elif not rule.only and len(after) == 1:
            banned.add((before[0], after[0]))
    forbidden = np.zeros(len(source), dtype=np.bool_)
    touched = np.isin(source, sorted(only.keys() | {edge for edge, _ in banned}))
    for i in np.flatnonzero(touched):
        turn = (int(source[i]), int(target[i]))
        forbidden[i] = turn in banned or turn[1] not in only.get(turn[0], {turn[1]})
    return forbidden, unclear


def _by_way_and_node(edges: Ints, way: Ints, node: Ints) -> dict[tuple[int, int], list[int]]:
    found: dict[tuple[int, int], list[int]] = {}
    keys = zip(way[edges].tolist(), node[edges].tolist(), strict=True)
    for edge, key in zip(edges.tolist(), keys, strict=True):
        found.setdefault(key, []).append(edge)
    return found


def _bend_delays_s(
    streets: Streets, source: Ints, target: Ints, node_count: int, model: SpeedModel
) -> Floats:
    """Return the delay of each turn for its angle; none where only two streets meet.

    But from a one-way street into another that leads back beside it, one turns about.
    """
    lone = streets.twin < 0
    streets_at = np.bincount(streets.tail, minlength=node_count)
    streets_at += np.bincount(streets.head[lone], minlength=node_count)
    angle = streets.leaves_deg[target] - streets.arrives_deg[source]
    angle = (angle + 180.0) % 360.0 - 180.0
    turn_s = np.array([model.turn_s(float(a)) for a in np.arange(-180, 181)])
    delay_s: npt.NDArray[Any] = turn_s[np.rint(angle).astype(np.int64) + 180]
    back = lone[source] & lone[target] & (np.abs(angle) >= ABOUT_DEG)
    delay_s = np.where((streets_at[streets.head[source]] >= 3) | back, delay_s, 0.0)
    return np.where(streets.twin[source] == target, model.u_turn_s, delay_s)
