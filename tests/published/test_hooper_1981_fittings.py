"""Hooper (1981): two-K losses of fittings in the suction line; the library ``fluids`` as referee."""

import math
from pathlib import Path

import pytest

from balltravel.core.model import line_loss
from balltravel.core.records import as_record
from balltravel.files.read_write import read_scenario
from balltravel.setup.parameters import core_parameters
from balltravel.site.fittings import FITTINGS, losses

PRIMER = Path(__file__).parents[2] / "scenarios" / "primer.toml"
SHORT = (
    "suction.loss_coefficient=0",
    "suction.hose_length=10 mm",
    "suction.port_compliance=0.0001 cc/bar",
)
INCH = 0.0254

# Our name -> the library's; those of tees used as elbows have lost their word there.
NAMES = {
    "elbow 90 screwed": "Elbow, 90°, Standard (R/D = 1), Screwed",
    "elbow 90 flanged": "Elbow, 90°, Standard (R/D = 1), Flanged/welded",
    "elbow 90 long radius": "Elbow, 90°, Long-radius (R/D = 1.5), All types",
    "elbow 90 mitred": "Elbow, 90°, Mitered (R/D = 1.5), 1 weld (90° angle)",
    "elbow 45": "Elbow, 45°, Standard (R/D = 1), All types",
    "elbow 45 long radius": "Elbow, 45°, Long-radius (R/D 1.5), All types",
    "return bend": "Elbow, 180°, Standard (R/D = 1), Flanged/welded",
    "return bend long radius": "Elbow, 180°, Long-radius (R/D = 1.5), All types",
    "tee run screwed": "Tee, Run, Screwed",
    "tee run flanged": "Tee, Through, Flanged or welded",
    "tee branch screwed": "Elbow, Used as, Standard, Screwed",
    "tee branch flanged": "Elbow, Elbow, Standard, Flanged/welded",
    "full bore valve": "Valve, Gate, Full line size, Beta = 1",
    "ball valve reduced": "Valve, Ball, Reduced trim, Beta = 0.9",
    "plug valve reduced": "Valve, Plug, Reduced trim, Beta = 0.8",
    "globe valve": "Valve, Globe, Standard",
    "angle valve": "Valve, Globe, Angle or Y-type",
    "diaphragm valve": "Valve, Diaphragm, Dam type",
    "butterfly valve": "Valve, Butterfly,",
    "swing check valve": "Valve, Check, Swing",
    "lift check valve": "Valve, Check, Lift",
    "tilting disc check valve": "Valve, Check, Tilting-disc",
}


def loss(scenario, flow):
    p = core_parameters(scenario)
    return line_loss(as_record(p.suction), as_record(p.material), flow)[0]


def test_every_fitting_but_the_entries_stands_in_the_library():
    assert set(FITTINGS) - set(NAMES) == {"sharp entry", "rounded entry", "projecting entry"}


@pytest.mark.parametrize("name", NAMES)
def test_a_fitting_takes_from_the_whole_line_what_the_library_says_of_it(name, agree):
    """From Re 0.1 to some 1e5; 1e-9: differences of two losses of the line, ten times larger at most."""
    fluids = pytest.importorskip("fluids")
    for viscosity in ("50 Pa.s", "1 Pa.s", "1 mPa.s"):
        thick = f"material.viscosity={viscosity}"
        plain = read_scenario(PRIMER, (thick, *SHORT))
        with_ = read_scenario(PRIMER, (thick, *SHORT, f'suction.fittings=["{name}", "{name}"]'))
        flow, d, rho, mu = 3e-4, 0.038, 1350.0, plain.material.viscosity
        speed = 4.0 * flow / (math.pi * d**2)
        K = fluids.fittings.Hooper2K(Di=d / INCH, Re=rho * speed * d / mu, name=NAMES[name])
        agree(loss(with_, flow) - loss(plain, flow), 2.0 * K * 0.5 * rho * speed**2, rel=1e-9)


def test_entries_lose_what_the_library_says_of_them_when_turbulent(agree):
    """0.5 by four of its six sources; 0.04 of a rounded one by Crane; a projecting one 1 (Borda)."""
    fittings = pytest.importorskip("fluids").fittings
    agree(losses(("sharp entry",), 0.05).turbulent, fittings.entrance_sharp(method="Crane"), rel=1e-12)
    rounded = fittings.entrance_rounded(Di=0.05, rc=0.0075, method="Crane")
    agree(losses(("rounded entry",), 0.05).turbulent, rounded, rel=1e-12)
    assert losses(("projecting entry",), 0.05).turbulent == 1.0


@pytest.mark.parametrize("name", ["sharp entry", "rounded entry", "projecting entry"])
def test_a_slow_entry_loses_160_velocity_heads_over_re(name):
    """K1 of Hooper's entries, from memory: K1/Re of the velocity head is K1 mu Q/(2 d A)."""
    d = 0.05
    assert losses((name,), d).laminar == pytest.approx(160.0 / (2.0 * d * math.pi * d**2 / 4.0), rel=1e-12)
