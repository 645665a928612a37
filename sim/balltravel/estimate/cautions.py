"""What the user should know beside the numbers: limits of the model, of the closures, of the input."""

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

from balltravel.closures.passages import off_axis_gain
from balltravel.closures.settling import largest_yield_stress
from balltravel.closures.table.cones import has_cone
from balltravel.core.status import Status
from balltravel.estimate.shear_rates import ShearedPlace, read_rates, unread
from balltravel.estimate.suction_losses import (
    available_pressure,
    feed_excess,
    viscosity_in_lower,
    yield_in_hose,
    yield_in_lower,
    yield_share,
)
from balltravel.material.model import material_model
from balltravel.scenario.model import Check, Scenario, defaults_taken
from balltravel.scenario.rules.all import STANDARD_GRAVITY
from balltravel.scenario.stroke_trace import backward
from balltravel.setup.drive import free_speed
from balltravel.setup.flow_curves import density_of
from balltravel.setup.parameters import cage_radius
from balltravel.units import to_text, to_texts, told_apart
from balltravel.units.display import against
from balltravel.units.systems import unit_in_use

if TYPE_CHECKING:
    from balltravel.cycle.metrics import Metrics

CLOSE_CAGE = 0.8
HEAVY = 1.0
PARTICLE_CLEARANCE = 3.0
"""Gap at least three times the largest particle: common practice, no source."""

NOISE = 2e-3
"""Noise of a measured stroke, over the stroke, that is told (our choice)."""

JUMP = 1.5
"""Piston speed over that without load above which a motor's reversal is warned of (our choice): a dive of a
hydraulic motor stays below sqrt(2)."""

MUCH_LEAK = 0.02
"""Leak over swept from which on it is warned of (our choice)."""

PACKED = 5e-4
"""Share of swept by which fill or delivery may exceed 1 before it is explained: what shows as 100.1 %."""

MISSED = 0.01
"""Share by which the pressure at a tip may miss the one asked for before it is warned of (our choice)."""

RULES = 0.3
"""Share of a yield stress in the stress at the seat bore's shear rate from which on it rules (our choice)."""

SCATTERED = 3.0
"""Scatter of readings over their stated uncertainty from which on it is warned of (our choice)."""

LEAST_EXPONENT = 0.3
"""The least exponent of the power laws that were solved (docs/closures.md, shear thinning)."""

THICKENS = 1.02
"""Exponent above which a material is said to thicken (our choice)."""

NEAR_VAPOUR = 0.05
"""Port pressure over vapour pressure, of barometric: free gas there has grown twentyfold (our choice)."""


def _check_cautions(name: str, check: Check, travel: float, scenario: Scenario) -> Iterator[str]:
    weight = check.ball_density - density_of(scenario.material)
    if weight <= 0.0:
        yield f"{name}: the ball is no denser than the material; only flow or a spring seats it."
    elif weight < 0.05 * check.ball_density:
        yield f"{name}: the ball nearly floats in the material; its fall has little effect and is uncertain."
    in_cage = 0.5 * check.ball_diameter / cage_radius(check)
    stress = yield_in_lower(scenario)
    most = stress_that_holds(scenario, check) if stress > 0.0 else math.inf
    if weight != 0.0 and stress >= most:
        yield (
            f"{name}: a yield stress of {to_text(stress, 'stress', 3)} holds the ball up in still material "
            f"({to_text(most, 'stress', 3)} would be enough): only flow or a spring seats it."
        )
    if in_cage >= CLOSE_CAGE and scenario.closures.ball_position == "centred":
        side = 0.5 * (check.cage_diameter - check.ball_diameter)
        gain = off_axis_gain(0.5 * check.ball_diameter, cage_radius(check), side)
        yield (
            f"{name}: in such a close cage (ball over bore {in_cage:.2f}) up to {gain:.1f} times more "
            "material passes a ball that touches the cage than the centred ball computed here (in slow "
            "flow; still more of a material that thins); "
            "`--set closures.ball_position=touching` computes that case."
        )
    if check.table:
        yield (
            f"{name}: by its own table of solves for slow flow; what inertia and shear thinning change there "
            "is taken from the nearest sharp edge."
        )
    elif check.seat == "cone":
        table = scenario.closures.resistance == "tabulated" and has_cone(check.seat_half_angle or 0.0)
        yield (
            f"{name}: on a cone the pressure drop is known within {3 if table else 14} % in slow flow of a "
            "Newtonian material, "
            "worse in other flow, and the time at which the ball seats depends on the surface roughness "
            "(the backflow hardly does): compare with half and twice the roughness."
        )
    side = 0.5 * (check.cage_diameter - check.ball_diameter)
    particle = PARTICLE_CLEARANCE * scenario.material.largest_particle
    if side < particle:
        yield f"{name}: the ball guide clearance is less than three times the largest particle."
    if seat_gap(check, travel) < particle:
        yield f"{name}: the gap at full travel is less than three times the largest particle."
    if ball_top(check, travel) > check.cage_length:
        yield f"{name}: at full travel the ball protrudes from its cage; the closures do not cover this."


