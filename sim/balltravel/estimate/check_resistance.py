"""The resistance of a check laid open: its numbers over lift, with their limits beside them."""

import math
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from balltravel.closures.ball_over_seat import CheckGeometry, cage_matrix
from balltravel.closures.families import family_of, seat_and_cage
from balltravel.closures.off_axis import offset_at
from balltravel.closures.table.by_table import TABULATED
from balltravel.closures.table.off_axis_gains import factors, rule
from balltravel.closures.table.off_axis_grid import Spin
from balltravel.closures.table.tabulated import grid
from balltravel.closures.tube import LAMBDA_MAX, LAMBDA_MIN
from balltravel.estimate.suction_losses import bore_viscosity, drop_at
from balltravel.scenario.model import Check, Scenario
from balltravel.setup.drive import cycle_rate_of
from balltravel.setup.parameters import core_parameters, full_flow, geometry_in
from balltravel.units import to_text

Array = NDArray[np.float64]

LIFTS = 13
"""Lifts of a check that are printed, from a hundredth of the seat radius to its travel."""

FINENESS, IN_SPACE = 0.15, 0.6
"""Size of the elements over the local width in a fresh solve, of a ball off its axis (cubic) in space."""

SMOOTH = 1e-9
"""Roughness over seat radius of a check that is given by ratios alone."""


class RatioError(ValueError):
    """A ratio that no check has; the message says what is allowed."""


class SpinError(RatioError):
    """A ball that is free to turn, where only the rule is known."""


@dataclass(frozen=True)
class Drops:
    """Pressure drops [Pa] of a whole check with its ball held at each lift, by the law that a run uses, with
    the scenario's material at the piston's full speed: flow [m3/s], viscosity in the seat bore [Pa s];
    ``lift`` [m]."""

    lift: Array
    drop: Array
    flow: float
    viscosity: float


@dataclass(frozen=True)
class Resistance:
    """Seat and cage of a check in creeping flow (M5): dp = mu (Rqq Q/r^3 - Rqw w/r),
    F = mu (Rqw Q/r - Rww r w), S = Rww - Rqw^2/Rqq, less Poiseuille's loss of the bore and of the cage above
    the ball.

    ``ball``: R/r, ``cage``: R_c/r, ``lift``: lifts over r, with r the radius of the circle on which the ball
    sits; ``far_Rqw``, ``far_Rww``: the ball in its cage alone; ``inside``: whether the table has it.
    ``offset``: how far the ball is off its axis, over the radial clearance; ``spin``: whether it is ``held``
    from turning or ``free``; ``aside``: of a solve off the axis Rqv, Rwv, Rvv, with the ball's speed v away
    from the axis: dp has -mu Rqv v/r more, F -mu Rwv r v, and the force outward is mu (Rqv Q/r - Rwv r w -
    Rvv r v).
    """

    ball: float
    cage: float
    lift: Array
    gap: Array
    Rqq: Array
    Rqw: Array
    Rww: Array
    S: Array
    far_Rqw: float
    far_Rww: float
    inside: bool
    about: str = ""
    drops: "Drops | None" = None
    offset: float = 0.0
    spin: str = "held"
    aside: tuple[float, float, float] | None = None

    def as_dict(self) -> dict[str, Any]:
        """Plain numbers and lists; single numbers where there is one lift."""
        names = ("lift", "gap", "Rqq", "Rqw", "Rww", "S")
        values = {name: getattr(self, name).tolist() for name in names}
        if self.lift.size == 1:
            values = {name: numbers[0] for name, numbers in values.items()}
        ratios = {"ball_over_seat": self.ball, "cage_over_seat": self.cage}
        renamed = {"lift_over_seat": values.pop("lift"), "gap_over_seat": values.pop("gap")}
        plain = {**ratios, **renamed, **values, "inside_table": self.inside}
        if self.offset:
            plain |= {"offset_over_clearance": self.offset, "spin": self.spin}
        if self.aside is not None:
            plain |= dict(zip(("Rqv", "Rwv", "Rvv"), self.aside, strict=True))
        if self.drops is not None:
            plain |= {
                "flow_at_full_speed": self.drops.flow,
                "viscosity_at_full_speed": self.drops.viscosity,
                "pressure_drop_at_full_speed": self.drops.drop.tolist(),
            }
        return plain


