"""Figures of sweeps show what the sweep has, in grey too; what cannot be drawn is refused before it runs."""

import matplotlib.image
import numpy as np
import pytest

from balltravel import ScenarioError, best_travel, envelope, sweep
from balltravel.cli.main import main
from balltravel.report.drawings import DRAWINGS, drawings_of
from balltravel.report.figures import swept as figures
from balltravel.report.figures.style import save
from balltravel.report.text.best_travel import best_travel_lines

from ..helpers.lowers import scenario

VISCOSITY, RATE = "material.viscosity", "drive.cycle_rate"
SHIMS = {"thicknesses": (0.002, 0.004), "below": ()}


@pytest.fixture(scope="module")
def data():
    of = scenario(shims=SHIMS, inlet_check={"base_travel": 0.002})
    grid = {VISCOSITY: [1.0, 4.0, 16.0, 60.0], RATE: [0.2, 0.5, 1.0], "shims.below": [(), (1,), (1, 2)]}
    return sweep(of, grid)


def test_the_table_of_best_travels_names_the_same_travels_as_the_function(data):
    lines = best_travel_lines(data)
    best, head = best_travel(data), lines[3].split("\n")
    rows = [line.split() for line in head[3:]]
    assert head[0].split() == [
        "viscosity",
        "cycle_rate",
        "below",
        "travel",
        "fill",
        "deliv.",
        "landing",
        "targets",
    ]
    assert [row[4] for row in rows] == best.shims_below.values.ravel().tolist()
    assert [float(row[5]) for row in rows] == pytest.approx(1e3 * best.ball_travel.values.ravel(), rel=5e-3)
    met = ["met" if flag else "missed" for flag in best.targets_met.values.ravel()]
    assert [row[-1] for row in rows] == met
    assert "missed" in met
    assert "without its reserve for 20 % more" in lines[-1].replace("\n", " ")


def test_a_sweep_of_one_travel_has_no_best_one_and_too_many_combinations_are_not_printed(data, monkeypatch):
    assert best_travel_lines(data.isel(shims_below=[0])) == []
    assert best_travel_lines(data.isel(material_viscosity=0, drive_cycle_rate=0))[3].count("\n") == 3
    monkeypatch.setattr("balltravel.report.text.best_travel.MOST_COMBINATIONS", 11)
    assert "of 12 combinations" in best_travel_lines(data)[1]


def mesh_of(axes):
    return next(item for item in axes.collections if "QuadMesh" in type(item).__name__)


def test_the_map_has_a_cell_a_combination_and_hatches_where_targets_are_missed(data):
    best = best_travel(data)
    figure = figures.travel_map_figure(best)
    axes = figure.axes[0]
    shown = np.asarray(mesh_of(axes).get_array()).reshape(3, 4)
    assert shown == pytest.approx(1e3 * best.ball_travel.values.T)
    (cover,) = (item for item in axes.collections if item.get_hatch())
    assert len(cover.get_paths()) == int((best.targets_met == 0).sum()) > 0
    assert (axes.get_xlabel(), axes.get_ylabel()) == ("viscosity [Pa.s]", "cycle rate [/min]")
    assert axes.get_xscale() == "log"
    bar = figure.axes[1]
    assert [label.get_text() for label in bar.get_yticklabels()] == ["2", "4", "8"]
    assert "no reserve" in figure.get_suptitle()


def test_cells_end_halfway_between_values_on_their_axis_and_at_the_outermost_values_run():
    decades = 10.0 ** np.array([0.0, 0.5, 1.5, 2.0])
    assert figures._edges(np.array([1.0, 10.0, 100.0])) == pytest.approx(decades)
    assert figures._edges(np.array([1.0, 2.0, 4.0])) == pytest.approx([1.0, 1.5, 3.0, 4.0])


