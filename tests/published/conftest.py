"""Reads the tables of published and own numbers that lie in tests/data, each with its source on top."""

import csv
import math
from collections.abc import Callable
from pathlib import Path

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