def resistance_at(geometry: CheckGeometry, lift: Array) -> Resistance:
    """At lifts [m] above 0."""
    r = geometry.contact_radius
    matrix = seat_and_cage(geometry, lift)
    ball, cage = geometry.ball_radius / r, geometry.cage_radius / r
    z0 = math.sqrt(ball * ball - 1.0)
    gap = np.hypot(1.0, z0 + lift / r) - ball
    if geometry.half_angle:
        gap = lift / r * math.sin(geometry.half_angle)
    gap = np.hypot(gap, geometry.leak_gap / r)
    inside = family_of(geometry).solved(geometry, lift)
    Rww = matrix.S + matrix.Rqw**2 / matrix.Rqq
    far_tube = cage_matrix(geometry)
    far_Rqw = float(far_tube.Rqw[0])
    far = (far_Rqw, float(far_tube.S[0]) + far_Rqw**2 / float(far_tube.Rqq[0]))
    return Resistance(ball, cage, lift / r, gap, matrix.Rqq, matrix.Rqw, Rww, matrix.S, *far, inside)


def of_check(scenario: Scenario, name: str, travel: float) -> Resistance:
    """Of a check of a scenario (``"inlet"`` or ``"piston"``), over its travel [m]."""
    check: Check = getattr(scenario, f"{name}_check")
    geometry = geometry_in(scenario, check, travel, lambda: cycle_rate_of(scenario))
    first = min(0.01 * geometry.contact_radius, 0.5 * travel)
    lifts = np.geomspace(first, travel, LIFTS)
    form = f"{check.seat} and {check.cage}, ball {scenario.closures.ball_position}"
    r = f"{to_text(geometry.contact_radius, 'length')}"
    law = "by its own table" if check.table else scenario.closures.resistance
    about = f"{form}, {law}, r {r}, "
    p, flow = core_parameters(scenario), full_flow(scenario)
    drops = [drop_at(getattr(p, name), p.material, float(lift), flow)[0] for lift in lifts]
    viscosity = bore_viscosity(scenario, flow, 0.5 * check.seat_diameter)
    at_full_speed = Drops(lifts, np.array(drops), flow, viscosity)
    return replace(resistance_at(geometry, lifts), about=about, drops=at_full_speed)


def of_ratios(ball: float, cage: float, lift: float, offset: float = 0.0, spin: Spin = "held") -> Resistance:
    """Of a sharp edge by ratios: R/r_s, R_c/r_s, lift/r_s, and the ball's offset from its axis over the
    radial clearance: by the solves in space, or outside these (``inside`` False) by the rule, which knows
    no ball that is ``free`` to turn. Raises RatioError for what cannot be."""
    if not (math.isfinite(ball) and 1.0 < ball < 1e3):
        raise RatioError(f"ball over seat {ball:g} given; allowed: more than 1, to 1000; example: 1.4")
    if not (math.isfinite(cage) and LAMBDA_MIN * cage <= ball <= LAMBDA_MAX * cage):
        low, high = ball / LAMBDA_MAX, ball / LAMBDA_MIN
        raise RatioError(
            f"cage over seat {cage:g} given; allowed with this ball: {low:.4g} to {high:.4g}; example: "
            f"{1.3 * ball:.3g}"
        )
    if not (math.isfinite(lift) and 1e-6 <= lift <= 1e3):
        raise RatioError(f"lift over seat {lift:g} given; allowed: 1e-06 to 1000; example: 0.2")
    clearance = cage - ball
    geometry = CheckGeometry(1.0, 0.0, ball, cage, 0.0, 0.7, SMOOTH, offset=clearance, family=TABULATED.name)
    centred = resistance_at(geometry._replace(offset=0.0), np.array([lift]))
    if not offset:
        return centred
    most = float(offset_at(geometry, np.array([lift]))[0]) / clearance
    if not 0.0 < offset < most:
        raise RatioError(
            f"offset {offset:g} given; allowed at this lift: 0 to less than {most:.4g} of the radial "
            f"clearance, where the ball touches; example: {0.5 * most:.2g}"
        )
    solved = factors(ball, ball / cage, lift, offset * clearance, spin)
    if solved is None and spin == "free":
        raise SpinError(
            "spin free given; here, outside the table of solves off the axis, allowed with --solve: the rule "
            "has a ball that does not turn; example: --offset 0.3 --spin free --solve"
        )
    factor = rule(ball, ball / cage, lift, offset * clearance) if solved is None else solved
    return _leaning(replace(centred, inside=solved is not None), factor, offset, spin)


