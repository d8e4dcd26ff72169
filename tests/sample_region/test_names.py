"""Street names."""

from __future__ import annotations

from random import Random

from sample_region.names import Namer


def test_names_do_not_run_out_in_a_large_town() -> None:
    """A town of a few hundred thousand crossings has far more streets than short names."""
    namer = Namer(Random(2))
    names = [namer.name("row") for _ in range(20_000)]
    assert len(set(names)) == len(names)


def test_a_stem_is_given_once_whatever_follows_it() -> None:
    """Two streets that differ in their last word only would be mixed up at the gate."""
    namer = Namer(Random(2))
    stems = [namer.name("dead end").rsplit(" ", 1)[0] for _ in range(2000)]
    assert len(set(stems)) == len(stems)
