"""Versions over HTTP: `ETag` and `If-Match` (RFC 9110, sections 8.8.3 and 13.1.1).

A call that reads one of these things, or a list of them, is answered with its `ETag`; a call that
changes one says in `If-Match`, or a form in its field `version`, which it looked at. It gets 412
when that is no longer the present one, and 428 (RFC 6585, section 3) when it says nothing; `*`
means whatever stands there. It is compared in the transaction of the change. Imports may say it:
they name the rows that they replace.
"""

from __future__ import annotations

from collections.abc import Mapping

from fastapi import Request
from sqlmodel import Session

from dispatch.actions.versions import Thing, check_version, version

READ = {
    "GET /api/sites": Thing.SITES,
    "GET /api/sites/{site_id}": Thing.SITE,
    "GET /api/technicians": Thing.TECHNICIANS,
    "GET /api/holds": Thing.HOLDS,
    "GET /api/one-offs": Thing.ONE_OFFS,
    "GET /api/one-offs/{work_id}": Thing.ONE_OFF,
    "GET /api/upkeep/kinds": Thing.UPKEEP_KINDS,
    "GET /api/water/targets": Thing.WATER_TARGETS,
    "GET /api/records/{record_id}": Thing.RECORD,
    "GET /api/people": Thing.PEOPLE,
}
CHANGED = {
    "POST /api/sites/import": Thing.SITES,
    "DELETE /api/sites/{site_id}": Thing.SITE,
    "PUT /api/sites/{site_id}/notices": Thing.SITE,
    "POST /sites/{site_id}/notices": Thing.SITE,
    "POST /api/technicians/import": Thing.TECHNICIANS,
    "DELETE /api/technicians/{technician_id}": Thing.TECHNICIAN,
    "POST /api/holds/import": Thing.HOLDS,
    "POST /holds/import": Thing.HOLDS,
    "POST /api/holds/{site_id}/{first_day}/end": Thing.HOLD,
    "DELETE /api/holds/{site_id}/{first_day}": Thing.HOLD,
    "POST /holds/{site_id}/{first_day}/end": Thing.HOLD,
    "POST /holds/{site_id}/{first_day}/delete": Thing.HOLD,
    "POST /api/one-offs/import": Thing.ONE_OFFS,
    "POST /one-offs/import": Thing.ONE_OFFS,
    "POST /api/one-offs/{work_id}/visited": Thing.ONE_OFF,
    "POST /api/one-offs/{work_id}/done": Thing.ONE_OFF,
    "DELETE /api/one-offs/{work_id}": Thing.ONE_OFF,
    "POST /one-offs/{work_id}/{deed}": Thing.ONE_OFF,
    "PUT /api/upkeep/kinds/{kind}": Thing.UPKEEP_KIND,
    "DELETE /api/upkeep/kinds/{kind}": Thing.UPKEEP_KIND,
    "POST /upkeep/{kind}": Thing.UPKEEP_KIND,
    "POST /upkeep/{kind}/reset": Thing.UPKEEP_KIND,
    "PUT /api/water/targets/{kind}": Thing.WATER_TARGET,
    "DELETE /api/water/targets/{kind}": Thing.WATER_TARGET,
    "POST /water/targets/{kind}": Thing.WATER_TARGET,
    "PATCH /api/records/{record_id}": Thing.RECORD,
    "POST /records/{record_id}": Thing.RECORD,
    "PUT /api/people/{person_id}": Thing.PERSON,
    "DELETE /api/people/{person_id}": Thing.PERSON,
    "POST /people/{person_id}/remove": Thing.PERSON,
}


def etag_of(session: Session, request: Request, *, of_people: bool) -> str:
    """The `ETag` of what the call reads; empty where it has none, or has it of the other session.

    `of_people` says that the session is one of the directory of people.
    """
    thing = _thing_of(READ, request, of_people=of_people)
    return f'"{version(session, thing, request.path_params)}"' if thing else ""


def check_match(session: Session, request: Request, *, of_people: bool) -> None:
    """Refuse the call when it changes what it did not look at; `of_people` as for `etag_of`.

    Raises
    ------
    ChangedMeanwhile
        When somebody else changed it meanwhile.
    VersionMissing
        When it does not say what it looked at.
    """
    thing = _thing_of(CHANGED, request, of_people=of_people)
    if thing is None:
        return
    sent = getattr(request.state, "sent", [])
    form = sent[0] if sent and isinstance(sent[0], Mapping) else {}
    wanted = request.headers.get("if-match", "") or str(form.get("version", ""))
    zone = request.app.state.settings.zone
    check_version(session, thing, request.path_params, wanted, zone)


def _thing_of(things: Mapping[str, Thing], request: Request, *, of_people: bool) -> Thing | None:
    thing = things.get(getattr(request.state, "deed", ""))
    return thing if (thing in {Thing.PERSON, Thing.PEOPLE}) is of_people else None
