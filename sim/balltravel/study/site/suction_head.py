"""The suction side as the trade calculates it: net positive suction head available and required, and the
vessel."""

import math
from contextlib import suppress
from dataclasses import asdict, dataclass
from typing import Any, NamedTuple

import numpy as np

from balltravel.core import parameters as core
from balltravel.core.model import line_loss
from balltravel.core.records import as_record
from balltravel.cycle.found_rate import at_found_rate
from balltravel.cycle.run import run_cycle
from balltravel.estimate.suction_losses import peak_flow, vapour_in_line
from balltravel.scenario.model import Scenario, ScenarioError, with_value, with_values
from balltravel.scenario.rules.all import STANDARD_GRAVITY
from balltravel.setup.drive import cycle_rate_of
from balltravel.setup.flow_curves import density_of
from balltravel.setup.outlet import outlet_pressure_of
from balltravel.setup.parameters import core_parameters
from balltravel.site.vessels import Vessel
from balltravel.study.search.crossing import Scale, Verdict, search
from balltravel.study.search.inputs import VESSEL_LEVEL
from balltravel.study.search.walk import Base, reader_of, walks
from balltravel.study.travel.trials import NO_DELIVERY
from balltravel.sweeps.cases import run_case
from balltravel.units import to_si, to_text

LESS_DELIVERY = 0.03
"""Loss that defines the head required, over what is kept with ample suction pressure: common practice for the
delivery of centrifugal pumps, taken over to reciprocating ones (no source)."""

AMPLE = 3e-3
"""A suction pressure is ample if the chamber fills and twice as much pressure gains less than this share of
swept (our choice)."""

AMPLE_START = 1e5
"""Pressure above the vapour's [Pa] from which an ample pressure is searched upwards."""

LOWEST_PRESSURE = 100.0
"""Pressure above the vapour's [Pa] below which nothing is searched."""

PRESSURES = Scale(2.0, 1e9)
"""Steps in which the pressure required is searched (our choice)."""


class Heads(NamedTuple):
    """Heads [m of the material] at the inlet port, losses at the piston's full speed, the acceleration's at
    its largest: absolute pressure on the surface; static (negative for a lift); taken by the hose's wall, by
    fittings and loss coefficient, by the strainer, to accelerate what is in the line; vapour pressure. The
    velocity head in the line is part of the head available and not subtracted."""

    surface: float
    static: float
    hose: float
    fittings: float
    strainer: float
    acceleration: float
    vapour: float
    velocity: float

    @property
    def losses(self) -> float:
        """All that is lost or needed to accelerate."""
        return self.hose + self.fittings + self.strainer + self.acceleration

    @property
    def available(self) -> float:
        """Net positive suction head available [m]."""
        return self.surface + self.static - self.losses - self.vapour


class RequiredHead(NamedTuple):
    """Net positive suction head required [m], or None and why not; delivered over swept with ample suction
    pressure, None if that was not found either; and what compression and gas take of swept now beyond what
    they take there (nan: not known)."""

    head: float | None
    ample_delivery: float | None
    why: str = ""
    gas_now: float = math.nan


@dataclass(frozen=True)
class VesselReport:
    """A vessel: volume above the pickup [m3], volume drawn [m3] and fall of the level [m] in a cycle now, and
    cycles until the pickup draws air at that rate; fill fraction with the vessel full, now and at the pickup
    (nan: that run failed; 0: the material is not lifted so far); lowest level [m above the bottom] down to
    which the targets hold, None if they hold at none."""

    usable_volume: float
    drawn: float
    level_fall: float
    cycles_left: float
    fill_full: float
    fill_now: float
    fill_at_pickup: float
    lowest_level: float | None


@dataclass(frozen=True)
class SuctionReport:
    """Suction side of a scenario; ``weight``: density times gravity in the line [Pa/m]."""

    heads: Heads
    required: RequiredHead
    weight: float
    vessel: VesselReport | None

    @property
    def margin(self) -> float | None:
        """Head available less head required [m]."""
        return None if self.required.head is None else self.heads.available - self.required.head

    @property
    def ratio(self) -> float | None:
        """Head available over head required; None where nothing is required."""
        needed = self.required.head
        return None if needed is None or needed <= 0.0 else self.heads.available / needed

    def as_dict(self) -> dict[str, Any]:
        """All numbers by name [SI]."""
        heads = {**self.heads._asdict(), "available": self.heads.available}
        return {
            "heads": heads,
            "required": self.required._asdict(),
            "margin": self.margin,
            "ratio": self.ratio,
            "weight": self.weight,
            "vessel": self.vessel and asdict(self.vessel),
        }


UPSTROKE_WINDOWS = 2000
"""Instants of a motor's upstroke that are sampled (our choice)."""


