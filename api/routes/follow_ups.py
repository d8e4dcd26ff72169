"""Follow-ups and photos of visits."""

from __future__ import annotations

from fastapi import APIRouter, HTTPException, UploadFile
from fastapi.responses import FileResponse, Response

from api.csvs import csv_answer
from api.deps import ReadSession, SettingsDep, WriteSession
from api.schemas.records import FollowUpOut, PhotoOut, SettleIn
from dispatch.actions import record_files, records
from dispatch.words import _

router = APIRouter(tags=["records"])


@router.get("/follow-ups")
def list_follow_ups(session: ReadSession, site: str | None = None) -> list[FollowUpOut]:
    """Open follow-ups, urgent ones first, then by day."""
    return [FollowUpOut.of(one) for one in records.open_follow_ups(session, site)]


@router.get("/follow-ups.csv", response_class=Response)
def export_follow_ups(
    session: ReadSession, settings: SettingsDep, site: str | None = None
) -> Response:
    """Open follow-ups as a table."""
    found = records.open_follow_ups(session, site)
    return csv_answer("follow-ups", record_files.follow_up_list(found, settings.today()))


@router.post("/follow-ups/{follow_up_id}/settle")
def settle(
    session: WriteSession, settings: SettingsDep, follow_up_id: str, wanted: SettleIn
) -> FollowUpOut:
    """Close a follow-up with what became of it."""
    found = records.settle(session, settings, follow_up_id, by=wanted.by, outcome=wanted.outcome)
    return FollowUpOut.of(found)


@router.post("/photos", status_code=201)
def keep_photo(session: WriteSession, settings: SettingsDep, file: UploadFile) -> PhotoOut:
    """Keep a photo (JPEG, PNG or WebP); a record names it by the id of the answer."""
    most = round(settings.photo_limit_mb * 1e6)
    data = file.file.read(most + 1)
    if len(data) > most:
        raise HTTPException(
            413,
            _(
                "The photo is larger than {photo_limit_mb:g} MB: send a smaller one, or raise "
                "DISPATCH_PHOTO_LIMIT_MB."
            ).format(photo_limit_mb=settings.photo_limit_mb),
        )
    return PhotoOut.of(records.keep_photo(session, settings, data))


@router.get("/photos/{photo_id}", response_class=FileResponse)
def show_photo(session: ReadSession, settings: SettingsDep, photo_id: str) -> FileResponse:
    """The bytes of a photo, which the reader's own browser alone may keep for an hour."""
    photo, file = records.find_photo(session, settings, photo_id)
    headers = {"Cache-Control": "private, max-age=3600"}
    return FileResponse(file, media_type=photo.media_type, headers=headers)
