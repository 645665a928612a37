"""Whether the closures were used within their validated ranges: how long in the cycle, and how far beyond."""

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from balltravel.closures.ball_over_seat import OVER_SEAT
from balltravel.closures.families import FAMILIES
from balltravel.closures.table.beyond_creeping import EXPONENTS
from balltravel.closures.table.edge_and_cage import BORE_SHEAR
from balltravel.closures.tube import IN_CAGE
from balltravel.core.contact import SEATED
from balltravel.core.contents import COMPRESSION, GAS_EXPANSION
from balltravel.core.friction import HOSE_REYNOLDS, HOSE_ROUGHNESS
from balltravel.core.ranges import Range
from balltravel.core.records import as_record
from balltravel.core.rheology import local_exponent, viscosity
from balltravel.cycle.motion import Motion
from balltravel.material.model import material_model
from balltravel.scenario.model import Check, Scenario
from balltravel.setup.drive import cycle_rate_of
from balltravel.setup.flow_curves import density_of, flow_curves, rheology_of
from balltravel.setup.outlet import has_tip
from balltravel.setup.parameters import cage_radius

Array = NDArray[np.float64]

INLET, PISTON = 0, 1
"""Columns of a motion."""

INDICATION_SHARE = 0.01
"""Share of the cycle outside a range from which on the numbers are an indication only (our choice)."""


@dataclass(frozen=True)
class Excursion:
    """A closure used outside its range: where, which, by which quantity; share of the cycle [-], the value
    farthest out, and the end of the range that is nearest to it."""

    place: str
    closure: str
    quantity: str
    share: float
    worst: float
    limit: float
    basis: str

    @property
    def counts(self) -> bool:
        """Whether it lasts long enough to make the numbers an indication."""
        return self.share >= INDICATION_SHARE

    def __str__(self) -> str:
        where = f"{self.place}: " if self.place else ""
        when = "always" if self.share >= 1.0 else f"for {100.0 * self.share:.2g} % of the cycle"
        side, way = ("above", "up to") if self.worst > self.limit else ("below", "down to")
        limit, worst = (f"{float(f'{value:.3g}'):.10g}" for value in (self.limit, self.worst))
        return f"{where}{self.quantity} {side} {limit} {when}, {way} {worst} ({self.closure}: {self.basis})"


def is_indication(excursions: Sequence[Excursion]) -> bool:
    """Whether these make the numbers an indication rather than a recommendation."""
    return any(excursion.counts for excursion in excursions)


class RangeCheck(NamedTuple):
    """For each row, whether any closure is outside its range there; and all excursions of the cycle."""

    outside: NDArray[np.bool_]
    excursions: tuple[Excursion, ...]


def check_ranges(scenario: Scenario, motion: Motion) -> RangeCheck:
    """Hold a cycle against the range of every closure."""
    weights = _weights(motion.time)
    outside = np.zeros(motion.time.size, dtype=bool)
    excursions = []
    for place, limits, values in _uses(scenario, motion):
        beyond = _beyond(limits, values)
        outside |= beyond
        excursion = _excursion(place, limits, values, beyond, weights)
        if excursion is not None:
            excursions.append(excursion)
    return RangeCheck(outside, tuple(excursions))


def _uses(scenario: Scenario, motion: Motion) -> Iterator[tuple[str, Range, Array]]:
    """Place, range and the quantity over the rows, of every closure."""
    s, m = scenario.suction, scenario.material
    yield from _check_uses("inlet check", scenario.inlet_check, scenario, motion, INLET)
    yield from _check_uses("piston check", scenario.piston_check, scenario, motion, PISTON)
    yield "inlet check", GAS_EXPANSION, _expansion(scenario, motion)
    suction = _hose_reynolds(scenario, motion.line_flow, s.hose_diameter, s.temperature)
    yield "suction line", HOSE_REYNOLDS, suction
    yield "suction line", HOSE_ROUGHNESS, np.full(motion.time.size, s.hose_roughness / s.hose_diameter)
    if has_tip(scenario.outlet):
        d = scenario.outlet.hose_diameter or math.nan
        yield "outlet hose", HOSE_REYNOLDS, _hose_reynolds(scenario, motion.outlet_flow, d)
        yield "outlet hose", HOSE_ROUGHNESS, np.full(motion.time.size, scenario.outlet.hose_roughness / d)
    yield "chambers", COMPRESSION, np.maximum(motion.lower_pressure, motion.upper_pressure) / m.bulk_modulus


