"""What a pump's readings say of its scenario, as plain text."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from balltravel.bench.calibrate.calibrate import Calibration, SignRead
from balltravel.bench.calibrate.contradictions import Contradiction
from balltravel.bench.calibrate.leaks import LeakSum
from balltravel.bench.calibrate.ranges import Learnt
from balltravel.report.tables import bullets, conditions, filled, number, plain, table, travel_set
from balltravel.report.text.bench.signs import seen_text, sign_text
from balltravel.report.text.verdict import verdict_lines
from balltravel.scenario.model import Scenario
from balltravel.units import number_apart, to_text, to_texts

if TYPE_CHECKING:
    from balltravel.study.verdict.record import Verdict

MOST_NOT_LEARNT = 6
"""Inputs of which nothing was learnt that are named; the rest are counted."""

MOST_NAMED = 4
"""Contradictions that are named."""

VERDICT_LINES = 2

_INPUTS_NOTE = """\
In brackets 95 of 100; width: after over before. Not learnt: above 0.8. Each range by itself. A creep that
was not seen says only that a leak is no larger."""

_SIGNS_NOTE = """\
before, after: expected with the ranges as they were and as they are; off: seen less expected, before in
standard deviations of all that was not known, after in those of its reading."""

Verdicts = tuple["Verdict | None", "Verdict | None"]


def calibration_text(
    scenario: Scenario, calibration: Calibration, verdicts: Verdicts = (None, None), _: str = ""
) -> str:
    """How well it fits, the inputs before and after, leaks together, sign by sign, the next reading, and the
    verdict before and after."""
    return "\n".join(
        [
            plain(scenario.title),
            filled(f"{conditions(scenario)}; {travel_set(scenario)}"),
            "",
            *_fit(calibration),
            *_next(calibration),
            "",
            _inputs(calibration),
            "",
            filled(_INPUTS_NOTE),
            *_beside(calibration),
            "",
            _signs(calibration),
            "",
            filled(_SIGNS_NOTE),
            *_verdicts(scenario, calibration, verdicts),
            *bullets("Notes", [f"{note}." for note in calibration.notes]),
        ]
    )


def _fit(calibration: Calibration) -> list[str]:
    counted = sum(reading.none_in is None for reading in calibration.readings)
    fits = f"chi-square {number(calibration.chi_square, 3)} of {counted} reading{'s' * (counted != 1)}"
    if not calibration.misfit:
        learnt = len(calibration.learnt)
        often = 100.0 * calibration.chance
        return [filled(f"The readings fit the scenario ({fits}; by chance more in {often:.0f} of 100). "
                       f"{learnt} input{'s' * (learnt != 1)} learnt.")]  # fmt: skip
    lead = (
        f"Contradiction: no values in these ranges explain what was read ({fits}; by chance as much in fewer "
        "than 1 of 100). Do not rely on the ranges below."
    )
    return [filled(lead), *_contradictions(calibration.contradictions)]


def _contradictions(named: Sequence[Contradiction]) -> list[str]:
    if not named:
        return [filled("Nothing that was tried here mends it. `balltravel diagnose` looks for a fault.")]
    lines = [_contradiction(each) for each in named[:MOST_NAMED]]
    return [line.lstrip("\n") for line in bullets("It would fit better if", lines)[1:]]


def _contradiction(each: Contradiction) -> str:
    mends = "mends it" if each.mends else "does not mend it"
    return f"{each.what}: {mends} (chi-square {number(each.chi_square, 3)})"


def _next(calibration: Calibration) -> list[str]:
    test = calibration.next_reading
    if test is None:
        return []
    where = f" ({test.situation})" if "seen" in test.situation and _several(calibration) else ""
    return [
        filled(
            f"Next reading: {test.how}{where}. It narrows most the {test.input}, from {test.now:.2f} to "
            f"{test.then:.2f} of its range before."
        )
    ]


def _several(calibration: Calibration) -> bool:
    """Whether the pump was read at several settings."""
    return len({reading.situation for reading in calibration.readings if "seen" in reading.situation}) > 1


def _inputs(calibration: Calibration) -> str:
    rows = [_input(item) for item in calibration.inputs if item.learnt]
    if not rows:
        return "Nothing was learnt."
    return table(("input", "before", "after", "width"), rows, (3,))


def _input(item: Learnt) -> tuple[str, ...]:
    return (
        item.name,
        _range(item.before_range, item.dimension),
        _after(item),
        f"{item.share:.2f}",
    )


def _after(item: Learnt) -> str:
    """The range after; of a leak of which the readings say only that it is no larger its upper end."""
    if item.at_most:
        return f"at most {to_text(item.after_range[2], item.dimension, 3)}"
    return _range(item.after_range, item.dimension)


def _range(numbers: tuple[float, float, float], dimension: str) -> str:
    """``5 Pa.s (3.3 to 7.5)``, all three in one unit."""
    largest = max(map(abs, numbers))
    texts = [to_texts((value, largest), dimension, 3)[0] for value in numbers]
    figures = [number_apart(text)[0] for text in texts]
    return f"{texts[0]} ({figures[1]} to {figures[2]})"


def _beside(calibration: Calibration) -> list[str]:
    """Inputs that were not learnt, leaks together, inputs that are told only together."""
    not_learnt = [item.name for item in calibration.inputs if not item.learnt]
    named = not_learnt[:MOST_NOT_LEARNT]
    more = len(not_learnt) - len(named)
    lines = []
    if named:
        lines.append(f"Not learnt: {', '.join(named)}{f' and {more} more' if more else ''}.")
    if calibration.unmoved:
        lines.append(f"{len(calibration.unmoved)} inputs move none of these signs (--json names them).")
    lines += [_together(each) for each in calibration.sums if each.learnt]
    if calibration.pairs:
        pairs = ", ".join(f"{first} with {second} ({r:+.2f})" for first, second, r in calibration.pairs)
        lines.append(f"Told only together (correlation): {pairs}. One that is measured narrows the other.")
    return bullets("What is not in the table", lines)


def _together(leaks: LeakSum) -> str:
    middle, low, high = leaks.after
    if low < 0.05 * high:
        return f"Leaks at the stall, {leaks.name}: at most {to_text(high, 'flow', 2)}."
    told, least, most = to_texts((middle, low, high), "flow", 2)
    return (
        f"Leaks at the stall, {leaks.name}: {told} ({least.partition(' ')[0]} to {most.partition(' ')[0]})."
    )


def _signs(calibration: Calibration) -> str:
    several = _several(calibration)
    rows = [_sign(reading, several) for reading in calibration.readings]
    return table(("sign", "seen", "before", "off", "after", "off"), rows, range(1, 6))


def _sign(reading: SignRead, several: bool) -> tuple[str, ...]:
    where = f" ({reading.situation})" if several and "seen" in reading.situation else ""
    return (
        reading.name + where,
        seen_text(reading.key, reading.seen, reading.none_in),
        sign_text(reading.key, reading.before),
        f"{reading.off_before:+.1f}",
        sign_text(reading.key, reading.after),
        f"{reading.off_after:+.1f}",
    )


def _verdicts(scenario: Scenario, calibration: Calibration, verdicts: Verdicts) -> list[str]:
    lines = []
    for lead, own, verdict in zip(
        ("before", "after"), (scenario, calibration.scenario), verdicts, strict=True
    ):
        if verdict is not None:
            lines += ["", f"The verdict {lead}:", *verdict_lines(own, verdict)[:VERDICT_LINES]]
    return lines
