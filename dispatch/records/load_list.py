"""A truck's load for one day: parts, bags and products, checked against what may be carried."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from dispatch.records.carriage import (
    CARRIAGE,
    MOST_TOTAL_KG,
    TUB_CAUTIONS,
    LoadViolation,
    Tub,
    check_package,
    check_payload,
    check_total,
)
from dispatch.records.usage import Usage
from dispatch.upkeep import Part
from dispatch.water.amounts import bag_amount, jug_amount
from dispatch.water.products import FACTS, Product
from dispatch.words import N_, _, counted

REFILLED = N_(
    "This list is for the whole day, and the truck is filled again at the supply stop. Load for "
    "the stops before it."
)
SPARE = 0.2  # of what is usually used, so that a bad day does not run dry; common practice


@dataclass(frozen=True, slots=True)
class Wanted:
    """A product that one site's readings ask for; `mass_kg` net, `reason` in words."""

    site_id: str
    product: Product
    mass_kg: float
    reason: str


@dataclass(frozen=True, slots=True)
class LoadLine:
    """One product to load.

    `net_kg` is what the day is expected to use with some spare, `packages` the whole packages
    that hold it, `gross_kg` their mass filled. `amount` is the net amount in the unit on the jug
    or bag; `reasons` say where it comes from.
    """

    product: Product
    title: str
    tub: Tub
    amount: str
    packages: int
    package: str
    net_kg: float
    gross_kg: float
    regulated: bool
    reasons: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class LoadList:
    """All that goes on a truck for one day.

    `parts` are those of the upkeep. `products` are grouped by tub, acid and chlorine apart.
    `unknown_sites` have no record and no pool of their kind has one, so nothing is loaded for
    them. `violations` are limits passed, as data. `regulated_kg` are the whole packages;
    `expected_regulated_kg` is what planning expects to be aboard at once, without spare.
    """

    parts: tuple[Part, ...]
    waste_kg: float
    products: tuple[LoadLine, ...]
    regulated_kg: float
    mass_kg: float
    payload_kg: float
    most_regulated_kg: float
    violations: tuple[LoadViolation, ...]
    cautions: tuple[str, ...]
    unknown_sites: tuple[str, ...]
    expected_regulated_kg: float = 0.0


def load_list(
    site_ids: Sequence[str],
    parts: Sequence[Part],
    waste_kg: float,
    usage: Mapping[str, Usage],
    wanted: Sequence[Wanted],
    payload_kg: float,
    *,
    most_regulated_kg: float = MOST_TOTAL_KG,
    expected_regulated_kg: float = 0.0,
    refills: bool = False,
    beside: Sequence[str] = (),
    packs: Mapping[Product, float] | None = None,
    customary: bool = True,
) -> LoadList:
    """Make the load list of one truck-day and check it.

    Parameters
    ----------
    site_ids
        The sites in the order of the route, each visit once.
    parts, waste_kg
        Parts of the day's upkeep and jobs, summed, and the mass that comes back, kg.
    usage
        Usual use of each site.
    wanted
        Products that last readings ask for.
    payload_kg, most_regulated_kg
        What the truck may carry, and what of regulated chemicals, kg gross.
    expected_regulated_kg
        What planning counts with: the most that visits between two fillings take, kg gross.
    refills
        Whether the truck is refilled on the way, so that the packages are never aboard at once.
    beside
        Sentences on what the day needs that no line can tell.
    packs
        Size of the company's packages where it is not the usual one: litres for a liquid, kg
        otherwise.
    customary
        Whether amounts are told in US customary units.
    """
    net, reasons = _net(site_ids, usage, wanted)
    lines = tuple(
        _line(product, mass_kg, reasons[product], dict(packs or {}), customary=customary)
        for product, mass_kg in sorted(net.items(), key=lambda one: _order(one[0]))
    )
    regulated = [line for line in lines if line.regulated]
    regulated_kg = sum(line.gross_kg for line in regulated)
    parts_kg = max(sum(part.mass_kg for part in parts), waste_kg)
    mass_kg = parts_kg + sum(line.gross_kg for line in lines)
    aboard_kg = expected_regulated_kg if refills else max(regulated_kg, expected_regulated_kg)
    packages = [violation for line in regulated for violation in _package(line, dict(packs or {}))]
    return LoadList(
        parts=tuple(parts),
        waste_kg=waste_kg,
        products=lines,
        regulated_kg=regulated_kg,
        mass_kg=mass_kg,
        payload_kg=payload_kg,
        most_regulated_kg=most_regulated_kg,
        violations=(
            *packages,
            *check_total(aboard_kg, most_regulated_kg),
            *check_payload(mass_kg, payload_kg),
        ),
        cautions=(
            *([REFILLED] if refills else []),
            *beside,
            *(words for tub, words in TUB_CAUTIONS.items() if any(one.tub is tub for one in lines)),
        ),
        unknown_sites=tuple(
            dict.fromkeys(one for one in site_ids if not usage.get(one, Usage({}, 0)).visits)
        ),
        expected_regulated_kg=expected_regulated_kg,
    )


def _net(
    site_ids: Sequence[str], usage: Mapping[str, Usage], wanted: Sequence[Wanted]
) -> tuple[dict[Product, float], dict[Product, list[str]]]:
    """Net mass of each product, kg, and where it comes from."""
    net: defaultdict[Product, float] = defaultdict(float)
    stops: defaultdict[Product, int] = defaultdict(int)
    for site_id in site_ids:
        for product, mass_kg in usage.get(site_id, Usage({}, 0)).mass_kg.items():
            net[product] += mass_kg * (1 + SPARE)
            stops[product] += 1
    reasons: defaultdict[Product, list[str]] = defaultdict(list)
    for product, count in stops.items():
        reasons[product].append(
            counted(
                "usual use at {n} stop, {spare} spare",
                "usual use at {n} stops, {spare} spare",
                count,
                spare=f"{SPARE:.0%}",
            )
        )
    for one in wanted:
        net[one.product] += one.mass_kg
        reasons[one.product].append(f"{one.site_id}: {one.reason}")
    return dict(net), dict(reasons)


def _line(
    product: Product,
    net_kg: float,
    reasons: Sequence[str],
    packs: Mapping[Product, float],
    *,
    customary: bool,
) -> LoadLine:
    carriage = CARRIAGE[product]
    facts = FACTS.get(product)
    density = facts.density_kg_per_l if facts is not None else None
    pack = packs.get(product, carriage.pack)
    pack_kg = pack * (density or 1.0)
    packages = max(1, math.ceil(net_kg / pack_kg - 1e-9))
    if density is not None:
        amount = jug_amount(net_kg / density, customary=customary).text
        package = jug_amount(pack, customary=customary).text
    else:
        amount = bag_amount(net_kg, customary=customary).text
        package = bag_amount(pack, customary=customary).text
    return LoadLine(
        product,
        _(facts.title) if facts is not None else _("Other product"),
        carriage.tub,
        amount,
        packages,
        package,
        net_kg,
        packages * pack_kg * (1 + carriage.tare),
        carriage.regulated,
        tuple(reasons),
    )


def _package(line: LoadLine, packs: Mapping[Product, float]) -> tuple[LoadViolation, ...]:
    carriage = CARRIAGE[line.product]
    facts = FACTS.get(line.product)
    liquid = facts is not None and facts.liquid
    pack = packs.get(line.product, carriage.pack)
    gross_kg = line.gross_kg / line.packages
    return check_package(line.title, carriage.group or "II", gross_kg, pack if liquid else 0.0)


def _order(product: Product) -> tuple[int, str]:
    return (list(Tub).index(CARRIAGE[product].tub), product)
