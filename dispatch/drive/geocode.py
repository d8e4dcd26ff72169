"""Finding an address among the house numbers of the street map, or with an online service."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from geopy.exc import GeopyError
from geopy.geocoders import Nominatim
from geopy.geocoders.base import DEFAULT_SENTINEL, Geocoder
from geopy.location import Location
from rapidfuzz import fuzz, process
from rapidfuzz.distance import OSA

from dispatch.drive.address_table import AddressTable
from dispatch.errors import AddressNotFound, SettingsError
from dispatch.places import Place, straight_line_m
from dispatch.words import _

if TYPE_CHECKING:
    from collections.abc import Iterable

    from dispatch.drive.extract import Address
    from dispatch.drive.graph import RoadMap

ONE_HOUSE_M = 300.0  # equal addresses within it are entrances of one property; common practice
LONG_FORMS = {
    "ave": "avenue", "av": "avenue", "blvd": "boulevard", "cir": "circle", "ct": "court",
    "cv": "cove", "dr": "drive", "e": "east", "hwy": "highway", "ln": "lane", "lp": "loop",
    "mt": "mount", "n": "north", "pkwy": "parkway", "pl": "place", "rd": "road", "s": "south",
    "sq": "square", "st": "street", "str": "strasse", "ter": "terrace", "trl": "trail",
    "w": "west", "wy": "way",
}  # fmt: skip
TYPE_WORDS = frozenset(LONG_FORMS.values())
UNIT = re.compile(r"(?:\b(?:apt|apartment|unit|suite|ste)\.?|#)\s*\w+", re.IGNORECASE)
NUMBER_FIRST = re.compile(r"^(\d+(?:\s?[A-Za-z](?![A-Za-z]))?(?:[-/]\d+)?)\s+(.+)$")
NUMBER_LAST = re.compile(r"^(.+?)\s+(\d+(?:\s?[A-Za-z](?![A-Za-z]))?(?:[-/]\d+)?)$")
ALLOWED_SLIPS = ((12, 3), (8, 2), (5, 1))  # letters of a name, typing errors forgiven in it


@dataclass(frozen=True, slots=True)
class _Query:
    street: str
    number: str
    towns: tuple[str, ...]  # what stood after the street: town, state, postcode


class ExtractGeocoder(Geocoder):  # type: ignore[misc]
    """A geopy geocoder over the house numbers of a street map.

    Typing errors are forgiven by the length of the name, short names and numbered streets not at
    all: Elm and Elk are two streets. A number between two known ones of its side of the street is
    placed between them.

    Parameters
    ----------
    addresses
        The house numbers.
    """

    def __init__(self, addresses: Iterable[Address]) -> None:
        super().__init__()
        table = addresses if isinstance(addresses, AddressTable) else AddressTable.of(addresses)
        self._table = table
        self._rows: dict[str, list[int]] = {}
        self._names: dict[str, str] = {}
        for street, rows in table.rows_by_street().items():
            self._rows.setdefault(plain(street), []).extend(rows.tolist())
            self._names.setdefault(plain(street), street)

    def geocode(
        self,
        query: str,
        *,
        exactly_one: bool = True,
        timeout: Any = DEFAULT_SENTINEL,  # noqa: ARG002 - geopy's interface; nothing is waited for
    ) -> Location | list[Location] | None:
        """Return the place of an address, or None where there is none, as geopy's geocoders do."""
        try:
            found = self.locate(query)
        except AddressNotFound:
            return None
        return found if exactly_one else [found]

    def locate(self, words: str) -> Location:
        """Return the place of an address; `raw` holds `interpolated`.

        Raises
        ------
        AddressNotFound
            With what is known of the street, or streets of similar names.
        """
        query = _parse(words)
        street = self._street(words, query)
        homes = _in_town(words, query, [self._table[row] for row in self._rows[street]])
        wanted = _digits(query.number)
        exact = [a for a in homes if _same_number(a.number, query.number)]
        exact = exact or [a for a in homes if _digits(a.number) == wanted]
        exact = [a for a in exact if not a.within_range] or exact
        if exact:
            place, between = _one_of(words, exact), exact[0].within_range
            return _location(exact[0].street, query.number, place, between)
        return _location(homes[0].street, query.number, _between(words, wanted, homes), True)

    def _street(self, words: str, query: _Query) -> str:
        """Return the one known street that the words mean."""
        if query.street in self._rows:
            return query.street
        hits = process.extract(
            query.street,
            [name for name in self._rows if _numbers_in(name) == _numbers_in(query.street)],
            scorer=OSA.distance,
            score_cutoff=_slips(query.street),
            limit=None,
        )
        nearest = [name for name, slips, _ in hits if slips == hits[0][1]]
        if len(nearest) == 1:
            return str(nearest[0])
        if not self._rows:
            raise AddressNotFound(
                _(
                    "The address {words!r} cannot be looked up: the street map has no house "
                    "numbers. Give latitude and longitude, or set an online geocoder."
                ).format(words=words)
            )
        alike = nearest or [
            name
            for name, _, _ in process.extract(
                query.street, list(self._rows), limit=3, score_cutoff=60
            )
        ]
        known = ", ".join(sorted(self._names[name] for name in alike)) or "none"
        raise AddressNotFound(
            _(
                "The map knows no street like the one in {words!r}. Streets of similar names: "
                "{known}. Correct the address, or give latitude and longitude."
            ).format(words=words, known=known)
        )


