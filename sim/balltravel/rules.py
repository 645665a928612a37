"""What must hold between the values of a scenario: rules as data, run on whatever values are known.

A rule is tried when every value it needs is known, so that one faulty key hides no other fault.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from balltravel.closures.passages import ribbed_equivalent
from balltravel.material_rules import (
    energy_without_law,
    growth_told_twice,
    paste_by_readings,
    rest_told_twice,
)
from balltravel.units import to_text

STANDARD_GRAVITY = 9.80665
"""m/s2; 3rd General Conference on Weights and Measures, 1901."""

CAGE_RATIO = (0.02, 0.95)
"""Ball over cage diameter for which wall factors and added mass are known (docs/closures.md)."""

WIDEST_LAND = 0.2
"""Width of a lapped band over the ball's diameter at most (our choice): it is to be narrow."""

HIGHEST_COMPRESSION = 0.2
"""Largest pressure at outlet and tank over the liquid's bulk modulus (our choice): at 1 the straight law of
compression (M2) leaves no liquid at all, and above 0.05 a result is an indication only."""

Values = Mapping[str, Any]
"""Dotted key -> SI value, for example ``{"lower.bore": 0.048}``."""


@dataclass(frozen=True)
class Fault:
    """One fault of a scenario: where, which key, what was given, what is allowed, an example."""

    key: str
    given: str
    allowed: str
    example: str = ""
    where: str = ""
    line: int = 0

    def __str__(self) -> str:
        place = f"{self.where}: " if self.where else ""
        key = f"{self.key}: " if self.key else ""
        example = f"; example: {self.example}" if self.example else ""
        text = f"{place}{key}{self.given}; allowed: {self.allowed}{example}"
        return "".join(
            letter if letter.isprintable() else "?" for letter in text
        )  # one line, whatever was given


Verdict = tuple[str, str, str] | None
"""What was given, what is allowed, an example; None when the rule holds."""


@dataclass(frozen=True)
class Rule:
    """A relation between values: ``test`` gets the values of ``keys`` and says what is wrong, or None.

    The fault is reported at ``keys[0]``.
    """

    keys: tuple[str, ...]
    test: Callable[..., Verdict]

    def fault(self, values: Values) -> Fault | None:
        """The fault, if all values are known and the rule is broken."""
        if any(values.get(key) is None for key in self.keys):
            return None
        verdict = self.test(*(values[key] for key in self.keys))
        return verdict and Fault(self.keys[0], *verdict)


@dataclass(frozen=True)
class Needed:
    """``key`` must be given when ``selector`` has one of the ``choices``, and must not be given otherwise;
    nor with the key ``instead``, which then stands for it."""

    key: str
    selector: str
    choices: tuple[str, ...]
    example: str
    instead: str = ""

    def fault(self, values: Values, given: set[str]) -> Fault | None:
        """The fault, if the selector is known and the key's presence does not fit it."""
        chosen, replaced = values.get(self.selector), self.instead in given
        wanted = chosen in self.choices and not replaced
        if chosen is None or wanted == (self.key in given):
            return None
        name = self.key.split(".")[1]
        written = self.example if self.example.replace(".", "").isdigit() else f'"{self.example}"'
        if self.key in given and chosen in self.choices:
            other = self.instead.split(".")[1]
            return Fault(self.key, f"given although {other} are", f"{name} or {other}", f"{name} = {written}")
        if self.key in given:
            names = " or ".join(f'"{choice}"' for choice in self.choices)
            allowed = f"{name} only with {self.selector} = {names} (leave the key out)"
            example = f'{self.selector.split(".")[1]} = "{self.choices[0]}"'
            return Fault(self.key, f'given although {self.selector} = "{chosen}"', allowed, example)
        allowed = f'it must be given with {self.selector} = "{chosen}"'
        if self.instead:
            allowed += f", or {self.instead}"
        return Fault(self.key, "missing", allowed, f"{name} = {written}")


def _needed_of_check(check: str) -> tuple[Needed, ...]:
    return (
        Needed(f"{check}.stop_pad_diameter", f"{check}.stop", ("pad",), "12 mm"),
        Needed(f"{check}.seat_half_angle", f"{check}.seat", ("cone",), "45 deg"),
        Needed(f"{check}.seat_mouth_diameter", f"{check}.seat", ("cone",), "25 mm"),
        Needed(f"{check}.rib_count", f"{check}.cage", ("ribs",), "3"),
        Needed(f"{check}.rib_width", f"{check}.cage", ("ribs",), "4 mm"),
        Needed(f"{check}.housing_diameter", f"{check}.cage", ("ribs",), "44 mm"),
    )


