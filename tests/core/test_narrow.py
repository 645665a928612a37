"""Narrow passages (M8b, M8c): the root, its slope and its sign over twelve decades; slit and bore of a power
law against their exact laws."""

import math

import numpy as np
import pytest
from scipy.optimize import brentq

from balltravel.closures.flow_curves import tabulated
from balltravel.core import narrow
from balltravel.core.narrow import narrow_flow
from balltravel.core.parameters import Narrow
from balltravel.core.rheology import Rheology, flow_curve, viscosity
from balltravel.material.flow_laws import HerschelBulkley, PowerLaw
from balltravel.scenario.model import Outlet
from balltravel.setup.outlet import packing, tip_of

from ..helpers.boxes import boxed, thin

LIQUIDS = {
    "Newtonian": Rheology(0.7),
    "thinning": thin(80.0, 0.3, 0.02, 0.0, 1e-3),
    "yielding": thin(300.0, 0.5, 1.0, 40.0, 1e-3),
    "Bingham": tabulated(HerschelBulkley(60.0, 0.5, 1.0).viscosity, 1e-3, 60.0),
    "power law": tabulated(PowerLaw(30.0, 0.4).viscosity, 1e-3),
    "all yield": thin(1e-3, 0.32, 6.5e-4, 1064.0, 5e-3),
}
PASSAGES = {
    "tip": Narrow(3.0 / 2.6e-4**3, 1200.0 / (2.0 * (0.8 * math.pi * 2.6e-4**2) ** 2), 1.0 / 2.6e-4**3),
    "gap": packing(0.048, 2e-5, 0.012, 1250.0),
    "wide": Narrow(3.0 / 0.02**3, 1200.0 / (2.0 * (0.6 * math.pi * 0.02**2) ** 2), 1.0 / 0.02**3),
}
DROPS = np.geomspace(1e-4, 1e8, 61)


@pytest.mark.parametrize("passage", PASSAGES)
@pytest.mark.parametrize("liquid", LIQUIDS)
def test_the_flow_loses_the_whole_drop_over_twelve_decades(liquid, passage):
    """mu(rate Q) laminar Q + head Q^2 = dp to 1e-10 of it, from 1e-4 Pa to 1000 bar."""
    curve, way = boxed(LIQUIDS[liquid]), PASSAGES[passage]
    for dp in DROPS:
        Q, _ = narrow_flow(boxed(way), curve, dp)
        lost = viscosity(curve, way.rate * Q) * way.laminar * Q + way.head * Q * Q
        assert lost == pytest.approx(dp, rel=1e-10, abs=0.0)


@pytest.mark.parametrize("passage", PASSAGES)
@pytest.mark.parametrize("liquid", LIQUIDS)
def test_the_slope_is_that_of_the_flow_and_both_ways_are_alike(difference, liquid, passage):
    """By differences over ln dp, 1e-6 (knots of the curve); the other way every digit is the same."""
    curve, way = boxed(LIQUIDS[liquid]), boxed(PASSAGES[passage])
    for dp in DROPS[::3]:
        Q, slope = narrow_flow(way, curve, dp)
        seen = difference(lambda s, dp=dp: narrow_flow(way, curve, dp * math.exp(s))[0], 0.0, 2e-3)
        assert slope * dp == pytest.approx(seen, rel=1e-6, abs=0.0)
        assert narrow_flow(way, curve, -dp) == (-Q, slope)


@pytest.mark.parametrize("passage", ["tip", "wide"])
@pytest.mark.parametrize("liquid", ["Newtonian", "thinning", "yielding", "power law"])
def test_the_root_is_found_in_few_turns(monkeypatch, liquid, passage):
    """Newton's method in logarithms, 9 seen: bisection alone, to the same root, takes some fifty."""
    asked = []

    def counted(rheology, rate):
        asked.append(rate)
        return flow_curve(rheology, rate)

    monkeypatch.setattr(narrow, "flow_curve", counted)
    plain, curve, way = (
        getattr(narrow_flow, "py_func", narrow_flow),
        boxed(LIQUIDS[liquid]),
        PASSAGES[passage],
    )
    for dp in np.geomspace(1.0, 1e8, 33):
        asked.clear()
        plain(boxed(way), curve, dp)
        assert len(asked) <= 2 + 10


@pytest.mark.parametrize("liquid", LIQUIDS)
def test_without_a_drop_nothing_flows_and_the_slope_is_that_at_rest(liquid):
    curve, way = boxed(LIQUIDS[liquid]), PASSAGES["tip"]
    Q, slope = narrow_flow(boxed(way), curve, 0.0)
    assert Q == 0.0
    assert slope == pytest.approx(1.0 / (viscosity(curve, 0.0) * way.laminar), rel=1e-12)


def test_where_there_is_no_passage_nothing_flows():
    for dp in (-1e7, 0.0, 1e7):
        assert narrow_flow(boxed(Narrow()), boxed(Rheology(1.0)), dp) == (0.0, 0.0)
    assert packing(0.048, 0.0, 0.012, 1250.0) == Narrow()


def drop_for(passage, curve, flow):
    """The pressure drop at which a passage has a flow."""
    way, liquid = boxed(passage), boxed(curve)
    return brentq(lambda dp: narrow_flow(way, liquid, dp)[0] / flow - 1.0, 1e-3, 1e10, xtol=1e-6, rtol=1e-12)


@pytest.mark.parametrize("n", [0.3, 0.4, 0.5, 0.7, 0.9, 1.0])
@pytest.mark.parametrize("rate", [30.0, 3e4])
def test_a_packings_gap_loses_what_a_power_law_does_in_a_slit(agree, n, rate):
    """Q = W h^2/2 n/(2n + 1) (tau_w/K)^(1/n), tau_w = dp h/(2 L) (Rabinowitsch 1929, own algebra): within 3 %
    of the drop, and 1e-6 for a Newtonian liquid."""
    K, diameter, h, length = 12.0, 0.048, 4e-5, 0.012
    width = math.pi * diameter
    flow = rate * width * h**2 / 6.0
    wall = K * (2.0 * flow / (width * h**2) * (2.0 * n + 1.0) / n) ** n
    found = drop_for(packing(diameter, h, length, 0.0), tabulated(PowerLaw(K, n).viscosity, 1e-4), flow)
    agree(found, 2.0 * length * wall / h, 0.03 if n < 1.0 else 1e-6)


@pytest.mark.parametrize("n", [0.3, 0.4, 0.5, 0.7, 0.9, 1.0])
@pytest.mark.parametrize("rate", [30.0, 3e4])
def test_a_long_tip_loses_what_a_power_law_does_in_a_bore(agree, n, rate):
    """Q = pi r^3 n/(3n + 1) (tau_w/K)^(1/n), tau_w = dp r/(2 L): within 3 %; a bore of 400 radii without
    density, whose entry (3 beside 8 L/(pi r)) is three thousandths of it."""
    K, r, length = 12.0, 2.5e-4, 0.1
    flow = rate * math.pi * r**3 / 4.0
    wall = K * (flow / (math.pi * r**3) * (3.0 * n + 1.0) / n) ** n
    outlet = Outlet(
        form="tip",
        hose_length=1.0,
        hose_diameter=0.01,
        tip_diameter=2.0 * r,
        tip_length=length,
        tip_discharge_coefficient=0.8,
    )
    entry = 1.0 + 3.0 * math.pi * r / (8.0 * length)
    found = drop_for(tip_of(outlet, 1e-12), tabulated(PowerLaw(K, n).viscosity, 1e-4), flow)
    agree(found, 2.0 * length * wall / r * entry, 0.03 if n < 1.0 else 1e-6)
