"""One arrangement for several materials over draws, against the verdicts of each by itself."""

import math
from dataclasses import asdict, replace

import numpy as np
import pytest

from balltravel import WeekMaterial, read_scenario, recommend, recommend_week, with_values
from balltravel.scenario.unknowns import spreads_of
from balltravel.study.verdict.draws import OF_MATERIAL, draw
from balltravel.study.verdict.inputs import inputs_of
from balltravel.study.verdict.record import ALL
from balltravel.study.week import recommend as at_likely
from balltravel.units.spread import Spread

from ..conftest import SCENARIOS

PRIMER = read_scenario(SCENARIOS / "primer.toml")


def lower(viscosity, rate=0.5, **more):
    """The primer's lower with another material, two travels: 3 and 5 mm."""
    shims = {"shims.thicknesses": (2e-3,), "shims.below": (), "inlet_check.base_travel": 3e-3}
    return with_values(PRIMER, {**shims, "material.viscosity": viscosity, "drive.cycle_rate": rate, **more})


MEDIUM, THIN, HEAVY = (
    WeekMaterial(name, lower(viscosity))
    for name, viscosity in (("medium", 5.0), ("thin", 1.0), ("heavy", 9.0))
)
FLUSH = WeekMaterial("flush", lower(0.1, 1.0), flush=True)


@pytest.fixture(autouse=True)
def no_rates(monkeypatch):
    """Leaves the search for cycle rates out, which takes most of the time at the likely values."""
    monkeypatch.setattr(at_likely, "largest_rate", lambda _scenario, _check: None)


@pytest.fixture(scope="module")
def verdict():
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(at_likely, "largest_rate", lambda _scenario, _check: None)
        return recommend_week([MEDIUM, THIN, HEAVY, FLUSH], draws=32).verdict


@pytest.mark.parametrize("material", [MEDIUM, HEAVY])
def test_a_week_of_one_material_is_the_verdict_of_that_material(material):
    alone = asdict(recommend(material.scenario, draws=32).verdict)
    week = asdict(recommend_week([material], draws=32).verdict)
    (own,) = week["materials"]
    assert own["prospects"] == alone["prospects"]
    assert (own["alone"], own["without"]) == (alone["chosen"], None)
    for mine, theirs in zip(week.pop("prospects"), alone.pop("prospects"), strict=True):
        chance = theirs.pop("chance")[ALL]
        assert mine.pop("chance") == {material.name: chance, ALL: chance}
        assert mine == theirs
    assert {name: week[name] for name in alone} == alone


def test_the_order_of_the_materials_does_not_matter(verdict):
    other = recommend_week([FLUSH, HEAVY, THIN, MEDIUM], draws=32).verdict
    for mine, theirs in zip(verdict.prospects, other.prospects, strict=True):
        assert mine == theirs  # dictionaries compare whatever their order
    assert {m.name: m for m in verdict.materials} == {m.name: m for m in other.materials}
    assert (verdict.chosen, verdict.holds, verdict.decided_by) == (
        other.chosen,
        other.holds,
        other.decided_by,
    )
    assert {d.key for d in verdict.deciding} == {d.key for d in other.deciding}


def test_the_number_of_workers_does_not_matter(verdict):
    assert recommend_week([MEDIUM, THIN, HEAVY, FLUSH], draws=32, workers=1).verdict == verdict


def test_a_longer_travel_is_for_the_heavy_material_and_the_thin_one_would_do_without(verdict):
    by_name = {outlook.name: outlook for outlook in verdict.materials}
    assert verdict.chosen == by_name["heavy"].alone
    assert verdict.chosen.ball_travel == 5e-3
    assert by_name["thin"].alone.ball_travel == 3e-3
    assert by_name["flush"].alone is None
    assert [prospect.chance[ALL] for prospect in by_name["flush"].prospects] == [
        prospect.chance["flush"] for prospect in verdict.prospects
    ]
    assert set(by_name["flush"].prospects[0].chance) <= {"landing", "run", ALL}


def test_no_chance_of_all_is_above_that_of_any_material(verdict):
    for prospect in verdict.prospects:
        assert prospect.chance[ALL] <= min(share for name, share in prospect.chance.items() if name != ALL)


