"""The load of a truck-day."""

from __future__ import annotations

import pytest

from dispatch.records.carriage import TooMuch, Tub
from dispatch.records.load_list import LoadList, Wanted, load_list
from dispatch.records.usage import Usage, chemicals_kg, usage_of_sites, usual_use
from dispatch.units import litres
from dispatch.upkeep import Part
from dispatch.water.products import Product
from tests.records.samples import record
from tests.records.simulated import simulate

SAND = Part("Filter sand, bag", 6, 136.2)


def bleach(*fl_oz: float) -> list[dict[str, object]]:
    return [{"product": "bleach", "amount": amount, "unit": "fl oz"} for amount in fl_oz]


def loaded(usage: dict[str, Usage], *wanted: Wanted, payload_kg: float = 500) -> LoadList:
    return load_list(list(usage), [SAND], 165.0, usage, wanted, payload_kg)


def test_use_is_the_mean_of_the_last_visits() -> None:
    """Eight visits of 64 fl oz after one of 640: the old one no longer counts.

    64 fl oz are 1.893 l, 2.205 kg at 1.165 kg/l.
    """
    days = [f"2026-{month:02d}-02" for month in range(1, 10)]
    records = [
        record(n, day=day, arrived_at=None, left_at=None, products=bleach(640 if n == 0 else 64))
        for n, day in enumerate(days)
    ]
    found = usual_use(records)
    assert found.mass_kg[Product.LIQUID_CHLORINE] == pytest.approx(2.205, abs=0.001)
    assert found.visits == 8
    # Packages weigh 5 % more.
    assert chemicals_kg(records) == pytest.approx(2.315, abs=0.001)


def test_what_planning_expects_aboard_is_held_to_the_same_limit() -> None:
    """220 kg agreed with customers are too much, though no record knows of them; refilled or not.

    200 kg gross: 49 CFR 173.6(d), by an interpretation page.
    """
    for refills in (False, True):
        found = load_list(["S1"], [], 0.0, {}, [], 500, expected_regulated_kg=220, refills=refills)
        assert [(one.limit, one.amount) for one in found.violations] == [(TooMuch.TOTAL, 220)]


def test_skipped_visits_and_bulky_products_say_nothing_of_use() -> None:
    """Ten bags of salt once are not a tenth of a bag each week."""
    salt = [{"product": "salt", "amount": 10, "unit": "bag"}]
    records = [record(1, products=salt), record(2, skipped="gate locked")]
    assert usual_use(records) == Usage({}, 1)
    assert chemicals_kg(records) == 0
    assert chemicals_kg([]) == 0


def test_a_site_without_records_takes_what_its_kind_takes() -> None:
    """New customers get a load too; without any record of the kind nothing is known."""
    sites = simulate(sites=6, visits=1).sites  # S0 and S3 are of one kind
    use = usage_of_sites(sites, {"S0": [record(1, products=bleach(64))]})
    assert use["S3"].mass_kg == use["S0"].mass_kg
    assert not use["S3"].own
    assert use["S1"].visits == 0


def test_a_load_is_in_whole_packages_with_some_spare() -> None:
    """Three stops of 2.205 kg with a fifth to spare are 7.94 kg, 6.8 l: one jug of 9.46 l."""
    usage = {f"S{n}": Usage({Product.LIQUID_CHLORINE: 2.205}, 8) for n in range(3)}
    (line,) = loaded(usage).products
    assert line.net_kg == pytest.approx(7.938)
    assert (line.packages, line.package, line.amount) == (1, "2.5 gal", "1.8 gal")
    assert line.gross_kg == pytest.approx(9.46 * 1.165 * 1.05)
    assert "3 stops" in line.reasons[0]


def test_acid_and_chlorine_are_listed_apart_with_the_caution() -> None:
    """They stand in tubs on opposite sides; the list has them apart and says why."""
    usage = {
        "S1": Usage(
            {Product.LIQUID_CHLORINE: 2, Product.MURIATIC_ACID: 1, Product.TRICHLOR: 0.5}, 8
        )
    }
    found = loaded(usage)
    assert [line.tub for line in found.products] == [
        Tub.ACID,
        Tub.LIQUID_CHLORINE,
        Tub.DRY_CHLORINE,
    ]
    assert len(found.cautions) == 3
    assert any("poisonous gas" in words for words in found.cautions)


def test_what_readings_ask_for_is_loaded_with_its_reason() -> None:
    """367.2 lb of salt (D2) are ten bags, and they count as payload only."""
    wanted = Wanted("S1", Product.SALT, 166.6, "salt 1,000 ppm")
    found = loaded({"S1": Usage({}, 8)}, wanted)
    (line,) = found.products
    assert (line.packages, line.package) == (10, "40.0 lb")
    assert line.reasons == ("S1: salt 1,000 ppm",)
    assert found.regulated_kg == 0
    assert found.mass_kg == pytest.approx(165 + 10 * 18.1437 * 1.01, abs=0.01)


def test_too_much_chlorine_is_a_violation_with_its_reason() -> None:
    """25 stops of 8 kg with a fifth to spare are 240 kg net, above 200 kg gross."""
    usage = {f"S{n}": Usage({Product.LIQUID_CHLORINE: 8}, 8) for n in range(25)}
    found = loaded(usage, payload_kg=1000)
    assert [one.limit for one in found.violations] == [TooMuch.TOTAL]
    assert "49 CFR 173.6" in found.violations[0].reason


def test_a_large_drum_is_a_violation_of_its_own() -> None:
    """The company's own package of 15 gal is above 30 l however little is in it."""
    usage = {"S1": Usage({Product.LIQUID_CHLORINE: 2}, 8)}
    packs = {Product.LIQUID_CHLORINE: litres(15)}
    found = load_list(["S1"], [], 0, usage, [], 500, packs=packs)
    assert [one.limit for one in found.violations] == [TooMuch.PACKAGE]


def test_the_heavier_way_counts_for_the_payload() -> None:
    """136 kg of sand go out, 165 kg wet come back; with chlorine it is too much for 170 kg."""
    usage = {"S1": Usage({Product.LIQUID_CHLORINE: 8}, 8)}
    found = loaded(usage, payload_kg=170)
    assert [one.limit for one in found.violations] == [TooMuch.PAYLOAD]
    assert found.mass_kg == pytest.approx(165 + 9.46 * 1.165 * 1.05, abs=0.01)


def test_sites_nothing_is_known_of_are_named() -> None:
    """Nothing was loaded for them, and the list must not hide it."""
    assert loaded({"S1": Usage({}, 0)}).unknown_sites == ("S1",)