def _port_cautions(scenario: Scenario) -> Iterator[str]:
    soft = scenario.suction.line == "hose" and "suction.port_compliance" in defaults_taken(scenario)
    if viscosity_in_lower(scenario) >= HEAVY and soft:
        yield (
            "port_compliance is the default: where heavy material starves the lower, a soft hose works as a "
            "store and changes the result; `simulate` and `recommend` say by how much."
        )


def _thinning_cautions(scenario: Scenario) -> Iterator[str]:
    """How far a material that thins is known, and whether its yield stress lets it flow at all."""
    material = scenario.material
    if material_model(material).newtonian:
        return
    stress = yield_in_lower(scenario)
    share = yield_share(scenario)
    rules = ", and the flow at a given drop within tens of per cent, because its yield stress dominates"
    known = f"within some 10 %{rules if share >= RULES else ''}"
    if getattr(material_model(material).law, "exponent", 1.0) <= 1.0:
        yield f"the material thins: the pressure drop of a check is known {known} (docs/closures.md)."
    needed, there = yield_in_hose(scenario), available_pressure(scenario)
    if stress > 0.0 and needed >= there:
        takes, has = to_texts((needed, there), "pressure", 3)
        yield (
            f"the yield stress alone takes {takes} in the suction hose, but only {has} is available: "
            "nothing flows."
        )


def reading_cautions(scenario: Scenario) -> Iterator[str]:
    """Where in the lower, and at which temperatures, the material's readings do not tell what it does."""
    rates, beyond = read_rates(scenario), unread(scenario)
    if rates is not None and beyond:
        low, high = (f"{rate:.3g}" for rate in rates)
        there = "; ".join(f"{place.name} {_span(place)}" for place in beyond)
        yield (
            f"the readings reach from {low} to {high} 1/s, where the lower shears the material by (1/s): "
            f"{there}. There the flow law is extrapolated."
        )
    known, suction = material_model(scenario.material), scenario.suction.temperature
    fitted = known.fitted
    if fitted is not None and (fitted.scatter or 0.0) > SCATTERED:
        yield (
            f"the readings deviate from the flow law ({fitted.law.NAME}) by {fitted.scatter:.2g} times "
            "their stated uncertainty: give `flow` another law, or check the readings for an error."
        )
    exponent = getattr(known.law, "exponent", 1.0)
    if exponent > THICKENS:
        shown = told_apart(exponent, 1.0, 2)
        yield (
            f"the material thickens under shear (exponent {shown}), which coatings seldom do: check "
            "the readings for an error; no solves of flow past a ball cover this."
        )
    elif fitted is not None and not LEAST_EXPONENT <= exponent <= 1.0:
        broken = LEAST_EXPONENT if exponent < LEAST_EXPONENT else 1.0
        yield (
            f"the fitted exponent is {told_apart(exponent, broken, 2)}, outside {LEAST_EXPONENT:g} to 1, "
            "where flow past a ball was solved: an indication only."
        )
    for where, kelvin in (("the lower", scenario.material.temperature), ("tank and hose", suction)):
        law = known.over_temperature
        if law is not None and kelvin is not None and law.extrapolates(kelvin):
            yield (
                f"{to_text(kelvin, 'temperature', 3)} in {where} is far from the temperatures of the "
                "readings: the viscosity there is extrapolated."
            )


def _span(place: ShearedPlace) -> str:
    slow, fast = f"{place.slowest:.2g}", f"{place.fastest:.2g}"
    return _plainly(slow) if slow == fast else f"{_plainly(slow)} to {_plainly(fast)}"


def _plainly(number: str) -> str:
    return f"{float(number):.10g}"


