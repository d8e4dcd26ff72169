"""Water of a site: its last readings, what they ask for, and the company's own targets."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from sqlmodel import Session

from dispatch.actions.lists import ListTable
from dispatch.errors import InvalidValue
from dispatch.readings import LIMITS, ReadingKind
from dispatch.records.history import last_readings
from dispatch.settings import Settings
from dispatch.sites import Site
from dispatch.store.book import read_site
from dispatch.store.record_history import read_history
from dispatch.store.record_lists import drop_target, read_targets, write_target
from dispatch.water.advice import Finding, Last, Pool, advise, cautions_of, index_of
from dispatch.water.answer import Answer
from dispatch.water.ranges import PUBLISHED, Range
from dispatch.words import _


@dataclass(frozen=True, slots=True)
class WaterAdvice:
    """A site's last readings, findings in the order of the ranges, and the index by each method."""

    site: Site
    last: dict[ReadingKind, Last]
    findings: tuple[Finding, ...]
    index: tuple[Answer, ...]

    @property
    def cautions(self) -> tuple[str, ...]:
        """What to mind at all of the findings together."""
        return cautions_of(self.findings)


def water_advice(
    session: Session, settings: Settings, site_id: str, *, customary: bool = True
) -> WaterAdvice:
    """What the last readings of a site ask for; raises NotFound for an unknown site."""
    site = one_site(session, site_id)
    last = dict(last_readings(read_history(session, site_id), settings.zone))
    pool = Pool(site.pool_volume_l, customary)
    findings = advise(last, read_targets(session), pool, settings.today())
    return WaterAdvice(site, last, findings, index_of(last, settings.today()))


def one_site(session: Session, site_id: str) -> Site:
    """The site of an id; raises NotFound."""
    return read_site(session, site_id)


def targets(session: Session) -> list[Range]:
    """The ranges in use: the company's own where it set one, else those delivered."""
    return list(read_targets(session).values())


def set_target(
    session: Session,
    settings: Settings,
    kind: ReadingKind,
    figures: tuple[float | None, float | None, float | None, float | None],
    *,
    by: str,
    note: str = "",
) -> Range:
    """Set the company's own range: least, ideal low, ideal high, most, in the kept unit.

    Raises
    ------
    InvalidValue
        When the figures do not rise or leave what is possible, or nobody signs for them.
    """
    if not by.strip():
        raise InvalidValue(_("Say who sets the target: it is shown as its source."))
    today = settings.today()
    target = Range(
        kind, *figures, _("own target, set by {by}").format(by=by), today.isoformat(), note=note
    )
    write_target(session, target, by, today)
    return target


def reset_target(session: Session, kind: ReadingKind) -> None:
    """Go back to the delivered range; a kind without one then has none."""
    drop_target(session, kind)


def target_list(ranges: list[Range]) -> ListTable:
    """Ranges with their sources."""
    columns = ("reading", "unit", "least", "ideal_low", "ideal_high", "most", "source", "note")
    rows = tuple(
        (
            str(one.kind),
            LIMITS[one.kind].unit,
            one.least,
            one.ideal_low,
            one.ideal_high,
            one.most,
            one.told,
            one.note,
        )
        for one in ranges
    )
    return ListTable(columns, rows)


def published_list() -> ListTable:
    """Every range that a text states, each with its source and edition."""
    return target_list(list(PUBLISHED))


def advice_list(found: WaterAdvice) -> ListTable:
    """Findings as a table: reading, value, day, range, standing, advice and figures."""
    columns = ("reading", "value", "unit", "on", "standing", "range", "advice", "figures")
    rows: list[tuple[str | float | date | None, ...]] = [
        (
            _(LIMITS[one.kind].title),
            round(one.value, 2),
            LIMITS[one.kind].unit,
            one.on,
            str(one.standing or ""),
            one.target.told if one.target else "",
            one.words,
            "; ".join(f"{answer.title}: {answer.text} ({answer.method})" for answer in one.answers),
        )
        for one in found.findings
    ]
    rows += [
        (answer.title, round(answer.value, 1), "", None, "", answer.source, answer.notes[0],
         answer.method)
        for answer in found.index
    ]  # fmt: skip
    return ListTable(columns, tuple(rows))
