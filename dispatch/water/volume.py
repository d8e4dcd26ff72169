"""Volume of a pool: estimated from its measures, or measured by salt.

An estimate is good to 10 to 15 % (common practice); the average depth is the mean of the
shallow and the deep end only where the floor is one straight slope.
"""

from __future__ import annotations

import math
from enum import StrEnum

from dispatch.errors import InvalidValue
from dispatch.units import PPM_KG_PER_L
from dispatch.water.answer import GENERAL_CAUTION, Answer, Input
from dispatch.words import N_, _, worded

LITRES_PER_M3 = 1000.0
KIDNEY_SHARE = 0.45  # of (A + B) x length; formula of the trade, seen on a page
ESTIMATE_NOTE = N_("An estimate, good to 10 to 15 %; salt added and read back measures it better.")


class Shape(StrEnum):
    """Outline of a pool seen from above."""

    RECTANGLE = "rectangle"
    ROUND = "round"
    OVAL = "oval"  # a true ellipse
    STADIUM = "stadium"  # straight sides with round ends
    KIDNEY = "kidney"


def volume_by_measures(
    shape: Shape, length_m: float, width_m: float, depth_m: float, narrow_m: float | None = None
) -> Answer:
    """Volume in litres, estimated from measures in metres.

    Parameters
    ----------
    shape
        The outline. A round pool has one diameter, given as `length_m` and `width_m` alike.
    depth_m
        Average depth.
    narrow_m
        The narrower width of a kidney, whose wider one is `width_m`.

    Raises
    ------
    InvalidValue
        When the measures are none of that shape.
    """
    if (narrow_m is not None) != (shape is Shape.KIDNEY):
        raise InvalidValue(_("A kidney has a second, narrower width, and no other shape has one."))
    if shape is Shape.ROUND and length_m != width_m:
        raise InvalidValue(_("A round pool is as wide as long: give an oval, or one diameter."))
    litres = {
        Shape.RECTANGLE: lambda: rectangle_l(length_m, width_m, depth_m),
        Shape.ROUND: lambda: round_l(length_m, depth_m),
        Shape.OVAL: lambda: oval_l(length_m, width_m, depth_m),
        Shape.STADIUM: lambda: stadium_l(length_m, width_m, depth_m),
        Shape.KIDNEY: lambda: kidney_l(width_m, narrow_m or 0, length_m, depth_m),
    }[shape]()
    measures = (
        (_("Length"), length_m),
        (_("Width"), width_m),
        (_("Narrower width"), narrow_m),
        (_("Average depth"), depth_m),
    )
    return Answer(
        title=_("Volume estimated from measures"),
        value=litres,
        unit="l",
        inputs=tuple(Input(name, metres, "m") for name, metres in measures if metres is not None),
        method=worded(shape),
        source=_("geometry; a formula of the trade for kidneys"),
        cautions=(GENERAL_CAUTION,),
        notes=(_(ESTIMATE_NOTE),),
    )


def rectangle_l(length_m: float, width_m: float, depth_m: float) -> float:
    """Litres of a rectangle by its average depth; all in metres."""
    return _checked(length_m, width_m, depth_m) * LITRES_PER_M3


def round_l(diameter_m: float, depth_m: float) -> float:
    """Litres of a round pool by its average depth; metres."""
    return _checked(diameter_m, diameter_m, depth_m) * math.pi / 4 * LITRES_PER_M3


def oval_l(length_m: float, width_m: float, depth_m: float) -> float:
    """Litres of a true ellipse by its axes and average depth; metres.

    A factor of 6.7 gal/ft3, printed on one page, is 14 % high for an ellipse: it is meant for
    straight sides with round ends (see `stadium_l`).
    """
    return _checked(length_m, width_m, depth_m) * math.pi / 4 * LITRES_PER_M3


def stadium_l(length_m: float, width_m: float, depth_m: float) -> float:
    """Litres of straight sides with round ends, `length_m` overall; metres."""
    if length_m < width_m:
        raise InvalidValue(
            _(
                "A length of {length:g} m is shorter than the width of {width:g} m: swap the two."
            ).format(length=length_m, width=width_m)
        )
    _checked(length_m, width_m, depth_m)
    area_m2 = (length_m - width_m) * width_m + math.pi / 4 * width_m**2
    return area_m2 * depth_m * LITRES_PER_M3


def kidney_l(wide_m: float, narrow_m: float, length_m: float, depth_m: float) -> float:
    """Litres of a kidney by its two widths, its length and its average depth; metres."""
    _checked(wide_m, narrow_m, depth_m)
    return KIDNEY_SHARE * _checked(wide_m + narrow_m, length_m, depth_m) * LITRES_PER_M3


def volume_by_salt(added_kg: float, before_ppm: float, after_ppm: float) -> Answer:
    """Volume in litres from salt added and what the reading rose by.

    Parameters
    ----------
    added_kg
        Salt added, all of it dissolved, kg.
    before_ppm, after_ppm
        Salt read before and after, ppm.

    Raises
    ------
    InvalidValue
        When the reading did not rise, or nothing was added.
    """
    if added_kg <= 0 or after_ppm <= before_ppm:
        raise InvalidValue(
            _(
                "Salt of {added:g} kg and a reading from {before_ppm:g} to {after_ppm:g} ppm "
                "give no volume: let the salt dissolve for a day and read again."
            ).format(added=added_kg, before_ppm=before_ppm, after_ppm=after_ppm)
        )
    return Answer(
        title=_("Volume measured by salt"),
        value=added_kg / (PPM_KG_PER_L * (after_ppm - before_ppm)),
        unit="l",
        inputs=(
            Input(_("Salt added"), added_kg, "kg"),
            Input(_("Salt before"), before_ppm, "ppm"),
            Input(_("Salt after"), after_ppm, "ppm"),
        ),
        method=_("mass balance of the salt added"),
        source="computed",
        cautions=(GENERAL_CAUTION,),
        notes=(_("Both readings by the same method, at least a day apart (a page of the trade)."),),
    )


def _checked(a_m: float, b_m: float, depth_m: float) -> float:
    """The product of three measures in metres; raises InvalidValue unless all are positive."""
    if min(a_m, b_m, depth_m) <= 0 or not math.isfinite(a_m * b_m * depth_m):
        raise InvalidValue(_("A pool's measures must all be above zero: measure again."))
    return a_m * b_m * depth_m
