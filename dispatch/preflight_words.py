"""Why nobody can serve a demand, in words: what it has, and the mend."""

from __future__ import annotations

from collections.abc import Sequence

from dispatch.clock import format_span
from dispatch.due_visits import VisitsDue
from dispatch.measures import kept_amount, measured
from dispatch.preflight_rules import Cause, work_days
from dispatch.technicians import Technician
from dispatch.words import N_, _, either


def blocked_words(
    cause: Cause, visits: VisitsDue, technicians: Sequence[Technician]
) -> tuple[str, str]:
    """What the demand has that nobody can serve, and the mend, for a rule of `broken`."""
    if visits.technician_locked and cause in _OF_PERSONS:
        return _locked_value(cause, visits, technicians), _("Lift the lock, or lock another one.")
    value = {
        Cause.UNWANTED: _("the customer wants none of those who work"),
        Cause.SKILL: _("it needs {what}, and nobody who may come has that").format(
            what=_skills(visits)
        ),
        Cause.NO_SHIFT: _("its days are {what}, and nobody who may come works then").format(
            what=_days(visits)
        ),
        Cause.CREW: _("it needs {crew} persons, more than are aboard on its days").format(
            crew=visits.crew
        ),
        Cause.TOO_LONG: _(
            "a visit takes {service} min, and the longest working day has {what}"
        ).format(service=max(visits.service_min), what=_longest_min(visits, technicians)),
        Cause.WINDOW: _(
            "service may begin {what}, outside the shifts of those who may come"
        ).format(what=_windows(visits)),
        Cause.PAYLOAD: _(
            "a visit takes {mass}, more than the trucks of those who may come carry"
        ).format(mass=measured(kept_amount(visits.mass_kg + visits.chemicals_kg, "kg"))),
        Cause.CHEMICALS: _(
            "a visit takes {chemicals} of regulated chemicals, more than a truck may have aboard"
        ).format(chemicals=measured(kept_amount(visits.chemicals_kg, "kg"))),
    }[cause]
    return value, _(_MENDS[cause]).format(shifts=_shifts(technicians))


_OF_PERSONS = (Cause.LOCK, Cause.UNWANTED, Cause.SKILL, Cause.NO_SHIFT, Cause.CREW)
_MENDS = {
    Cause.UNWANTED: N_("Talk to the customer, or take a name off the unwanted ones."),
    Cause.SKILL: N_("Correct the skills of the visit or of a technician."),
    Cause.NO_SHIFT: N_("Allow another day, or give somebody a shift."),
    Cause.CREW: N_("Put more persons aboard a truck on one of its days."),
    Cause.TOO_LONG: N_("Correct the minutes, or make several visits of it."),
    Cause.WINDOW: N_("Correct the windows or a shift; the shifts are {shifts}."),
    Cause.PAYLOAD: N_("Correct the masses, or send a larger truck."),
    Cause.CHEMICALS: N_(
        "Make several visits of it, and look at the law that holds where you drive."
    ),
}


def _locked_value(cause: Cause, visits: VisitsDue, technicians: Sequence[Technician]) -> str:
    names = {technician.id: technician.name for technician in technicians}
    locked_id = visits.usual_technician_id or ""
    why = {
        Cause.LOCK: _("who does not work in the week"),
        Cause.UNWANTED: _("whom the customer does not want"),
        Cause.SKILL: _("who lacks {what}").format(what=_skills(visits)),
        Cause.NO_SHIFT: _("who does not work on its days, {what}").format(what=_days(visits)),
        Cause.CREW: _("who has fewer than {crew} persons aboard on its days").format(
            crew=visits.crew
        ),
    }[cause]
    return _("it is locked to {locked}, {why}").format(
        locked=names.get(locked_id, locked_id), why=why
    )


def _skills(visits: VisitsDue) -> str:
    return ", ".join(f"'{skill}'" for skill in sorted(visits.skills))


def _days(visits: VisitsDue) -> str:
    days = {day for pattern in visits.patterns for day in pattern}
    return ", ".join(day.isoformat() for day in sorted(days))


def _windows(visits: VisitsDue) -> str:
    return either([str(one) for one in visits.windows])


def _longest_min(visits: VisitsDue, technicians: Sequence[Technician]) -> int:
    days = work_days(technicians, visits.week.days)
    return max((one.longest_s for one in days), default=0) // 60


def _shifts(technicians: Sequence[Technician]) -> str:
    spans = {(one.start_s, one.end_s) for each in technicians for one in each.shifts if one}
    return ", ".join(format_span(*span) for span in sorted(spans))
