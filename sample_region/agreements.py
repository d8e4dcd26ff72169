"""What a few customers have agreed besides: three visits a week, two windows, a winter rhythm.

And the one-off work of the coming week. Sites are found by what they are, never drawn, so that
the rest of the company stays as it is.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, timedelta

from sample_region.crew import CREW, WEEKDAYS

Row = dict[str, str]

THREE_TIMES = ("Mon", "Wed", "Fri")
TWO_WINDOWS = "07:00-10:00;13:00-16:00"  # not while the customers' children nap
TWO_WINDOW_SITES, WINTER_SITES = 4, 3
WINTER = "Nov-01..Feb-29=every-2-weeks"
VISITS_A_MONTH = {  # of 52 weeks a year
    "three-times-a-week": 13.0,
    "twice-a-week": 26 / 3,
    "weekly": 13 / 3,
    "every-2-weeks": 13 / 6,
    "every-4-weeks": 13 / 12,
}
VISIT_PRICE, MINUTE_PRICE = 16.0, 0.65  # invented dollars for coming, and for each minute there
OLD_PRICE, OLD_EVERY = 0.5, 11  # share that some customers still pay from years ago
LIQUID_KG, LIQUID_KG_PER_GALLON = 3.0, 1 / 4000  # kg gross a visit, and more of it in large pools


def agree(sites: Sequence[Row], as_of: date) -> None:
    """Write the agreements into the rows of the sites, which have these cells empty."""
    for row in sites:
        row["chemicals_kg"] = (
            f"{LIQUID_KG + int(row['pool_volume_gal']) * LIQUID_KG_PER_GALLON:.1f}"
        )
    plain = [row for row in sites if _is_plain(row)]
    weekly = [row for row in plain if row["usual_technician"] != "T5"]  # T5 is off on a day
    _three_times(next(row for row in weekly if _can_have_three(row)), as_of)
    left = [row for row in weekly if row["rhythm"] == "weekly"]
    for row in left[5::13][:TWO_WINDOW_SITES]:
        row["windows"] = TWO_WINDOWS
    for row in left[8::17][:WINTER_SITES]:
        row["seasons"] = WINTER
    for n, row in enumerate(sites):
        visit = VISIT_PRICE + MINUTE_PRICE * int(row["service_min"])
        share = OLD_PRICE if n % OLD_EVERY == 7 else 1.0
        row["monthly_price"] = f"{share * visit * VISITS_A_MONTH[row['rhythm']]:.0f}"
    left[20]["priority"], left[21]["priority"] = "high", "can-wait"
    left[4]["unwanted_technicians"] = next(
        t.id for t in CREW if t.id != left[4]["usual_technician"]
    )


def one_off_rows(
    sites: Sequence[Mapping[str, str]], holds: Sequence[Mapping[str, str]], as_of: date
) -> list[Row]:
    """The one-off work of the coming week: a green pool, two follow-ups, a job for two."""
    monday = as_of + timedelta(days=7 - as_of.weekday())
    held = {row["site_id"] for row in holds}
    free = [row for row in sites if _is_plain(row) and row["id"] not in held]
    large = [row["id"] for row in free if "large" in row["name"]]
    small = [row["id"] for row in free if "small" in row["name"]]
    works = (
        ("J1", large[1], "Bring the green pool back", "green-pool", 0, 4, "120;30;30", "", "60"),
        ("J2", small[2], "Look again at the cloudy water", "follow-up", 0, 2, "15", "", ""),
        ("J3", small[6], "Put in the new skimmer basket", "follow-up", 1, 3, "20", "", ""),
        ("J4", large[3], "Lift out the old pump", "one-off", 0, 11, "90", "2", ""),
    )
    return [
        {
            "id": work_id,
            "site_id": site_id,
            "title": title,
            "kind": kind,
            "first_day": (monday + timedelta(days=first)).isoformat(),
            "last_day": (monday + timedelta(days=last)).isoformat(),
            "minutes": minutes,
            "persons": persons,
            "chemicals_kg": chemicals_kg,
        }
        for work_id, site_id, title, kind, first, last, minutes, persons, chemicals_kg in works
    ]


def _is_plain(row: Mapping[str, str]) -> bool:
    """Whether nothing special has been agreed yet."""
    special = any(row[name] for name in ("lock", "windows", "skills", "seasons"))
    return row["rhythm"] == "weekly" and not special


def _can_have_three(row: Mapping[str, str]) -> bool:
    """Whether Monday, Wednesday and Friday are allowed, and worked by the usual technician."""
    technician = next(t for t in CREW if t.id == row["usual_technician"])
    worked = {WEEKDAYS[day] for day in technician.shifts}
    usual = row["usual_weekday"] in THREE_TIMES
    return row["allowed_weekdays"] == "Mon-Fri" and set(THREE_TIMES) <= worked and usual


def _three_times(row: Row, as_of: date) -> None:
    days = [WEEKDAYS.index(name) for name in THREE_TIMES]
    last = max(as_of - timedelta(days=(as_of.weekday() - day - 1) % 7 + 1) for day in days)
    row["rhythm"] = "three-times-a-week"
    row["usual_weekday"] = ";".join(THREE_TIMES)
    row["last_visit_on"] = last.isoformat()
