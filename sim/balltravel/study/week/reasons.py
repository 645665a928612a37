"""Why an arrangement is chosen for the week, what it costs each material, how the ball lands in a flush."""

from collections.abc import Iterable, Sequence

from balltravel.estimate.suction_losses import feed_excess
from balltravel.files.week import WeekMaterial
from balltravel.study.travel.trials import EQUAL_DELIVERY, NO_DELIVERY, Choice, equals_of
from balltravel.study.week.recommend import MaterialResult, Week, WorstCase
from balltravel.units import from_si, to_text
from balltravel.units.display import against, fixed
from balltravel.units.systems import unit_in_use


def week_reasons(materials: Sequence[WeekMaterial], week: Week) -> list[str]:
    """Sentences on the choice; ``week``: what recommend_week found for these materials."""
    chosen = next((row for row in week.arrangements if row.choice == week.chosen), None)
    if chosen is None:
        return [_why_none(materials, week)]
    if week.recommended is None:
        return [_why_nearest(week, chosen), *_remedies(materials, week)]
    return [_why(week, chosen), *_own_best_travels(week), *_better_but_missing(week, chosen)]


def flush_lines(materials: Sequence[WeekMaterial], week: Week) -> list[str]:
    """How the inlet ball lands in each flush, and which cycle rate brings it to the target."""
    pairs = zip(materials, week.materials, strict=True)
    flushes = [(material, result) for material, result in pairs if result.flush and result.there is not None]
    return [_flush(material, result) for material, result in flushes]


def missed_by(row: WorstCase) -> str:
    """What is missed, material by material: ``primer: fill 76.1 % (target 90 %); stain: ...``."""
    names = dict.fromkeys(miss.material for miss in row.unmet)
    return "; ".join(
        f"{name}: {', '.join(miss.text for miss in row.unmet if miss.material == name)}" for name in names
    )


def briefly(missed: str) -> str:
    """What is missed at a rate without the targets, which stand elsewhere: ``fill 89.8 %``."""
    return "; ".join(text.split(" (")[0] for text in missed.split("; "))


def per_minute(rate: float) -> str:
    """A cycle rate [1/s] as it is printed and was run."""
    return f"{from_si(rate, 'frequency', '/min'):.10g}"


def percent(share: float) -> str:
    """A share of swept; never minus nothing."""
    return f"{round(100.0 * share, 1) + 0.0:.1f} %"


def _travel(choice: Choice | WorstCase) -> str:
    return to_text(choice.ball_travel, "length")


def _listed(words: Iterable[str]) -> str:
    *most, last = words
    return f"{', '.join(most)} and {last}" if most else last


def _all(week: Week) -> str:
    number = len(week.materials)
    return f"all {number} materials" if number > 1 else "the one material"


def _why(week: Week, chosen: WorstCase) -> str:
    """Why this one, of those that meet the targets with every material."""
    meeting = [row for row in week.arrangements if not row.unmet]
    if len(meeting) == 1:
        return f"It is the only arrangement that meets the targets in {_all(week)}."
    equals = equals_of(meeting)
    loss = f"{percent(chosen.gives_up or 0.0)}, in {chosen.gives_up_in}"
    if len(equals) == 1:
        return (
            f"Of the {len(meeting)} arrangements that meet the targets in {_all(week)} it gives up least in "
            f"the worst case: {loss}."
        )
    text = (
        f"{len(equals)} arrangements that meet the targets in {_all(week)} give up the same in the worst "
        f"case within {100 * EQUAL_DELIVERY:g} % of swept (here {loss}); "
    )
    if chosen.ball_travel <= min(row.ball_travel for row in equals):
        fastest = fixed(chosen.highest_landing or 0.0, "velocity", "m/s", 2)
        landing = f"at most {fastest} {unit_in_use('m/s')}, in {chosen.landing_in}"
        return f"{text}of these it has the shortest travel, and its ball lands gently enough ({landing})."
    return f"{text}its ball lands more gently than at any shorter travel of these."


def _own_best_travels(week: Week) -> list[str]:
    """The travels that the materials would have for themselves, if they are not all this one."""
    best = {result.name: result.own_best for result in week.materials if result.own_best is not None}
    if len(best) < 2:
        return []
    if all(choice == week.chosen for choice in best.values()):
        return ["It is also the best for each material alone."]
    each = _listed(f"{name} {_travel(choice)}" for name, choice in best.items())
    return [f"Best travel for each material alone: {each}."]


