"""Texts as other programs can read them."""

from __future__ import annotations

import re

# What XML 1.0 does not have (section 2.2), nor calendars (RFC 5545, section 3.1), nor any other
# format of ours.
NOT_TEXT = re.compile("[^\t\n\r\x20-\x7e\x80-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def readable(text: str) -> str:
    """The text with a space for each character that steers a machine and stands for nothing.

    Old programs part the lines of a cell by such characters; a workbook, a track or a calendar
    that held one could be opened by nobody.
    """
    return NOT_TEXT.sub(" ", text)
