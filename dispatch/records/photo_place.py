"""Photos without what their camera wrote beside the picture: the place, the device, the moment.

Cameras write it into parts of the file that no picture needs (Exif 2.32, XMP, IPTC), and some put
a film or a second picture behind the first. Those parts are left out, and nothing is drawn anew.
Of the Exif part only how the picture is to be turned stays.
"""

from __future__ import annotations

import struct
from collections.abc import Callable, Iterator, Mapping

from dispatch.errors import InvalidValue
from dispatch.words import _

EXIF = b"Exif\0\0"
ORIENTATION = 0x0112  # Exif 2.32, 4.6.4
TURNED = range(2, 9)  # 1 is upright
# JPEG (ITU-T T.81, table B.1): bytes behind 0xFF
SOI, EOI, SOS, COM, APP0, APP1, APP2, APP14, APP15 = (
    0xD8, 0xD9, 0xDA, 0xFE, 0xE0, 0xE1, 0xE2, 0xEE, 0xEF,
)  # fmt: skip
ALONE = frozenset({0x01, *range(0xD0, 0xD8)})  # markers without a length: TEM, RST0 to RST7
COLOURS = b"ICC_PROFILE\0"
PNG_SIGNATURE = b"\x89PNG\r\n\x1a\n"
# PNG, third edition, 11.3: what says how colours and pixels are meant; other text is left out
PNG_KEPT = frozenset(
    {
        *(b"IHDR", b"PLTE", b"IDAT", b"IEND", b"tRNS", b"cHRM", b"gAMA", b"iCCP", b"sBIT"),
        *(b"sRGB", b"cICP", b"bKGD", b"hIST", b"pHYs", b"sPLT", b"acTL", b"fcTL", b"fdAT"),
    }
)
WEBP_KEPT = frozenset({b"VP8 ", b"VP8L", b"VP8X", b"ALPH", b"ANIM", b"ANMF", b"ICCP"})
WEBP_HAS_EXIF, WEBP_HAS_XMP = 0x08, 0x04  # flags of VP8X (RFC 9649, 2.7)


def without_place(data: bytes, media_type: str) -> bytes:
    """The photo without place, device and moment; the very same bytes where it had none.

    Raises
    ------
    InvalidValue
        When its parts cannot be told from each other, so that nobody knows what it holds.
    """
    writers: Mapping[str, Callable[[bytes], bytes]] = {
        "image/jpeg": _jpeg,
        "image/png": _png,
        "image/webp": _webp,
    }
    try:
        return writers[media_type](data)
    except (struct.error, IndexError, ValueError) as error:
        raise InvalidValue(
            _("The photo is damaged and cannot be read: take it again, or send the original.")
        ) from error


def _jpeg(data: bytes) -> bytes:
    kept = []
    turned = 1
    for marker, part in _segments(data):
        if marker == APP1 and part[4:].startswith(EXIF):
            turned = _orientation(part[4 + len(EXIF) :])
        if _is_of_the_picture(marker, part):
            kept.append(part)
    if turned in TURNED:
        body = EXIF + _only_orientation(turned)
        place = 1 if len(kept) > 0 and kept[0][1:2] == bytes([APP0]) else 0  # JFIF comes first
        kept.insert(place, b"\xff\xe1" + struct.pack(">H", len(body) + 2) + body)
    return b"\xff\xd8" + b"".join(kept)


def _is_of_the_picture(marker: int, part: bytes) -> bool:
    if marker == APP2:
        return part[4:].startswith(COLOURS)
    is_extra = APP0 < marker <= APP15 and marker != APP14  # APP14 says how colours are coded
    return not is_extra and marker != COM