def test_every_combination_that_was_run_has_a_mark_on_the_map(data):
    (marks,) = figures.travel_map_figure(best_travel(data)).axes[0].lines
    seen = set(zip(*np.round(marks.get_data(), 9).tolist(), strict=True))
    assert seen == {(x, y) for x in (1.0, 4.0, 16.0, 60.0) for y in (12.0, 30.0, 60.0)}


@pytest.mark.parametrize("count", [2, 5, 8])
def test_lines_of_longer_travels_are_darker_in_grey(count):
    colours = np.array([figures._line_colour(i, count)[:3] for i in range(count)])
    grey = colours @ [0.299, 0.587, 0.114]
    assert (np.diff(grey) < -0.05).all()
    assert grey[0] < 0.8  # seen on white


def test_what_cannot_be_drawn_is_refused_in_a_sentence(data):
    sample = sweep(scenario(), samples={VISCOSITY: [1.0, 4.0]})
    with pytest.raises(ScenarioError, match="a sample given; allowed: a grid over one key"):
        figures.losses_figure(sample)
    with pytest.raises(ScenarioError, match="material_viscosity, drive_cycle_rate, shims_below given"):
        figures.losses_figure(data)
    with pytest.raises(ScenarioError, match="allowed: a grid over two keys with numbers"):
        figures.travel_map_figure(best_travel(data).isel(drive_cycle_rate=0))
    with pytest.raises(ScenarioError, match="one key with numbers beside the rate"):
        figures.envelope_figure(envelope(data.isel(material_viscosity=0)))


@pytest.mark.parametrize("count", [2, 5, 12])
def test_longer_travels_are_darker_in_grey(count):
    grey = np.array(figures._shades(count)) @ [0.299, 0.587, 0.114]
    assert (np.diff(grey) < -0.03).all()
    assert grey[-1] > 0.3  # black hatches show on it


def test_the_envelope_has_a_line_a_travel_and_open_marks_at_the_fastest_rate(data):
    limits = envelope(data)
    axes = figures.envelope_figure(limits).axes[0]
    lines = {line.get_label(): line for line in axes.lines}
    for i, name in enumerate(("2 mm", "4 mm", "8 mm")):
        assert lines[name].get_ydata() == pytest.approx(60.0 * limits.cycle_rate.values[:, i], nan_ok=True)
    styles = {(lines[name].get_linestyle(), lines[name].get_marker()) for name in ("2 mm", "4 mm", "8 mm")}
    assert len(styles) == 3
    open_marks = [line for line in axes.lines if line.get_markerfacecolor() == "white"]
    assert sum(np.isfinite(line.get_ydata()).sum() for line in open_marks) == int((limits.bounded == 2).sum())
    assert int((limits.bounded == 2).sum()) > 0


def test_the_losses_stack_to_what_is_not_delivered(data):
    over = data.isel(drive_cycle_rate=1, shims_below=0)
    axes = figures.losses_figure(over).axes[0]
    tops = [item.get_paths()[0].vertices[:, 1].max() for item in axes.collections]
    lost = 100.0 * (1.0 - over.volumetric_efficiency.values)
    assert max(tops) == pytest.approx(
        lost.max(), abs=0.05
    )  # what the loss budget leaves is no loss of its own
    (line,) = (line for line in axes.lines if line.get_label() == "lost in all")
    assert line.get_ydata() == pytest.approx(lost)


def test_losses_over_shims_lie_over_their_travel_and_choices_side_by_side(data):
    axes = figures.losses_figure(data.isel(drive_cycle_rate=1, material_viscosity=1)).axes[0]
    assert axes.get_xlabel() == "ball travel of the inlet check [mm]"
    chosen = sweep(scenario(), {"closures.ball_position": ["centred", "touching"]})
    axes = figures.losses_figure(chosen).axes[0]
    assert [label.get_text() for label in axes.get_xticklabels()] == ["centred", "touching"]
    assert len(axes.patches) >= 2 * len(figures.LOSSES)


