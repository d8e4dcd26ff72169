"""Alkalinity that is carbonate: what remains of a test's total once cyanurate and borate are off.

A test for total alkalinity counts cyanurate and borate too, but only carbonate decides over
scale, so both come off before a saturation index is computed.
"""

from __future__ import annotations

from dispatch.errors import InvalidValue
from dispatch.words import _

CACO3_EQUIVALENT_G = 50.04  # g per equivalent of CaCO3, 100.09 / 2 (calc)
CYANURIC_MOLAR_G = 129.07  # g/mol (calc)
CYANURIC_PK = 6.83  # first dissociation in pool water; closed form matches the published factors
BORON_MOLAR_G = 10.81  # g/mol (calc)
BORATE_PK = 9.02  # apparent; chosen to meet the one published factor, 0.17 at pH 7.6 (calc)
LEAST_PPM = 1.0  # ppm; below it the logarithm of an index says nothing


def cyanurate_factor(ph: float) -> float:
    """Alkalinity of 1 ppm cyanuric acid, in ppm as CaCO3.

    (50.04 / 129.07) / (1 + 10^(6.83 - pH)); within 0.005 of the table 0.23, 0.27, 0.31, 0.33,
    0.35, 0.36 that a page of the trade gives for pH 7.0 to 8.0.
    """
    return CACO3_EQUIVALENT_G / CYANURIC_MOLAR_G / (1 + 10 ** (CYANURIC_PK - ph))


def borate_factor(ph: float) -> float:
    """Alkalinity of 1 ppm boron, in ppm as CaCO3; 0.17 at pH 7.6 (Service Industry News, 2021)."""
    return CACO3_EQUIVALENT_G / BORON_MOLAR_G / (1 + 10 ** (BORATE_PK - ph))


def carbonate_ppm(total_ppm: float, ph: float, cya_ppm: float = 0, borate_ppm: float = 0) -> float:
    """Carbonate alkalinity in ppm as CaCO3; zero where the others make up the whole.

    Parameters
    ----------
    total_ppm
        Total alkalinity as tested, ppm as CaCO3.
    ph
        pH of the water.
    cya_ppm
        Cyanuric acid, ppm.
    borate_ppm
        Borate, ppm as boron.

    Raises
    ------
    InvalidValue
        When a concentration is negative.
    """
    if min(total_ppm, cya_ppm, borate_ppm) < 0:
        raise InvalidValue(_("A concentration cannot be negative: test the water again."))
    other_ppm = cya_ppm * cyanurate_factor(ph) + borate_ppm * borate_factor(ph)
    return max(0.0, total_ppm - other_ppm)
