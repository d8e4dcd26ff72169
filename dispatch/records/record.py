"""The record of a visit: who was where and when, what was read, done, added and seen.

A record is what a technician's phone sends, once or several times. Its id is made on the phone
(UUID, RFC 9562), so that the same record sent twice counts once. Times are aware and in UTC; the
day is the local date of service, kept apart from them.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum
from uuid import UUID

from dispatch.errors import InvalidValue
from dispatch.readings import Reading, ReadingKind, UpkeepDone
from dispatch.water.amounts import kilograms_of
from dispatch.water.products import FACTS, Product, check_strength
from dispatch.words import N_, _, catalogues, reading_in

LONGEST_NOTE = 2000  # characters
LONGEST_WORK = 1000  # characters of one piece of work or one part, as a title of one-off work
MOST_LINES = 60  # entries in any list of a record; more is a runaway client
MOST_PRODUCT_KG = 500.0  # kg of one product at one visit; common practice

MISTAKE = N_("Entered by mistake and taken back on the phone.")


class Seen(StrEnum):
    """What a technician saw that somebody must know of, or that nobody need see to any more."""

    COVER_LOOSE = "drain-cover-loose"
    COVER_CRACKED = "drain-cover-cracked"
    COVER_MISSING = "drain-cover-missing"
    COVER_EXPIRED = "drain-cover-expired"
    COVERS_SOUND = "drain-covers-sound"
    DRAIN_NOT_VISIBLE = "main-drain-not-visible"
    GREEN_WATER = "green-water"
    SCALE_ON_CELL = "scale-on-cell"
    NO_SCALE_ON_CELL = "no-scale-on-cell"
    LEAK = "leak"
    NO_FLOW = "no-flow"


@dataclass(frozen=True, slots=True)
class ProductAdded:
    """A product put into the water; `amount` in `unit` as on the jug, strength as on the label.

    Raises
    ------
    InvalidValue
        When the amount, its unit or the strength cannot be.
    """

    product: Product
    amount: float
    unit: str
    strength: float | None = None
    name: str = ""

    def __post_init__(self) -> None:
        if not 0 < self.mass_kg <= MOST_PRODUCT_KG:
            raise InvalidValue(
                _(
                    "{amount:g} {unit} of {product} is not believable: give more than nothing "
                    "and at most {most_product:g} kg."
                ).format(
                    amount=self.amount,
                    unit=self.unit,
                    product=self.product,
                    most_product=MOST_PRODUCT_KG,
                )
            )
        if self.strength is not None and self.product in FACTS:
            check_strength(FACTS[self.product], self.strength)

    @property
    def mass_kg(self) -> float:
        """Mass of the product as it was carried, kg."""
        return kilograms_of(self.amount, self.unit, FACTS.get(self.product))


@dataclass(frozen=True, slots=True)
class VisitRecord:
    """One visit as it was, or an attempt that was skipped with a reason.

    `visit_id` names the planned visit, None where none was planned. `took_over` says that the
    technician knows the visit was planned for another. `photos` are references as the upload of
    a photo gives them.

    Raises
    ------
    InvalidValue
        When the id is no UUID, the departure lies before the arrival, or a skipped visit lists
        work.
    """

    id: str
    site_id: str
    technician_id: str
    day: date
    visit_id: str | None = None
    arrived_at: datetime | None = None
    left_at: datetime | None = None
    readings: tuple[Reading, ...] = ()
    work: tuple[str, ...] = ()
    products: tuple[ProductAdded, ...] = ()
    upkeep: tuple[UpkeepDone, ...] = ()
    seen: tuple[Seen, ...] = ()
    parts_to_order: tuple[str, ...] = ()
    photos: tuple[str, ...] = ()
    note: str = ""
    skipped: str = ""
    took_over: bool = False

    def __post_init__(self) -> None:
        _check_id(self.id)
        if not self.site_id or not self.technician_id:
            raise InvalidValue(_("A record needs a site and a technician: give their ids."))
        self._check_times()
        self._check_lists()
        if self.skipped and (self.work or self.products or self.upkeep):
            raise InvalidValue(
                _(
                    "The visit is skipped ('{skipped}') and yet lists work: leave the reason "
                    "out where anything was done, or take the work out."
                ).format(skipped=self.skipped[:60])
            )

    @property
    def minutes(self) -> float | None:
        """Minutes at the pool; None where arrival or departure is missing."""
        if self.arrived_at is None or self.left_at is None:
            return None
        return (self.left_at - self.arrived_at).total_seconds() / 60

    def value(self, kind: ReadingKind) -> float | None:
        """The last value of a kind that was read at this visit, None where it was not."""
        return next((one.value for one in reversed(self.readings) if one.kind is kind), None)

    def _check_times(self) -> None:
        for name, at in (("arrival", self.arrived_at), ("departure", self.left_at)):
            if at is not None and at.tzinfo is None:
                raise InvalidValue(
                    _("The {name} {at} has no time zone: give it as 2026-11-30T16:05:00Z.").format(
                        name=name, at=at
                    )
                )
        if self.arrived_at and self.left_at and self.left_at < self.arrived_at:
            raise InvalidValue(
                _(
                    "The departure {left:%Y-%m-%d %H:%M} lies before the arrival "
                    "{arrived:%Y-%m-%d %H:%M}: swap the two, or correct one."
                ).format(left=self.left_at, arrived=self.arrived_at)
            )

    def _check_lists(self) -> None:
        lists = {
            "readings": self.readings,
            "work": self.work,
            "products": self.products,
            "upkeep": self.upkeep,
            "seen": self.seen,
            "parts": self.parts_to_order,
            "photos": self.photos,
        }
        for name, entries in lists.items():
            if len(entries) > MOST_LINES:
                raise InvalidValue(
                    _(
                        "A record with {number} {name} is not believable: {most_lines} at most."
                    ).format(number=len(entries), name=name, most_lines=MOST_LINES)
                )
        for words in (*self.work, *self.parts_to_order):
            if not 0 < len(words) <= LONGEST_WORK:
                raise InvalidValue(
                    _(
                        "'{words}' in the list of work or parts has {number} characters: give "
                        "1 to {longest_work}."
                    ).format(words=words[:40], number=len(words), longest_work=LONGEST_WORK)
                )
        if max(len(self.note), len(self.skipped)) > LONGEST_NOTE:
            raise InvalidValue(
                _("A note has at most {longest_note} characters: shorten it.").format(
                    longest_note=LONGEST_NOTE
                )
            )


def _check_id(text: str) -> None:
    try:
        UUID(text)
    except ValueError as error:
        raise InvalidValue(
            _(
                "'{text}' is no id of a record: give a UUID, as "
                "0b6f6f0e-8f5b-4a53-9d0e-5d2a5f7f2c11, made once for each record."
            ).format(text=text[:60])
        ) from error
    if text != str(UUID(text)):
        raise InvalidValue(
            _("The id '{text}' must be written as {uuid}: lower case, with hyphens.").format(
                text=text[:60], uuid=UUID(text)
            )
        )


def mistakes() -> frozenset[str]:
    """`skipped` of a record that was taken back, in whatever language that was said."""
    said = set()
    for code in catalogues():
        with reading_in(code):
            said.add(str(_(MISTAKE)))
    return frozenset(said)
