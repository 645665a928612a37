"""From a scenario to the core's parameters: sizes, closure tables, chambers, drive."""

import math
from collections.abc import Callable
from functools import lru_cache
from typing import Any

import numpy as np

from balltravel.closures.ball_over_seat import CheckGeometry
from balltravel.closures.families import family_of, lift_functions
from balltravel.closures.lift_table import closure_table, table_origin
from balltravel.closures.passages import ribbed_equivalent
from balltravel.closures.tube import added_mass_coefficient
from balltravel.core import parameters as core
from balltravel.core.model import (
    AIR_ABOVE,
    AIR_BELOW,
    DRAWN,
    GAS_LOWER,
    GAS_PORT,
    OUT_FLOW,
    POSITION,
    SIZE,
    STATES,
    STORE,
    V,
    X,
)
from balltravel.core.parameters import AIR, COUPLING, MASS, NO_MOTOR, Array, Control, Parameters
from balltravel.material.model import is_newtonian
from balltravel.scenario import model as described
from balltravel.scenario.rules.all import STANDARD_GRAVITY
from balltravel.setup.ball_position import share_drifted, share_stated
from balltravel.setup.drive import cycle_rate_of, drive_parameters, motor_parameters
from balltravel.setup.flow_curves import density_of, flow_curves
from balltravel.setup.outlet import (
    has_tip,
    near_end,
    outlet_parameters,
    outlet_pressure_of,
    outlet_resistance_of,
    packing,
)
from balltravel.site.fittings import losses

GAS_FLOOR = 1e-6
"""Free gas that is always there, as a share of the volume: the contents law needs some."""

LANDING_GAP = 0.01
"""Gap at which landing speeds are taken, in seat radii: nearer, the last film decides."""

LEAST_MASS = 0.25
"""Share of its own mass that a ball is left at least where the stream takes it along (M6b; our choice)."""

RTOL = 1e-6
MAX_CYCLES = 30
SLOW_STORES = 4
"""How many times more cycles an outlet hose or gas may take to settle (our choice)."""

VOLUMES = 5
"""Volumes, and the piston's position, whose errors count in every lower."""

MOST_STEPS = 40_000
"""Rows of a cycle at most, unless a tighter tolerance asks for more."""
PERIODIC_TOLERANCE = 1e-6


def cage_radius(check: described.Check) -> float:
    """Radius of the cage's bore, or of the bore that passes as much as the openings between its ribs [m]."""
    if check.cage != "ribs" or not (check.rib_count and check.rib_width and check.housing_diameter):
        return check.cage_diameter / 2.0
    radii = (
        diameter / 2.0 for diameter in (check.ball_diameter, check.cage_diameter, check.housing_diameter)
    )
    return ribbed_equivalent(*radii, int(check.rib_count), check.rib_width)


def geometry_of(
    check: described.Check, closures: described.Closures = described.TABULATED, share: float | None = None
) -> CheckGeometry:
    """Sizes of a check as the closures take them; ``share``: its ball's offset over the guide clearance, 0
    of one that drifts, else as the closures say, where none is given."""
    share = share_stated(closures) if share is None else share
    return CheckGeometry(
        check.seat_diameter / 2.0,
        check.seat_length,
        check.ball_diameter / 2.0,
        cage_radius(check),
        check.cage_length,
        check.discharge_coefficient,
        check.surface_roughness,
        check.leak_gap,
        check.seat_half_angle or 0.0,
        (check.seat_mouth_diameter or 0.0) / 2.0,
        check.seat_land_width,
        share * (check.cage_diameter - check.ball_diameter) / 2.0,
        closures.resistance,
        check.table,
    )


def ball_share(
    s: described.Scenario, check: described.Check, travel: float, rate: Callable[[], float]
) -> float:
    """Offset of a check's ball over its guide clearance: as stated, or where it drifts if the scenario says
    so; ``rate`` gives the cycle rate [1/s]."""
    if s.closures.ball_position != "drifting":
        return share_stated(s.closures)
    return share_drifted(s, check, geometry_of(check, s.closures, 1.0), travel, rate())


def geometry_in(
    s: described.Scenario, check: described.Check, travel: float, rate: Callable[[], float]
) -> CheckGeometry:
    """Sizes of a check of a scenario, its ball where the scenario has it."""
    return geometry_of(check, s.closures, ball_share(s, check, travel, rate))


@lru_cache(maxsize=512)
def lift_table(geometry: CheckGeometry, travel: float) -> tuple[Array, float]:
    """The check's functions of lift up to a travel [m]; many cases of a sweep share one."""
    table, step = closure_table(
        travel, table_origin(geometry), lambda lift: tuple(lift_functions(geometry, lift))
    )
    table.setflags(write=False)
    return table, step


