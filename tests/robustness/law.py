"""The law: a scenario is accepted and sound, or refused in few words that name place, given and allowed."""

import contextlib
import math
import re
import time
from pathlib import Path

from robustness.tally import COUNTS, largest

from balltravel.files.read_write import read_scenario_file
from balltravel.scenario.model import FIELDS, ScenarioError, flat, quantity_of, with_values

LONGEST_MESSAGE = 24_000
MOST_SECONDS = 2.0
_LINE = r"(?:{file}:(?P<line>\d+)|--(?:set|over) .*?): .+; allowed: .+"


def judge(path: Path, data: bytes, which: str, settings=(), grid=()) -> bool:
    """Read the file of these contents; True if accepted. ``which`` names the case when it breaks the law.

    The time is the processor's and what is slow gets a second try, so that a busy machine breaks no law:
    nothing here waits.
    """
    begun = time.process_time()
    try:
        read = read_scenario_file(path, settings, grid)
    except ScenarioError as error:
        message, accepted = str(error), False
    except Exception as error:
        raise AssertionError(f"{which}: {type(error).__name__}: {str(error)[:200]}") from error
    else:
        accepted = True
    spent = time.process_time() - begun
    if spent > 0.5 * MOST_SECONDS:
        spent = min(spent, _again(path, settings, grid))
    assert spent < MOST_SECONDS, f"{which}: {spent} s"
    largest("slowest parse, s of processor", spent, which)
    COUNTS[f"scenarios {'accepted' if accepted else 'refused'}"] += 1
    if accepted:
        _within_the_rules(read.scenario, read.sweep, which)
    else:
        check_message(message, path, data, which)
    return accepted


def _again(path: Path, settings, grid) -> float:
    begun = time.process_time()
    with contextlib.suppress(ScenarioError):
        read_scenario_file(path, settings, grid)
    return time.process_time() - begun


def _within_the_rules(scenario, sweep, which: str) -> None:
    assert with_values(scenario, {}) == scenario, which  # validates anew
    swept = [(key, value) for key, values in sweep.items() for value in values]
    for key, value in [*flat(scenario).items(), *swept]:
        quantity = quantity_of(FIELDS[key])
        for number in value if isinstance(value, tuple) else [value]:
            if isinstance(number, float):
                assert math.isfinite(number), (which, key)
                assert quantity.low <= number <= quantity.high, (which, key)
    assert scenario.title.isprintable(), which


def check_message(message: str, path: Path, data: bytes, which: str) -> None:
    """Every line of a refusal names a place that exists, what was given and what is allowed."""
    last = max(data.count(b"\n") + (not data.endswith(b"\n")), 1)
    assert 0 < len(message) <= LONGEST_MESSAGE, (which, len(message))
    largest("longest message, characters", len(message), which)
    pattern = re.compile(_LINE.format(file=re.escape(str(path))))
    for line in message.replace("\n    ", " ").split("\n"):  # a long line goes on below, set in
        found = pattern.fullmatch(line)
        assert found, (which, line)
        assert line.isprintable(), (which, line)
        if found["line"] is not None:
            assert 1 <= int(found["line"]) <= last, (which, line, last)
