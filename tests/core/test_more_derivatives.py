"""The rates' derivatives by state and time where motor, outlet hose, packings or dissolved gas feed back: by
differences at random states, as for the eight states of every lower."""

import numpy as np
import pytest

from balltravel.core.contact import FREE
from balltravel.core.contents import pressure
from balltravel.core.model import (
    AIR_BELOW,
    DELIVERED,
    GAS_LOWER,
    GAS_PORT,
    LINE_FLOW,
    LOWER,
    OUT_FLOW,
    PACKING_VOLUME,
    PORT,
    POSITION,
    ROD_VOLUME,
    SIZE,
    SPRAYED,
    STORE,
    UPPER,
    WHOLE,
    V,
)
from balltravel.core.motor import (
    BRAKE,
    CRITICAL,
    DRIVE,
    HELD,
    REST,
    direction_of,
    phase_of,
)
from balltravel.core.parameters import (
    AIR,
    HYDRAULIC,
    NO_MOTOR,
)
from balltravel.core.records import as_record

from ..helpers.boxes import thin
from .states_with_more import (
    RAMP,
    SINCE,
    branch,
    cases,
    derivatives_at,
    driven,
    gassy,
    idle_states,
    moment_at,
    rates_at,
    size_of,
    small_changes,
    sprayed,
    steps,
    terms_of,
    worn,
)
from .test_model_derivatives import bend_of, drive_of


@pytest.fixture(scope="module")
def lowers(make_lower):
    """Each of the parts alone, and all together."""
    one, other = (
        make_lower(drive_of(profile), mu) for profile, mu in (("constant speed", 1.0), ("harmonic", 0.05))
    )
    liquid = one.suction.rheology
    return {
        "hydraulic": driven(one, HYDRAULIC),
        "air": driven(other, AIR),
        "tip": sprayed(one, liquid),
        "packings": worn(other),
        "gas": gassy(other),
        "hydraulic, all": worn(gassy(sprayed(driven(one, HYDRAULIC), liquid))),
        "air, all": worn(gassy(sprayed(driven(one, AIR), liquid))),
        "crank, all": worn(gassy(sprayed(other, other.suction.rheology))),
    }  # fmt: skip


NAMES = ("hydraulic", "air", "tip", "packings", "gas", "hydraulic, all", "air, all", "crank, all")


@pytest.mark.parametrize("name", NAMES)
def test_the_jacobian_agrees_with_differences_at_random_states(lowers, difference, name):
    """3e-6 of each entry (knots of the splines), beside rounding: 1e-14 of the terms over the step."""
    plain = lowers[name]
    for p, segment, t, y, modes, brake in cases(plain, 54, seed=11):
        jacobian, _, now = derivatives_at(p, segment, t, y, modes, brake)
        size, moved = size_of(p, plain, y, now), np.ones(WHOLE, dtype=bool)
        moved[4:6], moved[6:8] = modes[0] == FREE, modes[1] == FREE
        idle = idle_states(p)
        for j, h in enumerate(steps(p, plain, y, segment, now)[: jacobian.shape[1]]):
            if not moved[j] or j in idle:
                assert not jacobian[:, j].any()
                continue
            h = min(h, branch(p, now, jacobian[:, j]))
            unit = np.eye(SIZE)[j]
            seen = difference(
                lambda s, u=unit, c=(segment, t, modes, brake, y, p): rates_at(
                    c[5], c[0], c[1], c[4] + s * u, c[2], c[3]
                ),
                0.0,
                h,
            )
            noise = 1e-14 * size / h * (1.0 + 1e-2 * abs(y[j]) / h) + 1e-300
            off = np.abs(jacobian[:, j] - seen) > 3e-6 * terms_of(p, now, seen) + noise
            assert not off.any(), (
                j,
                segment,
                modes,
                np.flatnonzero(off),
                jacobian[off, j],
                seen[off],
                noise[off],
            )