@lru_cache(maxsize=512)
def passage_inertance(geometry: CheckGeometry, travel: float) -> float:
    """Inertance over density of a check's passage with its ball at the stop [1/m]."""
    return family_of(geometry).inertance(geometry, travel)


def held_coupling(table: Array, area: float, ball_mass: float, added_mass: float, coupling: float) -> float:
    """Force per dQ/dt far from the seat [kg/m2], as it is or less: on its seat, of an ``area`` [m2], a ball
    that floats and hardly covers it would else be taken along by more than its own mass and the liquid's."""
    own, held = added_mass * table[:, MASS, 3], area * coupling * table[:, COUPLING, 3]
    most = own + (1.0 - LEAST_MASS) * ball_mass
    pulled = held > most
    return coupling * float(np.min(most[pulled] / held[pulled], initial=1.0))


def check_parameters(
    s: described.Scenario, check: described.Check, travel: float, rate: Callable[[], float]
) -> core.Check:
    """A check of a scenario with its closure table, for the core."""
    density = density_of(s.material)
    geometry = geometry_in(s, check, travel, rate)
    r, R, Rc = geometry.contact_radius, geometry.ball_radius, geometry.cage_radius
    table, step = lift_table(geometry, travel)
    volume = 4.0 / 3.0 * math.pi * R**3
    added = added_mass_coefficient(R / Rc)
    ball_mass, added_mass = check.ball_density * volume, density * volume * added
    coupling = density * volume * (1.0 + added) / (math.pi * Rc**2)
    return core.Check(
        seat_radius=r,
        ball_radius=R,
        travel=travel,
        ball_mass=ball_mass,
        added_mass=added_mass,
        coupling_mass=held_coupling(table, math.pi * r * r, ball_mass, added_mass, coupling),
        net_weight=(check.ball_density - density) * volume * STANDARD_GRAVITY,
        spring_preload=check.spring_preload - check.holding_force,
        spring_rate=check.spring_rate,
        leak_gap=check.leak_gap,
        pad_radius=(check.stop_pad_diameter or 0.0) / 2.0 if check.stop == "pad" else 0.0,
        roughness=check.surface_roughness,
        landing_gap=min(LANDING_GAP * r, 0.5 * travel),
        table_origin=table_origin(geometry),
        table_step=step,
        table=table,
        measured_force=1.0 if family_of(geometry).measured_force else 0.0,
    )


def peak_flow(drive: core.Drive, area: float) -> float:
    """Bore area [m2] times the largest piston speed [m3/s]."""
    if drive.angular_speed > 0.0:
        return area * 0.5 * drive.stroke * drive.angular_speed
    fastest = np.max(np.abs(drive.speed))
    if fastest == 0.0:
        # A motor: the mean speed of its strokes at the rate that it has about.
        return area * 2.0 * drive.stroke / drive.period
    return area * float(fastest)


def full_flow(s: described.Scenario) -> float:
    """The same of a scenario, without the rest of its parameters."""
    drive = drive_parameters(s.drive, s.lower.stroke, cycle_rate_of(s))
    return peak_flow(drive, 0.25 * math.pi * s.lower.bore**2)


def strainer_of(s: described.Suction) -> tuple[float, float]:
    """Laminar resistance of a strainer's holes over viscosity, and 8 U/d in a hole over the flow [1/m3].

    Poiseuille in each hole and Sampson's loss of a hole in a thin plate (1891), 3 mu Q/r^3, which is that of
    3 pi d/16 more length; their sum is within 1 % (Dagan, Weinbaum and Pfeffer 1982; both from memory).
    """
    count, d = s.strainer_holes, s.strainer_hole_diameter
    if s.strainer == "none" or count is None or d is None:
        return 0.0, 0.0
    length = (s.strainer_thickness or 0.0) + 3.0 * math.pi * d / 16.0
    return 128.0 * length / (math.pi * d**4 * count), 32.0 / (math.pi * d**3 * count)


def resting_pressure(s: described.Scenario) -> float:
    """Absolute pressure at the inlet port with everything at rest [Pa]."""
    suction = s.suction
    head = density_of(s.material, suction.temperature) * STANDARD_GRAVITY * suction.lift
    return suction.barometric_pressure + suction.tank_gauge_pressure - head


