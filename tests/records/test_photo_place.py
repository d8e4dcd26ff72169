"""What a camera writes beside the picture does not come into the company's files."""

from __future__ import annotations

from io import BytesIO

import pytest
from PIL import Image

from dispatch.errors import InvalidValue
from dispatch.records.photo_place import without_place
from tests.records.test_photos import JPEG

ORIENTATION, MAKER, GPS = 0x0112, 0x010F, 0x8825
TURNED = 6  # lay on its right side when it was taken
TYPES = {"JPEG": "image/jpeg", "PNG": "image/png", "WEBP": "image/webp"}


def taken(kind: str, turned: int, **more: object) -> bytes:
    """A picture with place, maker and a remark, as a phone's camera writes them."""
    exif = Image.Exif()
    exif[ORIENTATION], exif[MAKER] = turned, "Invented Camera"
    exif.get_ifd(GPS)[1] = "N"
    exif.get_ifd(GPS)[2] = (37.0, 46.0, 29.0)
    picture = Image.radial_gradient("L").convert("RGB").resize((60, 40))
    file = BytesIO()
    picture.save(file, kind, exif=exif, xmp=b"<x:xmpmeta>Invented Camera</x:xmpmeta>", **more)
    return file.getvalue()


@pytest.mark.parametrize("kind", TYPES)
@pytest.mark.parametrize("turned", [1, TURNED])
def test_place_and_camera_go_and_the_picture_stays(kind: str, turned: int) -> None:
    """Where a customer lives is not written into each picture; and it stands upright as before."""
    sent = taken(kind, turned)
    assert b"Invented Camera" in sent
    kept = without_place(sent, TYPES[kind])
    assert b"Invented Camera" not in kept
    before, after = Image.open(BytesIO(sent)), Image.open(BytesIO(kept))
    assert dict(after.getexif()) == ({ORIENTATION: TURNED} if turned == TURNED else {})
    assert after.tobytes() == before.tobytes()
    assert without_place(kept, TYPES[kind]) == kept


def test_a_progressive_picture_with_its_colours_stays_whole() -> None:
    """It has several scans, and what says how its colours are meant is no camera's remark."""
    sent = taken("JPEG", 1, progressive=True, icc_profile=b"colours" * 20_000)
    kept = Image.open(BytesIO(without_place(sent, "image/jpeg")))
    assert kept.info["icc_profile"] == b"colours" * 20_000
    assert kept.tobytes() == Image.open(BytesIO(sent)).tobytes()


def test_what_hangs_behind_the_picture_goes() -> None:
    """Some phones put a film behind it, with a place of its own."""
    assert without_place(JPEG + b"film of 37.77 N", "image/jpeg") == JPEG


def test_a_picture_that_was_cut_off_on_the_way_is_kept_as_far_as_it_came() -> None:
    """Half a gauge is better than none."""
    whole = without_place(taken("JPEG", TURNED), "image/jpeg")
    assert without_place(taken("JPEG", TURNED)[:-20], "image/jpeg") == whole[:-20]


@pytest.mark.parametrize(
    ("data", "media_type"),
    [
        (b"\xff\xd8\xff\xe1\xff", "image/jpeg"),
        (b"\xff\xd8\xff\xe0" + b"\0" * 60, "image/jpeg"),
        (b"\x89PNG\r\n\x1a\n\0\0", "image/png"),
        (b"RIFF\0\0\0\0WEBPVP", "image/webp"),
    ],
)
def test_a_file_whose_parts_cannot_be_told_apart_is_refused(data: bytes, media_type: str) -> None:
    """Nobody could say whether it holds a place."""
    with pytest.raises(InvalidValue, match="damaged"):
        without_place(data, media_type)
