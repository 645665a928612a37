"""Liquids that thin, with inertia, past a ball held over a sharp edge: stored solves, and the law there."""

import csv
from pathlib import Path

from balltravel.core.lift import cubic, gap_of, place_of, shape
from balltravel.core.parameters import FUNCTIONS
from balltravel.core.rheology import Rheology

from .boxes import thin
from .edge_alone import NO_DENSITY, EdgeLaw, Place, density_of
from .in_series import mean, parts_of

DATA = Path(__file__).parents[1] / "data" / "own_solves_of_thinning_with_inertia.csv"
LIQUID = ("liquid", "viscosity", "exponent", "onset", "yield_stress", "blunt")
COLUMNS = ("ball", "ratio", "lift", "way", *LIQUID, "reynolds", "dp", "F")


def read(path=DATA):
    """Rows of a table, by name of column."""
    lines = [line for line in path.read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
    return list(csv.DictReader(lines))


def place_of_row(row):
    return Place(*(float(row[name]) for name in ("ball", "ratio", "lift")))


def rheology_of(row):
    """The core's table of a row's liquid; a power law and a Carreau liquid are smooth at rest already."""
    viscosity, n, onset, tau, blunt = (float(row[name]) for name in LIQUID[1:])
    if row["liquid"] == "Newtonian":
        return Rheology(viscosity)
    return thin(viscosity, n, onset, tau, blunt if tau > 0.0 else 1e-2 * onset)


def liquid_at(place, name, n):
    """A liquid that has at the edge, at unit flow, the viscosity 1 by the law (M9a), so that the density is
    pi/2 Re: its row. Carreau's onset is a tenth of the gap's rate; the yield stress of Herschel and Bulkley's
    is the viscous stress at that rate."""
    edge = edge_part(place)
    onset = {"Newtonian": 1.0, "power law": 1e-4, "Carreau": 0.1, "Herschel-Bulkley": 0.03}[name] * edge.rate
    held = name == "Herschel-Bulkley"
    blunt, tau = (onset, edge.rate * (edge.rate / onset) ** (n - 1.0)) if held else (1.0, 0.0)
    row = dict(zip(LIQUID, (name, 1.0, n, onset, tau, blunt), strict=True))
    scale = 1.0 / mean(rheology_of(row), edge, 1.0, 0.0)
    return row | {"viscosity": scale, "yield_stress": scale * tau}


def edge_part(place):
    """The edge of a place as a resistance."""
    law = EdgeLaw(place)
    at, (gap, _) = place_of(law.check, law.lift), gap_of(law.check, law.lift)
    column = {c: cubic(law.check, at, c)[0] for c in range(FUNCTIONS)}
    return parts_of(column, gap, shape(law.check, law.lift, 0.0))[0]


def misses(rows, law=EdgeLaw):
    """Rows with the errors of dp and F by the law at unit flow: over dp, and over the creeping force and the
    size of inertia's, as of Newtonian liquids (`inertia_misses`). A row of Re 0 comes before its others."""
    for row in rows:
        reynolds, way, dp, F = (float(row[name]) for name in ("reynolds", "way", "dp", "F"))
        if reynolds == 0.0:
            creeping = F
        density = max(density_of(reynolds), NO_DENSITY)
        drop, force = law(place_of_row(row), rheology_of(row), density).given_flow(way, 0.0)
        yield row, (way * drop / dp - 1.0, (way * force - F) / (creeping + abs(F - creeping)))