def suction_parameters(s: described.Scenario, rate: float) -> core.Suction:
    """The suction line with the inlet check's own passage in its inertance (M4, M6); ``rate``: cycle rate
    [1/s]."""
    suction, check = s.suction, s.inlet_check
    rho = density_of(s.material, suction.temperature)
    area = math.pi * suction.hose_diameter**2 / 4.0
    geometry = geometry_of(check, s.closures)
    passage = passage_inertance(geometry, s.inlet_travel)
    fittings = losses(suction.fittings, suction.hose_diameter)
    strainer, strainer_rate = strainer_of(suction)
    return core.Suction(
        inertance=rho * (suction.hose_length / area + passage),
        laminar=128.0 * suction.hose_length / (math.pi * suction.hose_diameter**4),
        minor=(suction.loss_coefficient + fittings.turbulent) * rho / (2.0 * area**2),
        pressure=resting_pressure(s),
        diameter=suction.hose_diameter,
        relative_roughness=suction.hose_roughness / suction.hose_diameter,
        rheology=flow_curves(s.material, rate, suction.temperature)[2],
        strainer=strainer,
        strainer_rate=strainer_rate,
        fittings=fittings.laminar,
    )


def material_parameters(material: described.Material, rate: float) -> core.Material:
    """The material in the lower, with its flow curves at a cycle rate [1/s]."""
    rheology, over_stress, _ = flow_curves(material, rate)
    return core.Material(
        rheology,
        over_stress,
        density_of(material),
        material.bulk_modulus,
        max(GAS_FLOOR, material.free_gas_fraction),
        material.vapour_pressure,
        material.dissolved_gas_fraction,
        1.0 / material.gas_release_time,
    )


class Rate:
    """The cycle rate of a scenario [1/s], worked out when it is first asked for."""

    def __init__(self, scenario: described.Scenario) -> None:
        self._scenario, self._known = scenario, math.nan

    def __call__(self) -> float:
        if math.isnan(self._known):
            self._known = cycle_rate_of(self._scenario)
        return self._known


def blunting_rate(s: described.Scenario, rate: Callable[[], float]) -> float:
    """The cycle rate [1/s] by which flow curves are blunted; nan for a Newtonian material, which has none."""
    return math.nan if is_newtonian(s.material) else rate()


def areas(lower: described.Lower) -> tuple[float, float]:
    """Of bore and rod [m2]."""
    return math.pi * lower.bore**2 / 4.0, math.pi * lower.rod**2 / 4.0


def port_parameters(suction: described.Suction) -> core.Chamber:
    """The inlet port: half of the suction hose, and what its wall gives."""
    hose = math.pi * suction.hose_diameter**2 / 4.0 * suction.hose_length
    return core.Chamber(0.5 * hose, 0.0, suction.port_compliance)


def upper_parameters(s: described.Scenario) -> core.Chamber:
    """The upper chamber, with the near end of the outlet hose."""
    (bore, rod), (volume, compliance) = areas(s.lower), near_end(s)
    full = s.lower.upper_dead_volume + (bore - rod) * s.lower.stroke
    return core.Chamber(full + volume, rod - bore, compliance)


def feeds_back_more(s: described.Scenario) -> bool:
    """Whether the states of a motor, an outlet hose or gas feed back as well."""
    return s.drive.profile == "motor" or has_tip(s.outlet) or s.material.dissolved_gas_fraction > 0.0


def piston_packing(s: described.Scenario) -> core.Narrow:
    """The worn packing of the piston."""
    return _worn(s, s.lower.bore, s.lower.piston_packing_gap, s.lower.piston_packing_length)


def rod_packing(s: described.Scenario) -> core.Narrow:
    """The worn packing of the rod."""
    return _worn(s, s.lower.rod, s.lower.rod_packing_gap, s.lower.rod_packing_length)


def _worn(s: described.Scenario, diameter: float, gap: float, length: float) -> core.Narrow:
    """A packing that does not ask for the density where it does not leak."""
    return packing(diameter, gap, length, density_of(s.material)) if gap > 0.0 else core.Narrow()


