"""A measured stroke from a CSV file: what is understood, and what is refused and how."""

from pathlib import Path

import numpy as np
import pytest

from balltravel.core.stroke import motion
from balltravel.estimate.cautions import warnings_for
from balltravel.files.read_write import read_scenario
from balltravel.scenario.model import Scenario, ScenarioError, with_values
from balltravel.scenario.stroke_trace import backward, read_trace, trace_fault
from balltravel.setup.drive import drive_parameters
from balltravel.units import UnitError

ROOT = Path(__file__).parents[2]


def crank(samples: int = 101, noise: float = 0.0) -> tuple[tuple[float, float], ...]:
    t = np.linspace(0.0, 2.0, samples)
    x = 0.045 * (1.0 - np.cos(np.pi * t)) + np.random.default_rng(1).normal(0.0, noise, samples)
    return tuple(zip(t.tolist(), x.tolist(), strict=True))


def traced(scenario: Scenario, trace: tuple[tuple[float, float], ...]) -> Scenario:
    none = dict.fromkeys(("drive.cycle_rate", "drive.ramp_time", "drive.dwell_time"))
    return with_values(scenario, {"drive.profile": "trace", "drive.trace": trace, **none})


def written(folder: Path, csv: str, drive: str = 'profile = "trace"\ntrace = "stroke.csv"\n') -> Path:
    text = (ROOT / "scenarios" / "primer.toml").read_text()
    head, rest = text.split("[drive]")
    tail = rest.split("[suction]")[1].split("[sweep]")[0]
    path = folder / "mine.toml"
    path.write_text(f"{head}[drive]\n{drive}\n[suction]{tail}")
    (folder / "stroke.csv").write_text(csv)
    return path


def csv_of(trace: tuple[tuple[float, float], ...]) -> str:
    return "# measured\ntime (ms), position (mm)\n" + "\n".join(
        f"{1e3 * t:.4f}, {1e3 * x:.5f}" for t, x in trace
    )


def test_units_are_taken_from_the_header() -> None:
    assert read_trace("time (ms), position (in)\n0, 0\n10, 1\n") == ((0.0, 0.0), (0.01, 0.0254))


def test_a_scenario_names_its_file_and_takes_the_rate_from_it(tmp_path: Path) -> None:
    scenario = read_scenario(written(tmp_path, csv_of(crank())))
    assert scenario.drive.cycle_rate == pytest.approx(0.5)
    assert len(scenario.drive.trace) == 101


def test_a_given_rate_scales_the_trace(tmp_path: Path) -> None:
    drive = 'profile = "trace"\ntrace = "stroke.csv"\ncycle_rate = "60 /min"\n'
    scenario = read_scenario(written(tmp_path, csv_of(crank()), drive))
    assert drive_parameters(scenario.drive, 0.09).period == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("", "empty"),
        ("time, position\n0, 0\n", "header"),
        ("time (s), position (mm)\n0; 0\n", "line 2"),
        ("time (s), position (mm)\n0, nan\n", "line 2"),
        ("time (s), position (cups)\n0, 1\n", "header"),
        ("time (s), position (mm)\n" + "0, 0\n" * 6000, "samples"),
    ],
)
def test_a_table_that_cannot_be_read_says_where(text: str, word: str) -> None:
    with pytest.raises(UnitError, match=word):
        read_trace(text)


@pytest.mark.parametrize(
    ("trace", "word"),
    [
        (crank()[:5], "samples"),
        ((*crank()[:50], *crank()[49:]), "later"),
        (crank()[:60], "begins or ends"),
        (tuple((t, 0.01) for t, _ in crank()), "does not move"),
        (tuple((t, 0.09 - x) for t, x in crank()), "begins or ends"),
        ((*crank(), *((t + 2.01, x) for t, x in crank())), "runs back"),
    ],
)
def test_a_trace_that_is_no_cycle_is_refused(trace: tuple[tuple[float, float], ...], word: str) -> None:
    fault = trace_fault(trace)
    assert fault is not None
    assert word in fault[0]


