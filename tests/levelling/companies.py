"""Invented companies of any size whose equipment ages, for tests and measurements."""

from __future__ import annotations

from datetime import date, timedelta
from random import Random

from dispatch.equipment import (
    Anode,
    DrainCovers,
    Equipment,
    Filter,
    Heater,
    Media,
    Pump,
    SaltCell,
    SeasonHours,
)
from dispatch.places import Place
from dispatch.sites import Rhythm, Sanitizer, ServicePlan, Site
from dispatch.technicians import Shift, Technician

DEPOT = Place(33.45, -111.93)  # invented
HOURS = SeasonHours(4, 8, 12, 8)
EIGHT_HOURS = Shift(7 * 3600, 15 * 3600)


def technician(number: int, *, skills: frozenset[str], payload_kg: float = 400.0) -> Technician:
    """Somebody who works eight hours from Monday to Friday."""
    shifts = (EIGHT_HOURS,) * 5 + (None, None)
    name = f"Invented {number}"
    return Technician(
        f"T{number:02d}", name, shifts, DEPOT, DEPOT, skills=skills, payload_kg=payload_kg
    )


def company(
    sites: int, technicians: int, today: date, seed: int
) -> tuple[list[Site], list[Technician]]:
    """Sites shared out among technicians; two in three change media, one in four serves gas."""
    rng = Random(seed)
    staff = [
        technician(
            n,
            skills=frozenset(({"media"} if n % 3 else set()) | ({"gas"} if n % 4 == 0 else set())),
            payload_kg=rng.choice((250.0, 400.0, 600.0)),
        )
        for n in range(technicians)
    ]
    areas = [Place(33.3 + 0.02 * (n // 6), -112.2 + 0.03 * (n % 6)) for n in range(technicians)]
    return [
        _site(n, staff[n % technicians].id, areas[n % technicians], today, rng)
        for n in range(sites)
    ], staff


def _site(number: int, technician_id: str, area: Place, today: date, rng: Random) -> Site:
    salt = rng.random() < 0.45
    plan = ServicePlan(
        Rhythm.EVERY_2_WEEKS if rng.random() < 0.1 else Rhythm.WEEKLY,
        rng.randint(20, 30),
        usual_technician_id=None if rng.random() < 0.02 else technician_id,
        usual_weekdays=frozenset({rng.randrange(5)}),
        last_visit_on=today - timedelta(days=rng.randint(1, 7)),
    )
    return Site(
        id=f"S{number:05d}",
        name=f"Invented pool {number}",
        address="",
        place=Place(area.lat + rng.gauss(0, 0.01), area.lon + rng.gauss(0, 0.01)),
        plan=plan,
        sanitizer=Sanitizer.SALT if salt else Sanitizer.CHLORINE,
        equipment=_equipment(salt, today, rng),
    )


def _equipment(salt: bool, today: date, rng: Random) -> Equipment:
    def ago(most_months: float) -> date:
        return today - timedelta(days=int(rng.random() * most_months * 30.44))

    media = rng.choices((Media.SAND, Media.CARTRIDGE, Media.DE), (35, 45, 20))[0]
    life = {Media.SAND: 62, Media.CARTRIDGE: 38, Media.DE: 12}[media]
    changed = ago(life)
    return Equipment(
        filter=Filter(
            media,
            changed,
            22.7 * rng.randint(4, 12) if media is Media.SAND else None,
            cleaned_on=max(changed, ago(4)),
        ),
        anode=Anode(ago(36), ago(6)) if rng.random() < 0.3 else None,
        salt_cell=SaltCell(ago(36), ago(3), ago(11), hours_per_day=HOURS) if salt else None,
        pump=Pump(False, ago(54), ago(24)),
        heater=Heater(serviced_on=ago(12)) if rng.random() < 0.2 else None,
        covers=DrainCovers(today + timedelta(days=rng.randint(20, 2500)), ago(12)),
    )
