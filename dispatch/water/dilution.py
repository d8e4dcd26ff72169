"""What falls only by replacing water: cyanuric acid, calcium, salt, dissolved solids."""

from __future__ import annotations

from dispatch.errors import InvalidValue
from dispatch.readings import LIMITS, ReadingKind
from dispatch.water.answer import DRAIN_CAUTION, GENERAL_CAUTION, Answer, Input
from dispatch.words import _

ONLY_BY_DILUTION = frozenset(
    {
        ReadingKind.CYANURIC_ACID,
        ReadingKind.CALCIUM_HARDNESS,
        ReadingKind.SALT,
        ReadingKind.TDS,
        ReadingKind.BORATE,
    }
)


def replace_share(now_ppm: float, target_ppm: float, fill_ppm: float = 0.0) -> float:
    """Share of the water to replace at one go: (now - target) / (now - fill).

    Raises
    ------
    InvalidValue
        When the target is above what there is, or the fill water is above the target.
    """
    if not 0 <= fill_ppm < target_ppm <= now_ppm or now_ppm <= 0:
        raise InvalidValue(
            _(
                "Fill water of {fill_ppm:g} ppm cannot bring {now_ppm:g} ppm down to "
                "{target_ppm:g} ppm: give a target between the two."
            ).format(fill_ppm=fill_ppm, now_ppm=now_ppm, target_ppm=target_ppm)
        )
    return (now_ppm - target_ppm) / (now_ppm - fill_ppm)


def water_to_replace(
    kind: ReadingKind,
    now_ppm: float,
    target_ppm: float,
    volume_l: float,
    fill_ppm: float = 0.0,
) -> Answer:
    """How much of the pool to replace, in percent, with the litres in a note.

    Raises
    ------
    InvalidValue
        When `kind` does not fall by dilution only, or the figures do not allow it.
    """
    if kind not in ONLY_BY_DILUTION:
        raise InvalidValue(
            _("{title} does not need draining: treat the water instead.").format(
                title=_(LIMITS[kind].title)
            )
        )
    share = replace_share(now_ppm, target_ppm, fill_ppm)
    return Answer(
        title=_("Water to replace for {title}").format(title=_(LIMITS[kind].title).lower()),
        value=share * 100,
        unit=_("% of the pool"),
        inputs=(
            Input(_("Now"), now_ppm, "ppm"),
            Input(_("Target"), target_ppm, "ppm"),
            Input(_("Fill water"), fill_ppm, "ppm", assumed=fill_ppm == 0),
            Input(_("Volume"), volume_l, "l"),
        ),
        method=_("dilution at one go"),
        source="computed",
        cautions=(GENERAL_CAUTION, DRAIN_CAUTION),
        notes=(
            _(
                "That is about {share:,.0f} l. No product takes it out; several small drains "
                "take more water than one."
            ).format(share=share * volume_l),
        ),
    )
