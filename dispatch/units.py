"""Units of the trade and their metric equals; inside the program everything is metric.

Conversion factors are those of NIST Special Publication 811, appendix B, exact unless said
otherwise.
"""

from __future__ import annotations

GALLON_L = 3.785411784  # litres, US gallon
QUART_L = GALLON_L / 4  # litres, US liquid quart
FLUID_OUNCE_L = GALLON_L / 128  # litres, US fluid ounce
POUND_KG = 0.45359237  # kg, avoirdupois pound
OUNCE_KG = POUND_KG / 16  # kg, avoirdupois ounce
FOOT_M = 0.3048  # metres
MILE_M = 1609.344  # metres, international mile
PSI_KPA = 6.894757  # kPa, rounded to seven digits as printed there
BAR_KPA = 100.0  # kPa
PPM_KG_PER_L = 1e-6  # kg of a substance in one litre of water for 1 mg/L; trade ppm = mg/L


def celsius(fahrenheit: float) -> float:
    """°C of a temperature in °F."""
    return (fahrenheit - 32) / 1.8


def fahrenheit(celsius_: float) -> float:
    """°F of a temperature in °C."""
    return celsius_ * 1.8 + 32


def kpa(psi_: float) -> float:
    """Pressure in kPa of one in pounds per square inch."""
    return psi_ * PSI_KPA


def psi(kpa_: float) -> float:
    """Pressure in pounds per square inch of one in kPa."""
    return kpa_ / PSI_KPA


def litres(gallons_: float) -> float:
    """Litres of US gallons."""
    return gallons_ * GALLON_L


def gallons(litres_: float) -> float:
    """US gallons of litres."""
    return litres_ / GALLON_L
