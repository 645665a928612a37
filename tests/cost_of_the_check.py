"""What the check's law costs beside creeping flow, measured side by side in one run:

    python tests/cost_of_the_check.py

CPU time of one call, the least of several rounds. The creeping law here has the same three functions of lift
and the same six derivatives.
"""

import math
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

from balltravel.closures.ball_over_seat import CheckGeometry
from balltravel.closures.families import lift_functions
from balltravel.closures.flow_curves import by_stress, tabulated
from balltravel.closures.lift_table import TABLE_ORIGIN, closure_table
from balltravel.core.check import Law, law, law_at
from balltravel.core.inertia import STILL
from balltravel.core.jit import kernel
from balltravel.core.lift import place_of, shape_at
from balltravel.core.model import SIZE, STATES, Moment, moment, rates
from balltravel.core.parameters import Check, Material
from balltravel.core.recording import COLUMNS
from balltravel.core.records import as_record
from balltravel.core.rheology import Rheology
from balltravel.core.slopes import derivatives
from balltravel.files.read_write import read_scenario
from balltravel.setup.parameters import core_parameters
from balltravel.setup.runs import run_core

ROOT = Path(__file__).parents[1]
R_SEAT, DENSITY, CALLS, ROUNDS = 0.0105, 1200.0, 2000, 40
MODES = COLUMNS.index("inlet_mode")


@kernel
def creeping_law(check, viscosity, z, w, dp, out):
    """Q = G r^3 dp/mu + alpha r^2 w, F = alpha r^2 dp - mu S r w, with derivatives."""
    r = check.seat_radius
    s = shape_at(check, place_of(check, z), z, w)
    per = r**3 / viscosity
    out.flow = s.G * per * dp + s.alpha * r * r * w
    out.flow_dp, out.flow_w = s.G * per, s.alpha * r * r
    out.flow_z = s.G_z * per * dp + s.alpha_z * r * r * w
    out.force = s.alpha * r * r * dp - viscosity * s.S * r * w
    out.force_dp, out.force_w = s.alpha * r * r, -viscosity * s.S * r
    out.force_z = s.alpha_z * r * r * dp - viscosity * s.S_z * r * w


@kernel
def many_creeping(check, viscosity, z, w, dp, out, rounds):
    total = 0.0
    for _ in range(rounds):
        for i in range(z.size):
            creeping_law(check, viscosity, z[i], w[i], dp[i], out)
            total += out.flow
    return total


@kernel
def many_full(check, material, z, w, dp, out, rounds):
    total = 0.0
    for _ in range(rounds):
        for i in range(z.size):
            law(check, material, z[i], w[i], dp[i], out)
            total += out.flow
    return total


@kernel
def many_without_slopes(check, material, z, w, dp, out, rounds):
    total = 0.0
    for _ in range(rounds):
        for i in range(z.size):
            law_at(check, material, place_of(check, z[i]), z[i], w[i], dp[i], STILL, False, out)
            total += out.flow
    return total


def check_of() -> Check:
    size = CheckGeometry(
        R_SEAT, 0.8 * R_SEAT, 1.4 * R_SEAT, 1.8 * R_SEAT, 4.0 * R_SEAT, 0.7, 2e-6, family="tabulated"
    )
    origin = TABLE_ORIGIN * R_SEAT
    table, step = closure_table(0.5 * R_SEAT, origin, lambda z: tuple(lift_functions(size, z)))
    return as_record(
        Check(
            R_SEAT, 1.4 * R_SEAT, 0.5 * R_SEAT, 0.1, 0.02, 3.0, 0.9, 0.0, 0.0, 0.0, 0.0, 2e-6, 1e-4,
            origin, step, table, 1.0,
        )
    )  # fmt: skip


@kernel
def many_rates(p, slopes, rows, segments, n, out, jacobian, by_time, rounds):
    """All rates of a lower as an integration asks for them, with their derivatives or without."""
    total = 0.0
    for _ in range(rounds):
        for i in range(segments.size):
            y, one, other = rows[i, 3 : 3 + SIZE], int(rows[i, MODES]), int(rows[i, MODES + 1])
            moment(p, segments[i], rows[i, 0], y, slopes, n)
            if slopes:
                derivatives(p, n, one, other, jacobian, by_time)
            rates(p, n, y, one, other, out)
            total += out[0]
    return total


def cost_of_rates(scenario: str, *settings: str) -> tuple[float, float]:
    """Nanoseconds of all rates of a lower over the instants of its cycle, with derivatives and without."""
    described = read_scenario(ROOT / "scenarios" / f"{scenario}.toml", settings)
    plain = core_parameters(described)
    rows = run_core(plain).rows
    rows = np.ascontiguousarray(rows[np.linspace(1, len(rows) - 2, CALLS).astype(int)])
    starts = plain.drive.start[: plain.drive.segments + 1]
    segments = np.clip(np.searchsorted(starts, rows[:, 0], "right") - 1, 0, plain.drive.segments - 1)
    p, n = as_record(plain), as_record(Moment())
    out, jacobian, by_time = np.zeros(SIZE), np.zeros((SIZE, STATES)), np.zeros(SIZE)
    with_, without = (
        nanoseconds(lambda k, s=s: many_rates(p, s, rows, segments, n, out, jacobian, by_time, k))
        for s in (True, False)
    )
    return with_, without


def nanoseconds(run: Callable[[int], float]) -> float:
    run(1)
    least = math.inf
    for _ in range(7):
        start = time.process_time()
        run(ROUNDS)
        least = min(least, time.process_time() - start)
    return 1e9 * least / (ROUNDS * CALLS)


def main() -> None:
    """Print the ratios."""
    rng = np.random.default_rng(1)
    z, w, dp = rng.uniform(0, 0.5 * R_SEAT, CALLS), rng.normal(0, 0.1, CALLS), rng.normal(0, 1e4, CALLS)
    out = as_record(Law())
    liquids = {
        "Newtonian": Rheology(1.0),
        "thinning": tabulated(lambda rate: (1.0 + (rate / 0.5) ** 2) ** -0.2, 0.03),
        "with a yield stress": tabulated(
            lambda rate: (1.0 + (rate / 0.5) ** 2) ** -0.2 + 20.0 / rate, 0.03, 20.0
        ),
    }
    creeping = nanoseconds(lambda n: many_creeping(check, 1.0, z, w, dp, out, n))
    print(f"creeping flow: {creeping:.0f} ns")
    for name, rheology in liquids.items():
        material = as_record(Material(rheology, by_stress(rheology), DENSITY, 1.5e9, 0.005, 2000.0))
        full = nanoseconds(lambda n, m=material: many_full(check, m, z, w, dp, out, n))
        bare = nanoseconds(lambda n, m=material: many_without_slopes(check, m, z, w, dp, out, n))
        print(
            f"full law, {name}: {full:.0f} ns ({full / creeping:.2f} times), without derivatives, as in five "
            f"of the six stages of a step, {bare:.0f} ns ({bare / creeping:.2f} times)"
        )


def compare_rates() -> None:
    """The rates of one lower in its thinning material, and in a Newtonian one that it handles as well."""
    thin = cost_of_rates("elastomer_thinning")
    plain = cost_of_rates("elastomer_thinning", "material.flow=Newtonian", "material.viscosity=5 Pa.s")
    for what, one, other in zip(("with", "without"), thin, plain, strict=True):
        print(
            f"all rates {what} derivatives: Newtonian {other:.0f} ns, thinning {one:.0f} ns "
            f"({one / other:.2f} times)"
        )


check = check_of()

if __name__ == "__main__":
    main()
    compare_rates()
