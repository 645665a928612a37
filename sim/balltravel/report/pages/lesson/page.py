"""The page of a lesson."""

from typing import Any

from balltravel.report.care import CARE, CARE_IN_FIGURES, COMPUTED
from balltravel.report.pages.lesson.curve import curve_of
from balltravel.report.pages.lesson.handout import handout_of
from balltravel.report.pages.lesson.runs import Sayings, films, pace_of
from balltravel.report.pages.lesson.steps import steps_in_words
from balltravel.report.pages.lesson.words import (
    back_of,
    compared_with_best,
    how_computed,
    limit_in_words,
    material_of,
    percent,
    run_in_words,
    where_limited,
)
from balltravel.report.pages.markup import markup
from balltravel.report.pages.section import section_svg
from balltravel.report.section.lower import LowerSizes, close_up, lower_shapes, lower_sizes, whole
from balltravel.report.tables import both, conditions, shims_in_words
from balltravel.scenario.arguments import progress_given, refused, scenario_given
from balltravel.scenario.model import Scenario, with_shims_below
from balltravel.scenario.shims import Arrangement
from balltravel.study.lesson.lesson import Lesson, Taught, lesson_of
from balltravel.study.travel.trials import Trial
from balltravel.sweeps.cases import Progress


def lesson(scenario: Scenario, *, invented: bool = False, progress: Progress | None = None) -> str:
    """A lesson on a lower as one page of HTML, which needs no network: to predict the best ball travel in
    materials from thin to too heavy, and to see what comes of it.

    ``invented``: whether the page says that the lower does not exist; ``progress`` is called with (runs done,
    runs in all). Takes up to a minute. Raises ScenarioError for what is no scenario, for a lower with one
    travel or with more than 40, and where too few materials could be run.
    """
    scenario_given(scenario)
    progress_given(progress)
    if not isinstance(invented, bool):
        raise refused("invented", f"{invented!r} given", "True or False", "invented=True")
    return lesson_html(lesson_of(scenario, progress), invented)


def lesson_html(taught: Lesson, invented: bool = False) -> str:
    """The page of a lesson that was run."""
    steps = steps_in_words(taught)
    curve, scale = curve_of(taught), back_scale(taught)
    data = lesson_data(taught, curve, scale)
    computed = "Invented lower, computed, not measured." if invented else "Computed, not measured."
    return markup(
        "lesson.html",
        title=taught.scenario.title,
        conditions=conditions(taught.scenario),
        steps=[
            {**step._asdict(), "number": number, "material": material_of(taught.materials[step.place])}
            for number, step in enumerate(steps, 1)
        ],
        sections=[_sections(taught.scenario, arrangement) for arrangement in taught.travels],
        curve=curve,
        data=data,
        back_scale=scale,
        limit=where_limited(taught),
        handout=handout_of(taught, steps, data),
        how=how_computed(taught),
        computed=computed,
        caution=CARE_IN_FIGURES,
        foot=(COMPUTED, *CARE),
    )


def back_scale(taught: Lesson) -> int:
    """What the whole bar of what flowed back stands for [% of swept], so that its parts can be seen."""
    most = max(
        (100.0 * back_of(t.metrics) for m in taught.materials for t in m.trials if t.metrics is not None),
        default=0.0,
    )
    return next((scale for scale in (5, 10, 20, 50) if most <= scale), 100)


def lesson_data(taught: Lesson, curve: dict[str, Any], scale: int) -> dict[str, Any]:
    """What the page's script reads: travels, materials with the runs of every travel, sentences."""
    sayings = Sayings()
    pace = pace_of(len(taught.materials) * len(taught.travels))
    materials = [_material(material, taught, pace, sayings, scale) for material in taught.materials]
    travels = [
        {
            "label": both(arrangement.travel, "length"),
            "shims": _shims(taught.scenario, arrangement),
        }
        for arrangement in taught.travels
    ]
    places = {"x": curve["x"], "y": curve["y"]}
    return {
        "travels": travels,
        "materials": materials,
        "sayings": sayings.as_data(),
        "first": taught.steps[0],
        "curve": places,
    }


def _shims(scenario: Scenario, arrangement: Arrangement) -> str:
    words = shims_in_words(scenario.shims.thicknesses, arrangement.below)
    return f"{words} below the cage"


def _material(material: Taught, taught: Lesson, pace: float, sayings: Sayings, scale: int) -> dict[str, Any]:
    """A material and the runs of its travels."""
    film, moving = films(material, taught.travels, pace, sayings)
    below = [arrangement.below for arrangement in taught.travels]
    runs = []
    for place, movement in zip(below, moving, strict=True):
        trial = material.trial(place)
        against = "" if material.best is None else compared_with_best(trial, material.best)
        runs.append(
            {"said": run_in_words(trial), "against": against, **_shares(trial, scale), "moving": movement}
        )
    own = " (as in the file)" if material is taught.materials[taught.own] else ""
    return {
        "label": material_of(material) + own,
        "best": None if material.best is None else below.index(material.best.shims_below),
        "limit": limit_in_words(material),
        "film": film,
        "runs": runs,
    }


def _shares(trial: Trial, scale: int) -> dict[str, Any]:
    """The two bars: what they say, and how long they are [%]."""
    m = trial.metrics
    if m is None:
        return {"drawn": ["-", 0.0], "back": ["-", 0.0]}
    drawn, back = m.fill_fraction, back_of(m)
    return {
        "drawn": [percent(drawn), round(100.0 * drawn, 2)],
        "back": [percent(back), round(1e4 * back / scale, 2)],
    }


def _sections(scenario: Scenario, arrangement: Arrangement) -> dict[str, Any]:
    """The whole lower and its foot valve with these shims below the cage."""
    sizes = lower_sizes(with_shims_below(scenario, arrangement.below))
    travel = both(arrangement.travel, "length")
    return {
        "whole": _view(sizes, whole(sizes), f"The whole lower in section, ball travel {travel}"),
        "close": _view(sizes, close_up(sizes), f"The foot valve in section, ball travel {travel}"),
    }


def _view(sizes: LowerSizes, frame: Any, label: str) -> dict[str, Any]:
    svg = section_svg(lower_shapes(sizes), frame, label, marks=sizes)
    return {"svg": svg, "ratio": round((frame.right - frame.left) / (frame.top - frame.bottom), 4)}
