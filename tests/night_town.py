"""The invented company of `town` with a technician who works past midnight, in New York's time.

T1 serves on Monday from 20:00 to 02:00: S1 from 22:00 to 01:00, S2 after midnight alone, each with
half an hour and more for it.
"""

from __future__ import annotations

import shutil
from datetime import date, datetime, timedelta
from pathlib import Path
from uuid import uuid4

from dispatch.actions import day as actions
from dispatch.actions.book import import_sites, import_technicians
from dispatch.actions.plan_week import plan_week
from dispatch.clock import parse_time
from dispatch.day.events import DayEvent, EventKind
from dispatch.day.moments import moment_of
from dispatch.settings import Settings
from tests.town import MONDAY, TODAY, WEEK, Company, build_town, open_company

S1, S2 = "S1/2026-W49/1", "S2/2026-W49/1"
TECHNICIANS_CSV = """\
id,name,start_lat,start_lon,mon,tue,break_min,break_from,break_to
T1,Invented Alma,0,0.0005,20:00-02:00,08:00-12:00,30,23:00,00:30
T2,Invented Ben,-0.0009,0.006,07:00-15:30,07:00-15:30,,,
"""
SITES_CSV = """\
id,name,lat,lon,rhythm,service_min,allowed_weekdays,windows,usual_technician,lock,gate_code,\
last_visit_on
S1,Invented One,0,0.001,weekly,30,Mon,22:00-01:00,T1,technician,#11,2026-11-23
S2,Invented Two,0,0.002,weekly,45,Mon,00:30 (+1)-01:30 (+1),T1,technician,#22,2026-11-23
S3,Invented Three,-0.0009,0.005,weekly,20,Mon,,T2,technician,,2026-11-23
"""


class AtSettings(Settings):
    """Settings of a service at one moment."""

    moment: datetime

    def now(self) -> datetime:
        return self.moment

    def today(self) -> date:
        return self.moment.astimezone(self.zone).date()


def night_company(folder: Path) -> Company:
    """The company in `folder`, with Monday published."""
    company = open_company(folder, time_zone="America/New_York")
    build_town(company, folder)
    with company.writing() as session:
        import_technicians(session, company.settings, TECHNICIANS_CSV)
        import_sites(session, company.settings, SITES_CSV)
    plan_week(company.engine, company.settings, WEEK, today=TODAY, iterations=100)
    with company.writing() as session:
        at = moment(company, "18:00")
        actions.publish_day(session, company.settings, MONDAY, who="Ada", at=at)
    return company


def moment(company: Company, clock: str) -> datetime:
    """A moment of Monday's working day, as 00:10 (+1)."""
    return moment_of(MONDAY, parse_time(clock), company.settings.zone)


def at(company: Company, clock: str) -> AtSettings:
    """The company's settings at a moment of Monday's working day."""
    given = dict(company.settings) | {"fixed_today": None, "moment": moment(company, clock)}
    return AtSettings.model_construct(**given)


def tell(company: Company, kind: EventKind, clock: str, visit: str | None = None) -> None:
    """Enter what T1 did."""
    then = moment(company, clock)
    one = DayEvent(str(uuid4()), MONDAY, kind, then, then + timedelta(seconds=5), "T1", "T1", visit)
    with company.writing() as session:
        (taken,) = actions.add_events(session, company.settings, MONDAY, [one])
    assert taken.outcome == "new", taken


def night_copy(of: Path, folder: Path) -> Company:
    """A copy in `folder` of the company that `night_company` made in the folder `of`."""
    shutil.copytree(of / "data", folder / "data")
    return open_company(folder, time_zone="America/New_York")
