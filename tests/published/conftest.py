"""Reads the tables of published and own numbers that lie in tests/data, each with its source on top, and
tells how near the program comes to them."""

import csv
import math
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

DATA = Path(__file__).parents[1] / "data"
Row = dict[str, float | str]


def _value(text: str) -> float | str:
    if not text:
        return math.nan
    try:
        return float(text)
    except ValueError:
        return text


def _table(name: str) -> list[Row]:
    with open(DATA / name, encoding="utf-8", newline="") as file:
        assert next(file).startswith("# source: ")
        return [{key: _value(text) for key, text in row.items()} for row in csv.DictReader(file)]


@pytest.fixture(scope="session")
def table() -> Callable[[str], list[Row]]:
    """Name of a file in tests/data -> its rows by column name; an empty cell is nan."""
    return _table


@pytest.fixture
def agree():
    """Asserts that two numbers agree; at the end tells how many did and how near the worst came."""
    found: list[tuple[float, float]] = []

    def check(value: float, expected: float, rel: float) -> None:
        found.append((float(np.abs(value / expected - 1.0)), rel))
        assert value == pytest.approx(expected, rel=rel)

    yield check
    for allowed in sorted({rel for _, rel in found}):
        differences = [difference for difference, rel in found if rel == allowed]
        noun = "number" if len(differences) == 1 else "numbers"
        print(f"{len(differences)} {noun} within {allowed:.1e}: largest difference {max(differences):.1e}")