def _segments(data: bytes) -> Iterator[tuple[int, bytes]]:
    """Parts of the first picture of a JPEG, each with its marker; those of a scan with its data."""
    at = 2
    while at < len(data):
        if data[at] != 0xFF:
            raise ValueError(at)
        while data[at + 1] == 0xFF:  # fill bytes
            at += 1
        marker = data[at + 1]
        if marker == EOI:
            yield marker, data[at : at + 2]
            return
        end = at + 2
        if marker not in ALONE:
            (length,) = struct.unpack_from(">H", data, end)
            end += length
            if length < 2 or end > len(data):
                raise ValueError(at)
        if marker == SOS:
            end = _end_of_scan(data, end)
        yield marker, data[at:end]
        at = end


def _end_of_scan(data: bytes, at: int) -> int:
    """Where the next marker stands behind the data of a scan; the end where it was cut off."""
    while (at := data.find(b"\xff", at)) >= 0 and at + 1 < len(data):
        following = data[at + 1]
        if following not in (0x00, 0xFF) and following not in ALONE:
            return at
        at += 1 if following == 0xFF else 2
    return len(data)


def _png(data: bytes) -> bytes:
    kept = [PNG_SIGNATURE]
    at = len(PNG_SIGNATURE)
    while at < len(data):
        length, name = struct.unpack_from(">I4s", data, at)
        part = data[at : at + 12 + length]
        if len(part) < 12 + length and name != b"IDAT":
            raise ValueError(at)
        if name in PNG_KEPT:
            kept.append(part)
        elif name == b"eXIf" and (turned := _orientation(part[8:-4])) in TURNED:
            kept.append(_png_chunk(b"eXIf", _only_orientation(turned)))
        if name == b"IEND":
            break
        at += 12 + length
    return b"".join(kept)


def _png_chunk(name: bytes, body: bytes) -> bytes:
    from zlib import crc32

    return struct.pack(">I", len(body)) + name + body + struct.pack(">I", crc32(name + body))


def _webp(data: bytes) -> bytes:
    (size,) = struct.unpack_from("<I", data, 4)
    end = min(len(data), 8 + size)
    kept: list[bytes] = []
    turned, at = 1, 12
    while at + 8 <= end:
        name, length = struct.unpack_from("<4sI", data, at)
        part = data[at : min(at + 8 + length + length % 2, end)]
        if name == b"EXIF":
            turned = _orientation(part[8:].removeprefix(EXIF))
        elif name in WEBP_KEPT:
            kept.append(part)
        at += 8 + length + length % 2
    if not kept:
        raise ValueError(at)
    if kept[0].startswith(b"VP8X"):
        flags = kept[0][8] & ~(WEBP_HAS_EXIF | WEBP_HAS_XMP)
        if turned in TURNED:
            body = _only_orientation(turned)
            kept.append(b"EXIF" + struct.pack("<I", len(body)) + body)
            flags |= WEBP_HAS_EXIF
        kept[0] = kept[0][:8] + bytes([flags]) + kept[0][9:]
    whole = b"".join(kept)
    return b"RIFF" + struct.pack("<I", 4 + len(whole)) + b"WEBP" + whole


def _orientation(tiff: bytes) -> int:
    """How a picture is to be turned by its Exif part; 1, upright, where that cannot be read."""
    order = {b"II*\0": "<", b"MM\0*": ">"}.get(tiff[:4])
    if order is None:
        return 1
    try:
        (first,) = struct.unpack_from(order + "I", tiff, 4)
        (count,) = struct.unpack_from(order + "H", tiff, first)
        for n in range(count):
            tag, kind, _values, value = struct.unpack_from(order + "HHIH", tiff, first + 2 + 12 * n)
            if (tag, kind) == (ORIENTATION, 3):  # a SHORT
                return int(value)
    except struct.error:
        pass
    return 1


def _only_orientation(turned: int) -> bytes:
    """An Exif part (TIFF 6.0, one directory of one entry) that says how to turn the picture."""
    entry = struct.pack(">HHIHH", ORIENTATION, 3, 1, turned, 0)
    return b"MM\0*" + struct.pack(">IH", 8, 1) + entry + struct.pack(">I", 0)
