"""The law of a chamber's contents (M2) against 50-digit arithmetic and a table of effective bulk moduli."""

from decimal import Decimal, getcontext

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from balltravel.core.contents import pressure, void
from balltravel.core.parameters import Chamber, Material
from balltravel.core.records import as_record
from balltravel.core.rheology import Rheology

getcontext().prec = 50

REFERENCE = 101325.0

# The first call compiles; the examples are the same in every run.
steady = settings(deadline=None, derandomize=True, max_examples=200)


def material_of(phi, vapour=2000.0, beta=1.5e9):
    return as_record(Material(Rheology(1.0), Rheology(1.0), 1200.0, beta, phi, vapour))


def chamber_of(volume, area=0.0, compliance=0.0):
    return as_record(Chamber(volume, area, compliance))


def volume_of(material, compliance, contents, p):
    """Volume of liquid, gas and vapour at pressure p, less what the wall gives (M2a), in 50 digits."""
    u = p - Decimal(material.vapour_pressure)
    above = Decimal(REFERENCE) - Decimal(material.vapour_pressure)
    phi, beta = Decimal(material.gas_fraction), Decimal(material.bulk_modulus)
    rise = p - Decimal(REFERENCE)
    liquid = (1 - phi) * contents * (1 - rise / beta)
    return liquid + phi * contents * above / u - Decimal(compliance) * rise


def exact_pressure(material, compliance, volume, surplus):
    """Root of ``volume_of`` = volume by bisection of ln u to 1e-25: more pressure, less volume."""
    contents = Decimal(volume) + Decimal(surplus)
    vapour = Decimal(material.vapour_pressure)
    low, high = Decimal("1e-40"), Decimal("1e14")
    for _ in range(90):
        middle = (low * high).sqrt()
        if volume_of(material, compliance, contents, vapour + middle) > Decimal(volume):
            low = middle
        else:
            high = middle
    return vapour + low


fractions = st.floats(-6.0, -0.7).map(lambda x: 10.0**x)
volumes = st.floats(-6.0, -2.0).map(lambda x: 10.0**x)
compliances = st.one_of(st.just(0.0), st.floats(-14.0, -8.0).map(lambda x: 10.0**x))
surpluses = st.one_of(st.floats(-0.99, 0.02), st.floats(-1e-3, 1e-3), st.floats(-1e-7, 1e-7), st.just(0.0))
vapours = st.floats(1.0, 5e4)


@steady
@given(fractions, volumes, compliances, surpluses, vapours)
def test_the_pressure_is_the_root_of_the_contents_law(phi, volume, compliance, share, vapour):
    """2e-12 of the pressure above vapour: a few rounding errors; where liquid and void nearly balance the
    surplus given is itself known to 1e-16 of the contents only, which the slope carries over."""
    material, chamber = material_of(phi, vapour), chamber_of(volume, 0.0, compliance)
    surplus = share * volume
    p, by_contents, by_volume = pressure(material, REFERENCE, chamber, 0.0, surplus)
    exact = exact_pressure(material, compliance, volume, surplus)
    rounding = 4e-16 * (abs(by_contents) + abs(by_volume)) * (abs(surplus) + phi * volume)
    error = abs(float(Decimal(p) - exact))
    assert error <= 2e-12 * float(exact - Decimal(vapour)) + rounding + 4e-16 * vapour


@steady
@given(fractions, volumes, compliances, st.floats(-0.9, 0.02))
def test_both_derivatives_agree_with_differences(difference, phi, volume, compliance, share):
    """1e-6 of the slope at constant contents: the differences' own error (sixth order in a step that changes
    the pressure above vapour by at most a tenth)."""
    material = material_of(phi)
    surplus = share * volume
    chamber = chamber_of(volume, volume, compliance)
    p, by_contents, by_volume = pressure(material, REFERENCE, chamber, 0.0, surplus)
    h = 0.02 * min((p - 2000.0) / by_contents, volume * (1.0 + share))
    seen = difference(lambda s: pressure(material, REFERENCE, chamber, 0.0, s)[0], surplus, h)
    assert by_contents == pytest.approx(float(seen), rel=1e-6)
    h = 0.02 * min((p - 2000.0) / max(abs(by_volume), 1e-300), volume * (1.0 + share)) / volume
    seen = difference(lambda x: pressure(material, REFERENCE, chamber, x, surplus)[0], 0.0, h)
    assert by_volume * volume == pytest.approx(float(seen), rel=1e-6, abs=1e-9 * by_contents * volume)


@steady
@given(fractions, compliances, st.floats(-0.99, 0.02), st.floats(1e-9, 1e-2))
def test_more_contents_mean_more_pressure(phi, compliance, share, more):
    material, chamber = material_of(phi), chamber_of(1e-4, 0.0, compliance)
    before = pressure(material, REFERENCE, chamber, 0.0, share * 1e-4)
    after = pressure(material, REFERENCE, chamber, 0.0, (share + more) * 1e-4)
    assert after[0] > before[0]
    assert before[1] > 0.0


