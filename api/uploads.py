"""Taking in an uploaded extract: from the connection straight into a file, whatever its size.

The form parser of the web framework would keep the whole upload in the machine's folder of
temporary files before anybody could say that it is too large, and then copy it.
"""

from __future__ import annotations

import re
import shutil
import uuid
from pathlib import Path, PurePosixPath
from typing import BinaryIO

from fastapi import HTTPException, Request
from fastapi.concurrency import run_in_threadpool
from python_multipart.exceptions import MultipartParseError
from python_multipart.multipart import MultipartParser, parse_options_header

from api.jobs.map_building import uploads_folder
from dispatch.errors import MapError, UnreadableMap
from dispatch.settings import Settings
from dispatch.words import _

FIELD = "file"  # the field of the form that holds the extract
ENDINGS = (".osm.pbf", ".osm.gz", ".osm.bz2", ".osm")
# Names that Windows keeps for devices, whatever their ending (its manual, "Naming Files").
DEVICES = frozenset(
    {"CON", "PRN", "AUX", "NUL", *(f"{name}{n}" for name in ("COM", "LPT") for n in range(10))}
)
LONGEST_NAME = 60  # characters before the ending; a character has up to 4 bytes, a name 255


class Upload:
    """The file of a multipart form (RFC 7578), written as its pieces arrive.

    What comes after a fault is thrown away: a browser reads the answer only when it has sent all.
    """

    def __init__(self, boundary: bytes, folder: Path, most_bytes: int) -> None:
        self.file: Path | None = None
        self.fault: Exception | None = None
        self._folder = folder
        self._left = most_bytes
        self._most_bytes = most_bytes
        self._is_whole = False
        self._name, self._value = b"", b""
        self._headers: dict[bytes, bytes] = {}
        self._out: BinaryIO | None = None
        self._parser = MultipartParser(
            boundary,
            {
                "on_part_begin": self._headers.clear,
                "on_header_field": self._on_name,
                "on_header_value": self._on_value,
                "on_header_end": self._on_header,
                "on_headers_finished": self._on_headers,
                "on_part_data": self._on_data,
                "on_part_end": self.close,
                "on_end": self._on_end,
            },
        )

    def write(self, piece: bytes) -> None:
        """Take the next piece of the call's body."""
        if self.fault is not None:
            return
        try:
            self._parser.write(piece)
        except MultipartParseError:
            self.fault = _unusable(_("The form is not written as multipart/form-data (RFC 7578)."))
        except OSError as error:
            self.fault = MapError(
                _(
                    "The upload cannot be kept in {parent}: {strerror}. Free some space, or "
                    "choose another data folder with DISPATCH_DATA_DIR."
                ).format(parent=self._folder.parent, strerror=error.strerror)
            )
        except (HTTPException, UnreadableMap) as error:
            self.fault = error

    def finish(self) -> Path:
        """The whole file; raises the fault when there was one."""
        if self.fault is not None:
            raise self.fault
        if self.file is None:
            raise _unusable(_("There is no file in the form: choose an OpenStreetMap extract."))
        if not self._is_whole:
            raise _unusable(_("The upload broke off: send the extract again."))
        return self.file

    def close(self) -> None:
        """Write no more."""
        if self._out is not None:
            self._out.close()
            self._out = None

    def _on_name(self, data: bytes, start: int, end: int) -> None:
        self._name += data[start:end]  # names and values may come in pieces

    def _on_value(self, data: bytes, start: int, end: int) -> None:
        self._value += data[start:end]

    def _on_header(self) -> None:
        self._headers[self._name.lower()] = self._value
        self._name, self._value = b"", b""

    def _on_headers(self) -> None:
        _, options = parse_options_header(self._headers.get(b"content-disposition", b""))
        if options.get(b"name") != FIELD.encode() or self.file is not None:
            return
        name = safe_name(options.get(b"filename", b"").decode("utf-8", "replace"))
        self._folder.mkdir(parents=True)
        self.file = self._folder / name
        self._out = self.file.open("wb")

    def _on_data(self, data: bytes, start: int, end: int) -> None:
        if self._out is None:
            return
        self._left -= end - start
        if self._left < 0:
            raise too_large(self._most_bytes)
        self._out.write(data[start:end])

    def _on_end(self) -> None:
        self._is_whole = True


async def receive_extract(request: Request, settings: Settings) -> Path:
    """The uploaded extract, in a folder of its own below the data folder.

    Raises
    ------
    HTTPException
        413 when it is larger than the setting allows, 422 when there is none or it broke off.
    UnreadableMap
        When its name does not end as an extract's does.
    MapError
        When it cannot be kept.
    """
    _rest, options = parse_options_header(request.headers.get("content-type", ""))
    boundary = options.get(b"boundary")
    if not boundary:
        raise _unusable(_("An extract is sent as a form of multipart/form-data (RFC 7578)."))
    folder = uploads_folder(settings) / uuid.uuid4().hex
    upload = Upload(boundary, folder, round(settings.map_upload_limit_gb * 1e9))
    try:
        async for piece in request.stream():
            await run_in_threadpool(upload.write, piece)
        upload.close()
        return upload.finish()
    except BaseException:  # also when the browser goes away
        upload.close()
        await run_in_threadpool(shutil.rmtree, folder, ignore_errors=True)
        raise


def safe_name(name: str) -> str:
    """A file name without folders and without anything but letters, digits, '.', '-' and '_'.

    Raises
    ------
    UnreadableMap
        When it does not end as the name of an extract.
    """
    bare = PurePosixPath(name.replace("\\", "/")).name
    ending = next((one for one in ENDINGS if bare.lower().endswith(one)), None)
    if ending is None:
        raise UnreadableMap(
            _(
                "'{bare}' does not end like an OpenStreetMap extract: choose a file that ends "
                "in {ENDINGS}."
            ).format(bare=bare[:LONGEST_NAME], ENDINGS=", ".join(ENDINGS))
        )
    stem = re.sub(r"[^\w.-]+", "-", bare[: -len(ending)]).strip(".-")
    if stem.partition(".")[0].upper() in DEVICES:
        stem = f"extract-{stem}"
    return f"{stem[:LONGEST_NAME] or 'extract'}{ending}"


def too_large(most_bytes: int) -> HTTPException:
    """The refusal of an upload beyond the limit."""
    return HTTPException(
        413,
        _(
            "The extract is larger than {most_bytes:g} GB: cut it to the area that you serve, "
            "or raise DISPATCH_MAP_UPLOAD_LIMIT_GB."
        ).format(most_bytes=most_bytes / 1000000000.0),
    )


def _unusable(detail: str) -> HTTPException:
    return HTTPException(422, detail)
