"""A metric of any unit is printed: in the units of the bench where they are known, else as it stands."""

from dataclasses import fields

import pytest

from balltravel.cycle.metrics import CheckMetrics, Metrics, describe
from balltravel.report.text import simulate


@pytest.mark.parametrize(
    ("unit", "dimension"),
    [
        ("1", "fraction"), ("s", "time"), ("s-1", "frequency"), ("m", "length"), ("m3", "volume"),
        ("m3 s-1", "flow"), ("m s-1", "velocity"), ("Pa", "pressure"), ("J", "energy"), ("N", "force"),
        ("kg", "mass"), ("kg m", ""), ("furlong", ""),
    ],
)  # fmt: skip
def test_a_unit_of_datasets_is_of_one_dimension(unit, dimension):
    assert simulate._dimension_of(unit) == dimension


def test_every_metric_has_a_dimension():
    names = [part.name for part in fields(Metrics) if part.type not in ("CheckMetrics", "LossBudget")]
    names = [name for name in names if name not in ("inlet", "piston", "loss_budget")]
    names += [f"inlet.{part.name}" for part in fields(CheckMetrics) if part.name != "flags"]
    assert len(names) > 30
    assert all(simulate._dimension_of(describe(name)[0]) for name in names)


def test_a_metric_of_an_unknown_unit_is_printed_as_it_stands(monkeypatch):
    monkeypatch.setattr(simulate, "describe", lambda _: ("kg m", "made up"))
    assert simulate._metric_rows({"moment": 1.5}, 101325.0) == [("moment", "1.5 kg m", "made up")]
