"""The maker of the table of solves goes on where it was cut off, and writes what the package ships."""

from importlib import resources
from itertools import product

import pytest

try:
    from balltravel.closures.fem import make_table
except (ImportError, OSError) as error:  # OSError: gmsh without a library of the system
    pytest.skip(f"no finite elements here: {error}", allow_module_level=True)


@pytest.fixture
def solving(monkeypatch):
    """Three balls by two lifts, with numbers in place of solves; the places that were asked for."""
    asked = []

    def solved(name, places, _):
        assert name == "resistance"
        for place in places:
            asked.append(place)
            yield (*place, 100.0 + place[0], 2.0, 3.0, 4.0, 1e-5, 2e-5, 3e-5, 4e-9)

    few = tuple(product((1.2, 1.4, 1.6), (0.7,), (0.1, 0.2)))
    kind = make_table.KINDS["resistance"]._replace(places=few)
    monkeypatch.setitem(make_table.KINDS, "resistance", kind)
    monkeypatch.setattr(make_table, "solved", solved)
    return asked


def test_a_table_that_was_cut_off_is_gone_on_with_and_ends_the_same(solving, tmp_path):
    path = tmp_path / "table.csv"
    assert make_table.main([str(path)]) == 0
    whole = path.read_text()
    assert len(solving) == 6
    lines = whole.splitlines(keepends=True)
    path.write_text("".join(lines[:-3]) + lines[-3][:10])
    solving.clear()
    assert make_table.main([str(path)]) == 0
    assert path.read_text() == whole
    assert solving == [(1.4, 0.7, 0.2), (1.6, 0.7, 0.1), (1.6, 0.7, 0.2)]
    assert [one.name for one in tmp_path.iterdir()] == ["table.csv"]


def test_a_whole_table_asks_for_nothing(solving, tmp_path):
    path = tmp_path / "table.csv"
    make_table.main([str(path)])
    solving.clear()
    assert make_table.main([str(path)]) == 0
    assert solving == []


@pytest.mark.parametrize("name", ["resistance", "inertia", "mass", "thinning"])
def test_a_shipped_table_has_the_points_that_the_maker_makes(name):
    file = "ball_over_edge" if name == "resistance" else f"ball_over_edge_{name}"
    text = resources.files("balltravel.closures.table").joinpath(f"{file}.csv").read_text(encoding="utf-8")
    lines = [line for line in text.splitlines() if not line.startswith("#")]
    kind = make_table.KINDS[name]
    assert lines[0] == ",".join(kind.columns)
    places = [tuple(float(x) for x in line.split(",")[: kind.keys]) for line in lines[1:]]
    assert places == sorted(kind.places)
    assert "python -m balltravel.closures.fem.make_table FILE" in text


def test_the_rows_of_a_ball_off_its_axis_are_places_of_the_maker():
    """The batch is not through: there are some of them."""
    kind = make_table.KINDS["off_axis"]
    table = resources.files("balltravel.closures.table").joinpath("ball_off_axis.csv")
    lines = [line for line in table.read_text("utf-8").splitlines() if not line.startswith("#")]
    places = [tuple(float(x) for x in line.split(",")[: kind.keys]) for line in lines[1:]]
    assert lines[0] == ",".join(kind.columns)
    assert places == sorted(set(places) & set(kind.places))
    assert len(places) >= 4
