"""What follows from a scenario before anything is run: volumes, travels, Reynolds numbers, falling balls."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from balltravel.closures.families import closures_at
from balltravel.closures.settling import settling_speed
from balltravel.closures.tube import tube_resistance
from balltravel.estimate.cautions import warnings_for
from balltravel.estimate.suction_losses import bore_viscosity, seat_reynolds
from balltravel.scenario.model import TABULATED, Check, Closures, Scenario
from balltravel.scenario.rules.all import STANDARD_GRAVITY
from balltravel.scenario.shims import arrangements, distinct_travels
from balltravel.setup.drive import cycle_rate_of
from balltravel.setup.flow_curves import density_of, rheology_of
from balltravel.setup.parameters import LANDING_GAP, cage_radius, full_flow, geometry_of

OIL_DENSITY = 970.0
"""Density of the oil in the bench test [kg/m3]; silicone oils lie near it (from memory, no source)."""

OILS = ((10.0, OIL_DENSITY), (100.0, OIL_DENSITY))
"""Viscosity [Pa s] and density [kg/m3] of the oils of the bench test where none is asked for: so thick that a
ball's inertia does not count."""

SLOW = 1.0
"""Reynolds number of the falling ball, by its mean speed and its diameter, up to which the bench test takes
its fall for slow (our choice)."""

SPENT_ON_SPEED = 0.05
"""Share of its weight that a ball may spend on gaining speed in the bench test (our choice)."""


@dataclass(frozen=True)
class BenchFall:
    """A ball let go at its stop, the check dipped in an oil [Pa s, kg/m3] that can leave through the open
    seat: time in slow flow until a hundredth of the seat radius is left [s]; None for a ball no heavier than
    the oil. ``least_viscosity``: that of an oil [Pa s] from which on the fall is slow; below it the time says
    nothing."""

    viscosity: float
    density: float
    time: float | None
    least_viscosity: float = 0.0

    @property
    def too_thin(self) -> bool:
        """Whether the ball falls too fast in this oil for its time to be known."""
        return self.viscosity < self.least_viscosity


@dataclass(frozen=True)
class CheckPreview:
    """One check: travel [m], flow [m3/s] and Reynolds number in its seat at the piston's full speed, K1 of
    ball in cage, the ball's steady fall in the material far from the seat in a bore that is closed below
    [m/s, downwards positive], and the bench test."""

    travel: float
    seat_flow: float
    seat_reynolds: float
    seat_viscosity: float
    wall_factor: float
    fall_speed: float
    bench: tuple[BenchFall, ...]


@dataclass(frozen=True)
class Travel:
    """An arrangement of the shims and its ball travel [m]."""

    shims_below: tuple[int, ...]
    shims_above: tuple[int, ...]
    ball_travel: float


@dataclass(frozen=True)
class Preview:
    """What is known of a scenario without a run: swept volume [m3], full piston speed [m/s], both checks, the
    travels of the shims, and what to beware of."""

    swept_volume: float
    piston_speed: float
    inlet: CheckPreview
    piston: CheckPreview
    arrangements: tuple[Travel, ...]
    warnings: tuple[str, ...]


def bench_fall(
    check: Check, travel: float, viscosity: float, density: float, closures: Closures = TABULATED
) -> BenchFall:
    """The bench test by the check's own closures: no pressure drop, so mu S r w = W' at every lift (M5d), and
    the time is mu r/W' times the integral of S over the travel. Exact in creeping flow without inertia."""
    volume = math.pi * check.ball_diameter**3 / 6.0
    weight = (check.ball_density - density) * volume * STANDARD_GRAVITY
    if weight <= 0.0:
        return BenchFall(viscosity, density, None)
    geometry = geometry_of(check, closures)
    # S has a logarithm at the seat: nodes even in the root of the lift.
    low = min(LANDING_GAP * geometry.contact_radius, 0.5 * travel)
    lift = low + (travel - low) * np.linspace(0.0, 1.0, 4001) ** 2
    integral = float(np.trapezoid(closures_at(geometry, lift)[2], lift))
    time = viscosity * geometry.contact_radius * integral / weight
    speed = (travel - low) / time
    reynolds = density * speed * check.ball_diameter / viscosity
    gaining = check.ball_density * volume * speed / (weight * time)
    # Time grows with the viscosity, so both of these fall with its square.
    least = viscosity * math.sqrt(max(reynolds / SLOW, gaining / SPENT_ON_SPEED))
    return BenchFall(viscosity, density, time, least)


def wall_factor(check: Check) -> float:
    """K1 of the ball in its cage, ``Rww/(6 pi lam)``; at least 1."""
    ratio = 0.5 * check.ball_diameter / cage_radius(check)
    return tube_resistance(ratio).Rww / (6.0 * math.pi * ratio)


def preview_check(
    scenario: Scenario, check: Check, travel: float, oils: Sequence[tuple[float, float]] = OILS
) -> CheckPreview:
    """What is known of one check; the flow through either is bore area times piston speed."""
    m = scenario.material
    factor, ratio = wall_factor(check), 0.5 * check.ball_diameter / cage_radius(check)
    rheology = rheology_of(m, cycle_rate_of(scenario))
    fall = settling_speed(
        rheology, check.ball_diameter, check.ball_density, density_of(m), STANDARD_GRAVITY, ratio
    )
    bench = tuple(bench_fall(check, travel, mu, density, scenario.closures) for mu, density in oils)
    flow = full_flow(scenario)
    mu = bore_viscosity(scenario, flow, 0.5 * check.seat_diameter)
    return CheckPreview(travel, flow, seat_reynolds(scenario, check), mu, factor, fall, bench)


def preview(scenario: Scenario, oils: Sequence[tuple[float, float]] = OILS) -> Preview:
    """What follows from a scenario without a run; ``oils``: viscosity [Pa s] and density [kg/m3] of those of
    the bench test."""
    lower, shims = scenario.lower, scenario.shims
    inlet, piston = scenario.inlet_check, scenario.piston_check
    bore = math.pi * lower.bore**2 / 4.0
    return Preview(
        swept_volume=bore * lower.stroke,
        piston_speed=full_flow(scenario) / bore,
        inlet=preview_check(scenario, inlet, scenario.inlet_travel, oils),
        piston=preview_check(scenario, piston, piston.travel, oils),
        arrangements=tuple(
            Travel(arrangement.below, arrangement.above, arrangement.travel)
            for arrangement in distinct_travels(arrangements(shims.thicknesses, inlet.base_travel))
        ),
        warnings=warnings_for(scenario, None),
    )
