"""Route colours are told apart by people with every common kind of colour vision."""

from __future__ import annotations

import re
from itertools import combinations
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pytest

import api
from api.pages.marks import COLOURS

CSS = Path(api.__file__).parent / "web" / "css" / "colours.css"
Array = npt.NDArray[np.float64]

# G. M. Machado, M. M. Oliveira, L. A. F. Fernandes, IEEE Transactions on Visualization and
# Computer Graphics 15(6), 2009, severity 1.0, on linear RGB; as remembered.
VISION = {
    "common": [[1, 0, 0], [0, 1, 0], [0, 0, 1]],
    "protan": [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216],
               [-0.003882, -0.048116, 1.051998]],
    "deutan": [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413],
               [-0.011820, 0.042940, 0.968881]],
    "tritan": [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602],
               [0.004733, 0.691367, 0.303900]],
}  # fmt: skip
# B. Ottosson, "A perceptual color space for image processing", 2020; as remembered.
TO_LMS = [[0.4122214708, 0.5363325363, 0.0514459929], [0.2119034982, 0.6806995451, 0.1073969566],
          [0.0883024619, 0.2817188376, 0.6299787005]]  # fmt: skip
TO_LAB = [[0.2104542553, 0.7936177850, -0.0040720468], [1.9779984951, -2.4285922050, 0.4505937099],
          [0.0259040371, 0.7827717662, -0.8086757660]]  # fmt: skip
LEAST_DISTANCE = 0.08  # in Oklab; about four times what two patches side by side need
LEAST_CONTRAST = 3.0  # of graphics against their ground (WCAG 2.2, 1.4.11)


def schemes() -> tuple[dict[str, str], dict[str, str]]:
    """Custom properties of the light and of the dark scheme."""
    light, dark = CSS.read_text().split("@media", 1)
    found = [dict(re.findall(r"--([\w-]+): (#[0-9a-f]{6});", text)) for text in (light, dark)]
    return found[0], {**found[0], **found[1]}


def linear(colour: str) -> Array:
    """Linear RGB of #rrggbb (IEC 61966-2-1)."""
    value = np.array([int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)])
    return np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4)


def lab(colour: str, vision: str) -> Array:
    """Place in Oklab as seen with a kind of colour vision."""
    seen = np.clip(np.array(VISION[vision]) @ linear(colour), 0, 1)
    place: Array = np.array(TO_LAB) @ np.cbrt(np.array(TO_LMS) @ seen)
    return place


def contrast(one: str, other: str) -> float:
    """Contrast ratio (WCAG 2.2)."""
    weights = np.array([0.2126, 0.7152, 0.0722])
    low, high = sorted(float(linear(colour) @ weights) for colour in (one, other))
    return (high + 0.05) / (low + 0.05)


@pytest.mark.parametrize("vision", VISION)
@pytest.mark.parametrize("scheme", schemes(), ids=["light", "dark"])
def test_no_two_routes_look_alike(scheme: dict[str, str], vision: str) -> None:
    """About one man in twelve sees red and green as one colour."""
    names = [f"c{number}" for number in range(1, COLOURS + 1)]
    near = {
        (a, b): float(np.linalg.norm(lab(scheme[a], vision) - lab(scheme[b], vision)))
        for a, b in combinations(names, 2)
    }
    assert {pair: apart for pair, apart in near.items() if apart < LEAST_DISTANCE} == {}


@pytest.mark.parametrize("scheme", schemes(), ids=["light", "dark"])
def test_every_route_stands_out_from_the_ground(scheme: dict[str, str]) -> None:
    """A pale line on a pale map is lost in sunlight."""
    for number in range(1, COLOURS + 1):
        assert contrast(scheme[f"c{number}"], scheme["sunk"]) >= LEAST_CONTRAST, number


@pytest.mark.parametrize("scheme", schemes(), ids=["light", "dark"])
def test_text_is_readable_on_every_ground(scheme: dict[str, str]) -> None:
    """4.5 is the ratio that WCAG 2.2 asks of text (1.4.3)."""
    for text in ("ink", "soft", "accent", "warn"):
        for ground in ("paper", "raised", "sunk", "wash"):
            assert contrast(scheme[text], scheme[ground]) >= 4.5, (text, ground)


def test_numbers_are_readable_on_their_route_colour() -> None:
    """The stop's number is white or black by the colour under it, as colours.css says."""
    rules = dict(
        re.findall(r"\.(c\d) \{ --c: var\(--c\d\); --on-c: var\(--([\w-]+)\)", CSS.read_text())
    )
    for scheme in schemes():
        for name, text in rules.items():
            assert contrast(scheme[text], scheme[name]) >= 4.5, (name, text)
