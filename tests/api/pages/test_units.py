from __future__ import annotations

from api.pages.units import Units

US, METRIC = Units.of_country("US"), Units.of_country("FI")


def test_a_country_reads_its_own_units() -> None:
    """US customary in the United States, metric elsewhere and where no country is set."""
    assert US.customary
    assert not METRIC.customary
    assert not Units.of_country(None).customary


def test_lengths_masses_and_volumes_are_converted() -> None:
    """1 mi is 1,609.344 m, 1 lb 0.45359237 kg, 1 US gal 3.785411784 l (NIST SP 811)."""
    assert (US.length(16_093.44), METRIC.length(16_093.44)) == ("10.0 mi", "16.1 km")
    assert (US.mass(136.077711), METRIC.mass(136.077711)) == ("300 lb", "136 kg")
    assert (US.volume(56_781.18), METRIC.volume(56_781.18)) == ("15,000 gal", "56,800 l")


def test_a_small_mass_keeps_a_decimal() -> None:
    """Two anodes of 0.4 kg are not '1 lb'."""
    assert METRIC.mass(0.8) == "0.8 kg"
    assert METRIC.mass(0) == "0 kg"
