"""The owner's loads over the weeks, and what accounts take and pay."""

from __future__ import annotations

from fastapi import APIRouter
from fastapi.responses import Response

from api.csvs import csv_answer
from api.deps import ReadSession, SettingsDep, WeekPath
from dispatch.actions import owner_loads
from dispatch.actions.owner_loads import Account, WeekFigures

router = APIRouter(prefix="/loads", tags=["loads"])


@router.get("/{week}")
def show_weeks(session: ReadSession, settings: SettingsDep, week: WeekPath) -> list[WeekFigures]:
    """The latest planned weeks up to this one, by technician."""
    return owner_loads.week_figures(session, settings, week)


@router.get("/{week}/weeks.csv", response_class=Response)
def export_weeks(session: ReadSession, settings: SettingsDep, week: WeekPath) -> Response:
    """One line for each week."""
    found = owner_loads.week_figures(session, settings, week)
    return csv_answer(f"loads-{week}", owner_loads.week_list(found))


@router.get("/{week}/technicians.csv", response_class=Response)
def export_technicians(session: ReadSession, settings: SettingsDep, week: WeekPath) -> Response:
    """One line for each week and technician."""
    found = owner_loads.week_figures(session, settings, week)
    return csv_answer(f"loads-technicians-{week}", owner_loads.figures_list(found))


@router.get("/{week}/accounts")
def show_accounts(session: ReadSession, settings: SettingsDep, week: WeekPath) -> list[Account]:
    """Customers of those weeks, those that take most beyond their price first."""
    return owner_loads.accounts(session, settings, week)


@router.get("/{week}/accounts.csv", response_class=Response)
def export_accounts(session: ReadSession, settings: SettingsDep, week: WeekPath) -> Response:
    """One line for each account."""
    found = owner_loads.accounts(session, settings, week)
    return csv_answer(f"accounts-{week}", owner_loads.account_list(found))
