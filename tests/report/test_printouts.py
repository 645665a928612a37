"""What the printouts say, and in which order."""

import re
from dataclasses import replace
from pathlib import Path

import pytest

from balltravel.closures.ball_over_seat import passage_matrix
from balltravel.cycle.metrics import describe
from balltravel.estimate.check_resistance import resistance_report
from balltravel.estimate.preview import bench_fall, preview
from balltravel.estimate.suction_losses import check_loss
from balltravel.files.read_write import as_written, read_scenario, read_scenario_file
from balltravel.report.tables import shims_in_words, table
from balltravel.report.text import simulate
from balltravel.report.text.check import all_keys_text, check_text
from balltravel.report.text.resistance import resistance_text
from balltravel.report.text.sweep import _silent_left_out, sweep_text
from balltravel.report.text.wear import creep_in_words, wear_text
from balltravel.scenario.model import FIELDS
from balltravel.setup.parameters import core_parameters, full_flow, geometry_of
from balltravel.site.atmosphere import barometric_pressure
from balltravel.study.cycle_report import cycle_report
from balltravel.study.site.stall import Creep
from balltravel.study.site.wear import wear_report
from balltravel.sweeps.grid import sweep

from ..helpers.lowers import scenario
from ..helpers.synthetic_bench import TIP

SCENARIOS = Path(__file__).parents[2] / "scenarios"
PRIMER = SCENARIOS / "primer.toml"


@pytest.fixture(scope="module")
def primer():
    return read_scenario(PRIMER)


@pytest.fixture(scope="module")
def worn(primer):
    return wear_report(primer)


def words(text):
    return " ".join(text.split())


# --- tables


def test_a_table_that_is_too_wide_is_broken_into_parts_that_repeat_what_is_named():
    head = ("name", *(f"column number {i}" for i in range(9)))
    rows = [("a", *"123456789"), ("b", *"ABCDEFGHI")]
    first, second = table(head, rows).split("\n\n")
    for part in (first, second):
        assert max(map(len, part.splitlines())) <= 100
        assert [line.split()[0] for line in part.splitlines()] == [
            "name",
            "-" * len(part.splitlines()[1]),
            "a",
            "b",
        ]
    assert words(first + second).count("column number") == 9


def test_a_last_column_of_text_is_broken_into_lines_below_itself():
    text = table(("name", "meaning"), [("a", "word " * 40), ("b", "short")])
    lines = text.splitlines()
    assert max(map(len, lines)) <= 100
    assert words(text).count("word") == 40
    assert {line.index("word") for line in lines[2:-1]} == {len("name") + 2}
    assert lines[-1] == "b     short"


def test_parts_begin_only_where_columns_may_stand_apart():
    head = ("name", *("a quite long head" for _ in range(6)))
    parts = table(head, [("a", *"123456")], apart=(1, 3, 5)).split("\n\n")
    assert [part.splitlines()[2].split()[1:] for part in parts] == [list("1234"), list("56")]


# --- shims


@pytest.mark.parametrize(
    ("numbers", "said"),
    [((), "no shim"), ((2,), "shim 2 (2 mm)"), ((1, 3), "shims 1 (1 mm) and 3 (4 mm)"),
     ((1, 2, 3), "shims 1 (1 mm), 2 (2 mm) and 3 (4 mm)")],
)  # fmt: skip
def test_shims_are_told_by_number_and_thickness(numbers, said):
    assert shims_in_words((1e-3, 2e-3, 4e-3), numbers) == said


# --- simulate


def test_every_metric_stands_below_one_heading_and_the_fill_first(primer):
    flat = cycle_report(primer).cycle.metrics.flat()
    names = [name for name in flat if not name.startswith("loss_budget.")]
    groups = simulate._by_group(names)
    assert sorted(name for group in groups.values() for name in group) == sorted(names)
    assert next(iter(groups.values()))[0] == "fill_fraction"
    assert list(groups)[1:4] == ["suction", "inlet check (foot valve)", "piston check"]
    assert groups["piston check"] == [name for name in names if name.startswith("piston.")]
    assert simulate._by_group(["of_tomorrow"])["outlet and piston"] == ["of_tomorrow"]


