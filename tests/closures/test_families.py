"""A further family of closures is its record: scenario, rules, set-up and ranges take it by its name."""

import numpy as np
import pytest

from balltravel.closures.by_closed_form import CLOSED_FORM
from balltravel.closures.families import FAMILIES, family_of, lift_functions, resistance_of
from balltravel.closures.table.by_table import TABULATED
from balltravel.core.parameters import ALPHA, CONDUCTANCE, SLIP
from balltravel.core.ranges import Range
from balltravel.cycle.dataset import cycle_metrics, simulate
from balltravel.scenario.model import ScenarioError
from balltravel.setup.parameters import core_parameters, geometry_of


def stiffer(geometry, lift):
    """As by closed forms, but a check that lets half as much through."""
    values = CLOSED_FORM.lift_functions(geometry, lift)
    values[CONDUCTANCE] *= 0.5
    return values


TOY = CLOSED_FORM._replace(
    name="toy",
    lift_functions=stiffer,
    inertance=lambda _geometry, _lift: 1234.0,
    lifts=Range("toy", "lift over seat radius", ((0.0, 0.1),), "nothing at all"),
    flows=("Newtonian", "Casson"),
)


@pytest.fixture
def _toy(monkeypatch):
    monkeypatch.setitem(FAMILIES, "toy", TOY)


def test_a_family_that_nobody_registered_cannot_be_chosen(story):
    with pytest.raises(ScenarioError, match='"toy" given; allowed: "tabulated" or "closed form"'):
        story("primer", "closures.resistance=toy")


@pytest.mark.usefixtures("_toy")
def test_a_third_family_is_chosen_by_its_name_and_runs(story):
    s = story("primer", "closures.resistance=toy")
    closed = story("primer", "closures.resistance=closed form")
    geometry = geometry_of(s.inlet_check, s.closures)
    assert family_of(geometry) is TOY
    mine, theirs = (
        lift_functions(g, np.array([1e-3])) for g in (geometry, geometry._replace(family="closed form"))
    )
    assert mine[CONDUCTANCE] == pytest.approx(0.5 * theirs[CONDUCTANCE], rel=1e-15)
    assert (mine[[ALPHA, SLIP]] == theirs[[ALPHA, SLIP]]).all()
    p, q = core_parameters(s), core_parameters(closed)
    change = p.suction.inertance - q.suction.inertance
    assert change == pytest.approx(
        1350.0 * (1234.0 - CLOSED_FORM.inertance(geometry, s.inlet_travel)), rel=1e-9
    )
    data = simulate(s)
    assert data.attrs["status"] == "ok"
    assert "(toy: nothing at all)" not in simulate(closed).attrs["excursions"]
    assert '"basis": "nothing at all"' in data.attrs["excursions"]
    assert cycle_metrics(data).fill_fraction < cycle_metrics(simulate(closed)).fill_fraction


@pytest.mark.usefixtures("_toy")
def test_a_family_says_which_laws_of_flow_it_knows(story):
    assert story("putty_needs_a_ram_plate", "closures.resistance=tabulated")
    with pytest.raises(ScenarioError) as caught:
        story("putty_needs_a_ram_plate", "closures.resistance=toy")
    assert '"Herschel-Bulkley" with toy closures' in str(caught.value)
    assert "Newtonian or Casson material, or tabulated closures" in str(caught.value)


def test_only_the_table_has_solves_behind_it_and_only_within_its_ratios(story):
    inlet = geometry_of(story("primer").inlet_check)
    assert TABULATED.solved(inlet, np.array([1e-3, 5e-3]))
    assert not TABULATED.solved(inlet, np.array([1e-3, 3.01 * inlet.contact_radius]))
    assert not TABULATED.solved(inlet._replace(ball_radius=1.9 * inlet.contact_radius), np.array([1e-3]))
    assert not CLOSED_FORM.solved(inlet, np.array([1e-3]))
    assert resistance_of(inlet, np.array([1e-3])).S[0] > 0.0