def fastest_piston(scenario: Scenario, p: core.Parameters) -> tuple[float, float]:
    """Largest speed [m/s] and acceleration [m/s2] of the piston in its upstroke, where it draws on the line;
    of a motor, whose motion is a result, by a run (nan if that fails), as means over its ramp time: a jump of
    milliseconds moves no column of liquid."""
    drive = p.drive
    if scenario.drive.profile == "motor":
        cycle = run_cycle(scenario)
        if cycle.status.failed:
            return math.nan, math.nan
        window, motion = scenario.drive.ramp_time, cycle.motion
        t, x = motion.time, motion.piston_position
        at = np.linspace(0.0, motion.top_dead_centre - window, UPSTROKE_WINDOWS)
        mean = (np.interp(at + window, t, x) - np.interp(at, t, x)) / window
        gain = np.interp(at + window, at, mean, right=mean[-1]) - mean
        return float(mean.max()), float(gain.max()) / window
    if drive.angular_speed > 0.0:
        return peak_flow(p) / p.lower.area, 0.5 * drive.stroke * drive.angular_speed**2
    n = drive.turn
    speed = float(drive.speed[:n].max())
    ends = drive.acceleration[:n] + drive.jerk[:n] * np.diff(drive.start[: n + 1])
    return speed, float(max(drive.acceleration[:n].max(), ends.max()))


def heads_of(scenario: Scenario) -> Heads:
    """Suction head available, and what takes it."""
    p, suction = core_parameters(scenario), scenario.suction
    speed, acceleration = fastest_piston(scenario, p)
    rho, flow = density_of(scenario.material, suction.temperature), p.lower.area * speed
    weight, area = rho * STANDARD_GRAVITY, math.pi * suction.hose_diameter**2 / 4.0
    alone = p.suction._replace(minor=0.0, fittings=0.0, strainer=0.0)

    def head_of(line: core.Suction) -> float:
        return float(line_loss(as_record(line), as_record(p.material), flow)[0]) / weight

    hose = head_of(alone)
    strainer = head_of(alone._replace(strainer=p.suction.strainer))
    surge = rho * suction.hose_length / area * p.lower.area * acceleration
    return Heads(
        surface=(suction.barometric_pressure + suction.tank_gauge_pressure) / weight,
        static=-suction.lift,
        hose=hose,
        fittings=head_of(p.suction._replace(laminar=0.0, strainer=0.0)),
        strainer=strainer - hose,
        acceleration=surge / weight,
        vapour=vapour_in_line(scenario) / weight,
        velocity=(flow / area) ** 2 / (2.0 * STANDARD_GRAVITY),
    )


# --- the head required


class _NotFoundError(Exception):
    """Why no head is found; the message is a sentence without its point."""


class _Pumped(NamedTuple):
    """What a run says of suction, all over swept: ``delivered``; ``underfill``; ``gas``, what compression and
    gas take; ``kept``, what underfill, backflow and leaks leave. At the same suction pressure more gas in the
    material means less delivered, but not that the lower starves: only ``kept`` is compared."""

    delivered: float
    underfill: float
    gas: float

    @property
    def kept(self) -> float:
        return self.delivered + self.gas

    @property
    def delivers(self) -> bool:
        return self.delivered >= NO_DELIVERY


class _Runs:
    """Runs over the pressure at rest at the port above the vapour's [Pa]; each once."""

    def __init__(self, scenario: Scenario) -> None:
        self.scenario, self.known = scenario, dict[float, _Pumped]()
        below = core_parameters(scenario).suction.pressure - scenario.suction.tank_gauge_pressure
        self.gauge_less_above = vapour_in_line(scenario) - below

    def at(self, above: float) -> Scenario:
        """The same with another pressure on the surface; raises ScenarioError for what no tank may have."""
        feed = dict.fromkeys(("suction.feed", "suction.ram_force", "suction.ram_plate_diameter"))
        gauge = above + self.gauge_less_above
        return with_values(self.scenario, {**feed, "suction.tank_gauge_pressure": gauge})

    def allows(self, above: float) -> bool:
        """Whether a tank may have it: below, the material would boil at its surface."""
        try:
            self.at(above)
        except ScenarioError:
            return False
        return True

    def __call__(self, above: float) -> _Pumped:
        if above not in self.known:
            self.known[above] = _pumped(self.at(above))
        return self.known[above]


def _pumped(scenario: Scenario) -> _Pumped:
    """What a run of a scenario says; raises _NotFoundError where it fails."""
    case = run_case(scenario)
    if case.metrics is None:
        raise _NotFoundError(f"a run failed ({case.status.name.lower()})")
    budget = case.metrics.loss_budget
    parts = budget.delivered, budget.underfill, budget.compression_and_gas
    return _Pumped(*(part / budget.swept for part in parts))


def _ample(scenario: Scenario, runs: _Runs) -> float:
    """A pressure above the vapour's [Pa] at which the chamber fills and of which twice as much gains nothing.

    Where nothing is delivered twice as much may gain nothing either: a yield stress holds the material, or
    the ball stays down.
    """
    above = AMPLE_START
    while not runs.allows(above) and runs.allows(2.0 * above):  # a column above the lower presses by itself
        above *= 2.0
    given = scenario.outlet.gauge_pressure is not None
    # Of a tip the pressure is a result.
    outlet = outlet_pressure_of(scenario, cycle_rate_of(scenario)) if given else math.inf
    if 2.0 * above >= outlet:
        raise _NotFoundError("the outlet pressure is too low to try an ample suction pressure below it")
    while 2.0 * above < outlet and runs.allows(2.0 * above):
        here = runs(above)
        fills = here.delivers and here.underfill < LESS_DELIVERY
        if fills and runs(2.0 * above).kept - here.kept < AMPLE:
            return above
        above *= 2.0
    raise _NotFoundError(_why_none_is_ample(runs, above))