def test_a_metric_of_a_check_is_printed_below_its_heading_without_its_name(primer):
    text = simulate.simulation_text(primer, cycle_report(primer))
    _, _, below = text.partition("\ninlet check (foot valve):\n")
    assert below.startswith("  closing_lag ")
    meaning = describe("inlet.closing_lag")[1].removesuffix(" (inlet check)")
    assert meaning in words(below)
    assert "(inlet check)" not in text
    assert "shims 1 (1 mm) and 2 (2 mm) below the cage" in words(text)


def test_a_cycle_shows_gauge_pressures_three_digits_and_no_size_of_round_off(primer):
    text = simulate.simulation_text(primer, cycle_report(primer))
    assert re.search(r"outlet_pressure +100 bar \(1450 psi\) +mean gauge pressure", text)
    assert re.search(r"volume_residual +below 1e-9", text)
    assert re.search(r"fill_fraction +\d\d\.\d %", text)
    assert re.search(r"swept +163 +100\n", text)
    assert not re.search(r"\de-1\d", text)


# --- wear


@pytest.mark.parametrize(
    ("millimetres_a_minute", "said"),
    [(0.0, "not seen"), (-1e-6, "not seen"), (0.999, "not seen"), (1.001, "1 mm/min"), (3.71, "3.7 mm/min"),
     (89.0, "89 mm/min"), (90.0, "about 60 s a stroke"), (420.0, "about 13 s a stroke"),
     (1e4, "about 0.5 s a stroke")],
)  # fmt: skip
def test_creep_is_told_by_the_time_of_a_stroke_where_that_is_a_minute_or_less(millimetres_a_minute, said):
    assert creep_in_words(Creep(millimetres_a_minute / 6e4, 1e7, False), 0.09) == said


def test_a_creep_that_could_not_be_run_is_called_failed():
    assert creep_in_words(None, 0.09) == "failed"


def test_wear_has_no_column_of_dashes_and_no_negative_zero(primer, worn):
    text = wear_text(primer, worn)
    assert " dip" not in text
    assert not re.search(r"-0(\.0*)?\b", text)
    states = [
        replace(state, metrics=replace(state.metrics, pressure_dip=0.25, lost_stroke=-1e-9))
        for state in worn.states
    ]
    with_tip = wear_text(primer, replace(worn, states=tuple(states)))
    assert " dip  " in with_tip
    assert "25.0" in with_tip
    assert not re.search(r"-0(\.0*)?\b", with_tip)


def test_what_creeps_in_the_table_creeps_in_the_sentences_below_it(primer, worn):
    text = wear_text(primer, worn)
    rows = dict(
        re.findall(
            r"^(inlet seat|piston seat|piston packing|rod packing) .*?((?:\S+ )*\S+  +(?:\S+ )*\S+)$",
            text,
            re.M,
        )
    )
    assert rows["inlet seat"].startswith("not seen")
    assert rows["piston seat"].endswith("not seen")
    assert "not seen: less than 1 mm in a minute (our choice" in words(text)


# --- check


def test_a_size_is_printed_as_the_shop_wrote_it():
    settings = ["inlet_check.seat_length=5/16 in", "material.viscosity=5000 cP"]
    file = read_scenario_file(PRIMER, settings)
    written = as_written(file, PRIMER, settings)
    assert written["inlet_check.seat_length"] == "5/16 in"
    assert written["shims.thicknesses"] == "1 mm, 2 mm, 4 mm"
    text = all_keys_text(file.scenario, preview(file.scenario), written)
    lines = {line.split()[0]: line for line in text.splitlines() if line}
    assert lines["inlet_check.seat_length"].endswith("  5/16 in (7.94 mm)")
    assert lines["material.viscosity"].endswith("  5000 cP (5 Pa.s)")
    assert lines["inlet_check.ball_diameter"].endswith("  29.4 mm (1.16 in)")
    assert lines["material.bulk_modulus"].endswith("default  15000 bar (218000 psi)")
    assert set(lines) >= {key for key in FIELDS if key.startswith("inlet_check.") and "rib" not in key} - {
        "inlet_check.seat_half_angle", "inlet_check.seat_mouth_diameter", "inlet_check.stop_pad_diameter",
        "inlet_check.housing_diameter", "inlet_check.table",
    }  # fmt: skip


