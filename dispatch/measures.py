"""Amounts in the units of whoever reads: US customary or metric; values inside stay metric.

A sentence may be made before its reader is known, as the reason of a plan or the flag of a
record. It then keeps its amounts as data, by `kept_amount`, and whoever shows it has `measured`
write them. Who reads is a context variable, as for the language in `dispatch.words`.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar

from dispatch.units import FOOT_M, GALLON_L, MILE_M, POUND_KG, fahrenheit, psi
from dispatch.words import written

CUSTOMARY_COUNTRIES = frozenset({"US"})
# What a reader of US units sees in place of a metric unit.
_CUSTOMARY: dict[str, tuple[str, Callable[[float], float]]] = {
    "kg": ("lb", lambda kg: kg / POUND_KG),
    "l": ("gal", lambda litres: litres / GALLON_L),
    "m": ("ft", lambda metres: metres / FOOT_M),
    "km": ("mi", lambda km: km * 1000 / MILE_M),
    "kPa": ("psi", psi),
    "L/min": ("gpm", lambda litres: litres / GALLON_L),
    "°C": ("°F", fahrenheit),
}
MEASURED = frozenset(_CUSTOMARY)  # units that not every reader reads
_WHOLE_FROM = 10.0  # amounts from here on are read without decimals
_SIDE = "\u2063"  # the invisible separator of Unicode: nobody types it, and nobody sees it
_KEPT = re.compile(f"{_SIDE}(-?[0-9.]+) ([^{_SIDE}]+){_SIDE}")

_customary: ContextVar[bool] = ContextVar("customary", default=False)


@contextmanager
def measuring_in(*, customary: bool) -> Iterator[None]:
    """Let `measured` write everything within in US customary units, or in metric ones."""
    token = _customary.set(customary)
    try:
        yield
    finally:
        _customary.reset(token)


def unit_in(kept: str, *, customary: bool) -> tuple[str, Callable[[float], float]]:
    """The unit in which an amount kept in `kept` is read, and how it becomes so."""
    return _CUSTOMARY.get(kept, (kept, float)) if customary else (kept, float)


def told(value: float, kept: str, *, customary: bool) -> str:
    """An amount as it is read, as '0.8 kg' or '15 lb': a decimal below ten, if it has one.

    Temperatures have it at any size, and ways always, as '12.0 mi'.

    Parameters
    ----------
    value, kept
        The amount and its metric unit, one of `MEASURED`.
    customary
        Whether in US customary units.
    """
    unit, shown = unit_in(kept, customary=customary)
    figure = round(shown(value), 1)
    is_whole = figure.is_integer() or (figure >= _WHOLE_FROM and kept != "°C")
    decimals = 0 if is_whole and kept != "km" else 1
    return written(f"{shown(value):,.{decimals}f} {unit}")


def kept_amount(value: float, kept: str) -> str:
    """An amount within a sentence, to be written by `measured` when the sentence is read.

    Without that it still reads well: only an invisible sign stands on either side.
    """
    return f"{_SIDE}{round(value, 3):.12g} {kept}{_SIDE}"


def measured(text: str) -> str:
    """A sentence with its amounts in the units and the language of whoever reads now."""
    if _SIDE not in text:
        return text
    customary = _customary.get()
    return _KEPT.sub(lambda found: told(float(found[1]), found[2], customary=customary), text)
