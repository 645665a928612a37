"""Which inputs are told to decide, of what single ones and the viscosity that they make would save."""

import numpy as np

from balltravel.study.verdict.deciding import Candidate, _deciding, _most
from balltravel.study.verdict.knowing import Saving

CLEAR, HIDDEN, NOTHING = Saving(0.006, 0.001), Saving(0.003, 0.002), Saving(0.0001, 0.002)


def candidate(key, name=""):
    return Candidate(key, name or key, "", np.zeros(4))


ENERGY, READING = candidate("material.activation_energy"), candidate("material.readings[1]")
GAS = candidate("material.free_gas_fraction")
WHOLE = candidate("material.viscosity", "viscosity in the lower")


def test_where_the_viscosity_counts_the_input_of_it_that_saves_most_stands_for_it():
    saved = [(READING, NOTHING), (ENERGY, HIDDEN), (GAS, NOTHING)]
    (told,) = _deciding(saved, [(WHOLE, CLEAR)], 0.01)
    assert told.key == "material.activation_energy"
    assert (told.name, told.saved) == ("viscosity in the lower", 0.006)


def test_what_is_hidden_in_the_noise_and_makes_no_clear_viscosity_is_not_told():
    assert _deciding([(READING, NOTHING), (ENERGY, HIDDEN)], [(WHOLE, HIDDEN)], 0.01) == ()


def test_inputs_that_are_clear_by_themselves_are_told_once_each_the_most_first():
    saved = [(READING, CLEAR), (GAS, Saving(0.008, 0.001)), (ENERGY, Saving(0.005, 0.001))]
    told = _deciding(saved, [(WHOLE, CLEAR)], 0.007)
    assert [known.key for known in told] == [
        "material.free_gas_fraction",
        "material.readings",
        "material.activation_energy",
    ]
    assert told[0].saved == 0.007  # no more than there is to save


def test_at_most_is_told_only_of_the_input_that_saves_most_of_all():
    clear = Saving(0.002, 0.0005)
    assert _most([(GAS, clear), (ENERGY, NOTHING)], 0.01).saved == clear.saved
    assert _most([(GAS, clear)], 0.001).saved == 0.001  # no more than there is to save
    assert _most([(ENERGY, HIDDEN), (GAS, clear)], 0.01) is None
    assert _most([], 0.01) is None
