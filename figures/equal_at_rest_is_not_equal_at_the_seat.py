"""Two invented mastics of the same viscosity at rest, one Newtonian and one that thins: what each is at the
shear rates of a lower, and what each delivers over ball travel.

Draws equal_at_rest_viscosity.png and equal_at_rest_delivery.png.
"""

from pathlib import Path

import numpy as np

from balltravel import Scenario, read_scenario, with_values
from balltravel.material.model import material_model
from balltravel.report.figures.curves import lines_figure
from balltravel.report.figures.style import draw_from_command_line, save
from balltravel.sweeps.grid import sweep

ROOT = Path(__file__).parents[1]
IMAGES = ROOT / "docs" / "images"
TRAVELS = np.arange(1.5e-3, 9.01e-3, 0.5e-3)
AT_REST = 20.0
SHOWN = 4e-3
"""The travel of which the claim has numbers [m]."""

CLAIM = "Two mastics that are equal at rest are not equal in a lower: the one that thins passes the seat"
SAID = (
    "at 4 mm the one that thins delivers {thins:.1f} % of swept, the other {plain:.1f} %; the one that "
    "thins delivers most at the shortest travel tried, {thins_best:.1f} mm, the other at the longest, "
    "{plain_best:.1f} mm; over all travels the one that thins delivers {thins_least:.1f} to "
    "{thins_most:.1f} %, the other {plain_least:.1f} to {plain_most:.1f} %"
)
THINS = {
    "material.flow": "Carreau",
    "material.thinning_exponent": 0.6,
    "material.thinning_onset": 0.5,
    "material.least_viscosity": 0.1,
}


def pair() -> dict[str, Scenario]:
    """Name -> the lower of the mastic's scenario with that material, no shims but a base travel."""
    plain = with_values(
        read_scenario(ROOT / "scenarios" / "mastic.toml"),
        {"material.viscosity": AT_REST, "shims.below": (), "shims.thicknesses": ()},
    )
    return {"does not thin (Newtonian)": plain, "thins (Carreau, n = 0.6)": with_values(plain, THINS)}


def lost_volume(travels: np.ndarray = TRAVELS) -> dict[str, dict[str, np.ndarray]]:
    """Name -> travel [mm] and delivered over swept [%]."""
    found = {}
    for name, scenario in pair().items():
        data = sweep(scenario, {"inlet_check.base_travel": [float(one) for one in travels]})
        found[name] = {
            "travel": 1e3 * travels,
            "delivered": 100.0 * data.volumetric_efficiency.values,
        }
    return found


def claim() -> dict[str, float]:
    """Delivered at the shown travel, at least and at most [% of swept], and the travel that delivers most
    [mm]."""
    plain, thins = lost_volume().values()
    at = int(np.argmin(np.abs(TRAVELS - SHOWN)))
    return {
        "plain": float(plain["delivered"][at]),
        "thins": float(thins["delivered"][at]),
        "plain_best": float(plain["travel"][np.argmax(plain["delivered"])]),
        "thins_best": float(thins["travel"][np.argmax(thins["delivered"])]),
        "plain_least": float(plain["delivered"].min()),
        "plain_most": float(plain["delivered"].max()),
        "thins_least": float(thins["delivered"].min()),
        "thins_most": float(thins["delivered"].max()),
    }


def main(folder: Path = IMAGES) -> list[Path]:
    """Draw both figures into a folder."""
    rate = np.geomspace(1e-2, 1e4, 200)
    curves = {
        name: {"rate": rate, "viscosity": material_model(s.material).viscosity(rate, s.material.temperature)}
        for name, s in pair().items()
    }
    paths = [folder / "equal_at_rest_viscosity.png", folder / "equal_at_rest_delivery.png"]
    about = f"Two invented mastics in the same lower, equal only at rest, where both have {AT_REST:g} Pa.s"
    title = f"{CLAIM}\n{about}"
    names = {"viscosity": "viscosity [Pa s]"}
    save(lines_figure(curves, names, "shear rate [1/s]", title), paths[0])
    names = {"delivered": "delivered over swept [%]"}
    figure = lines_figure(
        lost_volume(), names, "ball travel of the inlet check [mm]", title, ("delivered",), True
    )
    save(figure, paths[1])
    return paths


if __name__ == "__main__":
    draw_from_command_line(main, __doc__, IMAGES)