def _leaning(centred: Resistance, factor: Array, offset: float, spin: str) -> Resistance:
    """Off its axis, where Rqq, Rqw and S are by these factors other than on it."""
    Rqq, Rqw, S = centred.Rqq * factor[0], centred.Rqw * factor[1], centred.S * factor[2]
    turns = "held from turning" if spin == "held" else "free to turn"
    about = f"ball {offset:g} of the radial clearance off its axis, {turns}, "
    return replace(
        centred, Rqq=Rqq, Rqw=Rqw, Rww=S + Rqw**2 / Rqq, S=S, offset=offset, spin=spin, about=about
    )


def curve_of_ratios(ball: float, cage: float) -> Resistance:
    """The same over all lifts of the table, for a figure."""
    geometry = CheckGeometry(1.0, 0.0, ball, cage, 0.0, 0.7, SMOOTH, family=TABULATED.name)
    return resistance_at(geometry, np.geomspace(grid().lift[0], grid().lift[-1], 60))


def solved_anew(
    ball: float, cage: float, lift: float, offset: float = 0.0, spin: Spin = "held"
) -> Resistance:
    """The same by a fresh finite-element solve; off the axis in space, with a ball that is ``held`` from
    turning or ``free``. Raises ImportError or OSError without the libraries of the extra ``fem``."""
    if offset:
        return _solved_in_space(of_ratios(ball, cage, lift), of_ratios(ball, cage, lift, offset), spin)
    from balltravel.closures.fem.creeping import resistance
    from balltravel.closures.fem.section import sharp_edge

    solve = resistance(sharp_edge(ball, cage, lift), FINENESS)
    Rqq, Rqw, Rww, S = (np.array([number]) for number in (solve.Rqq, solve.Rqw, solve.Rww, solve.S))
    return replace(of_ratios(ball, cage, lift), Rqq=Rqq, Rqw=Rqw, Rww=Rww, S=S, inside=True)


def _solved_in_space(centred: Resistance, off: Resistance, spin: Spin) -> Resistance:
    from balltravel.closures.fem.half_check import HalfCheck
    from balltravel.closures.fem.off_axis import ASIDE, FALL, FLOW, SPIN, free, motions

    check = HalfCheck(off.ball, off.cage, float(off.lift[0]), off.offset * (off.cage - off.ball))
    m = motions(check, IN_SPACE).matrix
    if spin == "free":
        m = free(m, SPIN)
    Rqq, Rqw, Rww = m[FLOW, FLOW], m[FLOW, FALL], m[FALL, FALL]
    solved = np.array([Rqq, Rqw, Rww - Rqw**2 / Rqq])
    on_axis = np.array([centred.Rqq[0], centred.Rqw[0], centred.S[0]])
    aside = float(m[FLOW, ASIDE]), float(m[FALL, ASIDE]), float(m[ASIDE, ASIDE])
    return replace(_leaning(centred, solved / on_axis, off.offset, spin), inside=True, aside=aside)


@dataclass(frozen=True)
class ResistanceReport:
    """Checks by name, and curves over lift that a figure draws beside them."""

    checks: dict[str, Resistance]
    beside: dict[str, Resistance] = field(default_factory=dict)

    def as_dict(self) -> dict[str, Any]:
        """Plain numbers and lists: of each check by its name, or of the only one."""
        plain = {name: check.as_dict() for name, check in self.checks.items()}
        return plain if len(plain) > 1 else next(iter(plain.values()))


def resistance_report(s: Scenario) -> ResistanceReport:
    """Both checks of a scenario."""
    travels = {"inlet": s.inlet_travel, "piston": s.piston_check.travel}
    return ResistanceReport({name: of_check(s, name, travel) for name, travel in travels.items()})


def ratios_report(
    ball: float, cage: float, lift: float, solve: bool = False, offset: float = 0.0, spin: Spin = "held"
) -> ResistanceReport:
    """A sharp edge in a plain bore by its ratios to the seat radius; with ``solve`` solved anew too.
    ``offset`` of the ball over the radial clearance, ``spin`` ``held`` or ``free``: of_ratios.

    Raises RatioError for ratios that no check has, ImportError or OSError where the libraries of the finite
    elements are missing.
    """
    if spin == "free" and not offset:
        raise RatioError("spin free given; allowed off the axis, where a ball turns; example: --offset 0.3")
    try:
        known = of_ratios(ball, cage, lift, offset, spin)
    except SpinError:
        if not solve:
            raise
        known = of_ratios(ball, cage, lift, offset)
    checks = {"rule" if offset and not known.inside else "table": known}
    if solve:
        checks["solved"] = solved_anew(ball, cage, lift, offset, spin)
    return ResistanceReport(checks, {"table over lift": curve_of_ratios(ball, cage)})
