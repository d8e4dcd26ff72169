from __future__ import annotations

from api.pages.units import Units
from dispatch.people import Measures, Person, Role
from dispatch.readings import ReadingKind
from dispatch.water.answer import Input

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


def test_pressures_and_readings_are_converted() -> None:
    """1 psi is 6.894757 kPa, 84 °F is 28.89 °C; what has one unit everywhere keeps it."""
    assert (US.pressure(68.94757), METRIC.pressure(68.94757)) == ("10 psi", "69 kPa")
    assert US.reading(ReadingKind.WATER_TEMPERATURE, 28.8889) == "water temperature 84 °F"
    assert METRIC.reading(ReadingKind.WATER_TEMPERATURE, 28.8889) == "water temperature 28.9 °C"
    assert US.reading(ReadingKind.FREE_CHLORINE, 2.5) == "free chlorine 2.5 ppm"


def test_what_went_into_an_answer_is_in_the_readers_units() -> None:
    """35,961 l are 9,500 US gal, 15 °C 59 °F; what nobody measured says so."""
    volume, heat = Input("Volume", 35_961.41, "l"), Input("Water temperature", 15, "°C")
    assert (US.input(volume), METRIC.input(volume)) == ("Volume 9,500 gal", "Volume 35,961.41 l")
    assert (US.input(heat), METRIC.input(heat)) == (
        "Water temperature 59 °F",
        "Water temperature 15 °C",
    )
    assert US.input(Input("Salt", 3000, "ppm", assumed=True)) == "Salt 3,000 ppm (assumed)"
    assert (US.distance(60.96), METRIC.distance(60.96)) == ("200 ft", "61 m")


def test_what_a_person_chose_goes_before_the_country() -> None:
    """A Canadian in a US company, and who never chose."""
    chosen = Person("ann", "Ann", Role.OWNER, units=Measures.METRIC)
    assert Units.of(chosen, "US") == METRIC
    assert Units.of(Person("bo", "Bo", Role.OWNER), "US") == US
    assert Units.of(None, None) == METRIC
