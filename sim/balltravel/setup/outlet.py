"""The core's outlet and packings: a hose with a spray tip, gaps that leak (M8)."""

import math
from collections.abc import Callable

from balltravel.core import parameters as core
from balltravel.core.model import line_loss
from balltravel.core.narrow import narrow_flow
from balltravel.core.records import as_record
from balltravel.core.rheology import Rheology, viscosity
from balltravel.core.roots import root
from balltravel.material.model import material_model
from balltravel.scenario import model as described
from balltravel.setup.flow_curves import density_of, flow_curves

OUTLET_DROP = 1e-3
"""Pressure lost at the outlet at the mean flow, as a share of the outlet pressure, where nothing is given."""

SLIT_SHEAR, BORE_SHEAR = 0.75, 0.80
"""Shear rate over that at the wall of a Newtonian liquid, at whose viscosity a slit or a bore loses as much:
((2n+1)/3n)^(n/(n-1)) and ((3n+1)/4n)^(n/(n-1)) of a power law lie between 0.72 and 0.78, 0.78 and 0.82 for
exponents from 0.3 to 1 (Rabinowitsch 1929, own algebra): the viscosity is within 3 %."""


ENDS = 1.5
"""Velocity heads lost at the sharp ends of a gap, 0.5 where the liquid enters and 1 where it leaves
(Idelchik, as quoted in the documentation of open libraries)."""


def packing(diameter: float, gap: float, length: float, density: float) -> core.Narrow:
    """The even gap of a worn packing (M8c): a slit as long as its circumference."""
    if gap == 0.0:
        return core.Narrow()
    width = math.pi * diameter
    head = ENDS * density / (2.0 * (width * gap) ** 2)
    return core.Narrow(12.0 * length / (width * gap**3), head, SLIT_SHEAR * 6.0 / (width * gap**2))


def tip_of(outlet: described.Outlet, density: float) -> core.Narrow:
    """The spray tip (M8b): Sampson's creeping loss of its hole (1891) with that of its length in series
    (Dagan, Weinbaum and Pfeffer 1982, both from memory), and the jet's with its discharge coefficient."""
    r = 0.5 * (outlet.tip_diameter or math.nan)
    laminar = (3.0 + 8.0 * outlet.tip_length / (math.pi * r)) / r**3
    passed = (outlet.tip_discharge_coefficient or math.nan) * math.pi * r * r
    return core.Narrow(laminar, density / (2.0 * passed**2), BORE_SHEAR * 4.0 / (math.pi * r**3))


def tip_flow(s: described.Scenario, gauge_pressure: float) -> float:
    """Flow through outlet hose and tip [m3/s] at a steady pressure [Pa] over the atmosphere's."""
    m, outlet = s.material, outlet_parameters(s, TIP_RATE)
    rheology, by_stress, _ = flow_curves(m, TIP_RATE)
    curve, tip, line = as_record(rheology), as_record(outlet.tip), as_record(outlet.line)
    liquid = as_record(core.Material(rheology, by_stress, density_of(m), m.bulk_modulus, 0.0, 0.0))

    def missing(flow: float) -> float:
        left = gauge_pressure - float(line_loss(line, liquid, flow)[0])
        return float(narrow_flow(tip, curve, left)[0]) - flow

    most = missing(0.0)
    return float(root(missing, 0.0, most, xtol=1e-9 * most)) if most > 0.0 else 0.0


TIP_RATE = 1.0
"""Cycle rate [1/s] at whose share a yield stress is blunted where no rate is known yet."""


def has_tip(outlet: described.Outlet) -> bool:
    """Whether the material leaves through a hose and a tip."""
    return outlet.form in ("tip", "tip at pressure")


def outlet_parameters(s: described.Scenario, rate: float) -> core.Outlet:
    """Outlet hose and tip (M8a): half the hose's volume and give at either end, its friction and inertance
    between."""
    if not has_tip(s.outlet):
        return core.NO_HOSE
    outlet, rho = s.outlet, density_of(s.material)
    length, d = outlet.hose_length or math.nan, outlet.hose_diameter or math.nan
    area = math.pi * d**2 / 4.0
    line = core.Suction(
        inertance=rho * length / area,
        laminar=128.0 * length / (math.pi * d**4),
        minor=0.0,
        pressure=0.0,
        diameter=d,
        relative_roughness=outlet.hose_roughness / d,
        rheology=flow_curves(s.material, rate)[2],
    )
    return core.Outlet(1, line, far_end(outlet), tip_of(outlet, rho))


def far_end(outlet: described.Outlet) -> core.Chamber:
    """Half of the outlet hose's volume and of its give."""
    length, d = outlet.hose_length or math.nan, outlet.hose_diameter or math.nan
    return core.Chamber(0.5 * (math.pi * d**2 / 4.0) * length, 0.0, 0.5 * outlet.hose_compliance)


def pressure_over_rate(s: described.Scenario) -> Callable[[float], float]:
    """Pressure over the atmosphere's [Pa] against which a lower that fills delivers, as a function of its
    cycle rate [1/s]: the outlet's, or what hose and tip take of its mean flow, where the pressure is a
    result."""
    if not has_tip(s.outlet) or s.outlet.gauge_pressure is not None:
        return lambda _: s.outlet.gauge_pressure or 0.0
    swept = math.pi / 4.0 * s.lower.bore**2 * s.lower.stroke
    newtonian = material_model(s.material).newtonian
    same = _hose_and_tip(s, TIP_RATE) if newtonian else None  # nothing is blunted by the rate then

    def pressure(rate: float) -> float:
        curve, liquid, line, tip = same or _hose_and_tip(s, rate)
        mean = swept * rate
        mu = float(viscosity(curve, tip.rate * mean))
        hose, _ = line_loss(line, liquid, mean)
        return float(hose) + (mu * tip.laminar + tip.head * mean) * mean

    return pressure


def _hose_and_tip(
    s: described.Scenario, rate: float
) -> tuple[Rheology, core.Material, core.Suction, core.Narrow]:
    """Records of the flow curve, the liquid and the hose, blunted at a cycle rate [1/s]; and the tip."""
    m, outlet = s.material, outlet_parameters(s, rate)
    rheology, by_stress, _ = flow_curves(m, rate)
    liquid = core.Material(rheology, by_stress, density_of(m), m.bulk_modulus, 0.0, 0.0)
    return as_record(rheology), as_record(liquid), as_record(outlet.line), outlet.tip


def working_pressure(s: described.Scenario, rate: float) -> float:
    """The same at one cycle rate [1/s]."""
    return pressure_over_rate(s)(rate)


def near_end(s: described.Scenario) -> tuple[float, float]:
    """Volume [m3] and compliance [m3/Pa] of the hose that count with the upper chamber."""
    if not has_tip(s.outlet):
        return 0.0, 0.0
    same = far_end(s.outlet)
    return same.volume, same.compliance


def outlet_pressure_of(s: described.Scenario, rate: float) -> float:
    """Absolute pressure [Pa] behind the outlet, or with which a run at a cycle rate [1/s] begins where it is
    a result."""
    return s.suction.barometric_pressure + working_pressure(s, rate)


def outlet_resistance_of(s: described.Scenario, rate: float) -> float:
    """Resistance of the outlet [Pa s/m3]; without end where it is closed."""
    if s.outlet.form == "closed":
        return math.inf
    if s.outlet.resistance is not None:
        return s.outlet.resistance
    swept = math.pi / 4.0 * s.lower.bore**2 * s.lower.stroke
    return OUTLET_DROP * outlet_pressure_of(s, rate) / (swept * rate)