def find_place(
    words: str,
    road_map: RoadMap,
    online: str | None = None,
    *,
    domain: str = "nominatim.openstreetmap.org",
    scheme: str = "https",
    may_be_private: bool = False,
) -> Place:
    """Return where an address is: by the map, then by an online service if one is set.

    Parameters
    ----------
    words
        Such as `12 Oak Street, Millbrook` or `Mannerheimintie 12, Helsinki`.
    road_map
        Its house numbers are searched first.
    online
        None, or 'nominatim'.
    domain, scheme
        Where the online service runs.

    Raises
    ------
    AddressNotFound
        When neither knows the address, or the service does not answer.
    SettingsError
        When `online` names no service that is known.
    """
    try:
        found = _extract_geocoder(road_map).locate(words)
    except AddressNotFound:
        if online is None:
            raise
        how: dict[str, Any] = {"domain": domain, "scheme": scheme}
        service = online_geocoder(online, may_be_private=may_be_private, **how)
        found = _ask_online(words, service)
    return Place(lat=found.latitude, lon=found.longitude)


def online_geocoder(
    service: str,
    *,
    domain: str = "nominatim.openstreetmap.org",
    scheme: str = "https",
    may_be_private: bool = False,
) -> Geocoder:
    """Return geopy's geocoder for an online service; private addresses only where allowed.

    Raises
    ------
    SettingsError
        When the service is not known.
    """
    if service != "nominatim":
        raise SettingsError(
            _("{service!r} is no known online geocoder. Use 'nominatim' or none.").format(
                service=service
            )
        )
    how: dict[str, Any] = {"domain": domain, "scheme": scheme, "timeout": 10}
    if not may_be_private:
        from dispatch.drive.public import PublicAdapter

        how["adapter_factory"] = PublicAdapter
    return Nominatim(user_agent="pool-dispatch", **how)


def plain(words: str) -> str:
    """Return words in small letters, without accents and dots, abbreviations written out."""
    folded = unicodedata.normalize("NFKD", words.casefold())
    letters = "".join(c for c in folded if not unicodedata.combining(c))
    parts = re.sub(r"[^\w\s]", " ", letters).split()
    return " ".join(LONG_FORMS.get(part, part) for part in parts)


@lru_cache(maxsize=2)
def _extract_geocoder(road_map: RoadMap) -> ExtractGeocoder:
    return ExtractGeocoder(road_map.addresses)


def _ask_online(words: str, geocoder: Geocoder) -> Location:
    try:
        found = geocoder.geocode(words)
    except GeopyError as error:
        raise AddressNotFound(
            _(
                "{words!r} is not on the street map, and the online geocoder did not answer "
                "({error}). Try again later, or give latitude and longitude."
            ).format(words=words, error=error)
        ) from error
    if found is None:
        raise AddressNotFound(
            _(
                "Neither the street map nor the online geocoder knows {words!r}. Correct the "
                "address, or give latitude and longitude."
            ).format(words=words)
        )
    return found