def _expansion(scenario: Scenario, motion: Motion) -> Array:
    """How much larger than at the atmosphere what flows through the inlet check is, by its free gas, at the
    mean of the pressures before and behind it; 0 where the check is shut."""
    m, atmosphere = scenario.material, scenario.suction.barometric_pressure
    mean = 0.5 * (motion.port_pressure + motion.lower_pressure)
    gas = m.free_gas_fraction * ((atmosphere - m.vapour_pressure) / (mean - m.vapour_pressure) - 1.0)
    return np.where((motion.contact[:, INLET] == SEATED) | (motion.flow[:, INLET] <= 0.0), 0.0, gas)


def _check_uses(
    place: str, check: Check, scenario: Scenario, motion: Motion, column: int
) -> Iterator[tuple[str, Range, Array]]:
    every = np.ones(motion.time.size)
    yield place, OVER_SEAT, check.ball_diameter / check.contact_diameter * every
    yield place, IN_CAGE, 0.5 * check.ball_diameter / cage_radius(check) * every
    family, flow = FAMILIES[scenario.closures.resistance], motion.flow[:, column]
    yield place, family.lifts, motion.lift[:, column] / (0.5 * check.contact_diameter)
    yield place, family.reynolds, _reynolds(scenario, check.seat_diameter, flow)
    if not material_model(scenario.material).newtonian:
        yield place, EXPONENTS, _in_bore(scenario, check.seat_diameter, flow, local_exponent)


def _in_bore(scenario: Scenario, diameter: float, flow: Array, what: Callable[..., float]) -> Array:
    """A property of the flow curve at the shear rates of flows [m3/s] in a bore."""
    rheology = rheology_of(scenario.material, cycle_rate_of(scenario))
    rates = BORE_SHEAR * np.abs(flow) / (0.5 * diameter) ** 3
    record = as_record(rheology)
    return np.array([what(record, float(rate)) for rate in rates])


def _reynolds(scenario: Scenario, diameter: float, flow: Array) -> Array:
    """Reynolds number of flows [m3/s] in a bore."""
    mu = _in_bore(scenario, diameter, flow, viscosity)
    return np.asarray(4.0 * density_of(scenario.material) * np.abs(flow) / (math.pi * mu * diameter))


def _hose_reynolds(scenario: Scenario, flow: Array, d: float, kelvin: float | None = None) -> Array:
    """The same in a hose of a diameter [m] at its temperature, with the viscosity by which it loses
    pressure."""
    m = scenario.material
    record = as_record(flow_curves(m, cycle_rate_of(scenario), kelvin)[2])
    through = 32.0 * np.abs(flow) / (math.pi * d**3)
    mu = np.array([viscosity(record, float(rate)) for rate in through])
    return np.asarray(4.0 * density_of(m, kelvin) * np.abs(flow) / (math.pi * mu * d))


def _beyond(limits: Range, values: Array) -> NDArray[np.bool_]:
    inside = np.zeros(values.size, dtype=bool)
    for low, high in limits.inside:
        inside |= (values >= low) & (values <= high)
    return ~inside


def _weights(time: Array) -> Array:
    """Each row's share of the cycle: half of the steps on both of its sides."""
    steps = np.diff(time) / (time[-1] - time[0])
    return 0.5 * (np.concatenate(([0.0], steps)) + np.concatenate((steps, [0.0])))


def _excursion(
    place: str, limits: Range, values: Array, beyond: NDArray[np.bool_], weights: Array
) -> Excursion | None:
    share = 1.0 if beyond.all() else float(weights[beyond].sum())
    if share <= 0.0:
        return None
    ends = np.array([end for pair in limits.inside for end in pair if math.isfinite(end)])
    nearest = ends[np.abs(values[beyond][:, None] - ends).argmin(axis=1)]
    # The lift's range begins at 0: distances are taken in the size of the range's end.
    far = np.abs(values[beyond] - nearest) / np.maximum(np.abs(nearest), 1e-300)
    worst = int(far.argmax())
    return Excursion(
        place,
        limits.closure,
        limits.quantity,
        share,
        float(values[beyond][worst]),
        float(nearest[worst]),
        limits.basis,
    )