def _why_none_is_ample(runs: _Runs, above: float) -> str:
    """Of the highest suction pressure tried."""
    gauge = to_text(above + runs.gauge_less_above, "pressure", 3)
    highest = f"{gauge} (gauge) on the surface, the highest pressure tried"
    last = runs(above)
    if not last.delivers:
        return f"no head in the searched range makes this lower deliver: nothing comes even with {highest}"
    if last.underfill >= LESS_DELIVERY:
        return f"the chamber does not fill even with {highest}"
    return f"the lower still gains at {highest}"


def required_head(scenario: Scenario, heads: Heads, weight: float) -> RequiredHead:
    """The head at which underfill, backflow and leaks leave LESS_DELIVERY less than with ample suction
    pressure, by full runs with other pressures on the surface."""
    runs = _Runs(scenario)
    best, gas = None, math.nan
    try:
        ample = _ample(scenario, runs)
        best = runs(ample).delivered
        with suppress(_NotFoundError):
            gas = _pumped(scenario).gas - runs(ample).gas
        needed = _needed(runs, ample, (1.0 - LESS_DELIVERY) * runs(ample).kept)
        return RequiredHead(needed / weight - heads.losses, best, "", gas)
    except _NotFoundError as why:
        return RequiredHead(None, best, str(why), gas)


def _needed(runs: _Runs, ample: float, wanted: float) -> float:
    """The lowest pressure above the vapour's [Pa] that still keeps ``wanted``, downward from an ample one."""

    def judge(above: float) -> Verdict:
        pumped = runs(above)
        spare = pumped.kept - wanted if pumped.delivers else -wanted
        return Verdict(() if spare >= 0.0 else ("delivery",), {"delivery": spare})

    crossing = search(judge, runs.allows, PRESSURES, ample, -1, LOWEST_PRESSURE)
    if crossing.good is None:
        raise _NotFoundError(
            "not reached in range: delivery holds down to the lowest pressure allowed on the surface"
        )
    return crossing.good


# --- the vessel


def _fill_at(scenario: Scenario, level: float) -> float:
    """Fill fraction at a level [m]; 0 where the material cannot be lifted, nan where the run fails."""
    try:
        case = run_case(with_value(scenario, "suction.vessel_level", level))
    except ScenarioError:
        return 0.0
    return math.nan if case.metrics is None else case.metrics.fill_fraction


def _lowest_level(base: Base) -> float | None:
    """Lowest level [m] down to which the targets hold, or from which on they do; None if at none."""
    walked = walks(base, VESSEL_LEVEL)
    level = walked[0].holds if walked else None
    return None if level is None else to_si(f"{level:.10g} {VESSEL_LEVEL.unit}", "length")


def vessel_report(scenario: Scenario) -> VesselReport | None:
    """How long a vessel lasts, and how the fill falls with its level; None without a vessel."""
    s = scenario.suction
    across, depth, level, pickup = (
        s.vessel_diameter,
        s.vessel_depth,
        s.vessel_level,
        s.pickup_above_bottom,
    )
    if across is None or depth is None or level is None or pickup is None:
        return None
    vessel = Vessel(s.vessel == "cone", across, depth)
    base = Base(reader_of(scenario))
    case = base.case
    swept = math.pi / 4.0 * scenario.lower.bore**2 * scenario.lower.stroke
    drawn = math.nan if case.metrics is None else case.metrics.volumetric_efficiency * swept
    usable = vessel.volume(level) - vessel.volume(pickup)
    low = max(pickup, 1e-3)
    ends = _fill_at(scenario, low), _fill_at(scenario, depth)
    return VesselReport(
        usable_volume=usable,
        drawn=drawn,
        level_fall=drawn / vessel.surface(level),
        cycles_left=usable / drawn if drawn > 0.0 else math.inf,
        fill_full=ends[1],
        fill_now=math.nan if case.metrics is None else case.metrics.fill_fraction,
        fill_at_pickup=ends[0],
        lowest_level=_lowest_level(base),
    )


def suction_report(scenario: Scenario) -> SuctionReport:
    """Head available and required, and the vessel; some ten to thirty runs of the full model. Where the cycle
    rate is found, all of it is at the rate found now."""
    if scenario.outlet.form == "tip at pressure":
        scenario = at_found_rate(scenario)
    heads = heads_of(scenario)
    weight = density_of(scenario.material, scenario.suction.temperature) * STANDARD_GRAVITY
    return SuctionReport(heads, required_head(scenario, heads, weight), weight, vessel_report(scenario))
