"""Sentences in the language of whoever reads them: GNU gettext, and who reads now.

English is the source: the text in the code is the key of the catalogue and what is shown where
there is no other. A catalogue of another language is `LANGUAGE/LC_MESSAGES/pool_dispatch.mo` in
this folder. Who reads is a context variable that the edge sets for the length of a call; this
room knows neither calls nor people.

`_` and `counted` say a sentence in the reader's language at once, and write the numbers put into
it as that language does; `written` does so for a number that stands alone. `N_` marks one that is
made before anybody reads, as in a table of a module; `_` says it later. `worded` says a value of an
enumeration, whose words the catalogue has as well.
"""

from __future__ import annotations

import gettext as gnu
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from functools import cache
from pathlib import Path

from dispatch.words.figures import SOURCE, Said, name_of, signs

__all__ = [
    "DOMAIN",
    "FOLDER",
    "N_",
    "SOURCE",
    "_",
    "catalogues",
    "counted",
    "either",
    "gettext",
    "joined",
    "known_language",
    "languages_by_code",
    "ngettext",
    "plural_form",
    "reader_language",
    "reading_in",
    "worded",
    "written",
]

DOMAIN = "pool_dispatch"
FOLDER = Path(__file__).parent

_reader: ContextVar[tuple[str, gnu.NullTranslations]] = ContextVar(
    "reader", default=(SOURCE, gnu.NullTranslations())
)


@cache
def catalogues() -> Mapping[str, gnu.NullTranslations]:
    """Every language there is by its code, as 'de' or 'pt_BR'; the source has an empty catalogue.

    Read once in the life of a process.
    """
    found: dict[str, gnu.NullTranslations] = {SOURCE: gnu.NullTranslations()}
    for file in sorted(FOLDER.glob(f"*/LC_MESSAGES/{DOMAIN}.mo")):
        with file.open("rb") as stream:
            found[file.parent.parent.name] = gnu.GNUTranslations(stream)
    return found


def known_language(code: str) -> str | None:
    """The language that serves a reader of `code`, as 'de' for 'de-AT'; None when none does."""
    wanted = code.replace("-", "_").lower()
    by_name = {name.lower(): name for name in catalogues()}
    return by_name.get(wanted) or by_name.get(wanted.partition("_")[0])


@contextmanager
def reading_in(code: str) -> Iterator[str]:
    """Let everything within be said in the language of `code`, or in the source without it."""
    language = known_language(code) or SOURCE
    token = _reader.set((language, catalogues()[language]))
    try:
        yield language
    finally:
        _reader.reset(token)


def reader_language() -> str:
    """The language of whoever reads now, as HTML writes it: 'en', 'pt-BR'."""
    return _reader.get()[0].replace("_", "-")


def languages_by_code() -> dict[str, str]:
    """Every language there is, by its code, as it calls itself."""
    return {code: name_of(code) for code in catalogues()}


def gettext(text: str) -> str:
    """Say `text` in the reader's language; an empty one stays empty."""
    language, catalogue = _reader.get()
    return Said.of(catalogue.gettext(text), language) if text else text


def ngettext(one: str, many: str, number: int) -> str:
    """Say `one` or `many`, or another form that the reader's language has for `number`."""
    language, catalogue = _reader.get()
    return Said.of(catalogue.ngettext(one, many, number), language)


def written(figure: str) -> str:
    """A number as the reader's language writes it, of one in the way of the source, as '1,234.5'.

    It may have a unit behind it that holds neither point nor comma.
    """
    return figure.translate(signs(_reader.get()[0]))


def plural_form(number: int) -> int:
    """Which of its forms the reader's language takes for `number`, from 0."""
    form_of = getattr(_reader.get()[1], "plural", lambda n: int(n != 1))  # set by a catalogue
    return int(form_of(number))


def counted(one: str, many: str, number: int, **values: object) -> str:
    """Say a sentence with a number in it: '{n}' is `number`, with separated thousands.

    >>> counted("{n} visit", "{n} visits", 1200)
    '1,200 visits'
    """
    return ngettext(one, many, number).format(n=written(f"{number:,}"), **values)


def joined(texts: Sequence[str]) -> str:
    """A list in words, as 'Monday and Friday' and 'Monday and Tuesday and Friday'."""
    return gettext(" and ").join(texts)


def either(texts: Sequence[str]) -> str:
    """A choice in words, as 'Monday or Tuesday'."""
    return gettext(" or ").join(texts)


def N_(text: str) -> str:  # noqa: N802 - the name that gettext's tools know
    """Mark `text` for the catalogue; it is said later."""
    return text


def worded(value: str) -> str:
    """Say a value of an enumeration in words: 'every-2-weeks' as 'every 2 weeks'."""
    return gettext(value.replace("-", " "))


_ = gettext
