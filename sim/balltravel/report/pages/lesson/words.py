"""What a lesson says of a run: what came in and went back, and what a predicted travel gives up."""

from balltravel.cycle.metrics import Metrics
from balltravel.estimate.suction_losses import suction_losses
from balltravel.report.tables import both, viscosity_stated
from balltravel.scenario.model import with_shims_below
from balltravel.study.lesson.lesson import Lesson, Taught
from balltravel.study.travel.trials import EQUAL_DELIVERY, HEAVIER, Trial
from balltravel.units.display import fixed, prose
from balltravel.units.systems import unit_in_use

MORE = f"{100 * (HEAVIER - 1):.0f} % more viscosity"


def percent(share: float) -> str:
    """``97.5 %``."""
    return f"{round(100.0 * share, 1) + 0.0:.1f} %"


def travel_of(trial: Trial) -> str:
    """``5 mm (0.197 in)``."""
    return both(trial.ball_travel, "length")


def material_of(taught: Taught) -> str:
    """``5 Pa.s (5000 cP)``; of a thinning material with the shear rate."""
    return f"{both(taught.viscosity, 'viscosity', 3)} {viscosity_stated(taught.scenario.material)}".strip()


def landing_of(metrics: Metrics) -> str:
    """``0.41 m/s``."""
    return f"{fixed(metrics.inlet.landing_speed, 'velocity', 'm/s', 2)} {unit_in_use('m/s')}"


def back_of(metrics: Metrics) -> float:
    """What went back past the open inlet ball, over swept."""
    return metrics.loss_budget.inlet_backflow / metrics.loss_budget.swept


def run_in_words(trial: Trial) -> str:
    """What came of a travel."""
    m = trial.metrics
    if m is None:
        return f"{travel_of(trial)}: this run failed ({trial.status.replace('_', ' ')})."
    return (
        f"{travel_of(trial)}: {percent(m.fill_fraction)} of swept drawn in, {percent(back_of(m))} flowed "
        f"back past the ball, {percent(m.volumetric_efficiency)} delivered; the ball lands at "
        f"{landing_of(m)}."
    )


def compared_with_best(trial: Trial, best: Trial) -> str:
    """How a predicted travel stands beside the best."""
    if trial.shims_below == best.shims_below:
        return "That is the best travel."
    if trial.metrics is None:
        return f"The best is {travel_of(best)}."
    less, less_assured = best.delivery - trial.delivery, best.assured - trial.assured
    if trial.unmet and not best.unmet:
        return f"It misses a target that the best meets: {'; '.join(trial.unmet)}."
    if less > EQUAL_DELIVERY:
        return f"It delivers {percent(less)} of swept less than the best."
    if less_assured > EQUAL_DELIVERY and trial.heavier is not None and best.heavier is not None:
        return (
            f"It delivers as much as the best now, but at {MORE} only {percent(trial.heavier)} of swept, and "
            f"the best {percent(best.heavier)}: too close to starving."
        )
    if less < -EQUAL_DELIVERY:
        missing = "; ".join(trial.unmet) or "at more viscosity it falls behind"
        return f"It delivers {percent(-less)} of swept more than the best, but: {missing}."
    if trial.ball_travel > best.ball_travel:
        return (
            "It delivers as much as the best: of travels that deliver the same, the shorter counts as best."
        )
    gentler = (
        ", which lands more gently"
        if best.landing < trial.landing
        else f" within {100 * EQUAL_DELIVERY:g} % of swept"
    )
    return f"It delivers as much as the best{gentler}."


HELPS = 0.001
"""Of swept, that the longest travel draws in more than the next shorter one where a longer one helps (our
choice)."""

LIMITS = {
    "hose": "The hose is the limit, not the travel.",
    "cage": "The cage is the limit, not the travel.",
    "travel": "A longer travel than these shims give would let more in.",
    "target": "A longer travel lets in no more: the target asks for more than this lower draws in.",
    "motor": "The motor is the limit: at the turn its piston jumps ahead of the material.",
}
"""What limits a lower that no travel of its shims fills."""


def limit_of(taught: Taught) -> str:
    """A key of LIMITS; empty where some travel fills the chamber. A motor is the limit where the ways in have
    suction to spare at full piston speed, and the target where the longest travels draw in the same."""
    if taught.limit != "travel" or taught.best is None:
        return taught.limit
    if taught.scenario.drive.profile == "motor":
        at_best = with_shims_below(taught.scenario, taught.best.shims_below)
        hose, passage, gap, available = suction_losses(at_best)
        if hose + passage + gap < available:
            return "motor"
    fills = [trial.metrics.fill_fraction for trial in taught.trials if trial.metrics is not None]
    return "travel" if len(fills) < 2 or fills[-1] - fills[-2] >= HELPS else "target"


def limit_in_words(taught: Taught) -> str:
    """Why no travel fills the chamber; empty where one does."""
    limit = limit_of(taught)
    return f"No travel fills the chamber. {LIMITS[limit]}" if limit else ""


def where_limited(lesson: Lesson) -> str:
    """From which material on no travel fills the chamber; empty where one always does."""
    limited = [material for material in lesson.materials if material.limit]
    if not limited:
        return ""
    return f"From {material_of(limited[0])} on, no travel fills the chamber. {LIMITS[limit_of(limited[0])]}"


def how_computed(lesson: Lesson) -> tuple[str, ...]:
    """What the page rests on, and how exact it is."""
    count, travels = len(lesson.materials), len(lesson.travels)
    of_all = f" (of {lesson.all_travels} that the shims give)" if travels < lesson.all_travels else ""
    own = material_of(lesson.materials[lesson.own])
    within = prose("0.01 mm")
    return (
        f"{count * travels} runs: {travels} travels{of_all} in {count} materials, from {own} made thinner "
        "and heavier; all else of the lower is the same. Only these can be chosen: nothing lies between "
        f"them. Numbers are those of the runs, rounded to 0.1 % of swept; balls and piston are within "
        f"{within} of the run's at each picture.",
        "Drawn in: the most that came in (filling). Flowed back: what went back past the open inlet ball. "
        "Best: what `balltravel recommend --exactly` names: of the travels that deliver most and meet the "
        "targets, "
        f"within {100 * EQUAL_DELIVERY:g} % of swept, now and at {MORE}, the shortest that lands gently.",
    )
