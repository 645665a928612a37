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


def _check_cautions(name: str, check: Check, scenario: Scenario) -> Iterator[str]:
    weight = check.ball_density - scenario.material.density
    if weight <= 0.0:
        yield f"{name}: the ball is lighter than the material and never falls to its seat by itself."
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
            "up to 2.5 times more than the centred one that is computed."
        )
    side = 0.5 * (check.cage_diameter - check.ball_diameter)
    if side < PARTICLE_CLEARANCE * scenario.material.largest_particle:
        yield f"{name}: the cage's clearance is less than three times the largest particle."


def _flow_cautions(scenario: Scenario) -> Iterator[str]:
    reynolds = seat_reynolds(scenario)
    if reynolds > TURBULENT_REYNOLDS:
        yield (
            f"Reynolds number {reynolds:.0f} at the inlet seat: turbulent; the closures are for creeping and "
            "weakly inertial flow and the numbers an indication only."
        )
    elif reynolds > CREEPING_REYNOLDS:
        yield (
            f"Reynolds number {reynolds:.0f} at the inlet seat: inertia matters and rests on a discharge "
            "coefficient alone."
        )
    if scenario.material.viscosity >= HEAVY and "suction.port_compliance" in defaults_taken(scenario):
        yield (
            "port_compliance is the default: in heavy material a soft hose works as a store and can deliver "
            "several per cent more."
        )


def _cycle_cautions(scenario: Scenario, metrics: Metrics) -> Iterator[str]:
    for name, check in (("inlet check", metrics.inlet), ("piston check", metrics.piston)):
        if "never_seats" in check.flags:
            yield f"{name}: the ball does not come home in the stroke; its lag is the whole stroke."
        if "never_lifts" in check.flags:
            yield f"{name}: the ball never lifts."
    swept = metrics.loss_budget.swept
    if metrics.void_volume > 0.01 * swept:
        yield (
            f"a void of {100 * metrics.void_volume / swept:.0f} % of swept at top dead centre: the piston is "
            "taken at its given speed; a motor would dive through the void and take in less."
        )
    if metrics.lowest_port_pressure < scenario.material.vapour_pressure * 1.5:
        yield "the pressure at the inlet port comes down to vapour pressure: the line itself draws empty."


def warnings_for(scenario: Scenario, metrics: Metrics | None, status: Status = Status.OK) -> tuple[str, ...]:
    """Sentences for the user; empty where nothing is to be said."""
    found: list[str] = []
    if status != Status.OK:
        found.append(status.advice)
    found += _check_cautions("inlet check", scenario.inlet_check, scenario)
    found += _check_cautions("piston check", scenario.piston_check, scenario)
    found += _flow_cautions(scenario)
    if metrics is not None:
        found += _cycle_cautions(scenario, metrics)
    return tuple(found)


def seat_gap(check: Check, travel: float) -> float:
    """Shortest distance between ball and seat edge at a lift [m] (M5a)."""
    R, r = check.ball_diameter / 2.0, check.seat_diameter / 2.0
    return math.hypot(r, math.sqrt(R * R - r * r) + travel) - R
