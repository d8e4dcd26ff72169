"""Photos are known by their bytes."""

from __future__ import annotations

import pytest

from dispatch.errors import InvalidValue
from dispatch.records.photos import photo_of, sniff

JPEG = (
    b"\xff\xd8\xff\xe0\0\x10JFIF\0\1\1\0\0\1\0\1\0\0"
    b"\xff\xda\0\x08\1\1\0\0\x3f\0" + b"\0" * 32 + b"\xff\xd9"
)
PNG = b"\x89PNG\r\n\x1a\n" + b"\0" * 60
WEBP = b"RIFF\x24\0\0\0WEBPVP8 " + b"\0" * 60


@pytest.mark.parametrize(
    ("data", "media_type"),
    [
        (JPEG, "image/jpeg"),
        (PNG, "image/png"),
        (WEBP, "image/webp"),
        (b"<svg onload='x()'/>", None),
        (b"GIF89a", None),
        (b"", None),
    ],
)
def test_types_are_told_by_the_first_bytes(data: bytes, media_type: str | None) -> None:
    """A name and a header say whatever the sender likes; an SVG could carry a script."""
    assert sniff(data) == media_type


def test_the_same_bytes_are_the_same_photo() -> None:
    """A phone that sends a photo twice has sent it once."""
    assert photo_of(JPEG, 1) == photo_of(JPEG, 1)
    assert photo_of(JPEG, 1).id != photo_of(PNG, 1).id
    assert photo_of(PNG, 1).file_name.endswith(".png")


def test_what_is_too_large_or_no_photo_is_refused() -> None:
    """64 bytes are above a limit of 50."""
    with pytest.raises(InvalidValue, match="DISPATCH_PHOTO_LIMIT_MB"):
        photo_of(JPEG, 50e-6)
    with pytest.raises(InvalidValue, match="no JPEG"):
        photo_of(b"%PDF-1.7", 1)
