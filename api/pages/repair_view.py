"""Repairs as the dispatcher compares them: what each option breaks, and what it mends."""

from __future__ import annotations

from dataclasses import dataclass

from dispatch.actions.day import Offer
from dispatch.day.options import Option
from dispatch.edits.words import sentence_of
from dispatch.planning.check import Violation

MORE = 60.0  # seconds, or kg, by which a rule must be broken further to count as new


@dataclass(frozen=True, slots=True)
class Broken:
    """Rules in sentences: broken by the option, broken already without it, kept again by it."""

    new: tuple[str, ...]
    already: tuple[str, ...]
    mended: tuple[str, ...]


def broken_of(offer: Offer) -> dict[str, Broken]:
    """What each option breaks against how the day stands now, by the key of the option."""
    return {one.key: _broken(offer, one) for one in offer.options}


def _broken(offer: Offer, option: Option) -> Broken:
    stood = {_subject(one): one.amount for one in offer.stood}
    new = [one for one in option.violations if _is_new(one, stood)]
    kept = {_subject(one) for one in option.violations}
    gone = {one.visit_id for one in option.choice.gone}
    return Broken(
        new=tuple(sentence_of(one, offer.names) for one in new),
        already=tuple(sentence_of(one, offer.names) for one in option.violations if one not in new),
        mended=tuple(
            sentence_of(one, offer.names)
            for one in offer.stood
            if _subject(one) not in kept and one.subject not in gone  # what leaves is not served
        ),
    )


def _is_new(one: Violation, stood: dict[tuple[str, str], float]) -> bool:
    before = stood.get(_subject(one))
    return before is None or one.amount > before + MORE


def _subject(one: Violation) -> tuple[str, str]:
    """What a rule is broken for, by whomever."""
    return str(one.rule), one.subject