FLOWS = ("Newtonian", "power law", "Herschel-Bulkley", "Casson", "Carreau", "Cross")
PASTE = "shear-thinning"
READINGS = "material.readings"

NEEDED: tuple[Needed, ...] = (
    *_needed_of_check("inlet_check"),
    *_needed_of_check("piston_check"),
    Needed("material.viscosity", "material.flow", (*FLOWS, PASTE), "3500 mPa.s", READINGS),
    Needed(
        "material.thinning_exponent",
        "material.flow",
        ("power law", "Herschel-Bulkley", "Carreau", "Cross", PASTE),
        "0.6",
        READINGS,
    ),
    Needed("material.thinning_onset", "material.flow", ("Carreau", "Cross", PASTE), "5 1/s", READINGS),
    Needed("material.least_viscosity", "material.flow", ("Carreau", "Cross"), "50 mPa.s", READINGS),
    Needed("material.yield_stress", "material.flow", ("Herschel-Bulkley", "Casson", PASTE), "0 Pa", READINGS),
    Needed("suction.strainer_holes", "suction.strainer", ("holes",), "200"),
    Needed("suction.strainer_hole_diameter", "suction.strainer", ("holes",), "3 mm"),
    Needed("suction.strainer_thickness", "suction.strainer", ("holes",), "1 mm"),
    Needed("drive.ramp_time", "drive.profile", ("constant speed",), "30 ms"),
    Needed("drive.dwell_time", "drive.profile", ("constant speed",), "40 ms"),
)


def _mm(value: float) -> str:
    return to_text(value, "length")


def _smaller(what: str, than: str) -> Callable[[float, float], Verdict]:
    """Test: the first length is below the second."""

    def test(value: float, limit: float) -> Verdict:
        if value < limit:
            return None
        return (
            f"{_mm(value)} given",
            f"{what} smaller than {than}, which is {_mm(limit)}",
            f'"{_mm(0.7 * limit)}"',
        )

    return test


def _larger(what: str, than: str) -> Callable[[float, float], Verdict]:
    """Test: the first length is above the second."""

    def test(value: float, limit: float) -> Verdict:
        if value > limit:
            return None
        return (
            f"{_mm(value)} given",
            f"{what} larger than {than}, which is {_mm(limit)}",
            f'"{_mm(1.4 * limit)}"',
        )

    return test


def _changeover_fits(dwell: float, ramp: float, rate: float, profile: str) -> Verdict:
    if profile != "constant speed" or 2 * ramp + dwell < 0.5 / rate:
        return None
    spent, half = to_text(2 * ramp + dwell, "time"), to_text(0.5 / rate, "time")
    tenth = to_text(0.05 / rate, "time")
    example = f'ramp_time = "{tenth}" and dwell_time = "{tenth}"'
    return f"two ramps and the dwell take {spent}", f"less than half a cycle, which is {half}", example


def _ramp_positive(ramp: float, profile: str) -> Verdict:
    if profile != "constant speed" or ramp > 0:
        return None
    return "0 s given", "a ramp longer than zero: a piston does not change its speed at once", '"30 ms"'


def _numbers_exist(below: Sequence[int], thicknesses: Sequence[float]) -> Verdict:
    outside = [number for number in below if not 1 <= number <= len(thicknesses)]
    if not outside:
        return None
    if not thicknesses:
        return f"{list(below)} given", "no number, for the set has no shims", "[]"
    return (
        f"no shim has the number {outside[0]}",
        f"the numbers 1 to {len(thicknesses)}, counted in thicknesses",
        "[1]",
    )


def _numbers_once(below: Sequence[int]) -> Verdict:
    twice = sorted({number for number in below if below.count(number) > 1})
    example = f"{sorted(set(below))}"
    return (f"shim {twice[0]} named more than once", "each shim at most once", example) if twice else None


def _travel_positive(base: float, below: Sequence[int], thicknesses: Sequence[float]) -> Verdict:
    travel = base + math.fsum(thicknesses[number - 1] for number in below if 1 <= number <= len(thicknesses))
    if travel > 0:
        return None
    return "ball travel is zero", "base travel and shims below that add up to more than zero", '"2 mm"'


