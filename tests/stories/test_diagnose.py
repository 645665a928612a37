"""The command diagnose as somebody at a bench runs it."""

import re

import pytest

STORY = "roof_elastomer_from_a_drum.toml"


def test_what_is_likely_is_named_in_lines_that_fit(run, scenarios, tmp_path):
    """Of a lower that is quickly run; the shipped example is looked at in both systems of units."""
    file = tmp_path / "today.toml"
    file.write_text('[[seen]]\nvacuum_at_inlet = "-0.3 bar"\nweighed_per_cycle = "90 cc"\n')
    code, out, err = run("diagnose", scenarios / "primer.toml", "--observed", file)
    assert code == 0, err
    assert re.search(r"^(Most likely: |Equally likely|Likely)", out, re.MULTILINE), out
    assert max(map(len, out.splitlines())) <= 100


def test_observations_that_cannot_be_are_refused_with_exit_code_2(run, scenarios, tmp_path):
    file = tmp_path / "today.toml"
    file.write_text('[[seen]]\nweighed_per_cycle = "-3 cc"\ndate = 2999-01-01\n')
    code, out, err = run("diagnose", scenarios / STORY, "--observed", file)
    assert (code, out) == (2, "")
    assert "today.toml:2:" in err
    assert "2999-01-01 is in the future" in " ".join(err.split())
    code, _, err = run("diagnose", scenarios / STORY, "--observed", tmp_path / "none.toml")
    assert code == 2
    assert "No such file" in err


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('cycle_rate = "23 /min"\nupstroke_time = "10 s"\n', "2.61 s a cycle"),
        ('weighed_per_cycle = "120 cc"\n[[seen]]\nweighed_per_cycle = "30 cc"\n', "of the same setting"),
        ('weighed_per_cycle = "5 l"\n', "the lower sweeps"),
        ('weighed_per_cycle = "-5 cc"\n', '"-5 cc" given'),
        (
            'cycle_rate = "23 /min"\n[stall]\npressure = "170 bar"\ngland_weep = "-1 cc/h"\n',
            '"-1 cc/h" given',
        ),
    ],
)
def test_contradictions_and_negative_volumes_are_a_sentence_and_exit_code_2(
    run, scenarios, tmp_path, text, said
):
    file = tmp_path / "today.toml"
    file.write_text(f"[[seen]]\n{text}")
    code, out, err = run("diagnose", scenarios / STORY, "--observed", file)
    assert (code, out) == (2, "")
    assert said in " ".join(err.split())
