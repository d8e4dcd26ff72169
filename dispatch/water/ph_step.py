"""Acid or soda ash for a step of pH: an estimate, to be added by halves.

pH does not move in a straight line with acid; it depends on alkalinity, cyanurate and borate.
The estimate balances carbonate, cyanurate and borate in water that gives off no carbon dioxide
meanwhile (closed). Real water does, and charts differ by a factor of two (one gives 12 fl oz for
10,000 gal from 7.8 to 7.6, the balance 5.1 at an alkalinity of 100 ppm). So: half of it first,
circulate, test again.
"""

from __future__ import annotations

from dataclasses import dataclass

from dispatch.errors import InvalidValue
from dispatch.water.alkalinity import (
    BORATE_PK,
    BORON_MOLAR_G,
    CACO3_EQUIVALENT_G,
    CYANURIC_MOLAR_G,
    CYANURIC_PK,
)
from dispatch.water.amounts import Amount, bag_amount, jug_amount
from dispatch.water.answer import GENERAL_CAUTION, Answer, Input
from dispatch.water.products import FACTS, Product, pure_kg_per_litre
from dispatch.words import N_, _

CARBONIC_PK1 = 6.32  # in pool water at about 26 °C (calc)
CARBONIC_PK2 = 10.2  # (calc)
HCL_MOLAR_G = 36.461  # g/mol
SODA_ASH_MOLAR_G = 105.99  # g/mol
METHOD = N_("closed balance of carbonate and cyanurate; first half")
MOST_ACID = 1 / 40_000  # share of the pool's volume at a time: 1 quart in 10,000 gal (c)
LOW_PH, HIGH_PH = 6.5, 8.6  # beyond them the balance is not trusted; common practice


@dataclass(frozen=True, slots=True)
class Buffers:
    """What holds a pH: concentrations in ppm (alkalinity as CaCO3, borate as boron)."""

    total_alkalinity_ppm: float
    cya_ppm: float = 0.0
    borate_ppm: float = 0.0

    def __post_init__(self) -> None:
        if self.total_alkalinity_ppm <= 0 or min(self.cya_ppm, self.borate_ppm) < 0:
            raise InvalidValue(
                _(
                    "Water with an alkalinity of {total_alkalinity_ppm:g} ppm has nothing that "
                    "holds its pH: raise the alkalinity first, or test again."
                ).format(total_alkalinity_ppm=self.total_alkalinity_ppm)
            )

    def other_meq(self, ph: float) -> float:
        """Alkalinity of cyanurate and borate at `ph`, milliequivalents per litre."""
        cyanurate = self.cya_ppm / CYANURIC_MOLAR_G / (1 + 10 ** (CYANURIC_PK - ph))
        borate = self.borate_ppm / BORON_MOLAR_G / (1 + 10 ** (BORATE_PK - ph))
        return cyanurate + borate

    def carbon_mmol(self, ph: float) -> float:
        """Dissolved carbonate of all forms, mmol/L, from the alkalinity as tested at `ph`.

        Raises
        ------
        InvalidValue
            When cyanurate and borate make up the whole alkalinity.
        """
        carbonate = self.total_alkalinity_ppm / CACO3_EQUIVALENT_G - self.other_meq(ph)
        if carbonate <= 0:
            raise InvalidValue(
                _(
                    "Cyanuric acid and borate make up the whole alkalinity, so the step cannot "
                    "be estimated: test again, or raise the alkalinity first."
                )
            )
        return carbonate / charge(ph)


def charge(ph: float) -> float:
    """Equivalents of alkalinity in one mole of dissolved carbonate at `ph`."""
    acid, base = 10 ** (CARBONIC_PK1 - ph), 10 ** (ph - CARBONIC_PK2)
    return (1 + 2 * base) / (acid + 1 + base)


def acid_meq(buffers: Buffers, ph: float, target: float) -> float:
    """Acid that brings `ph` down to `target`, milliequivalents per litre."""
    carbon = buffers.carbon_mmol(ph)
    carbonate = carbon * (charge(ph) - charge(target))
    return carbonate + buffers.other_meq(ph) - buffers.other_meq(target)


def soda_ash_mmol(buffers: Buffers, ph: float, target: float) -> float:
    """Soda ash that brings `ph` up to `target`, mmol/L; it adds carbonate as well as alkalinity.

    x moles give 2x of alkalinity and x of carbonate: alkalinity + 2x = (carbon + x) charge +
    others, solved for x.
    """
    carbon = buffers.carbon_mmol(ph)
    need = carbon * (charge(target) - charge(ph)) + buffers.other_meq(target)
    return (need - buffers.other_meq(ph)) / (2 - charge(target))


