"""JSON of the technician's phone: the day as it is kept there, and the answers to entries."""

from __future__ import annotations

from dataclasses import asdict
from datetime import date, datetime
from typing import Any

from pydantic import BaseModel, Field

from api.schemas.phone_rules import RulesOut, facts_of_site
from dispatch.actions.phone_day import PhoneDay, PhoneStop
from dispatch.actions.phone_entries import Reply
from dispatch.actions.working_day import not_ended_over_s
from dispatch.day.events import DayEvent
from dispatch.day.moments import shift_on
from dispatch.day.state import StopState
from dispatch.phone.entry import Outcome
from dispatch.phone.pressure import FilterFacts
from dispatch.settings import Settings
from dispatch.sites import Sanitizer
from dispatch.store.phone_entries import KeptEntry
from dispatch.upkeep import Part, UpkeepDue
from dispatch.words import _

STATES = {StopState.UNDER_WAY: "started", StopState.DONE: "done", StopState.SKIPPED: "skipped"}
SENDING_EXAMPLE = {
    "phone": "6b0f4c9e-0f5d-4d68-9c53-0c4c1f6b7a10",
    "sent_at": "2026-11-30T16:06:00Z",
    "entries": [
        {
            "id": "1d1a2a3f-54c3-4d0e-8a4e-0c2e1f3b5a77",
            "number": 7,
            "technician_id": "T1",
            "day": "2026-11-30",
            "kind": "started",
            "at": "2026-11-30T16:05:00Z",
            "visit_id": "S1/2026-W49/1",
            "site_id": "S1",
        }
    ],
}


class AnswerOut(BaseModel):
    """What became of one entry; `words` are for the technician."""

    id: str
    outcome: Outcome
    words: str


class ReplyOut(BaseModel):
    """Answers in the order of the entries; `clock` says where the phone's clock is off."""

    received_at: datetime
    clock: str
    entries: list[AnswerOut]

    @classmethod
    def of(cls, reply: Reply) -> ReplyOut:
        """The JSON of a reply."""
        answers = [
            AnswerOut(id=one.id, outcome=one.outcome, words=one.words) for one in reply.entries
        ]
        return cls(received_at=reply.received_at, clock=reply.clock, entries=answers)


class EntryOut(BaseModel):
    """An entry as it was answered; `at` and `sent_at` by the phone's clock."""

    place: int = Field(description="counts up in the order in which entries were taken")
    id: str
    phone: str
    number: int = Field(description="counts up in the phone's own store")
    technician_id: str
    day: date | None
    kind: str
    visit_id: str | None
    at: datetime | None
    sent_at: datetime | None
    received_at: datetime
    outcome: Outcome
    words: str
    aside: str = Field(description="name among what was set aside, empty where nothing was")

    @classmethod
    def of(cls, one: KeptEntry) -> EntryOut:
        """The JSON of an entry, without its content."""
        return cls(**{name: getattr(one, name) for name in cls.model_fields})


class PhoneUpkeepOut(BaseModel):
    """Upkeep of a stop, with the reason and the caution in words."""

    kind: str
    title: str
    minutes: int
    because: str
    caution: str
    parts: list[Part]

    @classmethod
    def of(cls, due: UpkeepDue, *, customary: bool) -> PhoneUpkeepOut:
        """The JSON of upkeep."""
        return cls(
            kind=due.kind,
            title=_(due.title),
            minutes=due.minutes,
            because="" if due.cause is None else due.cause.words(customary=customary),
            caution=_(due.caution),
            parts=list(due.parts),
        )


class LastOut(BaseModel):
    """The last reading of a kind, in its kept unit."""

    kind: str
    value: float
    on: date