def test_each_figure_is_ink_on_paper(data, tmp_path):
    drawn = {
        "map": figures.travel_map_figure(best_travel(data)),
        "envelope": figures.envelope_figure(envelope(data)),
        "losses": figures.losses_figure(data.isel(drive_cycle_rate=1, shims_below=0)),
    }
    assert set(drawn) == set(DRAWINGS)
    for name, figure in drawn.items():
        save(figure, tmp_path / f"{name}.png")
        picture = matplotlib.image.imread(tmp_path / f"{name}.png")[..., :3]
        assert 0.005 < (picture.mean(axis=2) < 0.9).mean() < 0.6, name


@pytest.mark.parametrize(
    ("sizes", "fitting"),
    [
        ({VISCOSITY: 4, RATE: 3, "shims.below": 3}, ["map", "envelope"]),
        ({VISCOSITY: 4, RATE: 3, "inlet_check.base_travel": 5}, ["map", "envelope"]),
        ({VISCOSITY: 4, RATE: 3, "shims.below": 1}, ["envelope"]),
        ({VISCOSITY: 4, "lower.bore": 3, "shims.below": 2}, ["map"]),
        ({VISCOSITY: 4, "lower.bore": 3}, []),
        ({VISCOSITY: 4, "closures.ball_position": 2, "shims.below": 2}, []),
        ({"shims.below": 8}, ["losses"]),
        ({VISCOSITY: 5, "lower.bore": 1}, ["losses"]),
        ({VISCOSITY: 1}, []),
    ],
)
def test_the_keys_of_a_grid_say_how_it_is_drawn(sizes, fitting):
    assert drawings_of(sizes) == fitting


OVER = (
    "--over",
    'material.viscosity=["1 Pa.s", "9 Pa.s"]',
    "--over",
    'drive.cycle_rate=["20 /min", "50 /min"]',
)
SHIMS_OVER = ("--over", "shims.below=[[], [2]]")


@pytest.fixture
def bare(tmp_path, pytestconfig):
    text = (pytestconfig.rootpath / "scenarios" / "primer.toml").read_text(encoding="utf-8")
    path = tmp_path / "bare.toml"
    path.write_text(text.partition("[sweep]")[0], encoding="utf-8")
    return path


@pytest.mark.parametrize(
    ("options", "title"),
    [
        ((), "Where the swept volume goes"),
        ((*OVER, *SHIMS_OVER), "Best ball travel"),
        ((*OVER, *SHIMS_OVER, "--draw", "envelope"), "Where the targets are met"),
        (OVER, "Where the targets are met"),
        (
            ("--over", 'material.viscosity=["1 Pa.s", "9 Pa.s"]', "--over", "shims.below=[[2]]"),
            "Where the swept",
        ),
    ],
)
def test_the_command_draws_what_the_keys_give(bare, tmp_path, monkeypatch, options, title):
    titles = []
    monkeypatch.setattr(figures, "careful", lambda figure: titles.append(figure.get_suptitle()))
    path = tmp_path / "drawn.png"
    assert main(["sweep", str(bare), *options, "--figure", str(path)]) == 0
    assert path.stat().st_size > 10_000
    assert title in titles[0]


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (("--draw", "map"), "nothing is drawn; allowed: with --figure"),
        (("--figure", "x.png", *OVER, "--draw", "map"), "several values of shims.below"),
        (("--figure", "x.png", "--over", 'drive.cycle_rate=["20 /min"]'), "no key with several values"),
        (("--figure", "x.png", *OVER, "--over", 'lower.bore=["47 mm", "48 mm"]'), "for losses"),
    ],
)
def test_what_cannot_be_drawn_is_refused_before_it_runs(bare, capsys, tmp_path, monkeypatch, options, words):
    monkeypatch.chdir(tmp_path)
    assert main(["sweep", str(bare), *options]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert words in " ".join(said.err.split())
