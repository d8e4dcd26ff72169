"""Numbers as a language writes them: the sign before its decimals and between its thousands.

The signs are those of the Unicode CLDR, by Babel. The source writes 1,234.5, as does a language
that the CLDR does not know. Only what is read by people is written so: inputs, tables to be taken
elsewhere and the API keep the point.
"""

from __future__ import annotations

from functools import cache
from string import Formatter

SOURCE = "en"  # the language in which the code is written


@cache
def signs(language: str) -> dict[int, str]:
    """What takes the place of point and comma in `language`; nothing where they stay."""
    if language == SOURCE:
        return {}
    from babel import Locale, UnknownLocaleError  # takes a while, and most never need it
    from babel.numbers import get_decimal_symbol, get_group_symbol

    try:
        locale = Locale.parse(language)
    except (UnknownLocaleError, ValueError):
        return {}
    return str.maketrans({".": get_decimal_symbol(locale), ",": get_group_symbol(locale)})


@cache
def name_of(language: str) -> str:
    """How a language calls itself, as 'Deutsch'; its code where nobody knows."""
    from babel import Locale, UnknownLocaleError

    try:
        return str(Locale.parse(language).get_display_name() or language)
    except (UnknownLocaleError, ValueError):
        return language


class Said(str):
    """A sentence whose numbers are written as its language does once they are put in."""

    __slots__ = ("language",)
    language: str

    @classmethod
    def of(cls, text: str, language: str) -> str:
        """The sentence in a language; a plain one where point and comma stay."""
        if not signs(language):
            return text
        said = cls(text)
        said.language = language
        return said

    def format(self, *args: object, **values: object) -> str:
        """Fill the places, as `str.format` does."""
        return _Filler(self.language).vformat(str(self), args, values)


class _Filler(Formatter):
    def __init__(self, language: str) -> None:
        self._signs = signs(language)

    def format_field(self, value: object, format_spec: str) -> str:
        text = format(value, format_spec)
        return text.translate(self._signs) if isinstance(value, int | float) else text