def stress_that_holds(scenario: Scenario, check: Check) -> float:
    """Yield stress [Pa] that just holds a check's ball in still material; 0 for a ball as dense as it."""
    in_cage = 0.5 * check.ball_diameter / cage_radius(check)
    weight = (check.ball_density - density_of(scenario.material)) * STANDARD_GRAVITY
    net = abs(weight) * math.pi / 6.0 * check.ball_diameter**3
    return largest_yield_stress(net, check.ball_diameter, in_cage)


def _feed_cautions(scenario: Scenario) -> Iterator[str]:
    excess = feed_excess(scenario)
    if excess > 0.0:
        yield (
            f"the feed's pressure is {to_text(excess, 'pressure', 3)} above the outlet's: it holds both "
            "checks open and material runs through the lower by itself, as through a pipe; fill, delivery "
            "and losses do not describe the checks, and ball travel makes no difference. Lower the feed "
            "pressure."
        )


def _spring_cautions(scenario: Scenario, metrics: "Metrics") -> Iterator[str]:
    check, available = scenario.inlet_check, available_pressure(scenario)
    closing = check.spring_preload - check.holding_force
    if "never_lifts" in metrics.inlet.flags and closing > 0.0:
        needed = closing / (0.25 * math.pi * check.contact_diameter**2)
        opens, there = to_texts((needed, available), "pressure", 3)
        held = ", less the force that holds the ball up," if check.holding_force else ""
        yield (
            f"inlet check: its spring's preload alone{held} needs {opens} on the seat to open; {there} is "
            "available."
        )


def _motor_cautions(scenario: Scenario, metrics: "Metrics") -> Iterator[str]:
    """A motor whose valves are slow against the outlet's pressure lets the piston jump when it reverses."""
    if scenario.drive.profile != "motor":
        return
    without_load = free_speed(scenario.drive, scenario.lower.stroke)
    if metrics.piston_speed > JUMP * without_load:
        speed, times = to_text(metrics.piston_speed, "velocity", 2), metrics.piston_speed / without_load
        yield (
            f"the piston jumps at up to {speed} when it reverses or dives, {times:.1f} times its speed "
            "without load: moving mass, friction and the motor's valves, which the model describes only "
            "roughly, decide how hard balls and piston land there; take landing and backflow as an "
            "indication."
        )


def _pressure_cautions(scenario: Scenario, metrics: "Metrics") -> Iterator[str]:
    wanted = scenario.outlet.gauge_pressure
    if scenario.outlet.form != "tip at pressure" or wanted is None:
        return
    made = metrics.outlet_pressure - scenario.suction.barometric_pressure
    if abs(made - wanted) > MISSED * (wanted + scenario.suction.barometric_pressure):
        has, asked = to_texts((made, wanted), "pressure", 3)
        yield (
            f"this lower cannot hold {asked} at this tip at any cycle rate: the numbers are for {has}, at "
            f"{60.0 * metrics.cycle_rate:.3g} cycles/min."
        )


def _trace_cautions(scenario: Scenario) -> Iterator[str]:
    if scenario.drive.profile != "trace":
        return
    positions = [x for _, x in scenario.drive.trace]
    share = backward(positions) / (max(positions) - min(positions))
    if share > NOISE:
        yield (
            f"the measured piston runs back by up to {100.0 * share:.2g} % of the stroke within a stroke: "
            "that is taken as noise and held at what had been reached, which moves the reversals; smooth it "
            "first."
        )


def _leak_cautions(metrics: "Metrics") -> Iterator[str]:
    budget = metrics.loss_budget
    if budget.leak > MUCH_LEAK * budget.swept:
        yield (
            f"worn seats or packings leak {100.0 * budget.leak / budget.swept:.3g} % of swept: mend them "
            "first; no ball travel makes up for it, and the fill hardly shows it."
        )
    if budget.delivered < 0.0:
        yield (
            "more runs back from the outlet than is delivered: an outlet of fixed pressure feeds leaks "
            "without end, where a real one would lose its pressure; describe hose and tip (outlet.form) to "
            "see it."
        )


def _packed_cautions(metrics: "Metrics") -> Iterator[str]:
    """Why a fill or a delivery stands above what is swept, where the feed's pressure is why."""
    budget = metrics.loss_budget
    most = max(metrics.fill_fraction, metrics.volumetric_efficiency)
    if most - 1.0 >= PACKED and -budget.compression_and_gas >= (most - 1.0) * budget.swept:
        yield (
            "fill or delivery above 100 %: volumes are counted at barometric pressure, and the feed's "
            "pressure compresses what fills the chamber, free gas above all, so that more fits in."
        )


