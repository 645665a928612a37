"""What the user should know beside the numbers: limits of the model, of the closures, of the input."""

import math
from collections.abc import Iterator

from balltravel.core.status import Status
from balltravel.metrics import Metrics
from balltravel.scenario import Check, Scenario, defaults_taken
from balltravel.suction_losses import seat_reynolds

CREEPING_REYNOLDS = 50.0
"""Below this Reynolds number at the seat inertia changes the loss by less than about 6 %; own first study."""

TURBULENT_REYNOLDS = 2000.0
"""From here on the flow at the seat is turbulent (pipe flow's usual limit)."""

SEAT_RATIOS = (1.12, 1.8)
CAGE_RATIOS = (0.5, 0.95)
"""Ball over seat radius, and ball over cage radius, for which the closures were looked at."""

CLOSE_CAGE = 0.8
HEAVY = 1.0
PARTICLE_CLEARANCE = 3.0
"""Gap at least three times the largest particle: common practice, no source."""

DRAWN_EMPTY = 0.05
"""Port pressure over vapour pressure, of barometric: free gas there has grown twentyfold (our choice)."""


def _check_cautions(name: str, check: Check, travel: float, scenario: Scenario) -> Iterator[str]:
    weight = check.ball_density - scenario.material.density
    if weight <= 0.0:
        yield f"{name}: the ball is no denser than the material; only flow or a spring brings it home."
    elif weight < 0.05 * check.ball_density:
        yield f"{name}: the ball nearly floats in the material; its fall decides little and is uncertain."
    over_seat, in_cage = check.ball_diameter / check.seat_diameter, check.ball_diameter / check.cage_diameter
    low, high = SEAT_RATIOS
    if not low <= over_seat <= high:
        yield f"{name}: ball over seat diameter {over_seat:.2f} is outside {low} to {high}: indication only."
    low, high = CAGE_RATIOS
    if not low <= in_cage <= high:
        yield f"{name}: ball over cage diameter {in_cage:.2f} is outside {low} to {high}: indication only."
    elif in_cage >= CLOSE_CAGE:
        yield (
            f"{name}: in so close a cage (ball over cage diameter {in_cage:.2f}) a ball off its axis passes "
            "up to 2.5 times more than the centred one that is computed (1 + 1.5 e^2, the narrow eccentric "
            "annulus; from memory)."
        )
    side = 0.5 * (check.cage_diameter - check.ball_diameter)
    particle = PARTICLE_CLEARANCE * scenario.material.largest_particle
    if side < particle:
        yield f"{name}: the cage's clearance is less than three times the largest particle."
    if seat_gap(check, travel) < particle:
        yield f"{name}: the gap at full travel is less than three times the largest particle."
    if ball_top(check, travel) > check.cage_length:
        yield f"{name}: at full travel the ball stands out of its cage, which the closures do not know."


def _flow_cautions(scenario: Scenario) -> Iterator[str]:
    reynolds, where = max(
        (seat_reynolds(scenario, scenario.inlet_check), "inlet"),
        (seat_reynolds(scenario, scenario.piston_check), "piston check's"),
    )
    if reynolds > TURBULENT_REYNOLDS:
        yield (
            f"Reynolds number {reynolds:.0f} at the {where} seat: turbulent; the closures are for creeping "
            "and weakly inertial flow and the numbers an indication only."
        )
    elif reynolds > CREEPING_REYNOLDS:
        yield (
            f"Reynolds number {reynolds:.0f} at the {where} seat: inertia matters and rests on a discharge "
            "coefficient alone."
        )
    if scenario.material.viscosity >= HEAVY and "suction.port_compliance" in defaults_taken(scenario):
        yield (
            "port_compliance is the default: in heavy material a soft hose works as a store and changes the "
            "result; try ten times more and ten times less."
        )


def _cycle_cautions(scenario: Scenario, metrics: Metrics) -> Iterator[str]:
    for name, check in (("inlet check", metrics.inlet), ("piston check", metrics.piston)):
        if "never_seats" in check.flags:
            yield f"{name}: the ball does not come home in the stroke; its lag is the whole stroke."
        if "never_lifts" in check.flags:
            yield f"{name}: the ball never lifts."
    fastest, target = metrics.piston.landing_speed, scenario.target.landing_speed
    if fastest > target:
        yield (
            f"piston check: its ball lands at {fastest:.2f} m/s, above the target of {target:g} m/s for the "
            "inlet ball; the shims do not change that."
        )
    swept = metrics.loss_budget.swept
    if metrics.void_volume > 0.01 * swept:
        yield (
            f"a void of {100 * metrics.void_volume / swept:.0f} % of swept at top dead centre: the piston is "
            "taken at its given speed; a motor would dive through the void and take in less."
        )
    near = scenario.material.vapour_pressure + DRAWN_EMPTY * scenario.suction.barometric_pressure
    if metrics.lowest_port_pressure < near:
        yield "the pressure at the inlet port comes near vapour pressure: the line itself draws empty."


def warnings_for(scenario: Scenario, metrics: Metrics | None, status: Status = Status.OK) -> tuple[str, ...]:
    """Sentences for the user; empty where nothing is to be said."""
    found: list[str] = []
    if status != Status.OK:
        found.append(status.advice)
    inlet, piston = scenario.inlet_check, scenario.piston_check
    found += _check_cautions("inlet check", inlet, scenario.inlet_travel, scenario)
    found += _check_cautions("piston check", piston, piston.travel, scenario)
    found += _flow_cautions(scenario)
    if metrics is not None:
        found += _cycle_cautions(scenario, metrics)
    return tuple(found)


def ball_top(check: Check, travel: float) -> float:
    """Height of the ball's top over the seat edge at a lift [m]."""
    R, r = check.ball_diameter / 2.0, check.seat_diameter / 2.0
    return math.sqrt(R * R - r * r) + travel + R


def seat_gap(check: Check, travel: float) -> float:
    """Shortest distance between ball and seat edge at a lift [m] (M5a)."""
    R, r = check.ball_diameter / 2.0, check.seat_diameter / 2.0
    return math.hypot(r, math.sqrt(R * R - r * r) + travel) - R