def _liquid_at_rest(vapour: float, barometric: float, gauge: float, density: float, lift: float) -> Verdict:
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


def _lift_possible(lift: float, barometric: float, gauge: float, density: float) -> Verdict:
    """The pressure on the tank's surface must carry the column up to the inlet port."""
    highest = (barometric + gauge) / (density * STANDARD_GRAVITY)
    if lift < highest:
        return None
    allowed = f"less than the pressure on the tank carries: {to_text(highest, 'length', 3)}"
    return f"{to_text(lift, 'length')} given", allowed, f'"{to_text(0.3 * max(highest, 0.0), "length", 2)}"'


def _port_holds(compliance: float, length: float, diameter: float, barometric: float) -> Verdict:
    """Half of the hose stands at its end; a wall that gives all that could leave less than nothing."""
    volume = math.pi / 8.0 * diameter**2 * length
    if compliance * barometric < volume:
        return None
    return (
        f"{to_text(compliance, 'compliance')} given",
        "less than half the hose's volume for barometric pressure: "
        f"{to_text(volume / barometric, 'compliance', 3)}",
        f'"{to_text(0.1 * volume / barometric, "compliance", 3)}"',
    )


def _liquid_bears(bulk: float, outlet: float, tank: float) -> Verdict:
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


def _cage_holds(length: float, ball: float) -> Verdict:
    if length >= ball:
        return None
    return f"{_mm(length)} given", f"a cage at least as long as its ball: {_mm(ball)}", f'"{_mm(1.4 * ball)}"'


def _cage_ratio(ball: float, cage: float, form: str) -> Verdict:
    low, high = CAGE_RATIO
    if form != "bore":
        return None
    # As a quotient, which is what the closures see: products round differently. A ball as big as its cage or
    # bigger is told of by another rule.
    if low <= ball / cage <= high or ball >= cage:
        return None
    return (
        f"{_mm(ball)} in a cage of {_mm(cage)} given",
        f"a ball of {low:g} to {high:g} cage diameters, for which the closures are known",
        f'"{_mm(0.78 * cage)}"',
    )


def _rib_ratio(ball: float, cage: float, housing: float, count: float, width: float, form: str) -> Verdict:
    """A ball between ribs: what it passes must be that of a bore for which the closures are known."""
    if form != "ribs" or not ball < cage < housing or count % 1.0 or count * width >= math.pi * cage:
        return None
    low, high = CAGE_RATIO
    bore = 2.0 * ribbed_equivalent(0.5 * ball, 0.5 * cage, 0.5 * housing, int(count), width)
    if low <= ball / bore <= high:
        return None
    return (
        f"{_mm(ball)} between ribs that pass as much as a bore of {_mm(bore)} given",
        f"a ball of {low:g} to {high:g} of that bore, for which the closures are known",
        f'"{_mm(0.8 * bore)}"',
    )


def _whole_ribs(count: float) -> Verdict:
    return (f"{count:g} given", "a whole number of ribs", "3") if count % 1.0 else None


def _mouth_wider(mouth: float, bore: float) -> Verdict:
    if mouth > bore:
        return None
    return f"{_mm(mouth)} given", f"a mouth wider than the bore of {_mm(bore)}", f'"{_mm(1.2 * bore)}"'


def _ribs_fit(width: float, count: float, cage: float) -> Verdict:
    if count * width < math.pi * cage:
        return None
    room = _mm(math.pi * cage / count)
    return f"{count:g} ribs of {_mm(width)} given", f"ribs with openings between them: below {room}", '"4 mm"'


def _cone_holds(angle: float, ball: float, bore: float, mouth: float) -> Verdict:
    """The ball must touch the cone between its bore and its mouth."""
    contact = ball * math.cos(angle)
    if bore < contact < mouth or mouth <= bore:
        return None
    fitting = to_text(math.acos(min(0.5 * (bore + mouth) / ball, 1.0)), "angle", 3)
    return (
        f"{to_text(angle, 'angle')} lets the ball sit on a circle of {_mm(contact)}",
        f"an angle (half of the included one) at which it sits between the bore of {_mm(bore)} and the "
        f"mouth of {_mm(mouth)}",
        f'"{fitting}"',
    )


