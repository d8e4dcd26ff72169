"""A made-up language: every text of the catalogue in brackets and accents, to find what is not."""

from __future__ import annotations

import gettext as gnu
import re
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from html.parser import HTMLParser
from io import BytesIO

from babel.messages.catalog import Catalog
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po

from api import languages
from api.gather_words import TEMPLATE
from dispatch import words

CODE = "xx"
KEPT = re.compile(r"%\(\w+\)s|%%|\{[^{}]*\}|\{\{|\}\}|<[^>]*>|&\w+;")  # not for translators
ACCENTS = str.maketrans("aeiouAEIOU", "áéíóúÁÉÍÓÚ")
SHOWN_ATTRIBUTES = ("aria-label", "title", "placeholder", "alt", "data-words", "data-running")
UNSEEN = {"script", "style", "code", "pre"}  # names and what is typed, the same everywhere


def forms(texts: object) -> tuple[str, ...]:
    """The forms of a text of a catalogue; none of its head, which has no words."""
    given = texts if isinstance(texts, list | tuple) else (texts,)
    return tuple(form for form in given if isinstance(form, str) and form)


def pseudo(text: str) -> str:
    """The text in the made-up language; placeholders and tags stay as they are."""
    parts = re.split(f"({KEPT.pattern})", text)
    said = (part if n % 2 else part.translate(ACCENTS) for n, part in enumerate(parts))
    return f"⟦{''.join(said)}⟧"


def template() -> Catalog:
    """The committed template catalogue."""
    return read_po(BytesIO(TEMPLATE.read_bytes()))


@cache
def pseudo_translations() -> gnu.GNUTranslations:
    """The whole catalogue in the made-up language."""
    catalog = Catalog(locale="en")
    for one in template():
        said = tuple(map(pseudo, forms(one.id)))
        if said:
            catalog.add(one.id, said if len(said) > 1 else said[0])
    stream = BytesIO()
    write_mo(stream, catalog)
    stream.seek(0)
    return gnu.GNUTranslations(stream)


@contextmanager
def pseudo_language() -> Iterator[str]:
    """Have the made-up language among the catalogues, by the code it yields."""
    with a_language(CODE, pseudo_translations()):
        yield CODE


@contextmanager
def a_language(code: str, translations: gnu.NullTranslations) -> Iterator[None]:
    """Have one more language; without words it is English with the figures of its `code`."""
    usual = words.catalogues
    known = {**usual(), code: translations}
    words.catalogues = lambda: known  # type: ignore[assignment]
    try:
        yield
    finally:
        words.catalogues = usual
        languages._script_words.cache_clear()


class Seen(HTMLParser):
    """What a reader sees of a page outside brackets; `unbalanced` where a bracket is missing."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.outside: list[str] = []
        self.depth, self._unseen, self._is_name = 0, 0, False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Look at what is said in attributes, and whether a name follows that is not translated."""
        self._unseen += tag in UNSEEN
        self._is_name = ("translate", "no") in attrs
        for name, value in attrs:
            if name in SHOWN_ATTRIBUTES and value and not self._unseen:
                self.outside.append(outside_brackets(value)[0])

    def handle_endtag(self, tag: str) -> None:
        """Come out of a script."""
        self._unseen -= tag in UNSEEN
        self._is_name = False

    def handle_data(self, data: str) -> None:
        """Keep what stands outside all brackets and is not the same in every language."""
        if not self._unseen and not self._is_name:
            left, self.depth = outside_brackets(data, self.depth)
            self.outside.append(left)


def outside_brackets(text: str, depth: int = 0) -> tuple[str, int]:
    """What stands outside brackets, and how many are open at the end."""
    kept = []
    for letter in text:
        depth += (letter == "⟦") - (letter == "⟧")
        if depth == 0 and letter != "⟧":
            kept.append(letter)
    return "".join(kept), depth
