"""Why nobody can serve a demand, in words: what it has, and the mend."""

from __future__ import annotations

from collections.abc import Sequence

from dispatch.clock import format_time
from dispatch.due_visits import VisitsDue
from dispatch.preflight_rules import Cause, work_days
from dispatch.technicians import Technician


def blocked_words(
    cause: Cause, visits: VisitsDue, technicians: Sequence[Technician]
) -> tuple[str, str]:
    """What the demand has that nobody can serve, and the mend, for a rule of `first_broken`."""
    if visits.technician_locked and cause in _OF_PERSONS:
        return _locked_value(cause, visits, technicians), "Lift the lock, or lock another one."
    value = {
        Cause.UNWANTED: "the customer wants none of those who work",
        Cause.SKILL: f"it needs {_skills(visits)}, and nobody who may come has that",
        Cause.NO_SHIFT: f"its days are {_days(visits)}, and nobody who may come works then",
        Cause.CREW: f"it needs {visits.crew} persons, more than are aboard on its days",
        Cause.TOO_LONG: f"a visit takes {max(visits.service_min)} min, and the longest working day "
        f"has {_longest_min(visits, technicians)}",
        Cause.WINDOW: f"service may begin {_windows(visits)}, outside the shifts of those who may "
        "come",
        Cause.PAYLOAD: f"a visit takes {visits.mass_kg + visits.chemicals_kg:g} kg, more than the "
        "trucks of those who may come carry",
        Cause.CHEMICALS: f"a visit takes {visits.chemicals_kg:g} kg of regulated chemicals, more "
        "than a truck may have aboard",
    }[cause]
    return value, _MENDS[cause].format(shifts=_shifts(technicians))


_OF_PERSONS = (Cause.LOCK, Cause.UNWANTED, Cause.SKILL, Cause.NO_SHIFT, Cause.CREW)
_MENDS = {
    Cause.UNWANTED: "Talk to the customer, or take a name off the unwanted ones.",
    Cause.SKILL: "Correct the skills of the visit or of a technician.",
    Cause.NO_SHIFT: "Allow another day, or give somebody a shift.",
    Cause.CREW: "Put more persons aboard a truck on one of its days.",
    Cause.TOO_LONG: "Correct the minutes, or make several visits of it.",
    Cause.WINDOW: "Correct the windows or a shift; the shifts are {shifts}.",
    Cause.PAYLOAD: "Correct the masses, or send a larger truck.",
    Cause.CHEMICALS: "Make several visits of it, and look at the law that holds where you drive.",
}


def _locked_value(cause: Cause, visits: VisitsDue, technicians: Sequence[Technician]) -> str:
    names = {technician.id: technician.name for technician in technicians}
    locked_id = visits.usual_technician_id or ""
    why = {
        Cause.LOCK: "who does not work in the week",
        Cause.UNWANTED: "whom the customer does not want",
        Cause.SKILL: f"who lacks {_skills(visits)}",
        Cause.NO_SHIFT: f"who does not work on its days, {_days(visits)}",
        Cause.CREW: f"who has fewer than {visits.crew} persons aboard on its days",
    }[cause]
    return f"it is locked to {names.get(locked_id, locked_id)}, {why}"


def _skills(visits: VisitsDue) -> str:
    return ", ".join(f"'{skill}'" for skill in sorted(visits.skills))


def _days(visits: VisitsDue) -> str:
    days = {day for pattern in visits.patterns for day in pattern}
    return ", ".join(day.isoformat() for day in sorted(days))


def _windows(visits: VisitsDue) -> str:
    return " or ".join(map(str, visits.windows))


def _longest_min(visits: VisitsDue, technicians: Sequence[Technician]) -> int:
    days = work_days(technicians, visits.week.days)
    return max((one.longest_s for one in days), default=0) // 60


def _shifts(technicians: Sequence[Technician]) -> str:
    spans = {(one.start_s, one.end_s) for each in technicians for one in each.shifts if one}
    return ", ".join(f"{format_time(start)}-{format_time(end)}" for start, end in sorted(spans))
