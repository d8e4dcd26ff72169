"""A new customer: the cheapest places in a week, and taking the customer on."""

from __future__ import annotations

from fastapi import APIRouter
from fastapi.responses import Response

from api.csvs import csv_answer
from api.deps import ReadSession, SettingsDep, WeekPath, WriteSession
from api.schemas.book import SiteOut
from api.schemas.new_customer import PlacesOut, TakeOnIn, WishIn
from dispatch.actions import new_customer

router = APIRouter(tags=["new customer"])


@router.post("/weeks/{week}/places")
def show_places(
    session: ReadSession, settings: SettingsDep, week: WeekPath, wish: WishIn
) -> PlacesOut:
    """The best technicians and weekdays for a new customer; nothing is stored."""
    asked = wish.wish
    found = new_customer.places_for(session, settings, week, asked, settings.today())
    return PlacesOut.of(found)


@router.post("/weeks/{week}/places.csv", response_class=Response)
def export_places(
    session: ReadSession, settings: SettingsDep, week: WeekPath, wish: WishIn
) -> Response:
    """The same as a table."""
    found = new_customer.places_for(session, settings, week, wish.wish, settings.today())
    return csv_answer(f"places-{week}", new_customer.offer_list(found))


@router.post("/new-customers", status_code=201)
def take_on(session: WriteSession, settings: SettingsDep, chosen: TakeOnIn) -> SiteOut:
    """Add the customer to the book, with the technician and weekdays chosen."""
    wish = chosen.wish
    place = new_customer.find_address(settings, wish.address)
    site = new_customer.take_on(session, wish, place, chosen.technician_id, chosen.weekdays)
    return SiteOut.of(site)
