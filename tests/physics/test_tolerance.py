"""How far the integrator's tolerance shows in what a cycle says, over the demo scenarios."""

from pathlib import Path

import numpy as np
import pytest

from balltravel import cycle_metrics, read_scenario, simulate
from balltravel.setup.parameters import RTOL

SCENARIOS = Path(__file__).parents[2] / "scenarios"
STORIES = ("stain", "primer", "primer_conical_seat", "mastic", "mastic_close_cage")
TOLERANCES = np.array([1e-4, 1e-5, 1e-6, 1e-7, 1e-8])
NEAR_EXACT = 1e-9


def results(story, rtol):
    """Delivered volume and closing volumes (backflows) of both checks over swept, both closing lags over the
    period."""
    data = simulate(read_scenario(SCENARIOS / f"{story}.toml"), rtol=rtol)
    assert data.attrs["status"] == "ok"
    m = cycle_metrics(data)
    volumes = np.array([m.delivered_volume, m.inlet.backflow_volume, m.piston.backflow_volume])
    lags = np.array([m.inlet.closing_lag, m.piston.closing_lag])
    return np.concatenate((volumes / data.swept_volume.item(), lags / data.period.item()))


@pytest.fixture(scope="module", params=STORIES)
def errors(request):
    """A story's name and its errors against the tightest tolerance, one row a tolerance."""
    exact = results(request.param, NEAR_EXACT)
    return request.param, np.array([np.abs(results(request.param, rtol) - exact) for rtol in TOLERANCES])


def test_at_the_default_tolerance_delivery_and_closing_are_right_to_1e_7(within, errors):
    """Over swept and period; 2.1e-8 seen, 1e-8 in the delivered volume. A shim decides over thousandths."""
    story, found = errors
    (default,) = np.flatnonzero(TOLERANCES == RTOL)
    delivered, inlet, piston, inlet_lag, piston_lag = found[default]
    print(
        f"{story} at rtol {RTOL:g}: delivered {delivered:.1e}, closing volumes {inlet:.1e} and {piston:.1e} "
        f"of swept, lags {inlet_lag:.1e} and {piston_lag:.1e} of the period"
    )
    within(found[default], 1e-7)


def test_a_ball_that_leaves_a_smooth_pad_is_followed_as_well():
    """Its film gives way as an exponential that begins at the roughness, 0.1 um: an error of 1e-6 of the
    lift, 5 nm, is a twentieth of that. Weighed by the lift it once cost 4e-4 of swept."""
    settings = ['piston_check.stop="pad"', "piston_check.stop_pad_diameter=13 mm",
                "piston_check.surface_roughness=0.1 um", "drive.cycle_rate=18 /min"]  # fmt: skip
    scenario = read_scenario(SCENARIOS / "primer.toml", settings)
    found, exact = simulate(scenario), simulate(scenario, rtol=NEAR_EXACT)
    swept = exact.swept_volume.item()
    error = np.abs(found.passed_volume[-1] - exact.passed_volume[-1]).max().item() / swept
    print(f"volumes through the checks: {error:.1e} of swept")
    assert error < 1e-6


def test_errors_fall_with_the_tolerance_and_stay_below_a_tenth_of_it(errors):
    """Steps go with the fourth root of the tolerance and the error with their fourth power: with the
    tolerance itself, slope 1. Seen 0.82 (stain, many landings) to 1.27 in the worst of five results: the
    largest step allowed and changes of mode make it scatter. Steeper is no fault, flatter would be."""
    story, found = errors
    worst = found.max(axis=1)
    slope = np.polyfit(np.log(TOLERANCES), np.log(worst), 1)[0]
    print(f"{story}: worst errors {worst}, slope {slope:.2f}")
    assert (worst < 0.1 * TOLERANCES).all()
    assert slope > 0.75