def test_check_is_a_page_and_every_key_stands_behind_all(primer):
    text = check_text(primer, preview(primer), {})
    assert len(text.splitlines()) <= 60
    assert "ball over seat bore" in text
    assert "material.viscosity" not in text
    assert "`--all` lists every key" in words(text)
    assert "inlet_check and piston_check: seat, seat_land_width," in words(text)


def test_an_oil_is_too_thin_where_the_ball_falls_fast_and_the_least_one_is_just_thick_enough(primer):
    """The Reynolds number of the mean fall speed and the ball's diameter is one in the least oil, or the ball
    spends a twentieth of its weight on gaining speed."""
    check = primer.inlet_check
    thin = bench_fall(check, 0.005, 0.1, 900.0)
    assert thin.too_thin
    least = bench_fall(check, 0.005, thin.least_viscosity, 900.0)
    speed = 0.005 / least.time
    reynolds = 900.0 * speed * check.ball_diameter / least.viscosity
    gaining = speed / least.time * 7800.0 / (9.80665 * (7800.0 - 900.0))
    assert max(reynolds, gaining / 0.05) == pytest.approx(1.0, rel=0.03)
    assert not bench_fall(check, 0.005, 1.001 * thin.least_viscosity, 900.0).too_thin


# --- resistance


def test_resistance_begins_with_the_pressure_that_each_check_takes(primer):
    text = words(resistance_text(resistance_report(primer)))
    loss = check_loss(core_parameters(primer), full_flow(primer))[0]
    assert text.startswith("Inlet check (foot valve): with the piston at full speed, 10.5 l/min")
    assert f"it takes {loss / 1e5:.2g} bar" in text
    assert "at 5 mm of lift, its full travel" in text


def test_in_slow_flow_the_drop_is_that_of_the_matrix_and_of_the_bores():
    scenario = read_scenario(PRIMER, ["material.viscosity=500 Pa.s"])
    for check, name in ((scenario.inlet_check, "inlet"), (scenario.piston_check, "piston")):
        resistance = resistance_report(scenario).checks[name]
        geometry = geometry_of(check, scenario.closures)
        r, drops = geometry.contact_radius, resistance.drops
        low = 0  # so near the seat that the bores take nothing
        slow = 500.0 * drops.flow / r**3 * resistance.Rqq[low]
        assert drops.drop[low] == pytest.approx(slow, rel=2e-3)
        beyond = 500.0 * drops.flow / r**3 * (resistance.Rqq[-1] + float(passage_matrix(geometry).Rqq[0]))
        assert 500.0 * drops.flow / r**3 * resistance.Rqq[-1] < drops.drop[-1] < beyond


# --- sweep


def test_a_column_that_says_nothing_is_a_sentence():
    lines = [("key", "range", "status"), ("", "%", ""), ("a", "0", "ok"), ("b", "0", "stalled")]
    silent = {"range": ("0", "all inside"), "status": ("ok", "all ok")}
    kept, said = _silent_left_out(lines, silent)
    assert said == ["all inside"]
    assert kept == [["key", "status"], ["", ""], ["a", "ok"], ["b", "stalled"]]


def test_a_sweep_prints_the_pressure_before_a_tip_as_a_gauge_has_it_where_the_lower_stands():
    lower, heights = scenario(outlet=TIP), [0.0, 3000.0]
    data = sweep(lower, {"suction.altitude": heights})
    text, absolute = sweep_text(lower, data), data.spray_pressure.values
    rows = [line.split() for line in text.splitlines() if line.strip().startswith(("0 mm", "3000 m"))]
    gauge = [(p - barometric_pressure(height)) / 1e5 for p, height in zip(absolute, heights, strict=True)]
    assert [float(row[-1]) for row in rows] == pytest.approx(gauge, rel=5e-3)
    assert abs(gauge[0] - absolute[0] / 1e5) > 0.01 * gauge[0]
    assert "tip: mean gauge pressure before the tip." in text