class PhoneStopOut(BaseModel):
    """One stop with all that is needed at its gate. It holds the gate code."""

    visit_id: str
    site_id: str
    number: int
    name: str
    address: str
    lat: float
    lon: float
    gate_code: str
    gate_note: str
    dog_note: str
    pad_note: str
    hold: str = Field(description="why nobody is to come, in words; empty without a hold")
    crew: str = Field(description="that nobody does it alone, in words; empty where one does")
    facts: list[str] = Field(description="the pool in words")
    sanitizer: Sanitizer
    pool_volume_l: float | None
    drive_s: int
    drive_m: int
    start_s: int
    leave_s: int
    state: str = Field(description="planned, started, done or skipped")
    record_id: str = Field(description="the technician's own record of it; empty without one")
    work: list[dict[str, str]]
    upkeep: list[PhoneUpkeepOut]
    last: list[LastOut]
    filter: FilterFacts | None

    @classmethod
    def of(cls, one: PhoneStop, *, customary: bool) -> PhoneStopOut:
        """The JSON of a stop."""
        site, stop, work = one.row.site, one.row.stop, one.row.work
        return cls(
            visit_id=stop.visit_id,
            site_id=site.id,
            number=one.row.number,
            name=site.name,
            address=site.address,
            lat=site.place.lat,
            lon=site.place.lon,
            gate_code=site.gate_code,
            gate_note=site.gate_note,
            dog_note=site.dog_note,
            pad_note=site.pad_note,
            hold=one.row.hold_words,
            crew=one.row.crew_words,
            facts=facts_of_site(site, customary=customary),
            sanitizer=site.sanitizer,
            pool_volume_l=site.pool_volume_l,
            drive_s=stop.drive_s,
            drive_m=stop.drive_m,
            start_s=stop.start_s,
            leave_s=stop.leave_s,
            state=STATES.get(one.state, "planned"),
            record_id=one.record_id,
            work=[]
            if work is None
            else [
                {
                    "title": work.title,
                    "kind": str(work.kind),
                    "note": work.note,
                    "parts": work.parts,
                }
            ],
            upkeep=[PhoneUpkeepOut.of(due, customary=customary) for due in one.row.upkeep],
            last=[
                LastOut(kind=kind, value=last.reading.value, on=last.on)
                for kind, last in one.last.items()
            ],
            filter=one.filter,
        )


class ChangeOut(BaseModel):
    """What the office did to the day, and why."""

    number: int
    kind: str
    at: datetime
    who: str
    why: str

    @classmethod
    def of(cls, event: DayEvent) -> ChangeOut:
        """The JSON of an event of the office."""
        return cls(number=event.number, kind=event.kind, at=event.at, who=event.who, why=event.why)


class PhoneDayOut(BaseModel):
    """A technician's day as the phone keeps it; seconds are those after local midnight."""

    technician_id: str
    name: str
    day: date
    now: datetime
    rehearsal: bool = Field(description="whether the service's day is fixed by a setting")
    published: bool
    version: int
    why_empty: str
    next_day: date | None = Field(
        default=None, description="the next day with a published route, where this one has none"
    )
    shift_started_at: datetime | None
    shift_ended_at: datetime | None
    start_s: int | None
    end_s: int | None
    until_s: int = Field(
        description="when shift and route end, beyond 86,400 after a night shift; 0: no route"
    )
    over_s: int = Field(
        description="when a shift that was begun and not ended is over, as the next one begins"
    )
    break_after: int | None
    break_start_s: int | None
    break_s: int
    supply_after: int | None
    supply_start_s: int | None
    return_drive_s: int
    stops: list[PhoneStopOut]
    parts: list[Part]
    products: list[dict[str, Any]]
    mass_kg: float
    waste_kg: float
    payload_kg: float
    too_much: list[str]
    load_cautions: list[str]
    cautions: list[str]
    changes: list[ChangeOut]
    customary: bool
    rules: RulesOut

    @classmethod
    def of(
        cls, found: PhoneDay, settings: Settings, cautions: tuple[str, ...], *, customary: bool
    ) -> PhoneDayOut:
        """The JSON of a day."""
        sheet, route, load = found.sheet, found.sheet.route, found.load
        shift = shift_on(sheet.technician, sheet.day, settings.zone)
        until_s = 0 if route is None else max(shift.end_s if shift else 0, route.end_s)
        return cls(
            technician_id=sheet.technician.id,
            name=sheet.technician.name,
            day=sheet.day,
            now=settings.now(),
            rehearsal=settings.fixed_today is not None,
            published=found.published,
            version=found.version,
            why_empty=sheet.why_empty,
            next_day=found.next_day,
            shift_started_at=found.shift_started_at,
            shift_ended_at=found.shift_ended_at,
            start_s=None if route is None else route.start_s,
            end_s=None if route is None else route.end_s,
            until_s=until_s,
            over_s=not_ended_over_s(sheet.technician, sheet.day, until_s),
            break_after=None if route is None else route.break_after,
            break_start_s=None if route is None else route.break_start_s,
            break_s=0 if route is None else route.break_s,
            supply_after=None if route is None else route.supply_after,
            supply_start_s=None if route is None else route.supply_start_s,
            return_drive_s=0 if route is None else route.return_drive_s,
            stops=[PhoneStopOut.of(one, customary=customary) for one in found.stops],
            parts=list(sheet.load),
            products=[] if load is None else [asdict(line) for line in load.products],
            mass_kg=0.0 if load is None else load.mass_kg,
            waste_kg=sheet.waste_kg,
            payload_kg=sheet.technician.payload_kg,
            too_much=[] if load is None else [one.reason for one in load.violations],
            load_cautions=[] if load is None else [_(one) for one in load.cautions],
            cautions=list(cautions),
            changes=[ChangeOut.of(event) for event in found.changes],
            customary=customary,
            rules=RulesOut.of(found.targets, customary=customary),
        )