@pytest.mark.parametrize("csv", ["time (s), position (mm)\n0, 1\n", "no table", "\x00"])
def test_faults_of_the_file_are_told_at_the_scenarios_line(tmp_path: Path, csv: str) -> None:
    path = written(tmp_path, csv)
    with pytest.raises(ScenarioError) as caught:
        read_scenario(path)
    assert len(caught.value.faults) == 1
    assert caught.value.faults[0].key == "drive.trace"
    assert "mine.toml:" in str(caught.value)


def test_a_file_that_is_not_there_is_told(tmp_path: Path) -> None:
    path = written(tmp_path, csv_of(crank()))
    (tmp_path / "stroke.csv").unlink()
    with pytest.raises(ScenarioError, match=r"drive\.trace.*No such file"):
        read_scenario(path)


def test_a_noisy_trace_never_reverses_within_a_stroke(story) -> None:
    """The noise is a tenth of a millimetre; the stroke, the period and the rest at the ends are kept."""
    scenario = traced(story("primer"), crank(401, 1e-4))
    p = drive_parameters(scenario.drive, 0.09)
    for k in range(p.segments):
        sign = 1.0 if k < p.turn else -1.0
        speeds = [motion(p, k, t)[1] for t in np.linspace(p.start[k], p.start[k + 1], 7)]
        assert min(sign * v for v in speeds) >= -1e-9
    assert motion(p, 0, 0.0)[:2] == pytest.approx((0.0, 0.0), abs=1e-12)
    assert motion(p, p.turn, p.start[p.turn])[:2] == pytest.approx((0.09, 0.0), abs=1e-12)


def test_a_crank_put_through_its_samples_is_that_crank(story) -> None:
    scenario = traced(story("primer"), crank(2001))
    p = drive_parameters(scenario.drive, 0.09)
    for k in range(1, p.segments - 1):
        t = 0.5 * (p.start[k] + p.start[k + 1])
        x, v, _, _ = motion(p, k, t)
        assert x == pytest.approx(0.045 * (1.0 - np.cos(np.pi * t)), abs=1e-6)
        assert v == pytest.approx(0.045 * np.pi * np.sin(np.pi * t), abs=2e-4)


@pytest.mark.parametrize(("noise", "told"), [(0.0, False), (1e-5, False), (5e-4, True)])
def test_noise_that_moves_the_reversals_is_warned_of(story, noise, told):
    """0.2 % of a stroke of 90 mm is 0.18 mm."""
    found = warnings_for(traced(story("primer"), crank(401, noise)), None)
    assert any("runs back" in sentence for sentence in found) is told


def test_how_far_a_trace_runs_back_is_counted_by_hand():
    assert backward([0.0, 2.0, 1.5, 5.0, 3.0, 3.25, 0.0]) == 0.5
    assert backward([0.0, 1.0, 5.0, 2.0, 4.0, 0.0]) == 2.0


SECRET = "root:$6$salt$hash:19000:0:99999:7:::"


@pytest.mark.parametrize(
    "text",
    [
        f"{SECRET}\ndaemon:*:19000\n",
        "user (root), password (hunter2)\n1, 2\n",
        "time (hunter2), position (mm)\n1, 2\n",
        "# a remark\nhunter2, hunter2\n",
    ],
)
def test_nothing_is_quoted_of_a_file_that_is_no_trace(tmp_path: Path, text: str) -> None:
    """A scenario of somebody else's may name any file."""
    with pytest.raises(ScenarioError) as caught:
        read_scenario(written(tmp_path, text))
    said = str(caught.value)
    assert "a first line that is no header" in said
    assert "stroke.csv" in said
    assert not any(word in said for word in ("salt", "hunter2", "daemon"))


def test_a_sample_of_a_file_that_is_a_trace_is_quoted(tmp_path: Path) -> None:
    with pytest.raises(ScenarioError, match="line 3: 'hunter2'"):
        read_scenario(written(tmp_path, "time (s), position (mm)\n0, 0\nhunter2\n"))
