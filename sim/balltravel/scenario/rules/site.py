"""Rules of drive, suction and outlet."""

import math

from balltravel.scenario.rules.rule import STANDARD_GRAVITY, Objection, Rule, in_mm
from balltravel.scenario.stroke_trace import trace_fault
from balltravel.site.vapour import vapour_pressure
from balltravel.units import UnitError, to_text

HIGHEST_COMPRESSION = 0.2
"""Largest pressure at outlet and tank over the liquid's bulk modulus (our choice): at 1 the straight law of
compression (M2) leaves no liquid at all, and above 0.05 a result is an indication only."""


def _changeover_fits(dwell: float, ramp: float, rate: float, profile: str) -> Objection:
    if profile not in ("constant speed", "motor") or 2 * ramp + dwell < 0.5 / rate:
        return None
    spent, half = to_text(2 * ramp + dwell, "time"), to_text(0.5 / rate, "time")
    tenth = to_text(0.05 / rate, "time")
    example = f'ramp_time = "{tenth}" and dwell_time = "{tenth}"'
    return f"two ramps and the dwell take {spent}", f"less than half a cycle, which is {half}", example


def _ramp_positive(ramp: float, profile: str) -> Objection:
    if profile not in ("constant speed", "motor") or ramp > 0:
        return None
    return "0 s given", "a ramp longer than zero: a piston does not change its speed at once", '"30 ms"'


def _liquid_at_rest(vapour: float, barometric: float, gauge: float, density: float, lift: float) -> Objection:
    """The material must be liquid in the tank, and at the inlet port once it has been lifted there."""
    tank = barometric + gauge
    lowest = min(tank, barometric, tank - density * STANDARD_GRAVITY * lift)
    if vapour < lowest or lowest <= 0.0:  # the latter is a fault of the lift
        return None
    return (
        f"{to_text(vapour, 'pressure')} (absolute) given",
        f"less than the absolute pressure in tank and inlet port at rest: {to_text(lowest, 'pressure')}",
        f'"{to_text(0.05 * lowest, "pressure")}"',
    )


def _lift_possible(lift: float, barometric: float, gauge: float, density: float) -> Objection:
    """The pressure on the tank's surface must carry the column up to the inlet port."""
    highest = (barometric + gauge) / (density * STANDARD_GRAVITY)
    if lift < highest:
        return None
    allowed = f"less than the pressure on the tank carries: {to_text(highest, 'length', 3)}"
    return f"{to_text(lift, 'length')} given", allowed, f'"{to_text(0.3 * max(highest, 0.0), "length", 2)}"'


def _wall_holds(compliance: float, volume: float, barometric: float, of: str, share: float) -> Objection:
    """A wall that gives for the atmosphere's pressure as much as a space holds [m3] could leave less than
    nothing; ``share`` of that is the example."""
    if compliance * barometric < volume:
        return None
    limit = volume / barometric
    return (
        f"{to_text(compliance, 'compliance')} given",
        f"less than {of} for barometric pressure: {to_text(limit, 'compliance', 3)}",
        f'"{to_text(share * limit, "compliance", 3)}"',
    )


def _port_holds(compliance: float, length: float, diameter: float, barometric: float) -> Objection:
    """Half of the hose stands at its end."""
    volume = math.pi / 8.0 * diameter**2 * length
    return _wall_holds(compliance, volume, barometric, "half the hose's volume", 0.1)


def _liquid_bears(bulk: float, outlet: float, tank: float) -> Objection:
    """The liquid shrinks straight with the pressure: one as large as the bulk modulus leaves none of it."""
    pressure = max(outlet, tank)
    if pressure <= HIGHEST_COMPRESSION * bulk:
        return None
    return (
        f"{to_text(bulk, 'pressure')} at a pressure of {to_text(pressure, 'pressure')} given",
        f"at least {1.0 / HIGHEST_COMPRESSION:g} times the pressure at outlet and tank: "
        f"{to_text(pressure / HIGHEST_COMPRESSION, 'pressure', 3)}",
        '"1500 MPa"',
    )


def _in_range_of_solvent(kelvin: float, solvent: str) -> Objection:
    try:
        vapour_pressure(solvent, kelvin)
    except UnitError as error:
        return error.given, error.allowed, error.example
    return None


def _liquid_in_hose(
    kelvin: float, solvent: str, barometric: float, gauge: float, density: float, lift: float
) -> Objection:
    """What holds in the lower holds in tank and hose too, at their own temperature."""
    if _in_range_of_solvent(kelvin, solvent):
        return None
    objection = _liquid_at_rest(vapour_pressure(solvent, kelvin), barometric, gauge, density, lift)
    if objection is None:
        return None
    given, allowed, _ = objection
    there = f"{to_text(kelvin, 'temperature')}, a vapour pressure of {given}"
    return there, allowed.replace("less than", "a vapour pressure less than"), '"20 degC"'


def _feed_is_open(gauge: float, feed: str) -> Objection:
    if feed != "open" or gauge == 0.0:
        return None
    return f'{to_text(gauge, "pressure")} given with feed = "open"', '0 bar, or feed = "pressure"', '"0 bar"'


def _line_gives(flexing: float, line: str) -> Objection:
    if line == "hose":
        return None
    given = f'{to_text(flexing, "flexing")} given with line = "rigid"'
    return given, 'hose_flexing with line = "hose" alone (leave the key out)', 'line = "hose"'


