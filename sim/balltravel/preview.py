"""What follows from a scenario before anything is run: volumes, travels, Reynolds numbers, falling balls."""

import math
from dataclasses import dataclass

from scipy.optimize import brentq

from balltravel.closures.tube import added_mass_coefficient, tube_resistance
from balltravel.core.drag import cage_fall_speed
from balltravel.parameters import drive_parameters
from balltravel.rules import STANDARD_GRAVITY
from balltravel.scenario import Check, Drive, Scenario
from balltravel.shims import arrangements

OIL_DENSITY = 970.0
"""Density of the oil in the bench test [kg/m3]; silicone oils lie near it (from memory, no source)."""

OIL_VISCOSITIES = (1.0, 10.0, 100.0)
"""Viscosities of the oils for which fall speeds are given [Pa s]."""


@dataclass(frozen=True)
class Fall:
    """A ball let go on the axis of its cage: liquid [Pa s, kg/m3], steady speed [m/s], time from rest through
    the travel [s].

    The speed is positive downwards. A ball no heavier than the liquid has no time: None.
    """

    viscosity: float
    density: float
    speed: float
    time: float | None


@dataclass(frozen=True)
class CheckPreview:
    """One check: travel [m], flow [m3/s] and Reynolds number in its seat at the piston's full speed, K1 of
    ball in cage, and the ball's fall in the material and in oils for the bench."""

    travel: float
    seat_flow: float
    seat_reynolds: float
    wall_factor: float
    fall: Fall
    bench: tuple[Fall, ...]


@dataclass(frozen=True)
class Travel:
    """An arrangement of the shims and its ball travel [m]."""

    shims_below: tuple[int, ...]
    shims_above: tuple[int, ...]
    ball_travel: float


@dataclass(frozen=True)
class Preview:
    """What is known of a scenario without a run: swept volume [m3], full piston speed [m/s], both checks."""

    swept_volume: float
    piston_speed: float
    inlet: CheckPreview
    piston: CheckPreview
    arrangements: tuple[Travel, ...]


def full_speed(drive: Drive, stroke: float) -> float:
    """Fastest speed of the piston [m/s]: ``pi S f`` for a crank, the cruise at constant speed."""
    if drive.profile == "harmonic":
        return math.pi * stroke * drive.cycle_rate
    return float(max(abs(drive_parameters(drive, stroke).speed)))


def fall_in(check: Check, travel: float, viscosity: float, density: float) -> Fall:
    """The ball of a check in its cage full of still liquid [Pa s, kg/m3]; the cage a plain bore.

    ``W'/(6 pi mu R K1)`` in creeping flow, with K1 = Rww/(6 pi lam); inertia as in core.drag.
    """
    speed = cage_fall_speed(
        check.ball_diameter, check.ball_density, density, viscosity, STANDARD_GRAVITY, wall_factor(check)
    )
    if speed <= 0.0:
        return Fall(viscosity, density, speed, None)
    added = added_mass_coefficient(check.ball_diameter / check.cage_diameter)
    pull = (check.ball_density - density) * STANDARD_GRAVITY / (check.ball_density + added * density)
    return Fall(viscosity, density, speed, time_from_rest(travel, speed, pull))


def time_from_rest(way: float, speed: float, pull: float) -> float:
    """Time [s] to fall a way [m] from rest towards a steady speed [m/s], with the acceleration ``pull``
    [m/s2] at first; all > 0.

    ``way = speed (t - tau (1 - exp(-t/tau)))``, tau = speed/pull: exact in creeping flow, and without drag
    (``sqrt(2 way/pull)``); between them, with the true steady speed, an approximation.
    """
    tau = speed / pull
    scaled = way / (speed * tau)
    return tau * float(
        brentq(lambda t: t + math.expm1(-t) - scaled, 0.0, scaled + 1.0, xtol=1e-300, rtol=1e-12)
    )


def wall_factor(check: Check) -> float:
    """K1 of the ball in its cage, ``Rww/(6 pi lam)``; at least 1."""
    ratio = check.ball_diameter / check.cage_diameter
    return tube_resistance(ratio).Rww / (6.0 * math.pi * ratio)


def preview_check(scenario: Scenario, check: Check, travel: float) -> CheckPreview:
    """What is known of one check; the flow through either is bore area times piston speed."""
    m, lower = scenario.material, scenario.lower
    flow = 0.25 * math.pi * lower.bore**2 * full_speed(scenario.drive, lower.stroke)
    reynolds = 4.0 * m.density * flow / (math.pi * check.seat_diameter * m.viscosity)
    bench = tuple(fall_in(check, travel, oil, OIL_DENSITY) for oil in OIL_VISCOSITIES)
    own = fall_in(check, travel, m.viscosity, m.density)
    return CheckPreview(travel, flow, reynolds, wall_factor(check), own, bench)


def preview(scenario: Scenario) -> Preview:
    """What follows from a scenario without a run. Raises ValueError for a ratio ball/cage above 0.99."""
    lower, shims = scenario.lower, scenario.shims
    inlet, piston = scenario.inlet_check, scenario.piston_check
    found = arrangements(shims.thicknesses, inlet.base_travel)
    return Preview(
        swept_volume=0.25 * math.pi * lower.bore**2 * lower.stroke,
        piston_speed=full_speed(scenario.drive, lower.stroke),
        inlet=preview_check(scenario, inlet, scenario.inlet_travel),
        piston=preview_check(scenario, piston, piston.travel),
        arrangements=tuple(Travel(one.below, one.above, one.travel) for one in found),
    )