def everything_known(scenario):
    """The same with every value exactly as it stands."""
    exact = {}
    for key in spreads_of(scenario):
        table, name = key.split(".")
        value = getattr(getattr(scenario, table), name)
        names = isinstance(value, str)
        exact[key] = Spread("choices", choices=(value,)) if names else Spread("exact", (value,))
    return scenario.model_copy(update={"ranges": exact})


def test_where_everything_is_known_the_one_draw_is_the_single_run():
    week = recommend_week([replace(m, scenario=everything_known(m.scenario)) for m in (MEDIUM, HEAVY)])
    verdict = week.verdict
    assert (verdict.draws, verdict.inputs) == (1, ())
    for row, prospect in zip(week.arrangements, verdict.prospects, strict=True):
        assert prospect.choice == row.choice
        # Draws run at a tolerance of 1e-4, which changes delivery by less than 1e-5.
        assert prospect.delivery_5 == prospect.delivery_95 == pytest.approx(row.least_delivery, abs=1e-5)
        assert prospect.chance[ALL] == float(not row.unmet)
    for result, outlook in zip(week.materials, verdict.materials, strict=True):
        own = [trial.delivery for trial in result.arrangements]
        assert [p.regret_95 for p in outlook.prospects] == pytest.approx(
            [max(own) - d for d in own], abs=2e-5
        )


def test_the_lower_is_the_same_in_a_draw_and_each_material_is_drawn_for_itself():
    """Correlations of 256 independent pairs stay within five of their standard deviations."""
    draws = {
        m.name: draw(inputs_of(m.scenario, spreads_of(m.scenario)), 256, own=m.name) for m in (MEDIUM, HEAVY)
    }
    keys = [[item.key for item in drawn.drawn] for drawn in draws.values()]
    assert keys[0] == keys[1]
    own = 0
    for key, medium, heavy in zip(keys[0], *(d.shares.T for d in draws.values()), strict=True):
        assert np.array_equal(medium, heavy) == (not key.startswith(OF_MATERIAL)), key
        if key.startswith(OF_MATERIAL):
            own += 1
            assert abs(np.corrcoef(medium, heavy)[0, 1]) < 5.0 / math.sqrt(256), key
            assert np.array_equal(np.sort(medium), np.sort(heavy)), key
    assert own >= 3


def test_a_smaller_set_of_a_material_is_the_beginning_of_a_larger_one():
    inputs = inputs_of(MEDIUM.scenario, spreads_of(MEDIUM.scenario))
    few, many = (draw(inputs, count, 3, "medium").shares for count in (32, 128))
    assert np.array_equal(few, many[:32])


def test_nothing_is_drawn_where_that_is_asked():
    week = recommend_week([MEDIUM, THIN], draws=0)
    assert week.verdict is None
    assert "verdict" not in week.as_dict()
    assert week == at_likely.recommend_week([MEDIUM, THIN])


def test_progress_reaches_its_end_and_never_goes_back():
    seen, told = [], []
    recommend_week([MEDIUM, THIN], draws=64, progress=lambda *pair: seen.append(pair), tell=told.append)
    assert [done for done, _ in seen] == sorted(done for done, _ in seen)
    assert seen[-1][0] == seen[-1][1]
    assert len(told) <= 1


def test_materials_whose_lowers_have_other_ranges_are_refused():
    other = HEAVY.scenario.model_copy(update={"ranges": {"lower.bore": Spread("even", (0.047, 0.049))}})
    with pytest.raises(ValueError, match="another range"):
        recommend_week([MEDIUM, replace(HEAVY, scenario=other)], draws=32)


def test_a_material_with_a_range_of_its_own_may_stand_beside_others():
    spread = {"material.viscosity": Spread("even", (8.0, 10.0))}
    ranged = replace(HEAVY, scenario=HEAVY.scenario.model_copy(update={"ranges": spread}))
    (row,) = (i for i in recommend_week([MEDIUM, ranged], draws=32).verdict.inputs
              if i.key == "heavy: material.viscosity")  # fmt: skip
    assert 8.0 <= row.low < row.high <= 10.0