def _rigid_gives_nothing(compliance: float, line: str) -> Objection:
    """A wall of steel or thick plastic, a metre long: some 1e-15 m3/Pa; ten thousand times that is a hose."""
    if line == "hose" or compliance <= MOST_OF_RIGID:
        return None
    allowed = f'at most {to_text(MOST_OF_RIGID, "compliance")} with line = "rigid" (or leave the key out)'
    return f"{to_text(compliance, 'compliance')} given", allowed, '"0.0001 cc/bar"'


def _level_in_vessel(level: float, depth: float) -> Objection:
    if level <= depth:
        return None
    return f"{in_mm(level)} given", f"at most the vessel's depth, {in_mm(depth)}", f'"{in_mm(0.7 * depth)}"'


def _level_over_pickup(level: float, pickup: float) -> Objection:
    """Below its end the hose draws air."""
    if level >= pickup:
        return None
    allowed = f"at least pickup_above_bottom, {in_mm(pickup)}: below it the hose draws air"
    return f"{in_mm(level)} given", allowed, f'"{in_mm(1.5 * pickup)}"'


MOST_OF_RIGID = 1e-11
"""Port compliance [m3/Pa] from which on a line is no rigid one (our choice)."""


def _hose_holds(compliance: float, length: float, bore: float, barometric: float) -> Objection:
    """Half of the outlet hose and of its give stand at either end."""
    volume = math.pi / 4.0 * bore**2 * length
    return _wall_holds(compliance, volume, barometric, "the hose's volume", 1e-4)


def _trace_holds(trace: tuple[tuple[float, float], ...], profile: str) -> Objection:
    return trace_fault(trace) if profile == "trace" else None


def _motor_finds_pressure(form: str, profile: str) -> Objection:
    if profile != "motor" or form != "tip at pressure":
        return None
    return (
        f'"{form}" with a motor',
        'with a motor the pressure is a result: "tip" or "fixed pressure"',
        '"tip"',
    )


def _closed_needs_motor(form: str, profile: str) -> Objection:
    if form != "closed" or profile == "motor":
        return None
    return '"closed" with a piston that moves as told', 'a closed outlet only with profile = "motor"', '"tip"'


def _exhaust_of_motor(_: float, profile: str) -> Objection:
    if profile == "motor":
        return None
    allowed = "an exhaust only with an air motor (leave the key out)"
    return f'given although drive.profile = "{profile}"', allowed, 'profile = "motor", motor = "air"'


def _resistance_fixed(_: float, form: str) -> Objection:
    if form == "fixed pressure":
        return None
    return f'given although form = "{form}"', 'a resistance only with "fixed pressure" (leave it out)', ""


SITE_RULES: tuple[Rule, ...] = (
    Rule(("drive.trace", "drive.profile"), _trace_holds),
    Rule(
        (
            "outlet.hose_compliance",
            "outlet.hose_length",
            "outlet.hose_diameter",
            "suction.barometric_pressure",
        ),
        _hose_holds,
    ),
    Rule(("outlet.form", "drive.profile"), _motor_finds_pressure),
    Rule(("outlet.form", "drive.profile"), _closed_needs_motor),
    Rule(("outlet.resistance", "outlet.form"), _resistance_fixed),
    Rule(("drive.exhaust_conductance", "drive.profile"), _exhaust_of_motor),
    Rule(("drive.dwell_time", "drive.ramp_time", "drive.free_cycle_rate", "drive.profile"), _changeover_fits),
    Rule(("material.temperature", "material.solvent"), _in_range_of_solvent),
    Rule(("suction.temperature", "material.solvent"), _in_range_of_solvent),
    Rule(("suction.tank_gauge_pressure", "suction.feed"), _feed_is_open),
    Rule(("suction.hose_flexing", "suction.line"), _line_gives),
    Rule(("suction.port_compliance", "suction.line"), _rigid_gives_nothing),
    Rule(("suction.vessel_level", "suction.vessel_depth"), _level_in_vessel),
    Rule(("suction.vessel_level", "suction.pickup_above_bottom"), _level_over_pickup),
    Rule(
        (
            "suction.temperature",
            "material.solvent",
            "suction.barometric_pressure",
            "suction.tank_gauge_pressure",
            "material.density",
            "suction.lift",
        ),
        _liquid_in_hose,
    ),
    Rule(("drive.ramp_time", "drive.profile"), _ramp_positive),
    Rule(("drive.dwell_time", "drive.ramp_time", "drive.cycle_rate", "drive.profile"), _changeover_fits),
    Rule(
        (
            "material.vapour_pressure",
            "suction.barometric_pressure",
            "suction.tank_gauge_pressure",
            "material.density",
            "suction.lift",
        ),
        _liquid_at_rest,
    ),
    Rule(
        (
            "suction.lift",
            "suction.barometric_pressure",
            "suction.tank_gauge_pressure",
            "material.density",
        ),
        _lift_possible,
    ),
    Rule(
        (
            "suction.port_compliance",
            "suction.hose_length",
            "suction.hose_diameter",
            "suction.barometric_pressure",
        ),
        _port_holds,
    ),
    Rule(("material.bulk_modulus", "outlet.gauge_pressure", "suction.tank_gauge_pressure"), _liquid_bears),
)