@pytest.mark.parametrize("name", NAMES)
def test_the_derivative_by_time_agrees_with_differences(lowers, difference, name):
    """1e-6, beside rounding; with a motor it is the opening of its valve alone."""
    plain = lowers[name]
    for p, segment, t, y, modes, brake in cases(plain, 54, seed=12):
        _, by_time, now = derivatives_at(p, segment, t, y, modes, brake)
        _, lower, upper, _ = small_changes(p, now)
        bends = [
            0.02 * 0.02 * bend_of(c, plain.material, y[z]) for c, z in ((plain.inlet, 4), (plain.piston, 6))
        ]
        inlet = 0.02 * abs(now.port - now.lower) + bends[0]
        piston = 0.02 * abs(now.lower - now.upper) + bends[1]
        moving = max(abs(now.lower_t), abs(now.upper_t), 1e-9)
        h = min(1e-4, inlet / moving, piston / moving, lower / moving, upper / moving)
        h = min(h, branch(p, now, by_time))
        seen = difference(
            lambda s, c=(segment, y, modes, brake, p): rates_at(c[4], c[0], s, c[1], c[2], c[3]), t, h
        )
        size = size_of(p, plain, y, now)
        noise = 1e-14 * size / h * (1.0 + 1e-2 * t / h) + 1e-9 * (size + p.lower.area * abs(now.v))
        off = np.abs(by_time - seen) > 1e-6 * np.abs(seen) + noise
        assert not off.any(), (segment, modes, np.flatnonzero(off), by_time[off], seen[off], noise[off])


def test_the_random_states_are_of_every_kind(lowers):
    """Held, driven, braked and resting, with the valve still opening and open; air at the speed of sound and
    below it, in and out; gas that the inlet draws in and gives back, and the piston check too."""
    seen = set()
    for p, segment, t, y, _, brake in cases(lowers["air, all"], 108, seed=11):
        now = moment_at(p, segment, t, y, brake)
        seen.add(("phase", phase_of(segment), t - SINCE < RAMP))
        up = direction_of(segment) > 0.0
        side = p.motor.supply if up else p.reference_pressure
        ratio = min(side, y[AIR_BELOW]) / max(side, y[AIR_BELOW])
        seen.add(("air", up, side > y[AIR_BELOW], ratio > CRITICAL))
        seen.add(("inlet", now.inlet.law.flow > 0.0, now.lower_gas.share > 0.0))
        seen.add(("piston", now.piston.law.flow > 0.0, now.lower_gas.share > 0.0))
    wanted = {("phase", phase, early) for phase in (HELD, DRIVE, BRAKE, REST) for early in (True, False)}
    wanted |= {(check, way, True) for check in ("inlet", "piston") for way in (True, False)}
    wanted |= {
        ("air", *kind)
        for kind in ((True, True, True), (True, True, False), (False, False, True), (False, False, False))
    }
    assert wanted <= seen


def test_with_a_motor_the_rates_depend_on_time_while_it_is_driven_and_its_valve_opens_alone(lowers):
    for p, segment, t, y, modes, brake in cases(lowers["hydraulic, all"], 108, seed=13):
        _, by_time, now = derivatives_at(p, segment, t, y, modes, brake)
        opens = phase_of(segment) == DRIVE and t - SINCE < RAMP
        assert by_time.any() == opens
        if opens:
            force = p.motor.area * (p.motor.supply - p.reference_pressure)
            assert by_time[V] == pytest.approx(2.0 * now.up * force / RAMP / p.motor.mass, rel=1e-12)


THINNING = (0.4, 0.7)


