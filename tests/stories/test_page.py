"""What a person reads fits a page of 100 columns, whatever is asked of the program."""

import pytest

from balltravel.cli.commands import COMMANDS
from balltravel.material.kinds import KINDS

PAGE = 100

WORN = [f"--set=lower.{place}_packing_gap=20 um" for place in ("piston", "rod")]
FIFTEEN = ["--set=suction.loss_coefficient=123.4567", "--set=material.density=1234.567 kg/m3"]
"""Settings that make long cells."""

LINES = {
    "check": [
        "primer",
        "stain_by_air",
        "mastic_by_readings",
        "roof_elastomer_from_a_drum",
        "week_of_a_coater",
    ],
    "check --all": ["primer", "stain_by_air", "mastic_by_readings", "putty_needs_a_ram_plate"],
    "simulate": ["primer", "stain_by_air", "zinc_primer_light_ball", "mastic_by_readings"],
    "wear": ["primer", "stain_by_air"],
    "recommend --draws 32 --set shims.thicknesses=[] --set shims.below=[]": ["stain_by_air"],
    "recommend --exactly": ["primer", "stain_by_air"],
    "prime": ["primer", "roof_elastomer_from_a_drum"],
    "material": ["primer", "mastic_by_readings", "roof_elastomer_from_a_drum"],
    "resistance": ["primer", "primer_conical_seat", "stain"],
    "sweep": ["primer", "stain_by_air"],
}
"""Command with its options -> the scenarios with which its lines are measured."""


def too_long(text):
    return [line for line in text.splitlines() if len(line) > PAGE]


@pytest.mark.parametrize(
    ("command", "story"), [(command, story) for command, stories in LINES.items() for story in stories]
)
def test_no_line_of_a_printout_is_wider_than_the_page(run, scenarios, command, story):
    name, *options = command.split()
    code, out, err = run(name, scenarios / f"{story}.toml", *options)
    assert code == 0, err
    assert len(out.splitlines()) > 5
    assert too_long(out) == []
    assert too_long(err) == []


@pytest.mark.parametrize(
    "argv",
    [
        ("material", "--kinds"), *(("material", "--kind", kind) for kind in KINDS),
        ("resistance", "--ball-over-seat", "1.4", "--cage-over-seat", "1.8", "--lift-over-seat", "0.2"),
    ],
)  # fmt: skip
def test_no_line_of_a_printout_without_a_scenario_is_wider_than_the_page(run, argv):
    code, out, _ = run(*argv)
    assert code == 0
    assert out
    assert too_long(out) == []


@pytest.mark.parametrize("options", [WORN, FIFTEEN])
@pytest.mark.parametrize("command", ["check", "check --all", "simulate", "resistance"])
def test_long_cells_do_not_make_a_line_wider(run, scenarios, command, options):
    name, *more = command.split()
    code, out, err = run(name, scenarios / "roof_elastomer_from_a_drum.toml", *more, *options)
    assert code == 0, err
    assert too_long(out) == []


def test_a_sweep_over_many_keys_is_broken_into_parts_that_repeat_them(run, scenarios):
    grid = (
        'material.viscosity=["5 Pa.s", "9 Pa.s"]', 'drive.cycle_rate=["20 /min"]',
        'inlet_check.spring_preload=["0 N"]', "shims.below=[[1]]", 'outlet.gauge_pressure=["80 bar"]',
    )  # fmt: skip
    over = [word for key in grid for word in ("--over", key)]
    out = run("sweep", scenarios / "mastic.toml", *over)[1]
    assert too_long(out) == []
    assert sum(line.split()[:2] == ["9", "Pa.s"] for line in out.splitlines()) >= 2


@pytest.mark.parametrize("name", ["", *(command.name for command in COMMANDS)])
def test_no_line_of_a_help_text_is_wider_than_the_page(run, monkeypatch, name):
    monkeypatch.setenv("COLUMNS", "200")
    code, out, _ = run(*[name] * bool(name), "--help")
    assert (code, too_long(out)) == (0, [])


@pytest.mark.parametrize(
    "options",
    [
        ["--set", "material.flow=x"], ["--set", "drive.profile=harmonical"], ["--set", "shims.below=[9]"],
        ["--set", "inlet_check.ball_diameter=4 mm", "--set", "lower.bore=5 cP"], ["--out", "cycle.csv"],
        ["--set", "material.viscosty=5 Pa.s"],
    ],
)  # fmt: skip
def test_no_line_of_an_error_is_wider_than_the_page_but_for_a_path(run, scenarios, options):
    code, _, err = run("simulate", scenarios / "primer.toml", *options)
    assert code == 2
    assert "allowed" in err
    assert [line for line in too_long(err) if str(scenarios) not in line] == []
