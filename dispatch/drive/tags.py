"""What the tags of a street mean for a pick-up truck.

The meaning of each key and value follows the OpenStreetMap wiki (pages Key:highway, Key:access,
Key:oneway, Key:maxspeed, Key:barrier), as remembered; the wiki text was not at hand.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from dispatch.drive.speeds import CLASS_KMH, MPH_KMH

if TYPE_CHECKING:
    from collections.abc import Mapping

    Tags = Mapping[str, str]

DRIVABLE = frozenset(CLASS_KMH)
NEVER_SERVICE = frozenset({"emergency_access", "busway"})
NO_STOPPING = frozenset({"motorway", "motorway_link"})
PASSAGE = "building_passage"  # under a house, not under a hill
# Ways for walkers, cyclists and farmers: driven only where the map says of cars that they may.
WALKED = frozenset({"pedestrian", "footway", "cycleway", "path"})
CLOSED_UNLESS_OPENED = WALKED | {"track"}
END_ONLY_SERVICE = frozenset({"driveway", "parking_aisle", "drive-through"})

# The more specific key wins.
ACCESS_KEYS = ("motorcar", "motor_vehicle", "vehicle", "access")
OPEN_ACCESS = frozenset({"yes", "permissive", "designated", "official", "public", "unknown"})
# Reachable as the start or the end of a drive, never on the way through. A pool behind the gate
# of a private community is such an end.
END_ONLY_ACCESS = frozenset(
    {"private", "destination", "customers", "delivery", "permit", "residents"}
)

PASSABLE_BARRIERS = frozenset(
    {"gate", "lift_gate", "swing_gate", "sliding_gate", "hampshire_gate", "wicket_gate"}
)
OPEN_BARRIERS = frozenset(
    {"border_control", "cattle_grid", "entrance", "height_restrictor", "kerb", "no", "rumble_strip"}
    | {"sally_port", "speed_bump", "spikes", "toll_booth"}
)

CONTROLS: Mapping[str, str] = {
    "traffic_signals": "signals",
    "stop": "stop",
    "give_way": "give_way",
    "mini_roundabout": "mini_roundabout",
    "crossing": "crossing",
}
# What a driver passes at a point, by the names under which the speed model prices it: 'crossing'
# is one for walkers without signals.
CONTROL_KINDS = ("", *CONTROLS.values(), "level_crossing")
UNMARKED = frozenset({"no", "unmarked", "informal"})  # crossings that nobody slows down for
TRACK_SURFACE: Mapping[str, str] = {  # where a track's surface is not named: common practice
    "grade2": "gravel",
    "grade3": "compacted",
    "grade4": "ground",
    "grade5": "ground",
}

CAR_WORDS = frozenset({"motorcar", "motor_vehicle", "vehicle"})
RESTRICTION_KEYS = ("restriction", "restriction:motorcar", "restriction:motor_vehicle")
# How hours were tagged before `restriction:conditional`; a rule that has them binds at times only.
OLD_HOURS = ("hour_on", "hour_off", "day_on", "day_off")

KNOT_KMH = 1.852  # exact: the international nautical mile
WALK_KMH = 6.0  # `maxspeed=walk`, common practice
IMPLICIT_SPEED = re.compile(r"^[A-Z]{2}(-[A-Z]+)?:[a-z0-9_:]+$")
NUMBER_SPEED = re.compile(r"^(\d+(?:[.,]\d+)?)\s*(km/h|kmh|kph|mph|knots)?$")
ZONE_SPEED = re.compile(r"^[A-Z]{2}:(?:zone:?)?(\d+)$")


@dataclass(frozen=True, slots=True)
class Street:
    """What one way says about driving on it.

    `stopping` is false where nobody can be served from: on motorways and in tunnels. `forward` and
    `backward` say whether it may be driven along and against its drawing direction. `maxspeed`
    values are for OSMnx: a number in km/h or an implicit value such as `FI:urban`; empty where
    nothing is posted.
    """

    highway: str
    name: str
    end_only: bool
    stopping: bool
    forward: bool
    backward: bool
    maxspeed: str
    maxspeed_backward: str
    surface: str

    @property
    def without_name(self) -> Street:
        """The same street without its name; few kinds of street make up a town."""
        return replace(self, name="")


def street_of(tags: Tags) -> Street | None:
    """Return what the tags say, or None for a way that a truck may not drive at all.

    Parameters
    ----------
    tags
        The way's tags.
    """
    highway = tags.get("highway", "")
    if highway not in DRIVABLE or tags.get("area") == "yes":
        return None
    if tags.get("service", "") in NEVER_SERVICE:
        return None
    access = access_of(tags)
    if access == "closed" or (highway in CLOSED_UNLESS_OPENED and not _opened_to_cars(tags)):
        return None
    forward, backward = directions_of(tags)
    forward = forward and access_of(tags, ":forward") != "closed"
    backward = backward and access_of(tags, ":backward") != "closed"
    if not (forward or backward):
        return None
    both = tags.get("maxspeed", "")
    return Street(
        highway=highway,
        name=tags.get("name", "") or tags.get("ref", ""),
        end_only=access == "end-only" or tags.get("service", "") in END_ONLY_SERVICE,
        stopping=highway not in NO_STOPPING and tags.get("tunnel", "no") in {"no", PASSAGE},
        forward=forward,
        backward=backward,
        maxspeed=clean_maxspeed(tags.get("maxspeed:forward", both)),
        maxspeed_backward=clean_maxspeed(tags.get("maxspeed:backward", both)),
        surface=tags.get("surface", "") or TRACK_SURFACE.get(tags.get("tracktype", ""), ""),
    )


def access_of(tags: Tags, direction: str = "") -> str:
    """Return 'open', 'end-only' or 'closed' for a car; without any access tag a street is open.

    `direction` is ':forward' or ':backward' for what is said of one direction alone.
    """
    for key in ACCESS_KEYS:
        value = tags.get(key + direction)
        if value is None:
            continue
        if value in OPEN_ACCESS:
            return "open"
        return "end-only" if value in END_ONLY_ACCESS else "closed"
    return "open"


def directions_of(tags: Tags) -> tuple[bool, bool]:
    """Return whether a car may drive along and against the drawing direction of a way.

    Motorways, their ramps and roundabouts are one-way unless tagged otherwise; `-1` turns the
    direction round; a reversible lane is left out, since its direction changes with the hour.
    """
    keys = ("oneway:motorcar", "oneway:motor_vehicle", "oneway")
    oneway = next((tags[key] for key in keys if key in tags), "")
    if oneway in {"yes", "true", "1"}:
        return True, False
    if oneway in {"-1", "reverse"}:
        return False, True
    if oneway == "reversible":
        return False, False
    if oneway not in {"no", "false", "0"}:
        ring = tags.get("junction") in {"roundabout", "circular"}
        if ring or tags.get("highway") in {"motorway", "motorway_link"}:
            return True, False
    return True, True


def clean_maxspeed(value: str) -> str:
    """Return a posted limit as km/h, an implicit value as it stands, or '' where nothing holds.

    Parameters
    ----------
    value
        Such as `50`, `30 mph`, `DE:zone:30`, `FI:urban`, `none`, `walk`, `signals`.
    """
    value = re.split(r"[|;]", value)[0].strip()
    number = NUMBER_SPEED.match(value)
    if number:
        factor = {"mph": MPH_KMH, "knots": KNOT_KMH}.get(number.group(2) or "", 1.0)
        kmh = float(number.group(1).replace(",", ".")) * factor
        return f"{kmh:.2f}" if kmh > 0 else ""
    if value == "walk":
        return f"{WALK_KMH:.2f}"
    zone = ZONE_SPEED.match(value)
    if zone:
        return zone.group(1)
    return value if IMPLICIT_SPEED.match(value) else ""


def barrier_of(tags: Tags) -> str:
    """Return '' (nothing in the way), 'gate', 'private-gate' or 'blocked' for a point of a street.

    A gate without access tags can be opened, one that is said to be open to all stands open; a
    bollard or a block stops a truck unless cars are let through by name.
    """
    barrier = tags.get("barrier", "")
    if not barrier or barrier in OPEN_BARRIERS:
        return "blocked" if barrier and access_of(tags) == "closed" else ""
    tagged = any(key in tags for key in ACCESS_KEYS)
    access = access_of(tags)
    if access == "closed" or (barrier not in PASSABLE_BARRIERS and not tagged):
        return "blocked"
    if access == "end-only":
        return "private-gate"
    return "gate" if barrier in PASSABLE_BARRIERS and not tagged else ""


def turn_rule_of(tags: Tags) -> str:
    """Return what a turn restriction says to a pick-up truck.

    'no' or 'only' for one that binds it all day; 'conditional' for one that binds at some hours
    only, 'exempt' for one from which cars are excepted or that is for other vehicles, 'unknown' for
    one that says something else.
    """
    for key in ("restriction:motorcar", "restriction:motor_vehicle", "restriction"):
        if key not in tags:
            continue
        if CAR_WORDS & set(tags.get("except", "").replace(" ", "").split(";")):
            return "exempt"
        if any(tags.get(hours) for hours in OLD_HOURS):
            return "conditional"
        kind = tags[key].partition("_")[0]
        return kind if kind in {"no", "only"} else "unknown"
    conditional = any(f"{key}:conditional" in tags for key in RESTRICTION_KEYS)
    return "conditional" if conditional else "exempt"


def control_of(tags: Tags) -> str:
    """Return what a driver passes at a point, one of `CONTROL_KINDS`."""
    if tags.get("railway") == "level_crossing":
        return "level_crossing"
    control = CONTROLS.get(tags.get("highway", ""), "")
    if control == "crossing":
        kind = tags.get("crossing", "")
        if kind == "traffic_signals" or tags.get("crossing:signals") == "yes":
            return "signals"
        return "" if kind in UNMARKED else control
    return control


def control_direction_of(tags: Tags) -> str:
    """Return 'forward', 'backward' or '' (both, or not said) for a signal or sign on a way."""
    for key in ("direction", "traffic_signals:direction"):
        if tags.get(key) in {"forward", "backward"}:
            return tags[key]
    return ""


def _opened_to_cars(tags: Tags) -> bool:
    """Return whether cars are let in by name; to a track all of them, elsewhere also some."""
    opened = OPEN_ACCESS if tags.get("highway") == "track" else OPEN_ACCESS | END_ONLY_ACCESS
    return any(tags.get(key) in opened for key in ("motorcar", "motor_vehicle"))
