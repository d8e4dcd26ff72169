"""How fast a street is driven and what a turn, a signal and a stop sign cost: one table.

Speeds are free-flow speeds of a pick-up truck, kilometres per hour, for streets without a posted
limit; a posted limit wins. They follow what a street of the class is usually posted at in the
United States, where 25 mph in a residence district, 55 mph on a two-lane rural road and 65 mph on
a freeway are the statutory limits (California Vehicle Code, sections 22349 and 22352); the steps
between are common practice.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from types import MappingProxyType
from typing import TYPE_CHECKING

from dispatch.errors import InvalidValue

if TYPE_CHECKING:
    from collections.abc import Mapping

    import networkx as nx

MPH_KMH = 1.609344  # exact: the international mile

CLASS_KMH: Mapping[str, float] = MappingProxyType(
    {
        "motorway": 105.0,  # 65 mph, California Vehicle Code 22349 (a)
        "motorway_link": 60.0,  # common practice: ramps are posted 35 to 45 mph
        "trunk": 88.0,  # 55 mph, California Vehicle Code 22349 (b)
        "trunk_link": 55.0,  # common practice
        "primary": 64.0,  # 40 mph, common practice for an arterial
        "primary_link": 50.0,  # common practice
        "secondary": 56.0,  # 35 mph, common practice
        "secondary_link": 45.0,  # common practice
        "tertiary": 48.0,  # 30 mph, common practice for a collector
        "tertiary_link": 40.0,  # common practice
        "unclassified": 40.0,  # 25 mph, common practice
        "residential": 40.0,  # 25 mph, California Vehicle Code 22352 (b)(1)
        "road": 40.0,  # class not known to the mapper: taken as residential
        "living_street": 15.0,  # common practice: little more than walking pace
        "service": 20.0,  # common practice: driveways and alleys
        "track": 15.0,  # common practice
    }
)

NARROW_SHARE: Mapping[str, float] = MappingProxyType(
    # Share of a posted limit that is really driven where cars park on both sides: common practice.
    {"residential": 0.9, "unclassified": 0.9, "living_street": 0.9, "service": 0.5, "road": 0.9}
)

SURFACE_CAP_KMH: Mapping[str, float] = MappingProxyType(
    {
        "unpaved": 40.0,  # common practice, as are the others below
        "gravel": 40.0,
        "fine_gravel": 40.0,
        "compacted": 50.0,
        "dirt": 25.0,
        "earth": 25.0,
        "ground": 25.0,
        "grass": 15.0,
        "sand": 15.0,
        "mud": 10.0,
        "cobblestone": 30.0,
        "unhewn_cobblestone": 20.0,
        "sett": 40.0,
    }
)

FALLBACK_KMH = 30.0  # a class the table does not know; cannot happen with the reader's whitelist


@dataclass(frozen=True, slots=True)
class SpeedModel:
    """Speeds in km/h and delays in seconds; every number may be replaced.

    Turn delays are counted at junctions of three or more streets only: slowing from 13 m/s to
    6 m/s and picking up again at 2 m/s² loses (13 - 6)² / (13 · 2) = 1.9 s; turning across the
    oncoming lane waits about 3 s more for a gap (common practice). A signal costs the mean wait of
    a car arriving at random, cycle · (1 - green share)² / 2: with 80 s and 45 % green, 12 s (first
    term of F. V. Webster, Traffic signal settings, Road Research Technical Paper 39, 1958; its
    part for saturation left out), and a third less where signals are timed to each other, which
    most are (common practice): 8 s. Stop and give-way signs, gates and a turn on the spot are
    common practice.

    Raises
    ------
    InvalidValue
        When a speed is not above zero or a delay is negative.
    """

    class_kmh: Mapping[str, float] = field(default_factory=lambda: CLASS_KMH)
    factor: float = 1.0  # all driving times are multiplied by it; a region's own experience
    near_turn_s: float = 2.0  # turn to the kerb side
    far_turn_s: float = 5.0  # turn across the oncoming lane
    signal_s: float = 8.0
    stop_s: float = 6.0
    give_way_s: float = 3.0
    gate_s: float = 10.0
    u_turn_s: float = 15.0
    drives_on_right: bool = True

    def __post_init__(self) -> None:
        for name, kmh in self.class_kmh.items():
            if not kmh > 0:
                raise InvalidValue(f"The speed of class {name} is {kmh} km/h; give one above 0.")
        if not self.factor > 0:
            raise InvalidValue(f"The driving time factor is {self.factor}; give one above 0.")
        for name in ("near_turn_s", "far_turn_s", "signal_s", "stop_s", "give_way_s", "gate_s"):
            if getattr(self, name) < 0:
                raise InvalidValue(f"{name} is {getattr(self, name)} s; a delay is 0 or more.")

    def control_s(self, control: str) -> float:
        """Return the delay in seconds of 'signals', 'stop', 'give_way', 'gate' or '' (none)."""
        delays = {
            "signals": self.signal_s,
            "stop": self.stop_s,
            "give_way": self.give_way_s,
            "gate": self.gate_s,
        }
        return delays.get(control, 0.0)

    def turn_s(self, angle_deg: float) -> float:
        """Return the delay in seconds of a turn by `angle_deg`, clockwise (to the right) positive.

        Up to 35° either way counts as straight on (common practice).
        """
        if abs(angle_deg) <= 35:
            return 0.0
        near = (angle_deg > 0) == self.drives_on_right
        return self.near_turn_s if near else self.far_turn_s


def add_travel_times(graph: nx.MultiDiGraph, model: SpeedModel) -> nx.MultiDiGraph:
    """Give every edge `speed_kph` and `travel_time` (seconds, without turns), by OSMnx.

    Parameters
    ----------
    graph
        In OSMnx's format; edges carry `highway`, `length` in metres and, where known, `maxspeed`
        (km/h as a number), `surface`, `controls` (signs and signals passed within the edge).

    Notes
    -----
    OSMnx takes a posted `maxspeed` first and the class table otherwise. What is posted but not
    driven (narrow streets, bad surfaces) is brought down afterwards.
    """
    import osmnx

    graph = osmnx.routing.add_edge_speeds(
        graph, hwy_speeds=dict(model.class_kmh), fallback=FALLBACK_KMH
    )
    for _, _, data in graph.edges(data=True):
        kmh = float(data["speed_kph"])
        if "maxspeed" in data:
            kmh *= NARROW_SHARE.get(data["highway"], 1.0)
        data["speed_kph"] = min(kmh, SURFACE_CAP_KMH.get(data.get("surface", ""), kmh))
    graph = osmnx.routing.add_edge_travel_times(graph)
    for _, _, data in graph.edges(data=True):
        waits_s = sum(model.control_s(control) for control in data.get("controls", ()))
        data["travel_time"] = (data["travel_time"] + waits_s) * model.factor
    return graph
