"""Settings (--set) and grids (--over) spoilt at random keep the same law as files."""

import numpy as np
import pytest
from robustness.law import check_message, judge
from robustness.mutants import SCENARIOS, spoilt_setting
from robustness.tally import COUNTS

from balltravel.cli.main import main

PATH = next(path for path in SCENARIOS if path.stem == "primer")
DATA = PATH.read_bytes()


def settings_of(seed, count):
    """Name of the case, settings and grids: one to three of either kind."""
    for number in range(count):
        chance = np.random.default_rng([seed, number])
        many = bool(number % 2)
        given = [spoilt_setting(chance, many) for _ in range(int(chance.integers(1, 4)))]
        yield f"seed {seed}, setting {number}", [] if many else given, given if many else []


def read_all(seed, count):
    return sum(judge(PATH, DATA, which, *given) for which, *given in settings_of(seed, count))


@pytest.mark.parametrize("seed", range(3000, 3002))
def test_500_mutated_settings_are_accepted_and_sound_or_refused_in_words(seed):
    # Both ways are taken: some 12 of 500 are accepted, by chance between 5 and 18 over six seeds.
    assert 2 < read_all(seed, 500) < 450


@pytest.mark.soak
@pytest.mark.parametrize("seed", range(4000, 4020))
def test_1000_more_mutated_settings_are_accepted_and_sound_or_refused_in_words(seed):
    assert 20 < read_all(seed, 1000) < 900


def command_all(seed, count, capsys):
    for which, settings, _ in settings_of(seed, count):
        code = main(["check", str(PATH), *(f"--set={setting}" for setting in settings)])
        out, err = capsys.readouterr()
        COUNTS[f"commands check --set ended with {code}"] += 1
        assert code in (0, 2), which
        assert bool(out) == (code == 0), which
        if code:
            check_message(err.removesuffix("\n"), PATH, DATA, which)


def test_40_mutated_settings_given_to_the_command_end_with_code_2_and_words_or_with_a_result(capsys):
    command_all(3100, 40, capsys)


@pytest.mark.soak
def test_400_more_mutated_settings_given_to_the_command_end_with_code_2_or_a_result(capsys):
    command_all(4100, 400, capsys)
