"""The US rule for materials of trade, with its own numbers."""

from __future__ import annotations

import pytest

from dispatch.records.carriage import CARRIAGE, TooMuch, check_package, check_payload, check_total
from dispatch.units import POUND_KG, litres
from dispatch.water.products import Product


def test_a_carboy_of_15_gallons_breaks_the_package_limit() -> None:
    """M1: 15 gal of hypochlorite, about 146 lb: 57 l against 30 l (49 CFR 173.6(a)(1)(ii))."""
    (found,) = check_package("Liquid chlorine", "III", 146 * POUND_KG, litres(15))
    assert found.limit is TooMuch.PACKAGE
    assert found.amount == pytest.approx(56.8, abs=0.05)
    assert found.most == 30


def test_441_pounds_break_the_total() -> None:
    """M2: 441 lb are 200.03 kg; 440 lb are 199.6 (49 CFR 173.6(d), by an interpretation page)."""
    assert [one.limit for one in check_total(441 * POUND_KG)] == [TooMuch.TOTAL]
    assert check_total(440 * POUND_KG) == ()


def test_a_truck_held_to_less_is_not_told_that_the_law_says_so() -> None:
    """A company may allow 60 kg on a small truck; the rule allows 200 kg all the same."""
    (one,) = check_total(61, 60)
    assert "173.6" not in one.reason
    assert "60 kg is allowed on this truck" in one.reason


@pytest.mark.parametrize(
    ("group", "gross_kg", "volume_l", "allowed"),
    [
        ("II", 30.0, 0, True),
        ("II", 30.1, 0, False),
        ("III", 34.0, 29.9, True),  # a liquid goes by its volume
        ("I", 0.6, 0, False),
        ("I", 0.5, 0.5, True),
    ],
)
def test_packages_have_the_limits_of_their_group(
    group: str, gross_kg: float, volume_l: float, allowed: bool
) -> None:
    """30 kg or 30 l for groups II and III, 0.5 kg or 0.5 l for group I."""
    assert (check_package("x", group, gross_kg, volume_l) == ()) is allowed


def test_salt_and_bicarbonate_do_not_count() -> None:
    """A state pool association's article names bicarbonate, calcium and cyanuric acid."""
    free = {product for product, one in CARRIAGE.items() if not one.regulated}
    assert free == {
        Product.SALT,
        Product.BICARBONATE,
        Product.SODA_ASH,
        Product.CALCIUM_CHLORIDE,
        Product.CYANURIC_ACID,
        Product.DRY_ACID,
    }


def test_every_product_says_how_it_travels() -> None:
    """A product without a line would be loaded unseen."""
    assert set(CARRIAGE) == set(Product)
    for one in CARRIAGE.values():
        assert one.source
        assert bool(one.number) == bool(one.group)


def test_payload_is_a_limit_of_its_own() -> None:
    """60 gal of hypochlorite are 583 lb whatever the law says."""
    (found,) = check_payload(583 * POUND_KG, 250)
    assert found.limit is TooMuch.PAYLOAD
    assert "264 kg" in found.reason
