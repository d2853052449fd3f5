"""Paper weights by the arithmetic that defines them."""

from __future__ import annotations

from fractions import Fraction

import pytest

from pipeline.plan.sizes import BULK_CM3_PER_G, Stock, bond_gsm

# International yard and pound agreement, 1959: 1 lb = 0.453 592 37 kg and 1 yd = 0.9144 m, both
# exactly, so 1 in = 25.4 mm. A ream of bond is 500 sheets of 17 × 22 in (the basis size).
POUND_KG = Fraction("0.45359237")
INCH_M = Fraction("0.9144") / 36
REAM_M2 = 500 * 17 * 22 * INCH_M**2


@pytest.mark.parametrize(("pounds", "gsm"), [(20, 75), (24, 90), (28, 105), (32, 120)])
def test_bond_pounds_in_grams_a_square_metre(pounds: int, gsm: int) -> None:
    """The rounded weights are those printed on reams, common practice."""
    assert bond_gsm(pounds) == pytest.approx(float(pounds * POUND_KG * 1000 / REAM_M2), rel=1e-12)
    assert round(bond_gsm(pounds)) == gsm


def test_the_ream_weighs_what_it_is_called() -> None:
    """500 sheets of 17 × 22 in of 28 lb bond, put on the scales: 28 lb."""
    kilograms = bond_gsm(28) * float(REAM_M2) / 1000
    assert kilograms / float(POUND_KG) == pytest.approx(28)


# From memory: copy paper of 80 g/m² is a little over a tenth of a millimetre thick.
def test_thickness_of_copy_paper() -> None:
    assert Stock(80).thickness_mm == pytest.approx(80 * BULK_CM3_PER_G / 1000)
    assert 0.095 <= Stock(80).thickness_mm <= 0.11


def test_a_measured_thickness_goes_before_the_estimate() -> None:
    assert Stock(80, caliper_mm=0.2).thickness_mm == 0.2
