"""Kinds of upkeep of anodes, salt cells, pumps, heaters and drain covers.

The marks of the sources are those of `dispatch.upkeep_rules`.
"""

from __future__ import annotations

from dispatch.upkeep_kinds import CountsFrom, Interval, Part, Trigger, UpkeepRule

GAS_SKILL = "gas"  # a licensed gas technician
CELL_RUN_HOURS = 10_000.0  # run-hours; about, on an unsigned page (a-low); the maker's figure wins
CELL_CAUTION = "Power and pump off and pressure released before the unions are opened."

PLANT_RULES: tuple[UpkeepRule, ...] = (
    UpkeepRule(
        kind="anode-swap",
        title="Anode swap",
        counts_from=CountsFrom.ANODE,
        earliest=Interval(30),  # months; half a year before due, common practice
        due=Interval(36),  # months; about 3 years (a)
        latest=Interval(42),  # months; half a year after due, common practice
        minutes=15,  # 10-20 added (c)
        trigger=Trigger.ANODE_LEFT,
        threshold=0.5,  # share left; swapped when half consumed (a)
        parts=(Part("Zinc anode with o-ring", 1, 1.0),),  # kg; common practice
        spares=("anode-cleaning",),
        caution=(
            "Pump off and pressure released. The anode must stay on the bonding wire; the wire "
            "itself is a matter for a licensed person where the law says so."
        ),
        source="Interval (a) about 3 years, another page 4-5, hard service 1-2 (c); minutes (c)",
    ),
    UpkeepRule(
        kind="anode-cleaning",
        title="Anode inspection and cleaning",
        counts_from=CountsFrom.ANODE_FILM,
        earliest=Interval(4),  # months; inside the 3-6 of a look (c)
        due=Interval(6),  # months; once a season (c)
        latest=Interval(8),  # months; common practice
        minutes=10,  # a look takes 5 (c), brushing as long again; common practice
        caution=(
            "Pump off and pressure released. Brush the film off, leave the bonding wire on; an "
            "anode that is half gone is to be swapped, so say so in the record."
        ),
        source="Look every 3-6 months (c), film once a season (c); minutes 5 for a look (c)",
    ),
    UpkeepRule(
        kind="cell-inspection",
        title="Salt cell inspection",
        counts_from=CountsFrom.CELL_LOOK,
        earliest=Interval(2, 15),  # two weeks before due, common practice
        due=Interval(3),  # months; every 3 months (a)
        latest=Interval(4),  # months; common practice
        minutes=5,  # minutes added (c)
        trigger=Trigger.CELL_LOW,
        threshold=0.7,  # of its own usual current; common practice
        caution=f"{CELL_CAUTION} Scale seen: clean the cell, on this visit or a soon one.",
        source="Interval (a) every 3 months, another page monthly; minutes 5 (c)",
    ),
    UpkeepRule(
        kind="cell-cleaning",
        title="Salt cell cleaning",
        counts_from=CountsFrom.CELL_SCALE,
        earliest=Interval(10),  # months; common practice
        due=Interval(12),  # months; backstop, common practice: scale decides, not the calendar
        latest=Interval(15),  # months; common practice
        minutes=15,  # net 10-15 of 20-30 gross (c): the soak runs while the pool is brushed
        gross_minutes=30,  # upper end (c)
        trigger=Trigger.SCALE,
        parts=(Part("Cell acid, cleaning stand, bucket", 1, 3.0),),  # kg; common practice
        caution=(
            "Only when scale is seen: needless acid strips the coating; no scale, no acid. "
            f"{CELL_CAUTION} One part acid into four parts water, acid into water, never the other "
            "way; goggles and gloves on, never near chlorine; rinse when the fizzing stops."
        ),
        source="Only when scaled; 1 : 4 acid into water and 10-15 min soak (a); minutes (c)",
    ),
    UpkeepRule(
        kind="cell-replacement",
        title="Salt cell replacement",
        counts_from=CountsFrom.CELL,
        earliest=Interval(72),  # months; the clock of run-hours usually comes first
        due=Interval(84),  # months; 7 years, end of 3-7 (a-low)
        latest=Interval(96),  # months; common practice
        minutes=30,  # 20-40 added (c)
        run_hours=CELL_RUN_HOURS,
        trigger=Trigger.CELL_SPENT,
        threshold=0.5,  # of the rated output of a clean cell; common practice
        parts=(Part("Salt cell with union o-rings", 1, 3.0),),  # kg; common practice
        spares=("cell-inspection", "cell-cleaning"),
        caution=(
            f"{CELL_CAUTION} Wiring of the controller is a matter for a licensed person where the "
            "law says so."
        ),
        source="3-7 years, about 10,000 run-hours (a-low); output test (c); minutes (c)",
    ),
    UpkeepRule(
        kind="pump-oring",
        title="Pump basket o-ring",
        counts_from=CountsFrom.PUMP_ORING,
        earliest=Interval(18),  # months; common practice
        due=Interval(24),  # months; inside 1-3 years (c)
        latest=Interval(36),  # months; 3 years (c)
        minutes=8,  # 5-10 added (c)
        parts=(Part("Basket lid o-ring, silicone lubricant", 1, 0.2),),  # kg; common practice
        caution="Pump off and power isolated. Silicone lubricant only, never petroleum.",
        source="Renewed every 1-3 years, on air bubbles or loss of prime (c); minutes (c)",
    ),
    UpkeepRule(
        kind="shaft-seal",
        title="Pump shaft seal",
        counts_from=CountsFrom.PUMP_SEAL,
        earliest=Interval(42),  # months; common practice
        due=Interval(54),  # months; inside 3-6 years (c)
        latest=Interval(72),  # months; 6 years (c)
        minutes=75,  # 60-90 added (c)
        gross_minutes=90,  # upper end (c)
        parts=(Part("Shaft seal kit", 1, 0.5),),  # kg; common practice
        spares=("pump-oring",),
        caution=(
            "Power isolated, locked out and checked dead; pump off, valves shut. Bonding and mains "
            "wires are a matter for a licensed electrician where the law says so."
        ),
        source="Every 3-6 years, or a drip under the pump (c); minutes (c)",
    ),
    UpkeepRule(
        kind="heater-service",
        title="Heater service",
        counts_from=CountsFrom.HEATER,
        earliest=Interval(9),  # months; common practice
        due=Interval(12),  # months; yearly (c)
        latest=Interval(15),  # months; common practice
        minutes=60,  # 45-90 added (c)
        gross_minutes=90,  # upper end (c)
        skill=GAS_SKILL,
        months=frozenset({2, 3, 4, 8, 9, 10, 11}),  # before and after the swimming season (c)
        parts=(Part("Gaskets, brush, gas leak test kit", 1, 3.0),),  # kg; common practice
        caution=(
            "Gas, flue and burner are for a licensed gas technician. Gas and power isolated before "
            "the cabinet is opened; smell of gas: leave and call the supplier."
        ),
        source="Yearly, by a licensed gas technician; minutes 45-90 (c)",
    ),
    UpkeepRule(
        kind="drain-cover-check",
        title="Drain cover check",
        counts_from=CountsFrom.COVER_LOOK,
        earliest=Interval(9),  # months; common practice
        due=Interval(12),  # months; common practice
        latest=Interval(15),  # months; common practice
        minutes=10,  # 10 for a check (c)
        caution=(
            "Loose, cracked, missing or past its date: close the pool and report at once. Nobody "
            "in the water while a cover is off."
        ),
        source="Loose, cracked or missing closes the pool (a); yearly look common practice",
    ),
    UpkeepRule(
        kind="drain-cover-change",
        title="Drain cover replacement",
        counts_from=CountsFrom.COVER_DATE,
        earliest=None,  # the date on the cover decides, see dispatch.upkeep_dates
        due=None,
        latest=None,
        minutes=45,  # under water or with the level down; common practice
        trigger=Trigger.COVER,
        parts=(Part("Listed drain cover with its screws", 1, 1.5),),  # kg; common practice
        spares=("drain-cover-check",),
        closes_pool=True,
        caution=(
            "Pool closed until it is done. Only a cover listed for this sump and flow, with its "
            "own screws; pump off and power isolated. Local code and the maker's sheet come first."
        ),
        source="By the date on the cover; loose, cracked or missing: close the pool (a)",
    ),
)
