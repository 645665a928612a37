"""The ends of the splines over the tube's solves are closed limits; the root of next to no gas."""

import math
from decimal import Decimal, localcontext

import pytest

from balltravel.closures import tube
from balltravel.core.contents import pressure
from balltravel.core.parameters import Chamber

from ..helpers.boxes import boxed
from ..helpers.mid_stroke import moving_lower


def test_resistances_end_on_the_closed_forms_at_both_ends():
    splines = tube._splines()
    for lam in (0.0, 1.0):
        assert float(splines.moving(lam)) == pytest.approx(0.0, abs=1e-12)
        assert float(splines.held(lam)) == pytest.approx(0.0, abs=1e-12)
    assert float(splines.slip(1.0)) == pytest.approx(0.0, abs=1e-12)


def test_the_slip_ends_at_the_wall_on_its_limit():
    """4 pi^2 sqrt(2)/sqrt(1 - lam) over 4 pi lam^5/sqrt(1 - lam)."""
    assert math.exp(float(tube._splines().slip(0.0))) == pytest.approx(math.pi * math.sqrt(2.0), rel=1e-12)


def test_the_added_mass_ends_on_the_dipoles_image_in_open_liquid():
    spline = tube._added_mass_spline()
    assert math.exp(float(spline(1.0))) == pytest.approx(1.5 * tube._DIPOLE_IMAGE, rel=1e-12)
    assert math.exp(float(spline(0.0))) == pytest.approx(0.75 * math.pi * math.sqrt(2.0), rel=1e-12)


def test_a_chamber_of_a_litre_with_next_to_no_gas_keeps_the_digits_of_its_pressure(make_lower):
    """The root of a u^2 - b u - n = 0 in fifty digits; its two forms differ where b < 0."""
    m = moving_lower(make_lower).material._replace(gas_fraction=1e-9)
    chamber, surplus, reference = Chamber(1e-3, 0.0, 0.0), -1e-4, 101325.0
    got, _, _ = pressure(boxed(m), reference, boxed(chamber), 0.0, surplus)
    with localcontext() as context:
        context.prec = 50
        phi, above = Decimal(m.gas_fraction), Decimal(reference) - Decimal(m.vapour_pressure)
        contents = Decimal(chamber.volume) + Decimal(surplus)
        a = (1 - phi) / Decimal(m.bulk_modulus) * contents
        b = Decimal(surplus) - phi * contents + a * above
        n = phi * contents * above
        u = (b + (b * b + 4 * a * n).sqrt()) / (2 * a)
        assert b < 0
    assert got - m.vapour_pressure == pytest.approx(float(u), rel=1e-11)
