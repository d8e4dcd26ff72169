"""Check values of the trade, each with its source and its mark.

Marks: 'a' the source was read on a stored page; 'b' a published value, from memory and not read
again; 'calc' computed from chemistry or geometry. Where two stand together, inputs and result
came about differently and the words say how.
"""

from __future__ import annotations

from dataclasses import dataclass

from dispatch.water.products import Product


@dataclass(frozen=True, slots=True)
class IndexVector:
    """Water in the units of the source (°F unless `celsius`), and the index it gives."""

    name: str
    ph: float
    temperature: float
    calcium: float
    alkalinity: float
    expected: float
    tolerance: float
    source: str
    mark: str
    tds: float | None = None
    cya: float = 0.0
    borate: float = 0.0


@dataclass(frozen=True, slots=True)
class DoseVector:
    """A dose in the unit of the source; `tolerance` is a share."""

    name: str
    product: Product
    gallons: float
    change: float
    unit: str
    expected: float
    tolerance: float
    source: str
    mark: str
    strength: float | None = None


TRADE_TABLE = (
    IndexVector("L1", 7.0, 84, 300, 25, -0.9, 0.05, "two trade pages", "a"),
    IndexVector("L2", 7.0, 76, 200, 50, -0.9, 0.05, "operator course, sample problem 1", "a"),
    IndexVector("L3", 7.6, 84, 300, 75, 0.2, 0.05, "operator course, sample problem 2", "a"),
    IndexVector("L4", 8.0, 94, 400, 150, 1.1, 0.05, "operator course, sample problem 3", "a"),
    IndexVector("L5", 7.5, 85, 200, 100, 0.0, 0.05, "trade page", "a"),
    IndexVector(
        "L6", 7.5, 84, 125, 150, 0.0, 0.05, "trade page (its constant is misprinted)", "a", tds=900
    ),
    IndexVector(
        "L8",
        7.6,
        76,
        200,
        100,
        -0.2,
        0.05,
        "Service Industry News, 14 Sep 2021",
        "a inputs and factors, calc result",
        tds=800,
        cya=90,
        borate=50,
    ),
    IndexVector("L11", 7.5, 80, 300, 100, 0.0, 0.1, "a chemist's forum post", "a", tds=750, cya=40),
)

CARRIER_C = (  # temperatures in °C
    IndexVector(
        "L7a", 7.5, 25, 150, 34, -0.7, 0.05, "encyclopaedia example", "a inputs, b result", tds=320
    ),
    IndexVector(
        "L7b", 7.5, 82, 150, 34, 0.3, 0.05, "encyclopaedia example", "a inputs, b result", tds=320
    ),
)

CYANURATE_FACTORS = (  # pH, factor; 'a', a trade page
    (7.0, 0.23),
    (7.2, 0.27),
    (7.4, 0.31),
    (7.6, 0.33),
    (7.8, 0.35),
    (8.0, 0.36),
)

P = Product
DOSES = (
    DoseVector("D1", P.SALT, 10_000, 3200, "lb", 267.05, 0.005, "chemistry; chart 267", "calc+b"),
    DoseVector("D2", P.SALT, 20_000, 2200, "lb", 367.2, 0.005, "chemistry", "calc"),
    DoseVector("D4", P.BICARBONATE, 10_000, 10, "lb", 1.401, 0.02, "trade page 1.4", "a"),
    DoseVector("D5", P.BICARBONATE, 90_000, 50, "lb", 63.0, 0.01, "sample problem", "a"),
    DoseVector(
        "D6", P.MURIATIC_ACID, 20_000, 10, "qt", 1.6, 0.01, "trade article, 1994 correction", "a"
    ),
    DoseVector("D7", P.MURIATIC_ACID, 10_000, 10, "fl oz", 25.6, 0.01, "the same", "a"),
    DoseVector("D8", P.CALCIUM_CHLORIDE, 10_000, 10, "lb", 0.925, 0.03, "chart 0.9", "calc+b", 100),
    DoseVector(
        "D9", P.CALCIUM_CHLORIDE, 10_000, 10, "lb", 1.2, 0.05, "charts 1.2 / 1.25", "a/b", 77
    ),
    DoseVector("D10", P.CALCIUM_CHLORIDE, 25_000, 180, "lb", 41.6, 0.03, "problem", "a", 100),
    DoseVector(
        "D12", P.DRY_ACID, 60_000, 50, "lb", 63, 0.03, "operator course, worked example", "a", 93.2
    ),
    DoseVector("D13", P.LIQUID_CHLORINE, 10_000, 1, "fl oz", 10.24, 0.01, "chemistry", "calc", 125),
    DoseVector(
        "D13b", P.LIQUID_CHLORINE, 10_000, 1, "fl oz", 10.7, 0.01, "chart for 12 %", "b", 120
    ),
    DoseVector("D14", P.LIQUID_CHLORINE, 20_000, 3, "fl oz", 61.4, 0.01, "chemistry", "calc", 125),
    DoseVector("D15", P.CYANURIC_ACID, 10_000, 10, "oz", 13.35, 0.03, "chart 1.3 oz a ppm", "a"),
    DoseVector("D16", P.CYANURIC_ACID, 20_000, 40, "lb", 6.68, 0.01, "chemistry", "calc"),
    DoseVector("D17", P.CAL_HYPO, 10_000, 1, "oz", 1.75, 0.05, "chart 1.75", "a", 73),
    DoseVector("D17b", P.CAL_HYPO, 10_000, 1, "oz", 2.05, 0.01, "chemistry", "calc", 65),
    DoseVector("D18", P.DICHLOR, 10_000, 1, "oz", 2.25, 0.08, "chart 2.25", "a", 55),
    DoseVector("D19", P.SODA_ASH, 10_000, 10, "lb", 0.884, 0.01, "chemistry", "calc"),
)

# Wrong tables in circulation ('a'): product, gallons, change, what they print, what is right.
MISPRINTED_DOSES = (
    ("N1", P.SALT, 5_000, 2200, "lb", 105, 91.8),
    ("N2", P.SALT, 10_000, 2000, "lb", 185, 166.9),
    ("N3", P.SALT, 15_000, 1200, "lb", 210, 150.2),
    ("D16", P.CYANURIC_ACID, 20_000, 40, "lb", 15, 6.68),
    ("D6, 37 % acid assumed", P.MURIATIC_ACID, 20_000, 10, "qt", 1.3, 1.6),
    ("D7, 37 % acid assumed", P.MURIATIC_ACID, 10_000, 10, "fl oz", 20.8, 25.6),
)

# Misprinted factors of calcium in circulation ('a'): hardness, what a page prints, what is right.
MISPRINTED_CALCIUM = ((400, 2.1, 2.2), (1000, 2.0, 2.6), (1000, 3.0, 2.6))

# Acid of 31.45 % for 10,000 gal in fl oz, 'calc': alkalinity, cyanuric acid, from, to, expected.
ACID_STEPS = (
    (100, 0, 7.8, 7.6, 5.1),
    (100, 50, 7.8, 7.6, 6.6),
    (60, 30, 7.8, 7.6, 3.9),
    (100, 0, 8.0, 7.6, 8.6),
    (100, 50, 8.0, 7.6, 11.1),
    (60, 30, 8.0, 7.6, 6.7),
    (100, 0, 7.8, 7.4, 12.4),
    (100, 50, 7.8, 7.4, 15.9),
    (60, 30, 7.8, 7.4, 9.6),
)