def _parse(words: str) -> _Query:
    first, *rest = (part.strip() for part in UNIT.sub("", words).split(","))
    match = NUMBER_FIRST.match(first)
    number, street = match.groups() if match else ("", first)
    if not match and (match := NUMBER_LAST.match(first)):
        street, number = match.groups()
    if not number or not plain(street):
        raise AddressNotFound(
            _(
                "{words!r} is no address with a house number and a street. Write it like '12 "
                "Oak Street, Millbrook', or give latitude and longitude."
            ).format(words=words)
        )
    return _Query(plain(street), number, tuple(plain(part) for part in rest if part))


def _in_town(words: str, query: _Query, homes: list[Address]) -> list[Address]:
    """Return the addresses that may lie in the town asked for; those without a town always may."""
    if not query.towns:
        return homes
    asked = " ".join(query.towns)
    right = [a for a in homes if a.town and fuzz.partial_ratio(plain(a.town), asked) >= 85]
    right = right or [a for a in homes if a.postcode and plain(a.postcode) in asked.split()]
    possible = right + [a for a in homes if not a.town and a not in right]
    if possible:
        return possible
    towns = ", ".join(sorted({a.town for a in homes}))
    raise AddressNotFound(
        _(
            "{street} is known in {towns}, not where {words!r} says. Correct the town, leave "
            "it out, or give latitude and longitude."
        ).format(street=homes[0].street, towns=towns, words=words)
    )


def _one_of(words: str, homes: list[Address]) -> Place:
    """Return the place of equal addresses, or say that they are far apart."""
    first = Place(lat=homes[0].lat, lon=homes[0].lon)
    apart = [a for a in homes if straight_line_m(first, Place(lat=a.lat, lon=a.lon)) > ONE_HOUSE_M]
    if (
        homes[0].town
        and all(a.town != homes[0].town for a in apart)
        and _names_town(words, homes[0])
    ):
        apart = []
    if apart:
        towns = sorted({a.town or _("a place without a town") for a in homes})
        raise AddressNotFound(
            _(
                "{words!r} stands for {number} places far apart ({towns}). Add the town, or "
                "give latitude and longitude."
            ).format(words=words, number=len(apart) + 1, towns=", ".join(towns))
        )
    return first


def _names_town(words: str, home: Address) -> bool:
    return plain(home.town) in plain(words)


def _between(words: str, wanted: int, homes: list[Address]) -> Place:
    """Return the place of a number between the nearest known ones of its side of the street."""
    side = sorted(
        (_digits(a.number), a.lat, a.lon) for a in homes if _digits(a.number) % 2 == wanted % 2
    )
    below = [row for row in side if 0 < row[0] < wanted]
    above = [row for row in side if row[0] > wanted]
    if not below or not above:
        numbers = sorted(n for n in (_digits(a.number) for a in homes) if n)
        known = (
            _("{numbers} to {last}").format(numbers=numbers[0], last=numbers[-1])
            if numbers
            else _("no plain ones")
        )
        raise AddressNotFound(
            _(
                "The house number in {words!r} is beyond those the map knows in {street}: "
                "{known}. Correct it, or give latitude and longitude."
            ).format(words=words, street=homes[0].street, known=known)
        )
    (low, low_lat, low_lon), (high, high_lat, high_lon) = below[-1], above[0]
    share = (wanted - low) / (high - low)
    return Place(
        lat=low_lat + share * (high_lat - low_lat), lon=low_lon + share * (high_lon - low_lon)
    )


def _location(street: str, number: str, place: Place, interpolated: bool) -> Location:
    return Location(
        f"{number} {street}", (place.lat, place.lon, 0.0), {"interpolated": interpolated}
    )


def _digits(number: str) -> int:
    """Return the leading figure of a house number, 0 where it has none."""
    match = re.match(r"\d+", number.strip())
    return int(match.group()) if match else 0


def _same_number(a: str, b: str) -> bool:
    return a.replace(" ", "").casefold() == b.replace(" ", "").casefold()


def _numbers_in(name: str) -> list[str]:
    return re.findall(r"\d+", name)


def _slips(street: str) -> int:
    """Return how many typing errors a street's own name, without 'street' and such, may hold."""
    letters = sum(len(part) for part in street.split() if part not in TYPE_WORDS)
    return next((slips for least, slips in ALLOWED_SLIPS if letters >= least), 0)
