"""Jobs on which the verdict is judged: invented, each as somebody would know it. Thin stain is none of them,
for any travel does there."""

from balltravel.files.read_write import read_scenario
from balltravel.scenario.model import Scenario

JOBS: dict[str, tuple[str, tuple[str, ...]]] = {
    "primer, fast": ("primer", ("material.viscosity=6 Pa.s", "drive.cycle_rate=40 /min")),
    "primer by Krebs units, cold": (
        "primer",
        (
            "material.readings=[{ krebs = 100, temperature = '25 degC' }]",
            "material.stated_temperature=25 degC",
            "material.temperature=10 degC",
            "material.temperature_law=Andrade",
            "material.activation_energy=unknown",
        ),
    ),
    "mastic": ("mastic", ()),
    "mastic, slow, by feel": (
        "mastic",
        (
            "drive.cycle_rate=15 /min",
            "material.viscosity={ low = '6 Pa.s', likely = '14 Pa.s', high = '40 Pa.s' }",
        ),
    ),
    "mastic by two readings": (
        "mastic",
        (
            "material.flow=['power law', 'Newtonian']",
            "material.readings=[{ shear_rate = '4 1/s', viscosity = '17 Pa.s' }, "
            "{ shear_rate = '40 1/s', viscosity = '10 Pa.s', uncertainty = '15 %' }]",
        ),
    ),
    "elastomer": ("elastomer_thinning", ()),
    "floor adhesive": ("floor_adhesive_at_altitude", ()),
    "zinc primer": ("zinc_primer_light_ball", ()),
}
"""Name -> scenario shipped with the project, and what is set in it."""


def job(name: str) -> Scenario:
    """The scenario of a job."""
    file, settings = JOBS[name]
    return read_scenario(f"scenarios/{file}.toml", settings)
