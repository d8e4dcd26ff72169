"""The columns of a table of sites."""

from __future__ import annotations

from dispatch.intake.parse import UNKNOWN
from dispatch.intake.table import Column

SITE_COLUMNS: tuple[Column, ...] = (
    Column("id", "a short name that never changes", "S017", required=True),
    Column("name", "the customer or the pool, in words", "Example family", required=True),
    Column(
        "address", "street and house number; needed where lat and lon are empty", "12 Elm Street"
    ),
    Column("lat", "latitude of the gate in degrees, WGS 84", "33.4502"),
    Column("lon", "longitude of the gate in degrees, WGS 84", "-111.9301"),
    Column(
        "rhythm", "twice-a-week, weekly, every-2-weeks or every-4-weeks", "weekly", required=True
    ),
    Column("service_min", "minutes of an ordinary visit", "25", required=True),
    Column("allowed_weekdays", "weekdays that may be used; empty: Mon-Fri", "Mon;Tue;Thu"),
    Column("window", "when service may begin; empty: any time", "07:00-12:00"),
    Column("usual_technician", "id of the technician who usually comes", "T1"),
    Column("usual_weekday", "the weekday of the visit, or the two of them", "Mon;Thu"),
    Column("lock", "what planning may not change: technician, weekday, both or empty", "weekday"),
    Column("skills", "what the technician must be able to do", "commercial;heights"),
    Column("gate_note", "how to get in", "side gate, left of the garage"),
    Column("gate_code", "code of the gate; never leaves the product", "#1234"),
    Column("dog", "what to know about the dog", "loose on Fridays, friendly"),
    Column("pool_volume_gal", "US gallons of water", "15000"),
    Column("pool_volume_l", "litres of water, instead of gallons", "57000"),
    Column("sanitizer", "chlorine, salt, bromine or other; empty: chlorine", "salt"),
    Column("filter", "sand, cartridge, de, or empty for none", "sand"),
    Column("media_changed_on", "when the filter media was last changed", "2022-04-12"),
    Column("media_mass_kg", "dry mass of the filter's filling, kg", "136"),
    Column(
        "anode_installed_on", f"when the anode was put in; '{UNKNOWN}' for some time", "2024-05-02"
    ),
    Column("anode_cleaned_on", "when its film was last cleaned off", "2026-05-20"),
    Column(
        "cell_installed_on",
        f"when the salt cell was put in; '{UNKNOWN}' for some time",
        "2023-03-01",
    ),
    Column("cell_inspected_on", "when the salt cell was last inspected", "2026-09-14"),
    Column("cell_cleaned_on", "when the salt cell was last cleaned", "2026-02-03"),
    Column("last_visit_on", "the day of the last visit; empty: never visited", "2026-11-23"),
    Column("anchor_on", "a scheduled day from which every 2 or 4 weeks are counted", "2026-11-23"),
)
