"""Building the street map from an uploaded extract as a job."""

from __future__ import annotations

import shutil
from collections.abc import Collection, Mapping
from pathlib import Path
from typing import Any

from api.jobs.job import JobState, MapJob, Tell, Told
from api.jobs.map_process import build_apart
from dispatch.drive.scratch import remove_abandoned
from dispatch.errors import MapError
from dispatch.planning.progress import ShouldStop
from dispatch.settings import Settings
from dispatch.words import N_

UPLOADS = "uploads"  # below the data folder; each upload has a folder of its own in it


class MapBuilding:
    """Builds maps; a job that is stopped or fails leaves the old map. Uploads are removed."""

    kind = MapJob.kind
    broken = N_(
        "Something unexpected went wrong while building the street map; the map before it "
        "is untouched. The log of the service says why."
    )

    def __init__(self, settings: Settings) -> None:
        self._settings = settings

    def request(self, file: Path) -> dict[str, str]:
        """What a job is asked for: the upload, as its path below the folder of uploads."""
        return {"file": file.relative_to(uploads_folder(self._settings)).as_posix()}

    def run(
        self,
        job_id: str,  # noqa: ARG002 - building the same map twice does no harm
        request: Mapping[str, Any],
        tell: Tell,
        should_stop: ShouldStop,
    ) -> JobState:
        """Build the map; raises as the action `build_map` does."""
        file = self._file(request)
        tell(Told("Starting"))
        try:
            build_apart(self._settings, file, lambda line: tell(Told(line)), should_stop)
        except MapError as error:  # people know the file by its name, not by where we keep it
            raise type(error)(str(error).replace(str(file), file.name)) from error
        return JobState.DONE

    def clear(self, request: Mapping[str, Any]) -> None:
        """Remove the upload."""
        shutil.rmtree(self._file(request).parent, ignore_errors=True)

    def clear_all_but(self, requests: Collection[Mapping[str, Any]]) -> None:
        """Remove what a kill left behind: uploads that no job will ever read, half-built maps."""
        remove_abandoned(self._settings.map_dir)
        kept = {self._file(request).parent for request in requests}
        for folder in uploads_folder(self._settings).glob("*"):
            if folder not in kept:
                shutil.rmtree(folder, ignore_errors=True)

    def as_job(self, request: Mapping[str, Any], **standing: Any) -> MapJob:
        """The job with what only the building of a map has."""
        return MapJob(file_name=self._file(request).name, **standing)

    def _file(self, request: Mapping[str, Any]) -> Path:
        return uploads_folder(self._settings) / str(request["file"])


def uploads_folder(settings: Settings) -> Path:
    """Folder of the extracts that wait to be built."""
    return settings.data_dir.absolute() / UPLOADS