def _better_but_missing(week: Week, chosen: WorstCase) -> list[str]:
    """What would give up less and misses a target somewhere."""
    least = max((row for row in week.arrangements if row.complete), key=lambda row: row.assured)
    if not least.unmet or least.assured - chosen.assured <= EQUAL_DELIVERY:
        return []
    loss = f"{percent(least.gives_up or 0.0)} in the worst case"
    return [f"{_travel(least)} would give up less, {loss}, but misses: {missed_by(least)}."]


def _why_nearest(week: Week, chosen: WorstCase) -> str:
    return (
        f"No arrangement of these shims meets the targets in {_all(week)}; {_travel(chosen)} comes nearest "
        f"(smallest sum of the relative shortfalls over all materials): {missed_by(chosen)}."
    )


def _remedies(materials: Sequence[WeekMaterial], week: Week) -> list[str]:
    """Which material is in the way, and at which cycle rates the nearest would do."""
    sentences = []
    hopeless = [result.name for result in week.materials if result.own_meets is False]
    if hopeless:
        sentences.append(f"No arrangement meets the targets of {_listed(hopeless)}, even pumped alone.")
    for result in week.materials:
        if result.name in week.spare:
            text = f"Without {result.name}, an arrangement would meet the targets of all the others"
            if result.own_meets and result.own_best:
                text += f"; alone it would be best at {_travel(result.own_best)}"
            sentences.append(f"{text}.")
    return sentences + _slower(materials, week)


def _slower(materials: Sequence[WeekMaterial], week: Week) -> list[str]:
    """The cycle rates at which the nearest arrangement would do."""
    rates, never = [], []
    for material, result in zip(materials, week.materials, strict=True):
        limit, asked = result.rate, material.scenario.drive.cycle_rate
        if limit is None or asked is None:
            continue
        if limit.holds is None:
            never.append(result.name)
        elif limit.holds < asked:
            rates.append(f"{result.name} at {per_minute(limit.holds)} (given: {per_minute(asked)})")
    sentences = (
        [f"This arrangement would meet the targets at lower cycle rates, in cycles/min: {_listed(rates)}."]
        if rates
        else []
    )
    if never:
        sentences.append(
            f"In this arrangement no cycle rate in the range searched meets the targets of {_listed(never)}."
        )
    return sentences


def _why_none(materials: Sequence[WeekMaterial], week: Week) -> str:
    pumped = [material for material in materials if not material.flush]
    through = [material.name for material in pumped if feed_excess(material.scenario) > 0.0]
    if through:
        return (
            f"With {_listed(through)} the feed pressure is above the outlet pressure: material runs through "
            "the lower, and ball travel makes no difference."
        )
    least = 100 * NO_DELIVERY
    failed = dict.fromkeys(name for row in week.arrangements for name in row.failed)
    end = f"; runs failed with {_listed(failed)}" if failed else ""
    return (
        "In no arrangement could every material except flushes be simulated to the end and deliver at least "
        f"{least:g} % of swept{end}."
    )


def _flush(material: WeekMaterial, result: MaterialResult) -> str:
    trial, limit = result.there, result.rate
    assert trial is not None
    if trial.metrics is None:
        return f"{result.name}: the run failed ({trial.status}); its landing speed is not known."
    metrics, target = trial.metrics.inlet, material.scenario.target.landing_speed
    speed, wanted = against(metrics.landing_speed, target, "velocity", "m/s", 2)
    side = "above" if metrics.landing_speed > target else "within"
    last = " in the last cycle (the cycles do not repeat)" if trial.status == "not_periodic" else ""
    text = (
        f"{result.name}: the inlet ball lands at {speed} {unit_in_use('m/s')} with "
        f"{to_text(metrics.landing_energy, 'energy', 2)}{last}, {side} the target of {wanted}"
    )
    if limit is None:
        return f"{text}."
    if limit.holds is None:
        span = f"{per_minute(limit.lowest)} to {per_minute(limit.highest)}"
        return f"{text}; no cycle rate from {span} cycles/min brings it to the target."
    if limit.fails is None:
        return f"{text}; it meets the target at least up to {per_minute(limit.holds)} cycles/min."
    holds, fails = per_minute(limit.holds), per_minute(limit.fails)
    why = briefly(limit.missed)
    guide = ": a bouncing ball lands differently each time, so stay well below" if last else ""
    return f"{text}; it meets the target at {holds} cycles/min and misses it at {fails} ({why}){guide}."
