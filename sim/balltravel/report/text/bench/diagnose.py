"""What is wrong with a pump, as plain text."""

import math
from collections.abc import Mapping, Sequence

from balltravel.bench.causes import NONE
from balltravel.bench.diagnose import CANNOT_TELL, FAULT, SOUND, CauseFound, Diagnosis, SignSeen
from balltravel.bench.fit import CREEP
from balltravel.bench.next_test import NextTest
from balltravel.bench.signs import SIGNS
from balltravel.report.tables import bullets, conditions, filled, number, plain, table, travel_set
from balltravel.report.text.bench.signs import sign_text
from balltravel.report.text.swept_cells import swept_value
from balltravel.scenario.model import Scenario
from balltravel.units import to_text

SURE_ENOUGH = 0.95
"""Probability of a cause above which a further test only makes sure."""

WORTH_IT = 1.0
"""Standard deviations by which a test must separate two causes to be worth making (our choice)."""

TELLING = 3
"""Signs of another setting that are shown, the most telling ones: --json has all."""

SHOWN = 5
"""Causes of which the size that fits is shown, at most: --json has all."""

_NOTE = """\
/100: its probability, with each cause as likely as another before anything was seen; effect: how far it moves
the signs, in standard deviations of all that is not known (reading, material, sizes): below two a cause
cannot be told. Simulated: what this model expects, not a rule of thumb."""

_SIGNS_NOTE = """\
sound: of the scenario as it stands; off: seen less sound, in standard deviations of all that is not
known."""


def diagnosis_text(scenario: Scenario, diagnosis: Diagnosis) -> str:
    """The verdict, the causes, sign by sign what was seen and expected, and the next test."""
    return "\n".join(
        [
            plain(scenario.title),
            filled(conditions(scenario)),
            filled(travel_set(scenario)),
            "",
            filled(_verdict(diagnosis)),
            *([filled(_test(diagnosis.next_test, diagnosis.causes))] if diagnosis.next_test else []),
            "",
            _causes(diagnosis.causes[:SHOWN]),
            "",
            filled(_NOTE),
            "",
            _signs(diagnosis),
            "",
            filled(_SIGNS_NOTE),
            *bullets("These readings cannot tell", [f"{title}." for title in diagnosis.unseen]),
            *bullets("Readings", [f"{note}." for note in diagnosis.notes]),
        ]
    )


def _verdict(diagnosis: Diagnosis) -> str:
    first = diagnosis.causes[0]
    name = f"{first.title}{_fitting(first)}, {_in_hundred(first.probability)}"
    if diagnosis.verdict == FAULT:
        return f"Most likely: {name}."
    if diagnosis.verdict == SOUND:
        return _sound(diagnosis)
    if diagnosis.verdict == CANNOT_TELL:
        return (
            f"Cannot tell: what was seen is too near to what a sound lower may show. Nearest, and no "
            f"more than a guess: {name}."
        )
    return (
        f"Nothing here explains what was seen: it would be off by as much in {_in_hundred(diagnosis.chance)} "
        f"by chance. Two faults at once, a reading that is wrong, or a scenario that is not this pump. "
        f"Nearest: {name}."
    )


def _sound(diagnosis: Diagnosis) -> str:
    """Sound, with the fault that is nearest."""
    none, other = (
        next(cause for cause in diagnosis.causes if (cause.name == NONE) is wanted)
        for wanted in (True, False)
    )
    return (
        f"Sound, as far as these signs tell: a lower with nothing wrong may show as much "
        f"({_in_hundred(none.probability)}). If something is wrong, the nearest is: "
        f"{other.title}{_fitting(other)}, {_in_hundred(other.probability)}."
    )


def _in_hundred(share: float) -> str:
    hundred = 100.0 * share
    if hundred < 1.0:
        return "fewer than 1 in 100"
    return "more than 99 in 100" if hundred > 99.0 else f"{hundred:.0f} in 100"


def _fitting(cause: CauseFound) -> str:
    size = _size(cause)
    return f", {cause.what} {size}" if size else ""


def _size(cause: CauseFound) -> str:
    return "" if cause.size is None else to_text(cause.size, cause.dimension, 2)


def _test(test: NextTest, causes: Sequence[CauseFound]) -> str:
    if test.apart < WORTH_IT:
        return (
            "No further reading and no other setting here separates the first two: open the one that is "
            "cheaper to look at."
        )
    titles = {cause.name: cause.title for cause in causes}
    shown = [f"{_outcome(signs, not test.changes)}: {titles[name]}" for name, signs in test.outcomes.items()]
    lead = "Next test" if test.clear else "No single test here settles it; the best one"
    if causes[0].probability > SURE_ENOUGH:
        lead = "To make sure"
    as_set = ", ".join(f"{key} = {swept_value(key, value)}" for key, value in test.changes.items())
    how = f"{test.how} ({as_set})" if as_set else test.how
    return f"{lead}: {how}. {'. '.join(shown)}. ({number(test.apart, 2)} standard deviations apart.)"


def _outcome(signs: Mapping[str, float], alone: bool) -> str:
    """What a cause would show: of several signs the most telling."""
    shown = list(signs.items())[:TELLING]
    if alone and math.isinf(shown[0][1]):
        return "no creep"
    return ", ".join(
        (sign_text(key, value) if alone else f"{SIGNS[key].name} {sign_text(key, value)}")
        for key, value in shown
    )


def _causes(causes: Sequence[CauseFound]) -> str:
    rows = [
        (
            cause.title,
            f"{100.0 * cause.probability:.0f}",
            f"{cause.what} {_size(cause)}".strip() or "-",
            "-" if cause.name == NONE else f"{cause.effect:.1f}",
        )
        for cause in causes
    ]
    return table(("cause", "/100", "size that fits", "effect"), rows, (1, 3))


def _signs(diagnosis: Diagnosis) -> str:
    """Sign by sign, with what the first two causes that are some expect."""
    named = [cause.name for cause in diagnosis.causes if cause.name != NONE][:2]
    head = ("sign", "seen", "sound", *named, "off")
    several = len({sign.situation for sign in diagnosis.signs}) > 2
    rows = [_sign(sign, named, several) for sign in diagnosis.signs]
    return table(head, rows, range(1, len(head)))


def _sign(sign: SignSeen, named: Sequence[str], several: bool) -> tuple[str, ...]:
    name = sign.name + (f" ({sign.situation})" if several and sign.key not in CREEP else "")
    return (
        name + (", good day" if sign.good_day else ""),
        sign_text(sign.key, sign.seen),
        sign_text(sign.key, sign.sound),
        *(sign_text(sign.key, sign.expected[cause]) for cause in named),
        f"{sign.off:+.1f}",
    )
