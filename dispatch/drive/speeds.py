"""How fast a street is driven and what a turn, a signal and a stop sign cost: one table.

Speeds are free-flow speeds of a pick-up truck, kilometres per hour, for streets without a posted
limit; a posted limit wins, and is driven. 'Measured' stands for measured against an open engine on
five extracts, see tests/bench/drive_accuracy.py: the speeds that it drives itself on streets of the
class. They lie at or below what the law allows in the United States, where 25 mph in a residence
district, 55 mph on a two-lane rural road and 65 mph on a freeway are the statutory limits
(California Vehicle Code, sections 22349 and 22352). What a region's traffic adds to free flow is
one factor, learnt from the company's own drives (`factors`).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from types import MappingProxyType
from typing import TYPE_CHECKING

import numpy as np

from dispatch.errors import InvalidValue
from dispatch.words import _

if TYPE_CHECKING:
    from collections.abc import Mapping

    import networkx as nx

MPH_KMH = 1.609344  # exact: the international mile

CLASS_KMH: Mapping[str, float] = MappingProxyType(
    {
        "motorway": 105.0,  # 65 mph, California Vehicle Code 22349 (a); measured
        "motorway_link": 80.0,  # measured 84 to 89; ramps are posted lower, common practice
        "trunk": 90.0,  # 55 mph, California Vehicle Code 22349 (b)
        "trunk_link": 60.0,  # common practice
        "primary": 75.0,  # measured
        "primary_link": 50.0,  # common practice
        "secondary": 60.0,  # measured
        "secondary_link": 45.0,  # common practice
        "tertiary": 50.0,  # measured
        "tertiary_link": 40.0,  # common practice
        "unclassified": 40.0,  # measured
        "residential": 35.0,  # measured; 25 mph is the limit, and cars park on both sides
        "road": 35.0,  # class not known to the mapper: taken as residential
        "living_street": 15.0,  # common practice: little more than walking pace
        "service": 25.0,  # measured
        "track": 15.0,  # common practice; measured 20 where paved
        **dict.fromkeys(("pedestrian", "footway", "cycleway", "path"), 10.0),  # among walkers
    }
)

# Where streets are dense: more junctions, parked cars and people on foot.
BUILT_UP_KMH: Mapping[str, float] = MappingProxyType(
    {
        "motorway": 89.0,  # measured, 55 mph
        "motorway_link": 72.0,  # common practice
        "trunk": 73.0,  # common practice, 45 mph
        "trunk_link": 50.0,  # common practice
        "primary": 57.0,  # measured, 35 mph
        "primary_link": 45.0,  # common practice
        "secondary": 49.0,  # measured, 30 mph
        "secondary_link": 40.0,  # common practice
        "tertiary": 40.0,  # measured, 25 mph
        "tertiary_link": 35.0,  # common practice
        "unclassified": 35.0,  # common practice
        "residential": 30.0,  # measured
        "road": 30.0,  # as residential
        "living_street": 15.0,  # common practice
        "service": 20.0,  # measured
        "track": 15.0,  # common practice
    }
)

DRIVEWAY_KMH = 12.0  # drives and the aisles of car parks; measured 10 and 15

SURFACE_SHARE: Mapping[str, float] = MappingProxyType(
    # Share of the speed on asphalt: measured for cobblestone, gravel and unpaved, the others
    # common practice.
    {
        "unpaved": 0.5,
        "gravel": 0.5,
        "fine_gravel": 0.5,
        "compacted": 0.7,
        "dirt": 0.5,
        "earth": 0.5,
        "ground": 0.5,
        "grass": 0.3,
        "sand": 0.3,
        "mud": 0.3,
        "cobblestone": 0.85,
        "unhewn_cobblestone": 0.6,
    }
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
        "unhewn_cobblestone": 20.0,
    }
)

# Seconds by the angle of a turn, degrees: to the kerb side, and across the oncoming lane. Slowing
# from 13 m/s to 6 m/s and picking up again at 2 m/s² loses (13 - 6)² / (13 · 2) = 1.9 s; a gap in
# the oncoming traffic is waited for about 3 s (common practice); a sharp turn is driven at walking
# pace. Measured: 2.2 and 5.3 s for right angles, 6.5 and 7.4 s beyond 120°.
TURN_DEG = (0.0, 30.0, 60.0, 75.0, 120.0, 150.0, 180.0)
NEAR_TURN_SHARE = (0.0, 0.0, 0.5, 1.0, 1.0, 3.0, 3.0)  # of `near_turn_s`
FAR_TURN_SHARE = (0.0, 0.05, 0.25, 1.0, 1.0, 1.5, 1.5)  # of `far_turn_s`
ABOUT_DEG = 165.0  # from here on a turn is one on the spot

FALLBACK_KMH = 30.0  # a class the table does not know; cannot happen with the reader's whitelist


@dataclass(frozen=True, slots=True)
class SpeedModel:
    """Speeds in km/h and delays in seconds; every number may be replaced.

    Turn delays are counted at junctions of three or more streets only; see `TURN_DEG`.

    A signal of a junction costs 3 s, the mean over drivers who go straight on. A car arriving at
    random waits cycle · (1 - green share)² / 2 for one signal alone: with 80 s and 45 % green, 12 s
    (first term of F. V. Webster, Traffic signal settings, Road Research Technical Paper 39, 1958).
    But main streets have most of the green and signals are timed to each other; measured: 2 s. What
    a town's signals cost beyond that is in its factor. A signal within a stretch is the stop line
    of a junction that has been counted, or a crossing that is green most of the time: 0.5 s (common
    practice; measured: 0). Signs, crossings, gates and a turn on the spot are common practice;
    measured: 30 s for a gate, 27 s for a turn on the spot.

    Raises
    ------
    InvalidValue
        When a speed is not above zero or a delay is negative.
    """

    class_kmh: Mapping[str, float] = field(default_factory=lambda: CLASS_KMH)
    built_up_kmh: Mapping[str, float] = field(default_factory=lambda: BUILT_UP_KMH)
    factor: float = 1.0  # all driving times are multiplied by it
    near_turn_s: float = 2.2  # turn to the kerb side, right angle
    far_turn_s: float = 5.0  # turn across the oncoming lane, right angle
    signal_s: float = 3.0
    passed_signal_s: float = 0.5  # within a stretch
    stop_s: float = 3.0
    give_way_s: float = 1.0
    mini_roundabout_s: float = 2.0
    crossing_s: float = 0.2  # for walkers, without signals: one driver in twenty stops for 4 s
    level_crossing_s: float = 3.0
    gate_s: float = 25.0  # stop, key in the code, wait for it to open
    u_turn_s: float = 25.0
    drives_on_right: bool = True

    def __post_init__(self) -> None:
        for table in (self.class_kmh, self.built_up_kmh):
            for name, kmh in table.items():
                if not kmh > 0:
                    raise InvalidValue(
                        _("The speed of class {name} is {kmh} km/h; give one above 0.").format(
                            name=name, kmh=kmh
                        )
                    )
        if not self.factor > 0:
            raise InvalidValue(
                _("The driving time factor is {factor}; give one above 0.").format(
                    factor=self.factor
                )
            )
        for name in self.__dataclass_fields__:
            if name.endswith("_s") and getattr(self, name) < 0:
                raise InvalidValue(
                    _("{name} is {getattr} s; a delay is 0 or more.").format(
                        name=name, getattr=getattr(self, name)
                    )
                )

    def control_s(self, control: str) -> float:
        """Return the delay in seconds of what stands at a junction, one of `CONTROL_KINDS`."""
        if control == "signals":
            return self.signal_s
        return float(getattr(self, f"{control}_s", 0.0)) if control else 0.0

    def passed_s(self, control: str) -> float:
        """Return the delay in seconds of what is passed within a stretch of street."""
        return self.passed_signal_s if control == "signals" else self.control_s(control)

    def turn_s(self, angle_deg: float) -> float:
        """Return the delay in seconds of a turn by `angle_deg`, clockwise (to the right) positive.

        Up to 30° either way counts as straight on (common practice). One about 180°, as from one
        carriageway of a divided street into the other, is a turn on the spot.
        """
        about = float(np.interp(abs(angle_deg), (150.0, ABOUT_DEG), (0.0, 1.0)))
        near = (angle_deg > 0) == self.drives_on_right
        shares = NEAR_TURN_SHARE if near else FAR_TURN_SHARE
        share = float(np.interp(abs(angle_deg), TURN_DEG, shares))
        turn_s = share * (self.near_turn_s if near else self.far_turn_s)
        return (1 - about) * turn_s + about * self.u_turn_s


def add_travel_times(graph: nx.MultiDiGraph, model: SpeedModel) -> nx.MultiDiGraph:
    """Give every edge `speed_kph` and `travel_time` (seconds, without turns), by OSMnx.

    Parameters
    ----------
    graph
        In OSMnx's format; edges carry `highway`, `length` in metres and, where known, `maxspeed`
        (km/h as a number), `surface`, `controls` (signs and signals passed within the edge),
        `built_up` (see `built_up`) and `end_only`.

    Notes
    -----
    OSMnx takes a posted `maxspeed` first and the class table otherwise. Bad surfaces are brought
    down afterwards.
    """
    import osmnx

    graph = osmnx.routing.add_edge_speeds(
        graph, hwy_speeds=dict(model.class_kmh), fallback=FALLBACK_KMH
    )
    for _rest, _rest, data in graph.edges(data=True):
        kmh = float(data["speed_kph"])
        if "maxspeed" not in data:
            if data.get("built_up"):
                kmh = model.built_up_kmh.get(data["highway"], kmh)
            if data["highway"] == "service" and data.get("end_only"):
                kmh = min(kmh, DRIVEWAY_KMH)
        surface = data.get("surface", "")
        kmh *= SURFACE_SHARE.get(surface, 1.0)
        data["speed_kph"] = min(kmh, SURFACE_CAP_KMH.get(surface, kmh))
    graph = osmnx.routing.add_edge_travel_times(graph)
    for _rest, _rest, data in graph.edges(data=True):
        waits_s = sum(model.passed_s(control) for control in data.get("controls", ()))
        data["travel_time"] = (data["travel_time"] + waits_s) * model.factor
    return graph
