"""Customers who stand in the book twice: two visits would be planned, driven and billed."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from itertools import pairwise

from dispatch.places import Place
from dispatch.sites import Site
from dispatch.words import _


def twin_of(name: str, address: str, sites: Iterable[Site]) -> Site | None:
    """The first site of the same name and address, whatever the letters; None without one."""
    wanted = _plain(name), _plain(address)
    return next((one for one in sites if (_plain(one.name), _plain(one.address)) == wanted), None)


def twins_told(sites: Iterable[Site]) -> list[str]:
    """A sentence for each site that has name and address of another one, ordered by id.

    Sites without an address are told by their place.
    """
    same: defaultdict[tuple[str, str | Place], list[Site]] = defaultdict(list)
    for site in sorted(sites, key=lambda one: one.id):
        same[_plain(site.name), _plain(site.address) or site.place].append(site)
    return [
        _(
            "Site {second} has the name and the address of site {first}: is it one pool, delete "
            "one of the two; are they two, name them apart."
        ).format(first=first.id, second=second.id)
        for group in same.values()
        for first, second in pairwise(group)
    ]


def _plain(text: str) -> str:
    return " ".join(text.casefold().split())
