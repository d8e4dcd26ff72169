"""The invented water of a pool: how its readings wander from visit to visit.

The figures are drawn, not measured; they only have the shapes that plots need: chlorine that is
used up, pH that creeps up and is brought down by acid, salt that is carried off, pressure that
climbs until the filter is cleaned, water as warm as the season.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date
from random import Random

PSI_KPA = 6.894757  # kPa
RISE_KPA = 69.0  # kPa over the clean pressure at which a filter is cleaned; 10 psi
CLEANING = {"sand": "backwash", "cartridge": "cartridge-clean", "de": "de-recharge"}
ACID_FROM_PH, SALT_FROM_PPM = 7.7, 2750
BAG_LB = 40  # lb of salt


@dataclass
class Water:
    """One pool's water and filter, moved on from visit to visit."""

    rng: Random
    gallons: int
    salty: bool
    media: str
    pump_rpm: int  # 0 where the pump has one speed
    chlorine: float = 2.5
    ph: float = 7.5
    alkalinity: float = 95
    calcium: float = 280
    cya: float = 40
    salt: float = 3150
    clean_kpa: float = 100
    pressure_kpa: float = 105

    @classmethod
    def begin(cls, rng: Random, gallons: int, *, salty: bool, media: str) -> Water:
        """The water of a pool at the beginning of its history."""
        clean = rng.uniform(75, 130)
        return cls(
            rng,
            gallons,
            salty,
            media,
            pump_rpm=2400 if rng.random() < 0.5 else 0,
            ph=rng.uniform(7.3, 7.6),
            alkalinity=rng.uniform(75, 120),
            calcium=rng.uniform(180, 420),
            cya=rng.choice((30, 40, 50, 60, 70, 90)),
            salt=rng.uniform(2900, 3300),
            clean_kpa=clean,
            pressure_kpa=clean + rng.uniform(0, RISE_KPA),
        )

    def week(self, weeks: int) -> None:
        """Let so many weeks pass."""
        rng = self.rng
        self.chlorine = max(0.3, rng.gauss(2.8 if self.salty else 2.5, 0.55))
        self.ph = min(8.1, self.ph + abs(rng.gauss(0.09, 0.05)) * weeks)
        self.alkalinity = max(60, self.alkalinity + rng.gauss(-0.6, 1.2))
        self.salt = max(2400, self.salt - rng.uniform(4, 30) * weeks)
        self.pressure_kpa += rng.uniform(2, 11) * weeks

    def readings(self, on: date, monthly: bool) -> list[dict[str, object]]:
        """What is read at a visit; calcium, cyanuric acid and salt monthly (common practice)."""
        warm = 20.5 - 8.5 * math.cos(2 * math.pi * (on.timetuple().tm_yday - 25) / 365.25)
        found: list[tuple[str, float, str, str]] = [
            ("free-chlorine", round(self.chlorine, 1), "ppm", "drops"),
            ("ph", round(self.ph + self.rng.gauss(0, 0.03), 1), "", "drops"),
            ("water-temperature", round(warm * 1.8 + 32 + self.rng.gauss(0, 1)), "°F", "probe"),
            ("filter-pressure", round(self.pressure_kpa / PSI_KPA), "psi", "gauge"),
        ]
        if self.pump_rpm:
            found.append(("pump-speed", self.pump_rpm, "rpm", "display"))
        if monthly:
            found += [
                ("total-chlorine", round(self.chlorine + self.rng.uniform(0, 0.3), 1), "", "drops"),
                ("total-alkalinity", round(self.alkalinity / 10) * 10, "ppm", "drops"),
                ("calcium-hardness", round(self.calcium / 10) * 10, "ppm", "drops"),
                ("cyanuric-acid", self.cya, "ppm", "turbidity"),
            ]
        if self.salty:
            found.append(("salt", round(self.salt / 50) * 50, "ppm", "probe"))
            if monthly:
                found += [
                    ("cell-current", 4.6, "A", "display"),
                    ("cell-voltage", 25, "V", "display"),
                ]
        return [
            {"kind": kind, "value": value, "unit": unit, "method": method}
            for kind, value, unit, method in found
        ]

    def treat(self) -> list[dict[str, object]]:
        """Products added after the readings, and the water as they leave it."""
        added: list[dict[str, object]] = []
        if not self.salty:
            ounces = round((3.5 - self.chlorine) * self.gallons / 10_000 * 10.24)
            if ounces > 0:
                added.append({"product": "liquid-chlorine", "amount": ounces, "unit": "fl oz"})
        if self.ph >= ACID_FROM_PH:
            added.append(
                {
                    "product": "muriatic-acid",
                    "amount": round(10 * self.gallons / 10_000),
                    "unit": "fl oz",
                }
            )
            self.ph = self.rng.uniform(7.35, 7.5)
        if self.salty and self.salt < SALT_FROM_PPM:
            bags = max(1, round((3200 - self.salt) * self.gallons * 8.345e-6 / BAG_LB))
            added.append({"product": "salt", "amount": bags, "unit": "bag"})
            self.salt += bags * BAG_LB / (self.gallons * 8.345e-6)
        return added

    def clean(self) -> tuple[list[dict[str, object]], list[dict[str, object]]]:
        """Upkeep of a filter past its rise, and the pressure read after it; nothing otherwise."""
        if self.pressure_kpa < self.clean_kpa + RISE_KPA:
            return [], []
        self.pressure_kpa = self.clean_kpa + self.rng.uniform(0, 4)
        pressure = round(self.pressure_kpa / PSI_KPA)
        after: list[dict[str, object]] = [
            {"kind": "filter-pressure", "value": pressure, "unit": "psi", "method": "gauge"}
        ]
        return [{"kind": CLEANING[self.media]}], after
