"""What changes the choice of a verdict and what is worth measuring, in sentences."""

from collections.abc import Sequence
from itertools import groupby
from typing import TYPE_CHECKING

from balltravel.report.tables import bench, number
from balltravel.units import number_apart, told_apart
from balltravel.units.display import prose

if TYPE_CHECKING:
    from balltravel.study.travel.trials import Choice
    from balltravel.study.verdict.record import Change, Deciding, Measurement, Outcome, Verdict


def of_hundred(share: float) -> str:
    """A share as so many of 100: 0 and 100 only if it is none or all."""
    return told_apart(100.0 * share, 100.0 if share > 0.5 else 0.0, 0)


def what_would_help(verdict: "Verdict") -> list[str]:
    """What changes the choice and what is worth measuring; nothing where none is made."""
    return [] if verdict.chosen is None else [what_changes(verdict), what_to_measure(verdict)]


def travel_of(choice: "Choice") -> str:
    return bench(choice.ball_travel, "length")


def _span(low: float, high: float, dimension: str, of: str = "") -> str:
    """``7.9 to 9.4 Pa.s``: the unit once where it is the same, and not at all where it is that ``of``
    another number that stands before it."""
    (first, unit), (last, end) = (number_apart(bench(value, dimension, 3)) for value in (low, high))
    if unit != end:
        return f"{first} {unit} to {last} {end}"
    return f"{first} to {last}" if of.endswith(unit) else f"{first} to {last} {unit}"


def what_changes(verdict: "Verdict") -> str:
    if verdict.thresholds:
        first, *others = verdict.thresholds
        also = f"; also with {' and '.join(change.name for change in others[:2])}" if others else ""
        best = verdict.next_measurement
        split = "" if best is None or len(_parts_of(best)) < 3 else " (in two bands)"
        return f"Changes with {first.name}{split}: {_policy(first)}{_meanwhile(verdict, first)}{also}."
    names = [known.name for known in verdict.deciding] or [worth.what for worth in verdict.measurements]
    if names:
        return f"May change with {' and '.join(names[:2])}, but at no clear value."
    most = verdict.saves_most
    little = "nothing that counts"
    if most is not None:
        little = f"at most {100.0 * most.saved:.2f} % of swept on average ({most.name})"
    return f"Holds: to know any one input exactly would save {little}."


def _meanwhile(verdict: "Verdict", change: "Change") -> str:
    """What to take while it is not known, where that is neither of both."""
    if verdict.chosen is None or verdict.chosen in (change.below, change.above):
        return ""
    return f", {travel_of(verdict.chosen)} while it is not known"


def _policy(change: "Change") -> str:
    """``6 mm below 8.6 Pa.s (7.9 to 9.4), 9 mm above``."""
    if change.names:
        return f"{travel_of(change.above)} for {' or '.join(change.names)}, else {travel_of(change.below)}"
    at = bench(change.at, change.dimension, 3)
    low, high = (bench(value, change.dimension, 3) for value in (change.low, change.high))
    band = _span(change.low, change.high, change.dimension, at)
    if high == at != low:  # the estimate is the end of its own band
        band = f"or lower, down to {low}"
    elif low == at != high:
        band = f"or higher, up to {high}"
    return f"{travel_of(change.below)} below {at} ({band}), {travel_of(change.above)} above"


def measured_in_words(measurement: "Measurement") -> str:
    """What is measured, of a thinning material with the shear rate: ``viscosity at 100 1/s``."""
    return prose(measurement.what) + (f" at {number(measurement.rate, 3)} 1/s" if measurement.rate else "")


def not_measured_itself(verdict: "Verdict") -> "list[Deciding]":
    """Inputs that decide, without those of which a measurement tells: that saves what the input would."""
    told = {key.partition("[")[0] for measurement in verdict.measurements for key in measurement.keys}
    return [known for known in verdict.deciding if known.key not in told]


def what_to_measure(verdict: "Verdict") -> str:
    best = verdict.next_measurement
    if best is None:
        nothing = (
            "Nothing that can be measured would settle it"
            if verdict.changes
            else "Nothing is worth measuring"
        )
        return f"{nothing}: {100.0 * verdict.regret_mean:.2f} % is given up on average."
    return f"Worth measuring: {measurement_in_words(best, verdict.regret_mean)}"


def measurement_in_words(measurement: "Measurement", regret: float) -> str:
    """What, how, what it saves and what to choose then."""
    rate = f"shear rate {number(measurement.rate, 3)} 1/s" if measurement.rate else ""
    way = ", ".join(part for part in (prose(measurement.how), rate) if part)
    saved, lost = (f"{100.0 * share:.2f}" for share in (measurement.saved, regret))
    told = (
        f"{measurement.what}{f' ({way})' if way else ''}: saves {saved} of the {lost} % given up on average"
    )
    count = len(_parts_of(measurement))
    return f"{told}. Then{f' (in {_COUNTS[count]} bands)' if count > 2 else ''} {_outcomes(measurement)}."


_COUNTS = {3: "three", 4: "four"}


def _parts_of(measurement: "Measurement") -> "list[list[Outcome]]":
    """Its outcomes; neighbours of one choice are one part."""
    return [list(group) for _, group in groupby(measurement.outcomes, key=lambda outcome: outcome.choice)]


def _outcomes(measurement: "Measurement") -> str:
    """``6 mm below 8.6 Pa.s (45 of 100), 9 mm above (55)``."""
    groups = _parts_of(measurement)
    if len(groups) == 1:
        return f"{travel_of(groups[0][0].choice)} whatever it says"
    return ", ".join(
        f"{travel_of(group[0].choice)} {_where(group, measurement.dimension, i == 0, i == len(groups) - 1)} "
        f"({of_hundred(sum(outcome.share for outcome in group))}{' of 100' if i == 0 else ''})"
        for i, group in enumerate(groups)
    )


def _where(group: "Sequence[Outcome]", dimension: str, first: bool, last: bool) -> str:
    names = [name for outcome in group for name in outcome.names]
    if names:
        return f"for {' or '.join(names)}"
    if first:
        return f"below {bench(group[-1].high, dimension, 3)}"
    if last:
        return "above"
    return f"at {_span(group[0].low, group[-1].high, dimension)}"
