"""A drawn town and an invented company in it, small enough to be checked by hand."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, datetime, time
from pathlib import Path

from sqlalchemy import Engine
from sqlmodel import Session

from dispatch.actions.book import import_holds, import_sites, import_technicians
from dispatch.actions.maps import build_map
from dispatch.clock import IsoWeek
from dispatch.settings import Settings
from dispatch.store.db import make_engine, transaction
from tests import databases
from tests.drive.drawing import Drawing, roads

TODAY = date(2026, 11, 25)  # a Wednesday
WEEK = IsoWeek(2026, 49)  # the week after, Monday is 30 November 2026
MONDAY, TUESDAY, WEDNESDAY = WEEK.days[:3]

# Streets are 400 m along and 100 m down; the map lies on the equator, north of it latitude is
# above 0. One degree is 111,195 m, so b lies at longitude 0.003597.
PICTURE = """
a----------------b----------------c
|                |                |
d----------------e----------------f
"""

# S1 and S2 lie on the street ab, S3 on ef; S2 has sand that is nearly too old on TODAY.
SITES_CSV = """\
id,name,address,lat,lon,rhythm,service_min,allowed_weekdays,usual_technician,gate_note,gate_code,\
dog,pool_volume_l,sanitizer,filter,media_changed_on,media_mass_kg,last_visit_on
S1,Invented One,,0,0.001,weekly,30,Mon-Fri,T1,Left gate,#11,,50000,chlorine,,,,2026-11-23
S2,Invented Two,,0,0.002,weekly,45,Mon-Fri,T1,,,loose,40000,chlorine,sand,2021-06-01,136,2026-11-23
S3,Invented Three,,-0.0009,0.005,twice-a-week,20,Mon-Fri,T2,,,,,salt,,,,2026-11-23
"""
TECHNICIANS_CSV = """\
id,name,start_lat,start_lon,mon,tue,wed,thu,fri,break_min,break_from,break_to,skills,days_off
T1,Invented Alma,0,0.0005,07:00-15:30,07:00-15:30,,07:00-15:30,07:00-15:30,30,11:00,13:00,media,\
2026-12-01
T2,Invented Ben,-0.0009,0.006,07:00-15:30,07:00-15:30,07:00-15:30,07:00-15:30,07:00-15:30,,,,,
"""
HOLDS_CSV = """\
site_id,first_day,last_day,reason
S1,2026-12-14,2026-12-20,away
"""


@dataclass(frozen=True)
class Company:
    """The settings and the open database of the invented company."""

    settings: Settings
    engine: Engine

    @contextmanager
    def reading(self) -> Iterator[Session]:
        """A transaction that reads."""
        with transaction(self.engine, read_only=True) as session:
            yield session

    @contextmanager
    def writing(self) -> Iterator[Session]:
        """A transaction that writes."""
        with transaction(self.engine) as session:
            yield session


def drawn_town() -> Drawing:
    """The streets, with houses 2 to 10 on the street ab."""
    drawing = roads(PICTURE)
    drawing.houses = [
        ("2", "ab street", "", drawing.at("ab", 0.2, 10)),
        ("10", "ab street", "", drawing.at("ab", 0.6, 10)),
    ]
    return drawing


def end_of(day: date) -> datetime:
    """The last second of a day, where a test's clock stands still: all of the day has passed."""
    return datetime.combine(day, time(23, 59, 59))


def open_company(folder: Path, **settings: object) -> Company:
    """A company without a map and with an empty book, at the end of TODAY or of another day."""
    given = {"data_dir": folder / "data", "fixed_today": TODAY, "country": None}
    given |= {**databases.where(folder / "data"), **settings}
    if type(given["fixed_today"]) is date:
        given["fixed_today"] = end_of(given["fixed_today"])
    if "database_url" not in given:
        databases.make_ready(folder / "data")
    (folder / "data").mkdir(parents=True, exist_ok=True)
    made = Settings(**given)  # type: ignore[arg-type]
    return Company(made, make_engine(made))


def build_town(company: Company, folder: Path) -> None:
    """Give the company its street map."""
    build_map(company.settings, drawn_town().write(folder))


def fill_book(company: Company) -> None:
    """Give the company its technicians, sites and holds."""
    with company.writing() as session:
        import_technicians(session, company.settings, TECHNICIANS_CSV)
        import_sites(session, company.settings, SITES_CSV)
        import_holds(session, company.settings, HOLDS_CSV)


def planned_company(folder: Path) -> Company:
    """A company in `folder` with a street map, a full book and a plan of the week."""
    from dispatch.actions.plan_week import plan_week

    company = open_company(folder)
    build_town(company, folder)
    fill_book(company)
    plan_week(company.engine, company.settings, WEEK, today=TODAY, iterations=200)
    return company
