"""Who reads an answer: the layer that chooses its language, and the words of the page scripts.

A browser says in `Accept-Language` what its person reads; without it, or when no catalogue fits,
the answer is in the company's language (`DISPATCH_LANGUAGE`).
"""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path
from typing import Any

from starlette.datastructures import Headers, MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from dispatch.words import (
    SOURCE,
    gettext,
    known_language,
    ngettext,
    plural_form,
    reader_language,
    reading_in,
)

SCRIPT_WORDS = Path(__file__).parent / "script_words.json"  # made by api.gather_words
PLURALS = range(200)  # rules of plurals repeat after 100; the first hundred may have exceptions


class Languages:
    """The layer outside all others: what they say is said in the reader's language."""

    def __init__(self, app: ASGIApp, usual: str) -> None:
        self.app, self.usual = app, usual

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the call on while its reader is known."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return

        async def send_marked(message: Message) -> None:
            if message["type"] == "http.response.start":
                MutableHeaders(scope=message).add_vary_header("Accept-Language")
            await send(message)

        wanted = Headers(scope=scope).get("accept-language", "")
        with reading_in(accepted(wanted) or self.usual):
            await self.app(scope, receive, send_marked)


def accepted(header: str) -> str | None:
    """The language wanted most of those there are (RFC 9110, section 12.5.4); None without one.

    >>> accepted("fr;q=0.2, en-GB")
    'en'
    """
    wanted = []
    for part in header.split(",")[:20]:
        code, _, weight = part.partition(";")
        try:
            share = float(weight.strip().removeprefix("q=") or 1)
        except ValueError:
            continue
        if share > 0:
            wanted.append((-share, code.strip()))
    known = (known_language(code) for _, code in sorted(wanted, key=lambda one: one[0]))
    return next((one for one in known if one is not None), None)


def script_words() -> dict[str, Any] | None:
    """What the page scripts say in the reader's language; None in the source language.

    `said` has each sentence by its English, a list of forms where a number stands in it;
    `plural` the place of the form for each number below 200.
    """
    language = reader_language()
    return None if language == SOURCE else _script_words(language)


@cache
def _script_words(_language: str) -> dict[str, Any]:
    plural = [plural_form(n) for n in PLURALS]
    numbers = [plural.index(form) if form in plural else 0 for form in range(max(plural) + 1)]
    said: dict[str, str | list[str]] = {}
    for one in json.loads(SCRIPT_WORDS.read_text(encoding="utf-8")):
        if isinstance(one, str):
            said[one] = gettext(one)
        else:
            said[one[0]] = [ngettext(one[0], one[1], n) for n in numbers]
    return {"said": said, "plural": plural}
