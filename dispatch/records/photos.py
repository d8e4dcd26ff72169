"""Photos of visits: known by their bytes, not by what a phone says of them."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass

from dispatch.errors import InvalidValue
from dispatch.words import _

JPEG, PNG, WEBP = "image/jpeg", "image/png", "image/webp"
ENDINGS = {JPEG: "jpg", PNG: "png", WEBP: "webp"}


@dataclass(frozen=True, slots=True)
class Photo:
    """A photo that was received; `id` is the SHA-256 of its bytes as sent: sent twice it is one."""

    id: str
    media_type: str
    size_b: int

    @property
    def file_name(self) -> str:
        """Name of its file, as '3f...a1.jpg'."""
        return f"{self.id}.{ENDINGS[self.media_type]}"


def photo_of(data: bytes, most_mb: float) -> Photo:
    """The photo that `data` is.

    Parameters
    ----------
    data
        All bytes of the file.
    most_mb
        Size above which it is refused, MB of 10^6 bytes.

    Raises
    ------
    InvalidValue
        When it is empty, too large or no JPEG, PNG or WebP.
    """
    if len(data) > most_mb * 1e6:
        raise InvalidValue(
            _(
                "The photo has {number:.1f} MB: send at most {most_mb:g} MB, or raise "
                "DISPATCH_PHOTO_LIMIT_MB."
            ).format(number=len(data) / 1000000.0, most_mb=most_mb)
        )
    media_type = sniff(data)
    if media_type is None:
        raise InvalidValue(
            _("The file is no JPEG, PNG or WebP photo: take it again, or convert it.")
        )
    return Photo(hashlib.sha256(data).hexdigest(), media_type, len(data))


def sniff(data: bytes) -> str | None:
    """Media type by the first bytes (WHATWG MIME Sniffing, section 6.1); None for anything else."""
    if data.startswith(b"\xff\xd8\xff"):
        return JPEG
    if data.startswith(b"\x89PNG\r\n\x1a\n"):
        return PNG
    if data[:4] == b"RIFF" and data[8:14] == b"WEBPVP":
        return WEBP
    return None