def ph_step(
    buffers: Buffers,
    ph: float,
    target: float,
    volume_l: float,
    strength: float | None = None,
    *,
    customary: bool = True,
) -> Answer:
    """The first half of what the balance gives for a step of pH, and the whole in a note.

    Parameters
    ----------
    buffers
        Alkalinity, cyanurate and borate.
    ph, target
        pH now and wanted; acid where the target is lower, soda ash where it is higher.
    volume_l
        Volume of the pool, litres.
    strength
        Of the acid, percent by mass; 31.45 when None. Soda ash is taken as pure.

    Raises
    ------
    InvalidValue
        When a pH is outside 6.5 to 8.6, the two are equal, or there is no volume.
    """
    if not (LOW_PH <= ph <= HIGH_PH and LOW_PH <= target <= HIGH_PH) or ph == target:
        raise InvalidValue(
            _(
                "A step of pH from {ph:g} to {target:g} cannot be estimated: between "
                "{low_ph:g} and {high_ph:g} only; outside, use an acid or base demand test."
            ).format(ph=ph, target=target, low_ph=LOW_PH, high_ph=HIGH_PH)
        )
    if volume_l <= 0:
        raise InvalidValue(_("Without the volume of the pool there is no dose: give its litres."))
    lower = target < ph
    product = Product.MURIATIC_ACID if lower else Product.SODA_ASH
    used = FACTS[product].strength if strength is None else strength
    step = (buffers, ph, target)
    whole, half = (
        jug_amount(_acid_l(step, volume_l * part, used), customary=customary)
        if lower
        else _soda_ash(step, volume_l * part, customary=customary)
        for part in (1, 0.5)
    )
    return Answer(
        title=_("{title} for pH, the first half").format(title=_(FACTS[product].title)),
        value=half.value,
        unit=half.unit,
        inputs=(
            *_inputs(buffers, ph, target, volume_l),
            Input(_("Strength"), used, "%", assumed=strength is None),
        ),
        method=METHOD,
        source=_("computed from dissociation constants"),
        cautions=(GENERAL_CAUTION, *FACTS[product].cautions),
        notes=(
            _(
                "The estimate for the whole step is {text}; it is not exact. Add the half, "
                "circulate, test again, then decide on the rest."
            ).format(text=whole.text),
            *(_too_much_at_once(step, volume_l, used, customary=customary) if lower else ()),
        ),
    )


def _acid_l(step: tuple[Buffers, float, float], volume_l: float, strength: float) -> float:
    pure_kg = acid_meq(*step) * HCL_MOLAR_G * volume_l * 1e-6  # meq/l * g/mol * l = mg
    facts = FACTS[Product.MURIATIC_ACID]
    return pure_kg / pure_kg_per_litre(facts, strength)


def _too_much_at_once(
    step: tuple[Buffers, float, float], volume_l: float, strength: float, *, customary: bool
) -> tuple[str, ...]:
    """A sentence where even the half is more acid than such a pool is given at a time."""
    if _acid_l(step, volume_l / 2, strength) <= volume_l * MOST_ACID:
        return ()
    most = jug_amount(volume_l * MOST_ACID, customary=customary)
    return (
        _(
            "The half is not for one time either: at most {most} in this pool (common practice), "
            "then circulate and test again."
        ).format(most=most.text),
    )


def _soda_ash(step: tuple[Buffers, float, float], volume_l: float, *, customary: bool) -> Amount:
    mass_kg = soda_ash_mmol(*step) * SODA_ASH_MOLAR_G * volume_l * 1e-6  # mmol/l * g/mol * l = mg
    return bag_amount(mass_kg, customary=customary)


def _inputs(buffers: Buffers, ph: float, target: float, volume_l: float) -> tuple[Input, ...]:
    return (
        Input(_("pH"), ph),
        Input(_("Target pH"), target),
        Input(_("Total alkalinity"), buffers.total_alkalinity_ppm, "ppm"),
        Input(_("Cyanuric acid"), buffers.cya_ppm, "ppm"),
        Input(_("Borate"), buffers.borate_ppm, "ppm"),
        Input(_("Volume"), volume_l, "l"),
    )