@steady
@given(fractions, compliances, st.floats(-0.99, 0.02), st.floats(1e-9, 1e-2))
def test_a_larger_space_for_the_same_contents_means_less_pressure(phi, compliance, share, more):
    """Contents = volume + surplus stay: the surplus falls as the volume grows."""
    material, chamber = material_of(phi), chamber_of(1e-4, 1e-4, compliance)
    before, after = (
        pressure(material, REFERENCE, chamber, x, share * 1e-4 - x * 1e-4)[0] for x in (0.0, more)
    )
    assert after < before


def test_a_chamber_drawn_empty_tends_to_the_vapour_pressure():
    """u = N/|B| far in the void: phi M (p_ref - p_v)/V, but for the 1 % of the space that liquid fills."""
    material, chamber = material_of(1e-3), chamber_of(1e-4)
    surplus = [-1e-4 * (1.0 - left) for left in (0.5, 1e-2, 1e-4)]
    above = [pressure(material, REFERENCE, chamber, 0.0, y)[0] - 2000.0 for y in surplus]
    assert above[0] > above[1] > above[2] > 0.0
    assert above[1] == pytest.approx(1e-3 * 1e-2 * (REFERENCE - 2000.0), rel=0.02)
    assert above[2] < 0.01


@steady
@given(st.floats(1e-9, 5e-3))
def test_without_gas_the_contents_are_a_plain_liquid(share):
    """M = V/(1 - (p - p_ref)/beta); 1e-12 gas moves the pressure by less than 1e-12 beta = 1.5 mPa."""
    material, chamber = material_of(1e-12), chamber_of(1e-4)
    p, slope, _ = pressure(material, REFERENCE, chamber, 0.0, share * 1e-4)
    assert p - REFERENCE == pytest.approx(1.5e9 * share / (1.0 + share), abs=2e-3, rel=1e-12)
    assert slope == pytest.approx(1.5e9 / (1e-4 * (1.0 + share) ** 2), rel=1e-4)


def test_at_the_reference_pressure_the_contents_fill_the_space_exactly():
    """By definition of the contents; 1e-12: rounding of a pressure of beta times 1e-16."""
    for phi in (1e-6, 1e-3, 0.05):
        p, _, _ = pressure(material_of(phi), REFERENCE, chamber_of(1e-4, 0.0, 1e-10), 0.0, 0.0)
        assert p == pytest.approx(REFERENCE, rel=1e-11)
        assert void(material_of(phi), REFERENCE, chamber_of(1e-4), 0.0, 0.0) <= 1e-12 * 1e-4


@steady
@given(fractions, st.floats(-0.9, 0.01))
def test_the_void_is_what_liquid_and_the_gas_at_rest_leave(phi, share):
    """V - liquid(p) - phi M; 1e-10 of the space: a small difference of volumes."""
    material, chamber = material_of(phi), chamber_of(1e-4)
    p, _, _ = pressure(material, REFERENCE, chamber, 0.0, share * 1e-4)
    contents = 1e-4 * (1.0 + share)
    liquid = (1.0 - phi) * contents * (1.0 - (p - REFERENCE) / 1.5e9)
    expected = max(0.0, 1e-4 - liquid - phi * contents)
    assert void(material, REFERENCE, chamber, 0.0, share * 1e-4) == pytest.approx(expected, abs=1e-14)


def test_the_effective_bulk_modulus_is_that_of_the_mixture_rule(table):
    """Isothermal rows. 1e-6 for the printed digits; beyond it, the table's liquid is exponential and ours
    linear in pressure, which differs by (p - p_ref)/beta in the liquid's share of the compliance."""
    rows = [row for row in table("bulk_modulus_gas.csv") if row["n"] == 1.0]
    assert len(rows) == 27
    for row in rows:
        p, alpha = row["p_abs_Pa"], row["alpha0"]
        material = material_of(alpha, 0.0)
        volume = float(volume_of(material, 0.0, Decimal(1), Decimal(p)))
        chamber = chamber_of(volume)
        got, by_contents, by_volume = pressure(material, REFERENCE, chamber, 0.0, 1.0 - volume)
        assert got == pytest.approx(p, rel=1e-9, abs=1e-15 * by_contents)
        assert volume == pytest.approx(row["V_over_V0"], abs=1e-8 + ((p - REFERENCE) / 1.5e9) ** 2)
        # At constant contents the surplus falls as the volume grows.
        modulus = volume * (by_contents - by_volume)
        liquid_share = row["Ke_Pa"] / 1.5e9
        unlike = abs(p - REFERENCE) / 1.5e9 * liquid_share
        assert modulus == pytest.approx(row["Ke_Pa"], rel=1e-6 + 1.01 * unlike)


@steady
@given(fractions, volumes, st.floats(-0.5, 0.01))
def test_pressure_scales_with_neither_size_nor_unit_of_volume(phi, volume, share):
    """The same share of surplus gives the same pressure; 1e-12 plus the rounding of the volume."""
    assume(abs(share) > 1e-6)
    material = material_of(phi)
    here = pressure(material, REFERENCE, chamber_of(volume), 0.0, share * volume)
    there = pressure(material, REFERENCE, chamber_of(1.0), 0.0, share)
    assert here[0] == pytest.approx(there[0], rel=1e-11)
    assert here[1] * volume == pytest.approx(there[1], rel=1e-10)
