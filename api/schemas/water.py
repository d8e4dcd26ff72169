"""JSON of water: answers with their inputs, findings, ranges."""

from __future__ import annotations

from datetime import date

from pydantic import BaseModel, Field

from dispatch.actions.water import WaterAdvice
from dispatch.readings import LIMITS, ReadingKind
from dispatch.water.advice import Finding
from dispatch.water.answer import Answer
from dispatch.water.ranges import Range
from dispatch.words import _


class InputOut(BaseModel):
    """One figure that went into an answer."""

    name: str
    value: float
    unit: str
    assumed: bool


class AnswerOut(BaseModel):
    """A figure with the method that gave it; never without its cautions."""

    title: str
    text: str = Field(description="the figure as it may be shown, one decimal")
    value: float
    unit: str
    method: str
    source: str
    inputs: list[InputOut]
    notes: list[str]
    cautions: list[str]

    @classmethod
    def of(cls, answer: Answer) -> AnswerOut:
        """The JSON of an answer."""
        return cls(
            title=answer.title,
            text=answer.text,
            value=round(answer.value, 1),
            unit=answer.unit,
            method=answer.method,
            source=answer.source,
            inputs=[
                InputOut(name=one.name, value=one.value, unit=one.unit, assumed=one.assumed)
                for one in answer.inputs
            ],
            notes=list(answer.notes),
            cautions=[_(one) for one in answer.cautions],
        )


class RangeOut(BaseModel):
    """Least, ideal and most of a reading, with the text it stands in."""

    kind: ReadingKind
    unit: str
    least: float | None
    ideal_low: float | None
    ideal_high: float | None
    most: float | None
    source: str
    edition: str
    from_memory: bool
    note: str

    @classmethod
    def of(cls, one: Range) -> RangeOut:
        """The JSON of a range."""
        return cls(
            kind=one.kind,
            unit=LIMITS[one.kind].unit,
            least=one.least,
            ideal_low=one.ideal_low,
            ideal_high=one.ideal_high,
            most=one.most,
            source=one.source,
            edition=one.edition,
            from_memory=one.from_memory,
            note=one.note,
        )


class TargetIn(BaseModel):
    """The company's own range of a reading."""

    least: float | None = None
    ideal_low: float | None = None
    ideal_high: float | None = None
    most: float | None = None
    by: str
    note: str = ""


class FindingOut(BaseModel):
    """One last reading beside its range, and what would help."""

    kind: ReadingKind
    value: float
    unit: str
    on: date
    standing: str
    words: str
    old: bool
    target: RangeOut | None
    answers: list[AnswerOut]

    @classmethod
    def of(cls, one: Finding) -> FindingOut:
        """The JSON of a finding."""
        return cls(
            kind=one.kind,
            value=one.value,
            unit=LIMITS[one.kind].unit,
            on=one.on,
            standing=str(one.standing or ""),
            words=one.words,
            old=one.old,
            target=RangeOut.of(one.target) if one.target else None,
            answers=[AnswerOut.of(answer) for answer in one.answers],
        )


class WaterOut(BaseModel):
    """What the last readings of a site ask for."""

    site_id: str
    volume_l: float | None
    cautions: list[str] = Field(description="what to mind at all of the findings together")
    findings: list[FindingOut]
    index: list[AnswerOut]

    @classmethod
    def of(cls, found: WaterAdvice) -> WaterOut:
        """The JSON of a site's water."""
        return cls(
            site_id=found.site.id,
            volume_l=found.site.pool_volume_l,
            cautions=list(found.cautions),
            findings=[FindingOut.of(one) for one in found.findings],
            index=[AnswerOut.of(one) for one in found.index],
        )


class DoseIn(BaseModel):
    """A dose to compute; volume in litres, change in ppm, strength as on the label."""

    product: str = Field(examples=["liquid-chlorine"])
    volume_l: float
    change_ppm: float
    strength: float | None = None


class IndexIn(BaseModel):
    """Water whose saturation index is wanted; ppm and °C."""

    ph: float
    temperature_c: float
    calcium_ppm: float
    total_alkalinity_ppm: float
    cya_ppm: float = 0
    borate_ppm: float = 0
    tds_ppm: float | None = None
    salt_ppm: float | None = None
