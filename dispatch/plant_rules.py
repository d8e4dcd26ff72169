"""Kinds of upkeep of anodes, salt cells, pumps, heaters and drain covers.

The marks of the sources are those of `dispatch.upkeep_rules`.
"""

from __future__ import annotations

from dispatch.upkeep_kinds import CountsFrom, Interval, Part, Trigger, UpkeepRule
from dispatch.words import N_

GAS_SKILL = "gas"  # a licensed gas technician
CELL_RUN_HOURS = 10_000.0  # run-hours; about, on an unsigned page (a-low); the maker's figure wins

PLANT_RULES: tuple[UpkeepRule, ...] = (
    UpkeepRule(
        kind="anode-swap",
        title=N_("Anode swap"),
        counts_from=CountsFrom.ANODE,
        earliest=Interval(30),  # months; half a year before due, common practice
        due=Interval(36),  # months; about 3 years (a)
        latest=Interval(42),  # months; half a year after due, common practice
        minutes=15,  # 10-20 added (c)
        trigger=Trigger.ANODE_LEFT,
        threshold=0.5,  # share left; swapped when half consumed (a)
        parts=(Part(N_("Zinc anode with o-ring"), 1, 1.0),),  # kg; common practice
        spares=("anode-cleaning",),
        caution=(
            N_(
                "Pump off and pressure released. The anode must stay on the bonding wire; the "
                "wire itself is a matter for a licensed person where the law says so."
            )
        ),
        source=N_(
            "Interval (a) about 3 years, another page 4-5, hard service 1-2 (c); minutes (c)"
        ),
    ),
    UpkeepRule(
        kind="anode-cleaning",
        title=N_("Anode inspection and cleaning"),
        counts_from=CountsFrom.ANODE_FILM,
        earliest=Interval(4),  # months; inside the 3-6 of a look (c)
        due=Interval(6),  # months; once a season (c)
        latest=Interval(8),  # months; common practice
        minutes=10,  # a look takes 5 (c), brushing as long again; common practice
        caution=(
            N_(
                "Pump off and pressure released. Brush the film off, leave the bonding wire "
                "on; an anode that is half gone is to be swapped, so say so in the record."
            )
        ),
        source=N_("Look every 3-6 months (c), film once a season (c); minutes 5 for a look (c)"),
    ),
    UpkeepRule(
        kind="cell-inspection",
        title=N_("Salt cell inspection"),
        counts_from=CountsFrom.CELL_LOOK,
        earliest=Interval(2, 15),  # two weeks before due, common practice
        due=Interval(3),  # months; every 3 months (a)
        latest=Interval(4),  # months; common practice
        minutes=5,  # minutes added (c)
        trigger=Trigger.CELL_LOW,
        threshold=0.7,  # of its own usual current; common practice
        caution=N_(
            "Power and pump off and pressure released before the unions are opened. Scale "
            "seen: clean the cell, on this visit or a soon one."
        ),
        source=N_("Interval (a) every 3 months, another page monthly; minutes 5 (c)"),
    ),
    UpkeepRule(
        kind="cell-cleaning",
        title=N_("Salt cell cleaning"),
        counts_from=CountsFrom.CELL_SCALE,
        earliest=Interval(10),  # months; common practice
        due=Interval(12),  # months; backstop, common practice: scale decides, not the calendar
        latest=Interval(15),  # months; common practice
        minutes=15,  # net 10-15 of 20-30 gross (c): the soak runs while the pool is brushed
        gross_minutes=30,  # upper end (c)
        trigger=Trigger.SCALE,
        parts=(Part(N_("Cell acid, cleaning stand, bucket"), 1, 3.0),),  # kg; common practice
        caution=(
            N_(
                "Only when scale is seen: needless acid strips the coating; no scale, no acid. "
                "Power and pump off and pressure released before the unions are opened. One "
                "part acid into four parts water, acid into water, never the other way; "
                "goggles and gloves on, never near chlorine; rinse when the fizzing stops."
            )
        ),
        source=N_("Only when scaled; 1 : 4 acid into water and 10-15 min soak (a); minutes (c)"),
    ),
    UpkeepRule(
        kind="cell-replacement",
        title=N_("Salt cell replacement"),
        counts_from=CountsFrom.CELL,
        earliest=Interval(72),  # months; the clock of run-hours usually comes first
        due=Interval(84),  # months; 7 years, end of 3-7 (a-low)
        latest=Interval(96),  # months; common practice
        minutes=30,  # 20-40 added (c)
        run_hours=CELL_RUN_HOURS,
        trigger=Trigger.CELL_SPENT,
        threshold=0.5,  # of the rated output of a clean cell; common practice
        parts=(Part(N_("Salt cell with union o-rings"), 1, 3.0),),  # kg; common practice
        spares=("cell-inspection", "cell-cleaning"),
        caution=(
            N_(
                "Power and pump off and pressure released before the unions are opened. Wiring "
                "of the controller is a matter for a licensed person where the law says so."
            )
        ),
        source=N_("3-7 years, about 10,000 run-hours (a-low); output test (c); minutes (c)"),
    ),
    UpkeepRule(
        kind="pump-oring",
        title=N_("Pump basket o-ring"),
        counts_from=CountsFrom.PUMP_ORING,
        earliest=Interval(18),  # months; common practice
        due=Interval(24),  # months; inside 1-3 years (c)
        latest=Interval(36),  # months; 3 years (c)
        minutes=8,  # 5-10 added (c)
        parts=(Part(N_("Basket lid o-ring, silicone lubricant"), 1, 0.2),),  # kg; common practice
        caution=N_("Pump off and power isolated. Silicone lubricant only, never petroleum."),
        source=N_("Renewed every 1-3 years, on air bubbles or loss of prime (c); minutes (c)"),
    ),
    UpkeepRule(
        kind="shaft-seal",
        title=N_("Pump shaft seal"),
        counts_from=CountsFrom.PUMP_SEAL,
        earliest=Interval(42),  # months; common practice
        due=Interval(54),  # months; inside 3-6 years (c)
        latest=Interval(72),  # months; 6 years (c)
        minutes=75,  # 60-90 added (c)
        gross_minutes=90,  # upper end (c)
        parts=(Part(N_("Shaft seal kit"), 1, 0.5),),  # kg; common practice
        spares=("pump-oring",),
        caution=(
            N_(
                "Power isolated, locked out and checked dead; pump off, valves shut. Bonding "
                "and mains wires are a matter for a licensed electrician where the law says so."
            )
        ),
        source=N_("Every 3-6 years, or a drip under the pump (c); minutes (c)"),
    ),
    UpkeepRule(
        kind="heater-service",
        title=N_("Heater service"),
        counts_from=CountsFrom.HEATER,
        earliest=Interval(9),  # months; common practice
        due=Interval(12),  # months; yearly (c)
        latest=Interval(15),  # months; common practice
        minutes=60,  # 45-90 added (c)
        gross_minutes=90,  # upper end (c)
        skill=GAS_SKILL,
        months=frozenset({2, 3, 4, 8, 9, 10, 11}),  # before and after the swimming season (c)
        parts=(Part(N_("Gaskets, brush, gas leak test kit"), 1, 3.0),),  # kg; common practice
        caution=(
            N_(
                "Gas, flue and burner are for a licensed gas technician. Gas and power "
                "isolated before the cabinet is opened; smell of gas: leave and call the "
                "supplier."
            )
        ),
        source=N_("Yearly, by a licensed gas technician; minutes 45-90 (c)"),
    ),
    UpkeepRule(
        kind="drain-cover-check",
        title=N_("Drain cover check"),
        counts_from=CountsFrom.COVER_LOOK,
        earliest=Interval(9),  # months; common practice
        due=Interval(12),  # months; common practice
        latest=Interval(15),  # months; common practice
        minutes=10,  # 10 for a check (c)
        caution=(
            N_(
                "Loose, cracked, missing or past its date: close the pool and report at once. "
                "Nobody in the water while a cover is off."
            )
        ),
        source=N_("Loose, cracked or missing closes the pool (a); yearly look common practice"),
    ),
    UpkeepRule(
        kind="drain-cover-change",
        title=N_("Drain cover replacement"),
        counts_from=CountsFrom.COVER_DATE,
        earliest=None,  # the date on the cover decides, see dispatch.upkeep_dates
        due=None,
        latest=None,
        minutes=45,  # under water or with the level down; common practice
        trigger=Trigger.COVER,
        parts=(Part(N_("Listed drain cover with its screws"), 1, 1.5),),  # kg; common practice
        spares=("drain-cover-check",),
        closes_pool=True,
        caution=(
            N_(
                "Pool closed until it is done. Only a cover listed for this sump and flow, "
                "with its own screws; pump off and power isolated. Local code and the maker's "
                "sheet come first."
            )
        ),
        source=N_("By the date on the cover; loose, cracked or missing: close the pool (a)"),
    ),
)
