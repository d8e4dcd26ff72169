"""Kinds of upkeep of filters: backwash, cleaning and new media.

The marks of the sources are those of `dispatch.upkeep_rules`.
"""

from __future__ import annotations

from dispatch.upkeep_kinds import CountsFrom, Interval, MediaLoad, Part, Trigger, UpkeepRule
from dispatch.words import N_

SAND_BAG_KG = 22.7  # kg; 50 lb (c), 1 lb = 0.45359237 kg exactly (NIST SP 811)
MEDIA_SKILL = "media"  # filter media changes: heavy, long, a tank to be opened and rebuilt
PRESSURE_RISE_KPA = 68.9  # kPa; 10 psi, of +8 to +10 psi over the clean baseline (a)
VALVE_CAUTION = N_(
    "Pump off before the valve is moved. Where the water may go is a local rule; salt and "
    "chlorinated water keep out of the storm drain."
)

FILTER_RULES: tuple[UpkeepRule, ...] = (
    UpkeepRule(
        kind="sand-change",
        title=N_("Sand change"),
        counts_from=CountsFrom.SAND,
        earliest=Interval(54),  # months; 4 1/2 years, inside the realistic 4-6 (c)
        due=Interval(60),  # months; 5 years (a)
        latest=Interval(72),  # months; 6 years, end of the realistic span (c)
        minutes=150,  # 90-180 added; the drain alone can take an hour (a)
        gross_minutes=180,  # upper end (a); the tank drains while the pool is brushed
        crew=1,  # 1-2 (a); a large tank wants two
        months=frozenset({1, 2, 3, 4, 9, 10, 11, 12}),  # heavy work keeps to cool months (c)
        trigger=Trigger.TIRED_MEDIA,
        threshold=3,  # cleanings in 30 days; more than 2-3 backwashes a month (a)
        skill=MEDIA_SKILL,
        media=MediaLoad(
            N_("Filter sand, bag"),
            default_kg=136.0,  # kg; 300 lb, a filter of 24 in (c), where the mass is not known
            wet_factor=1.2,  # 300 lb of sand out come back as 350 lb and more (c)
            unit_kg=SAND_BAG_KG,
        ),
        parts=(
            # kg; laterals, o-ring, tape and hose (list (c)), mass is common practice
            Part(N_("Laterals, o-ring, drain hose, tape"), 1, 4.0),
            Part(N_("Wet vacuum"), 1, 9.0),  # kg; common practice
        ),
        caution=(
            N_(
                "Pump and heater off and power isolated, pressure released, before the filter "
                "is opened. Keep sand out of the standpipe. Lift with two, or bag by bag: wet "
                "sand is heavy. Backwash to a place where local rules allow it."
            )
        ),
        source=N_("Interval (a) 3-7 years by page, 4-6 (c); minutes 90-180 (c), drain (a)"),
    ),
    UpkeepRule(
        kind="backwash",
        title=N_("Backwash"),
        counts_from=CountsFrom.SAND_BED,
        earliest=None,  # pressure decides, not the calendar (a)
        due=None,
        latest=None,
        minutes=12,  # 8-15 added, of which 2-3 min backwash and 25-60 s rinse (a)
        trigger=Trigger.PRESSURE,
        threshold=PRESSURE_RISE_KPA,
        parts=(Part(N_("Backwash hose"), 1, 5.0),),  # kg; list (c), mass common practice
        caution=VALVE_CAUTION,
        source=N_("Pressure, not calendar (a); +8 to +10 psi over clean (a); minutes (a)"),
    ),
    UpkeepRule(
        kind="cartridge-change",
        title=N_("Cartridge change"),
        counts_from=CountsFrom.CARTRIDGE,
        earliest=Interval(30),  # months; half a year before due, common practice
        due=Interval(36),  # months; inside 2-5 years (a)
        latest=Interval(48),  # months; 4 years, inside 3-5 (a)
        minutes=20,  # 15-25 added (c)
        trigger=Trigger.TIRED_MEDIA,
        threshold=3,  # cleanings in 30 days; as for sand, common practice
        spares=("cartridge-clean",),
        media=MediaLoad(
            N_("Filter cartridge"),
            default_kg=4.0,  # kg; common practice
            wet_factor=1.5,  # soaked and dirty; common practice
        ),
        parts=(Part(N_("Lid o-ring"), 1, 0.1),),  # kg; common practice
        caution=(
            N_(
                "Pump and heater off and power isolated, pressure released, before the filter "
                "is opened. Bleed the air before the pump starts and stand clear of the lid "
                "and its clamp."
            )
        ),
        source=N_("Interval (a) 1-2 to 3-5 years by page; minutes 15-25 (c)"),
    ),
    UpkeepRule(
        kind="cartridge-clean",
        title=N_("Cartridge cleaning"),
        counts_from=CountsFrom.PLEATS,
        earliest=Interval(2, 15),  # months; 4-6 weeks to 6 months by page (a)
        due=Interval(4),  # months; usual 3-4 (c)
        latest=Interval(6),  # months; 6 months (a)
        minutes=35,  # 20-60 added (c)
        gross_minutes=60,  # upper end (c)
        trigger=Trigger.PRESSURE,
        threshold=PRESSURE_RISE_KPA,  # kPa; +7 to +10 psi (a)
        parts=(Part(N_("Lid o-ring"), 1, 0.1),),  # kg; common practice
        caution=N_(
            "Pump and heater off and power isolated, pressure released, before the filter is "
            "opened. Let nothing from the pleats run to the storm drain."
        ),
        source=N_("Interval (a) 4-6 weeks to 6 months by page, usual 3-4 (c); minutes (c)"),
    ),
    UpkeepRule(
        kind="de-change",
        title=N_("DE filter teardown and recharge"),
        counts_from=CountsFrom.DE,
        earliest=Interval(10),  # months; common practice
        due=Interval(12),  # months; yearly (a)
        latest=Interval(14),  # months; common practice
        minutes=90,  # 60-120 added (c)
        gross_minutes=120,  # upper end (c)
        trigger=Trigger.TIRED_MEDIA,
        threshold=3,  # cleanings in 30 days; as for sand, common practice
        skill=MEDIA_SKILL,
        media=MediaLoad(
            N_("Diatomaceous earth"),
            default_kg=2.2,  # kg; 4.8 lb for 48 ft2 at 1 lb per 10 ft2 (a)
            wet_factor=2.0,  # a drained cake holds about its own mass of water; common practice
        ),
        parts=(
            Part(N_("Spare grid, manifold o-ring"), 1, 1.5),
        ),  # kg; list (c), mass common practice
        caution=(
            N_(
                "Pump and heater off and power isolated, pressure released, before the filter "
                "is opened. Wear a dust mask with dry powder. Bag the old cake; where it may "
                "be washed away is a local rule."
            )
        ),
        source=N_("Interval (a) yearly; minutes 60-120 (c); charge (a) 1 lb per 10 ft2"),
    ),
    UpkeepRule(
        kind="de-recharge",
        title=N_("DE backwash and recharge"),
        counts_from=CountsFrom.DE_CAKE,
        earliest=None,  # pressure decides; monthly on one unsigned page
        due=None,
        latest=None,
        minutes=20,  # 15-25 added (c)
        trigger=Trigger.PRESSURE,
        threshold=PRESSURE_RISE_KPA,  # kPa; +8 to +10 psi (a)
        parts=(Part(N_("Diatomaceous earth"), 1, 1.7),),  # kg; 3.8 lb for 48 ft2 after backwash (a)
        caution=N_(
            "Pump off before the valve is moved. Where the water may go is a local rule; salt "
            "and chlorinated water keep out of the storm drain. Wear a dust mask with dry "
            "powder."
        ),
        source=N_("+8 to +10 psi (a); charge about 80 % after backwash (a); minutes (c)"),
    ),
)