def _land_fits(land: float, form: str, angle: float, ball: float, bore: float, mouth: float) -> Verdict:
    contact = ball * math.cos(angle)
    room = min((contact - bore) / math.sin(angle), (mouth - contact) / math.sin(angle), WIDEST_LAND * ball)
    if land <= room or form != "cone" or room <= 0.0:  # the cone itself is at fault then
        return None
    return f"{_mm(land)} given", f"a band inside the cone: at most {_mm(room)}", f'"{_mm(0.5 * room)}"'


def _land_has_cone(land: float, form: str) -> Verdict:
    if land == 0.0 or form == "cone":
        return None
    return f"{_mm(land)} given", 'a band lapped to the ball only on a seat = "cone"', '"0 mm"'


def _check_rules(check: str) -> tuple[Rule, ...]:
    ball, pad = f"{check}.ball_diameter", f"{check}.stop_pad_diameter"
    bore, cage, mouth = f"{check}.seat_diameter", f"{check}.cage_diameter", f"{check}.seat_mouth_diameter"
    angle, land, form = f"{check}.seat_half_angle", f"{check}.seat_land_width", f"{check}.seat"
    width, count, housing = f"{check}.rib_width", f"{check}.rib_count", f"{check}.housing_diameter"
    return (
        Rule((ball, bore), _larger("a ball", "the bore of its seat")),
        Rule((ball, cage), _smaller("a ball", "its cage")),
        Rule((ball, cage, f"{check}.cage"), _cage_ratio),
        Rule((angle, ball, bore, mouth), _cone_holds),
        Rule((mouth, cage), _smaller("a cone's mouth", "the cage")),
        Rule((land, form, angle, ball, bore, mouth), _land_fits),
        Rule((land, form), _land_has_cone),
        Rule((housing, cage), _larger("a housing", "the circle inside the ribs")),
        Rule((count,), _whole_ribs),
        Rule((width, count, cage), _ribs_fit),
        Rule((mouth, bore), _mouth_wider),
        Rule((ball, cage, housing, count, width, f"{check}.cage"), _rib_ratio),
        Rule((f"{check}.cage_length", ball), _cage_holds),
        Rule((pad, f"{check}.cage_diameter"), _smaller("a pad", "the cage")),
    )


def _closures_know(flow: str, resistance: str) -> Verdict:
    if flow == "Newtonian" or resistance == "tabulated":
        return None
    return f'"{flow}" with closed forms', "Newtonian material, or tabulated closures", '"tabulated"'


def _least_is_least(least: float, at_rest: float) -> Verdict:
    if least <= at_rest:
        return None
    here, there = to_text(least, "viscosity"), to_text(at_rest, "viscosity")
    example = to_text(0.01 * at_rest, "viscosity")
    return f"{here} given", f"at most the viscosity at rest, which is {there}", f'"{example}"'


RULES: tuple[Rule, ...] = (
    Rule(("material.least_viscosity", "material.viscosity"), _least_is_least),
    Rule(("material.activation_energy", "material.temperature_law"), energy_without_law),
    Rule(("material.flow", "material.readings"), paste_by_readings),
    Rule(("material.doubling_time", "material.readings"), growth_told_twice),
    Rule(("material.rested_ratio", "material.readings"), rest_told_twice),
    Rule(("material.flow", "closures.resistance"), _closures_know),
    Rule(("lower.rod", "lower.bore"), _smaller("a rod", "the bore")),
    *_check_rules("inlet_check"),
    *_check_rules("piston_check"),
    Rule(("piston_check.cage_diameter", "lower.bore"), _smaller("a piston check's cage", "the bore")),
    Rule(("shims.below", "shims.thicknesses"), _numbers_exist),
    Rule(("shims.below",), _numbers_once),
    Rule(("inlet_check.base_travel", "shims.below", "shims.thicknesses"), _travel_positive),
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


def broken_rules(values: Values, given: set[str]) -> list[Fault]:
    """Faults between known values.

    ``values``: dotted key -> SI value, defaults included, faulty keys left out.
    ``given``: every key that was given, with a faulty value or not.
    """
    conditional = (needed.fault(values, given) for needed in NEEDED)
    relations = (rule.fault(values) for rule in RULES)
    return [fault for fault in (*conditional, *relations) if fault]