GROUPS: dict[str, Callable[[described.Scenario, Callable[[], float]], Any]] = {
    "material": lambda s, rate: material_parameters(s.material, blunting_rate(s, rate)),
    "inlet": lambda s, rate: check_parameters(s, s.inlet_check, s.inlet_travel, rate),
    "piston": lambda s, rate: check_parameters(s, s.piston_check, s.piston_check.travel, rate),
    "port": lambda s, _: port_parameters(s.suction),
    "lower": lambda s, _: core.Chamber(s.lower.lower_dead_volume, areas(s.lower)[0], 0.0),
    "upper": lambda s, _: upper_parameters(s),
    "suction": lambda s, rate: suction_parameters(s, blunting_rate(s, rate)),
    "drive": lambda s, rate: drive_parameters(s.drive, s.lower.stroke, rate()),
    "outlet_pressure": lambda s, rate: outlet_pressure_of(s, rate()),
    "outlet_resistance": lambda s, rate: outlet_resistance_of(s, rate()),
    "reference_pressure": lambda s, _: s.suction.barometric_pressure,
    "gravity": lambda _s, _: STANDARD_GRAVITY,
    "outlet": lambda s, rate: outlet_parameters(s, rate()) if has_tip(s.outlet) else core.NO_HOSE,
    "motor": lambda s, _: motor_parameters(s),
    "piston_packing": lambda s, _: piston_packing(s),
    "rod_packing": lambda s, _: rod_packing(s),
    "more": lambda s, _: int(feeds_back_more(s)),
}
"""How each field of Parameters is made by itself: from case to case only those are made anew that a new value
can change (``setup/cases.py``). The cycle rate is a function, so that only who asks for it depends on it."""


def core_parameters(s: described.Scenario) -> Parameters:
    """Everything the core needs of a scenario."""
    rate = Rate(s)
    return Parameters(**{name: make(s, rate) for name, make in GROUPS.items()})


def control_for(
    p: Parameters, rtol: float = RTOL, max_cycles: int = MAX_CYCLES, most_steps: int = MOST_STEPS
) -> Control:
    """Tolerance and the scales of the states: what the absolute error of each is measured by."""
    c = controls_for(p, rtol, max_cycles, most_steps)
    return c._replace(max_cycles=int(c.max_cycles), counted=int(c.counted))


def controls_for(p: Parameters, rtol: float, max_cycles: int, most_steps: int) -> Control:
    """The same of many cases at once, whose numbers in ``p`` are arrays (n): those that a case decides on are
    arrays too, the states their last dimension.

    Near a flat stop a lift counts by its distance from there and by the roughness: the film's drag does.
    """
    swept = p.lower.area * p.drive.stroke
    speed, flow = p.drive.stroke / p.drive.period, swept / p.drive.period
    squeeze = p.reference_pressure / p.material.bulk_modulus
    scale, end = np.ones((SIZE, *np.shape(swept))), np.zeros((SIZE, *np.shape(swept)))
    scale[0] = p.port.volume * squeeze + p.port.compliance * p.reference_pressure
    scale[1] = flow
    scale[2] = (p.lower.volume + 0.5 * swept) * squeeze
    scale[3] = p.upper.volume * squeeze
    for i, check in ((4, p.inlet), (6, p.piston)):
        lift = 0.01 * check.seat_radius
        scale[i], end[i] = (
            np.where(np.greater(check.pad_radius, 0.0), np.minimum(lift, check.roughness), lift),
            check.travel,
        )
    scale[5] = scale[7] = speed
    scale[DRAWN:] = swept
    scale[POSITION] = p.drive.stroke
    counted = STATES + VOLUMES + scale_more(p, scale, end)
    stores = np.equal(p.outlet.hose, 1) | np.greater(p.material.dissolved, 0.0)
    cycles: Any = np.where(stores, SLOW_STORES * max_cycles, max_cycles)
    return Control(rtol, scale.T, end.T, cycles, most_steps, PERIODIC_TOLERANCE, counted)


def scale_more(p: Parameters, scale: Array, end: Array) -> Any:
    """Scales of the states of motor, outlet hose and gas; how many states, volumes included, they add."""
    squeeze, stroke = p.reference_pressure / p.material.bulk_modulus, p.drive.stroke
    motor, air = np.not_equal(p.motor.kind, NO_MOTOR), np.equal(p.motor.kind, AIR)
    hose, gas = np.equal(p.outlet.hose, 1), np.greater(p.material.dissolved, 0.0)
    store = p.outlet.store
    for state, there, size in (
        (X, motor, 0.01 * stroke),
        (V, motor, p.motor.free_speed),
        (AIR_BELOW, air, p.reference_pressure),
        (AIR_ABOVE, air, p.reference_pressure),
        (OUT_FLOW, hose, scale[1]),
        (STORE, hose, store.volume * squeeze + store.compliance * p.reference_pressure),
        (GAS_PORT, gas, 0.01 * p.material.dissolved * p.port.volume),
        (GAS_LOWER, gas, 0.01 * p.material.dissolved * (p.lower.volume + p.lower.area * stroke)),
    ):
        scale[state] = np.where(there, size, scale[state])
    end[X] = np.where(motor, stroke, end[X])
    packings = (np.greater(packing.laminar, 0.0) for packing in (p.piston_packing, p.rod_packing))
    return 2 * motor + 2 * air + 3 * hose + 2 * gas + sum(1 * leaks for leaks in packings)
