"""Street names, made up from plain words and made-up syllables, none given twice."""

from __future__ import annotations

import itertools
from dataclasses import dataclass, field
from random import Random

_FIRST = (
    "Amber Copper Silver Quiet Dusty Golden Painted Hidden Distant Crooked Broken Windy Sunny "
    "Misty Velvet Crimson Ivory Russet Saffron Umber Coral Cobalt Pearl Granite Flint Sandy "
    "Shady Mellow Gentle Rolling Leaning Whispering Wandering Twin Lone Early Evening Morning "
    "Winter Summer Autumn Northern Southern Eastern Western Upper Lower Long Little Tall"
)
_SECOND = (
    "Heron Quail Plover Falcon Wren Sparrow Lark Finch Juniper Agave Yucca Sage Thistle Clover "
    "Poppy Lupine Aster Mesquite Acacia Olive Cedar Laurel Willow Almond Fig Tamarisk Hollow "
    "Bluff Ridge Mesa Terrace Meadow Basin Spring Brook Ford Lantern Anchor Compass Harbor "
    "Kettle Saddle Wagon Anvil Candle Ember Pebble Boulder Dune Ripple Otter Badger Hare Lynx "
    "Marten Beetle Cricket Moth"
)
_START = (
    "Bal Cor Dav El Fen Gar Hal Is Jor Kel Lun Mar Nor Ol Pel Quen Ros Sol Tal Ul Ver Wel Yar Zan"
)
_MIDDLE = "a e i o u ani are elo imi olo une ava"
_END = "dra len mont nia quin ra sta tel vane wick zor bell cara dell fina lune mesa nova rell"
_SUFFIXES = {
    "main": ("Boulevard", "Avenue", "Parkway", "Road"),
    "collector": ("Road", "Avenue", "Way", "Drive"),
    "centre": ("Street", "Avenue", "Street"),
    "row": ("Drive", "Lane", "Street", "Way", "Avenue", "Trail"),
    "dead end": ("Court", "Place", "Court", "Cove"),
    "loop": ("Circle", "Loop"),
}

SHORT_TRIES = 30  # names drawn before a longer one is made


@dataclass(slots=True)
class Namer:
    """Gives each street a name of its own."""

    rng: Random
    given: set[str] = field(default_factory=set)

    def name(self, kind: str) -> str:
        """A new name for a street of `kind`, a key of the table of suffixes.

        Raises
        ------
        KeyError
            When there is no such kind.
        """
        suffix = self.rng.choice(_SUFFIXES[kind])
        for tries in itertools.count():
            stem = self._stem(kind)
            if tries >= SHORT_TRIES:  # a large town uses up the short names
                stem = f"{self.rng.choice(_FIRST.split())} {self._invented()}"
            if stem not in self.given:
                break
        self.given.add(stem)
        return f"{stem} {suffix}"

    def _stem(self, kind: str) -> str:
        if kind in ("main", "collector", "centre") or self.rng.random() < 0.35:
            return self._invented()
        return f"{self.rng.choice(_FIRST.split())} {self.rng.choice(_SECOND.split())}"

    def _invented(self) -> str:
        parts = (_START, _MIDDLE, _END)
        return "".join(self.rng.choice(syllables.split()) for syllables in parts)

    def motorway(self) -> str:
        """A new name for a motorway."""
        return self.name("main").rsplit(" ", 1)[0] + " Freeway"
