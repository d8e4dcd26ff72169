"""What a pool usually takes: the mean of its last visits, or that of other pools of its kind."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Protocol

from dispatch.records.carriage import CARRIAGE
from dispatch.records.learnt_minutes import kind_of_pool
from dispatch.records.record import ProductAdded
from dispatch.sites import Site
from dispatch.water.products import Product

LAST_VISITS = 8  # visits whose mean counts; about two months, so that the season is followed


class Used(Protocol):
    """What a visit took; a record is one."""

    @property
    def id(self) -> str: ...  # noqa: D102
    @property
    def day(self) -> date: ...  # noqa: D102
    @property
    def skipped(self) -> str: ...  # noqa: D102
    @property
    def products(self) -> tuple[ProductAdded, ...]: ...  # noqa: D102


BULKY = frozenset(  # brought when a reading asks for them, not every week
    {
        Product.SALT,
        Product.CYANURIC_ACID,
        Product.CALCIUM_CHLORIDE,
        Product.BICARBONATE,
    }
)


@dataclass(frozen=True, slots=True)
class Usage:
    """Mass of each product that a visit usually takes, kg net; `visits` it comes from.

    `own` tells whether they are the site's own visits or those of pools of its kind.
    """

    mass_kg: Mapping[Product, float]
    visits: int
    own: bool = True

    @property
    def regulated_kg(self) -> float:
        """Gross mass of the regulated products, with their packages, kg."""
        return sum(
            mass_kg * (1 + CARRIAGE[product].tare)
            for product, mass_kg in self.mass_kg.items()
            if CARRIAGE[product].regulated
        )


def usual_use(records: Sequence[Used]) -> Usage:
    """Mean use of the last eight visits of one site that were not skipped.

    Bulky products that a reading asks for (salt, bicarbonate and the like) are left out: that
    they were brought once says nothing of the next visit.
    """
    done = sorted((one for one in records if not one.skipped), key=lambda one: (one.day, one.id))
    last = done[-LAST_VISITS:]
    total: defaultdict[Product, float] = defaultdict(float)
    for record in last:
        for added in record.products:
            if added.product not in BULKY:
                total[added.product] += added.mass_kg
    return Usage({product: mass / len(last) for product, mass in total.items()}, len(last))


def chemicals_kg(records: Sequence[Used]) -> float:
    """Regulated chemicals that a visit to this site usually takes from the truck, kg gross.

    The mean of its last eight records with the packages; 0 without any.
    """
    return usual_use(records).regulated_kg


def chemicals_of_visit_kg(site: Site, usage: Usage) -> float:
    """Regulated chemicals a visit takes, kg gross: as agreed, else usual use to a tenth.

    Planning and load lists both count with this figure.
    """
    return site.plan.chemicals_kg or round(usage.regulated_kg, 1)


def usage_of_sites(
    sites: Iterable[Site], records: Mapping[str, Sequence[Used]]
) -> dict[str, Usage]:
    """Use of every site; one without records takes what pools of its kind take on the mean."""
    own = {site_id: usual_use(found) for site_id, found in records.items() if found}
    by_kind: defaultdict[str, list[Usage]] = defaultdict(list)
    book = list(sites)
    for site in book:
        if site.id in own and own[site.id].visits:
            by_kind[kind_of_pool(site)].append(own[site.id])
    of_kind = {kind: _mean(found) for kind, found in by_kind.items()}
    nothing = Usage({}, 0, own=False)
    return {
        site.id: own[site.id]
        if site.id in own and own[site.id].visits
        else of_kind.get(kind_of_pool(site), nothing)
        for site in book
    }


def _mean(found: Sequence[Usage]) -> Usage:
    total: defaultdict[Product, float] = defaultdict(float)
    for one in found:
        for product, mass_kg in one.mass_kg.items():
            total[product] += mass_kg
    visits = sum(one.visits for one in found)
    return Usage({name: mass / len(found) for name, mass in total.items()}, visits, own=False)
