"""Checks, lowers and tables as fixtures: from plain numbers, without a scenario."""

import csv
import math
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from balltravel.closures.ball_over_seat import CheckGeometry
from balltravel.closures.families import closures_at
from balltravel.closures.lift_table import TABLE_ORIGIN, closure_table
from balltravel.closures.tube import added_mass_coefficient
from balltravel.core.parameters import Chamber, Check, Drive, Material, Parameters, Suction
from balltravel.core.rheology import Rheology

DATA = Path(__file__).parents[1] / "data"
GRAVITY = 9.80665


def _number(text: str) -> float | str:
    try:
        return float(text)
    except ValueError:
        return text


@pytest.fixture(scope="session")
def table() -> Callable[[str], list[dict[str, float | str]]]:
    """Name of a file in tests/data -> its rows by column name."""

    def read(name: str) -> list[dict[str, float | str]]:
        with open(DATA / name, encoding="utf-8", newline="") as file:
            assert next(file).startswith("# source: ")
            return [{key: _number(text) for key, text in row.items()} for row in csv.DictReader(file)]

    return read


def _geometry(r: float = 0.0105, R: float = 1.4, cage: float = 1.8, roughness: float = 2e-4) -> CheckGeometry:
    """Ball, cage and roughness in seat radii; bore and cage lengths 0.8 and 4 seat radii."""
    return CheckGeometry(r, 0.8 * r, R * r, cage * r, 4.0 * r, 0.7, roughness * r)


@pytest.fixture(scope="session")
def geometry() -> Callable[..., CheckGeometry]:
    """``geometry(r, R, cage, roughness)``: sizes of a check; all but r [m] in seat radii."""
    return _geometry


def _check(size: CheckGeometry, travel: float, density: float = 1200.0, **other: float) -> Check:
    """A check with a steel ball; travel [m]; ``other`` replaces fields of the check."""
    r, R, Rc = size.seat_radius, size.ball_radius, size.cage_radius
    origin = TABLE_ORIGIN * r
    values, step = closure_table(travel, origin, lambda lift: closures_at(size, lift))
    volume, added = 4.0 / 3.0 * math.pi * R**3, added_mass_coefficient(R / Rc)
    check = Check(
        seat_radius=r,
        ball_radius=R,
        travel=travel,
        ball_mass=7800.0 * volume,
        added_mass=density * volume * added,
        coupling_mass=density * volume * (1.0 + added) / (math.pi * Rc**2),
        net_weight=(7800.0 - density) * volume * GRAVITY,
        spring_preload=0.0,
        spring_rate=0.0,
        leak_gap=0.0,
        pad_radius=0.0,
        roughness=size.roughness,
        landing_gap=0.01 * r,
        table_origin=origin,
        table_step=step,
        table=values,
    )
    return check._replace(**other)


@pytest.fixture(scope="session")
def make_check() -> Callable[..., Check]:
    """``make_check(geometry, travel, density, **fields)``."""
    return _check


def _lower(drive: Drive, viscosity: float = 1.0, **other: object) -> Parameters:
    """An invented lower of 48 mm bore and the stroke of ``drive``; ``other`` replaces fields."""
    bore, rod = math.pi * 0.024**2, math.pi * 0.017**2
    hose, density = math.pi * 0.019**2, 1200.0
    p = Parameters(
        material=Material(Rheology(viscosity), Rheology(viscosity), density, 1.5e9, 0.005, 2000.0),
        inlet=_check(_geometry(0.0105), 0.005),
        piston=_check(_geometry(0.008, 1.39, 1.78), 0.005),
        port=Chamber(0.5 * hose * 1.5, 0.0, 1e-10),
        lower=Chamber(33e-6, bore, 0.0),
        upper=Chamber(33e-6 + (bore - rod) * drive.stroke, rod - bore, 0.0),
        suction=Suction(
            density * 1.5 / hose,
            128.0 * 1.5 / (math.pi * 0.038**4),
            1.5 * density / (2.0 * hose**2),
            97800.0,
            0.038,
            4e-5,
            Rheology(viscosity),
        ),
        drive=drive,
        outlet_pressure=1.01e7,
        outlet_resistance=1e8,
        reference_pressure=101325.0,
        gravity=GRAVITY,
    )
    return p._replace(**other)


@pytest.fixture(scope="session")
def make_lower() -> Callable[..., Parameters]:
    """``make_lower(drive, viscosity, **fields)``."""
    return _lower


def _difference(function: Callable[[float], object], x: float, h: float) -> object:
    """Central difference, twice extrapolated (Richardson): error of order h^6."""
    rows = []
    for k in range(3):
        s = h / 2**k
        low, high = np.array(function(x - s)), np.array(function(x + s))
        rows.append((high - low) / ((x + s) - (x - s)))
    first = [(4.0 * b - a) / 3.0 for a, b in pairwise(rows)]
    return (16.0 * first[1] - first[0]) / 15.0


@pytest.fixture(scope="session")
def difference() -> Callable[..., object]:
    """``difference(function, x, h)``: derivative by central differences, error of order h^6."""
    return _difference