def _cycle_cautions(scenario: Scenario, metrics: "Metrics") -> Iterator[str]:
    for name, check in (("inlet check", metrics.inlet), ("piston check", metrics.piston)):
        if "never_seats" in check.flags:
            yield f"{name}: the ball does not seat within the stroke; its lag is the whole stroke."
        if "never_lifts" in check.flags:
            yield f"{name}: the ball never lifts."
    near = scenario.material.vapour_pressure + NEAR_VAPOUR * scenario.suction.barometric_pressure
    if metrics.lowest_port_pressure < near:
        yield "the pressure at the inlet port comes near vapour pressure: the suction line itself cavitates."


def _guess_cautions(scenario: Scenario) -> Iterator[str]:
    """A heavy material of which one viscosity or one reading is known and no law of flow."""
    material = scenario.material
    stated = "flow" in material.model_fields_set or len(material.readings) > 1
    if not stated and viscosity_in_lower(scenario) >= HEAVY:
        yield (
            "the law of flow is a guess: one viscosity is given and no `flow`, so the material is taken as "
            "Newtonian, but most heavy coatings thin under shear (common practice, no source). Measure at "
            'two speeds or more and give `readings`, or state flow = "Newtonian".'
        )


def _piston_landing(scenario: Scenario, metrics: "Metrics") -> Iterator[str]:
    """The other ball, by the same target: shims of the inlet check do not reach it, so it refuses none."""
    fastest, target = metrics.piston.landing_speed, scenario.target.landing_speed
    if fastest > target:
        word = "default target" if scenario.target.is_default("landing_speed") else "target"
        lands, limit = against(fastest, target, "velocity", "m/s", 2)
        yield (
            f"piston check: its ball lands at {lands} {unit_in_use('m/s')}, above the {word} of {limit}; "
            "the shims do not change that."
        )


def decisive_warnings(
    scenario: Scenario, metrics: "Metrics | None", status: Status = Status.OK
) -> tuple[str, ...]:
    """Sentences that count for more than any ball travel, the weightiest first: how the run ended, what runs
    or leaks through, a flow law that is a guess, a piston ball that lands too hard."""
    said: list[str] = [] if status == Status.OK else [status.advice]
    said += _feed_cautions(scenario)
    if metrics is not None:
        said += _leak_cautions(metrics)
        said += _pressure_cautions(scenario, metrics)
    said += _guess_cautions(scenario)
    if metrics is not None:
        said += _piston_landing(scenario, metrics)
    return tuple(said)


def warnings_for(
    scenario: Scenario, metrics: "Metrics | None", status: Status = Status.OK
) -> tuple[str, ...]:
    """Sentences for the user, those that decide first; empty where nothing is to be said."""
    return (*decisive_warnings(scenario, metrics, status), *further_warnings(scenario, metrics))


def further_warnings(scenario: Scenario, metrics: "Metrics | None") -> tuple[str, ...]:
    """Limits of the model, of the closures, of the input, beside what decides."""
    said: list[str] = []
    inlet, piston = scenario.inlet_check, scenario.piston_check
    said += _check_cautions("inlet check", inlet, scenario.inlet_travel, scenario)
    said += _check_cautions("piston check", piston, piston.travel, scenario)
    said += _trace_cautions(scenario)
    said += _thinning_cautions(scenario)
    said += reading_cautions(scenario)
    if metrics is None:
        said += _port_cautions(scenario)
    else:
        said += _cycle_cautions(scenario, metrics)
        said += _spring_cautions(scenario, metrics)
        said += _packed_cautions(metrics)
        said += _motor_cautions(scenario, metrics)
    return tuple(said)


def ball_top(check: Check, travel: float) -> float:
    """Height of the ball's top over the seat edge at a lift [m]."""
    R, r = check.ball_diameter / 2.0, check.contact_diameter / 2.0
    return math.sqrt(R * R - r * r) + travel + R


def seat_gap(check: Check, travel: float) -> float:
    """Shortest distance between ball and seat at a lift [m]: from the edge (M5a), or from the cone."""
    if check.seat_half_angle is not None:
        return travel * math.sin(check.seat_half_angle)
    R, r = check.ball_diameter / 2.0, check.seat_diameter / 2.0
    return math.hypot(r, math.sqrt(R * R - r * r) + travel) - R
