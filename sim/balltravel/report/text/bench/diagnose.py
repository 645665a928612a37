"""What is wrong with a pump, as plain text."""

import math
from collections.abc import Mapping, Sequence

from balltravel.bench.causes import NONE
from balltravel.bench.diagnose import CANNOT_TELL, FAULT, SOUND, CauseFound, Diagnosis, SignSeen
from balltravel.bench.fit import CREEP
from balltravel.bench.next_test import NextTest
from balltravel.report.tables import bullets, conditions, filled, number, plain, table, travel_set
from balltravel.report.text.bench.signs import seen_text, sign_text
from balltravel.report.text.swept_cells import swept_value
from balltravel.scenario.model import Scenario, with_values
from balltravel.units import to_text

SURE_ENOUGH = 0.95
"""Probability of a cause above which a further test only makes sure."""

WORTH_IT = 1.0
"""Standard deviations by which a test must separate two causes to be worth making (our choice)."""

NOT_READ = ("pounding",)
"""Signs whose value nobody reads at a bench: shown only where there is nothing else."""

SHOWING = {
    "weighed_per_cycle": "about {} a cycle", "cycle_rate": "about {}", "upstroke_time": "an upstroke of {}",
    "downstroke_time": "a downstroke of {}", "tip_pressure": "{} at the tip",
    "dip_at_top": "a dip of {} at the top", "dip_at_bottom": "a dip of {} at the bottom",
    "vacuum_at_inlet": "{} at the inlet",
    "pounding": "an inlet ball that lands at {}", "seconds_per_stroke_up": "creep up, a stroke in {}",
    "seconds_per_stroke_down": "creep down, a stroke in {}", "give_up": "a give up of {}",
    "give_down": "a give down of {}", "gland_weep": "a weep of {}",
}  # fmt: skip
"""Values of signs as a bench says them."""

AS_CAUSE = {
    NONE: "a sound lower", "foot valve": "a worn or dirty foot valve",
    "piston": "a worn piston seat or lower packing", "rod packing": "a worn throat packing",
    "shorter travel": "a shorter ball travel", "longer travel": "a longer ball travel",
    "thicker": "a thicker or colder material", "thinner": "a thinner or warmer material",
    "air": "air in the material", "drawn in": "air drawn in at a joint",
    "choked": "a choked suction hose or strainer", "hanging ball": "a hanging foot-valve ball",
    "short supply": "a motor's low supply", "sagging supply": "a motor's sagging supply",
    "worn tip": "a worn spray tip",
}  # fmt: skip
"""Causes as what gives a reading."""

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
    as_set = with_values(scenario, diagnosis.changes)
    return "\n".join(
        [
            plain(scenario.title),
            filled(f"{conditions(as_set)}; {travel_set(as_set)}"),
            "",
            filled(_verdict(diagnosis)),
            *(
                [filled(_test(diagnosis.next_test, diagnosis.causes[0].probability))]
                if diagnosis.next_test
                else []
            ),
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
        f"Nearest, but it does not fit: {first.title}{_fitting(first)}."
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


def _test(test: NextTest, probability: float) -> str:
    """The next test; ``probability``: of the first cause."""
    if test.apart < WORTH_IT:
        return (
            "No further reading and no other setting here separates the first two: open the one that is "
            "cheaper to look at."
        )
    (first, seen), (second, else_seen) = test.outcomes.items()
    lead = "Next test" if test.clear else "No single test here settles it; the best one"
    if probability > SURE_ENOUGH:
        lead = "To make sure"
    as_set = "".join(f", {swept_value(key, value)}" for key, value in test.changes.items())
    gives = f"{AS_CAUSE[first]} then gives {_outcome(seen)}"
    return (
        f"{lead}: {test.how}{as_set}. {gives[0].upper()}{gives[1:]}; {AS_CAUSE[second]} gives "
        f"{_outcome(else_seen)}. ({number(test.apart, 2)} standard deviations apart.)"
    )


def _outcome(signs: Mapping[str, float]) -> str:
    """What a cause would show: of several signs the most telling that somebody reads."""
    shown = [key for key in signs if key not in NOT_READ] or list(signs)
    return ", ".join(_showing(key, signs[key]) for key in shown[:TELLING])


def _showing(key: str, value: float) -> str:
    """A sign as a bench says it: ``about 259 cc a cycle``."""
    if key in CREEP and math.isinf(value):
        return f"no creep {'up' if key.endswith('up') else 'down'}"
    return SHOWING[key].format(sign_text(key, value))


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
        seen_text(sign.key, sign.seen, sign.none_in),
        sign_text(sign.key, sign.sound),
        *(sign_text(sign.key, sign.expected[cause]) for cause in named),
        f"{sign.off:+.1f}",
    )