@pytest.mark.parametrize("exponent", THINNING)
def test_tip_and_packings_of_a_thinning_liquid_have_the_slopes_of_their_flows(
    make_lower, difference, exponent
):
    """The rows that the checks' own law is not in (that is tested by itself); 1e-6: knots of the curve."""
    rheology = thin(40.0, exponent, 0.3, 5.0, 0.01)
    p = make_lower(drive_of("constant speed"), 1.0)
    p = worn(sprayed(p._replace(material=p.material._replace(rheology=rheology)), rheology))
    rng = np.random.default_rng(14)
    rows = {UPPER: (DELIVERED, PACKING_VOLUME, ROD_VOLUME, OUT_FLOW), LOWER: (PACKING_VOLUME,),
            OUT_FLOW: (DELIVERED, OUT_FLOW, STORE), STORE: (OUT_FLOW, STORE, SPRAYED)}  # fmt: skip
    for _ in range(60):
        record, segment, t, y, modes, brake = next(cases(p, 1, int(rng.integers(1 << 30))))
        jacobian, _, now = derivatives_at(record, segment, t, y, modes, brake)
        lower, upper, store = now.lower - 2000.0, now.upper - 2000.0, now.store - 2000.0
        past, out, sprayed_at = (abs(x) for x in (upper - lower, upper - 99325.0, store - 99325.0))
        change = {
            UPPER: min(past, out, upper) / now.upper_y,
            LOWER: min(past, lower) / now.lower_y,
            OUT_FLOW: abs(y[OUT_FLOW]),
            STORE: min(sprayed_at, store) / now.store_y,
        }
        size = size_of(record, p, y, now)
        for j, touched in rows.items():
            h, unit = 2e-3 * change[j], np.eye(SIZE)[j]
            seen = difference(
                lambda s, u=unit, c=(record, segment, t, y, modes, brake): rates_at(
                    *c[:3], c[3] + s * u, *c[4:]
                ),
                0.0,
                h,
            )
            for row in touched:
                noise = 1e-12 * size[row] / h
                assert abs(jacobian[row, j] - seen[row]) <= 1e-6 * abs(seen[row]) + noise, (j, row)


def test_gas_and_liquid_that_leave_the_port_enter_the_chamber(lowers):
    """Rates and derivatives: what the inlet carries of gas is lost by one and gained by the other. The
    release apart, the gas of both changes by what passes the piston check alone."""
    for p, segment, t, y, modes, brake in cases(lowers["gas"], 108, seed=15):
        jacobian, _, now = derivatives_at(p, segment, t, y, modes, brake)
        out = rates_at(p, segment, t, y, modes, brake)
        gone = now.lower_gas.share * max(now.piston.law.flow, 0.0)
        freed = now.port_gas.rate + now.lower_gas.rate
        both = out[GAS_PORT] + out[GAS_LOWER]
        limit = 1e-15 * (abs(out[GAS_PORT]) + abs(out[GAS_LOWER]) + abs(freed) + gone)
        assert abs(both - (freed - gone)) <= 4.0 * limit
        # By the line's flow, which no gas depends on.
        assert jacobian[GAS_PORT, LINE_FLOW] == jacobian[GAS_LOWER, LINE_FLOW] == 0.0
        assert jacobian[POSITION].any() == (p.motor.kind != NO_MOTOR)


def test_gas_out_of_solution_raises_the_pressure_as_it_raises_it(lowers, difference):
    """The derivative of M2a by the gas, by differences: 1e-8."""
    p = lowers["gas"]
    rng, record = np.random.default_rng(16), as_record(p)
    for _ in range(100):
        surplus, gas = rng.uniform(-3e-5, 1e-6), 10.0 ** rng.uniform(-9.0, -5.0)
        y = np.zeros(SIZE)
        y[[PORT, LOWER, GAS_PORT, GAS_LOWER]] = 1e-8, surplus, 1e-9, gas
        now = moment_at(record, 0, 0.5 * p.drive.start[1], y, 0.0)
        seen = difference(
            lambda g, s=surplus, x=now.x: pressure(
                record.material, p.reference_pressure, record.lower, x, s, g
            )[0],
            gas,
            0.02 * gas,
        )
        assert now.lower_G == pytest.approx(seen, rel=1e-8)
        assert now.lower_G > 0.0
