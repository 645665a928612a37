"""Draws of what is not known: for each a value of every input, what these change, and the scenario that they
make."""

import zlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property, lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from balltravel.scenario.arguments import refused
from balltravel.scenario.model import Scenario, ScenarioError, with_values
from balltravel.study.verdict import record
from balltravel.study.verdict.inputs import Drawn, Inputs
from balltravel.study.verdict.materials import apparent_viscosity, reading_key
from balltravel.units.display import prose

Array = NDArray[np.float64]

FIRST = 32
"""Draws of a first look; larger sets are twice, four times, ... as large and begin with it."""

BITS = 30
"""Binary digits of a share."""

LEADING: tuple[tuple[str, ...], ...] = (
    ("material.viscosity", reading_key(1)),
    ("inlet_check.seat",),
    ("closures.ball_position",),
    ("material.thinning_exponent",),
    ("material.free_gas_fraction",),
    ("inlet_check.cage_diameter",),
    ("inlet_check.seat_diameter",),
    ("suction.lift",),
    ("inlet_check.base_travel",),
    ("material.thinning_onset", reading_key(2)),
    ("material.yield_stress", reading_key(3)),
    ("material.flow",),
    ("suction.hose_diameter",),
    ("suction.port_compliance",),
    ("inlet_check.discharge_coefficient",),
    ("drive.cycle_rate", "drive.free_cycle_rate"),
    ("material.vapour_pressure",),
    ("material.temperature",),
    ("suction.loss_coefficient",),
    ("material.activation_energy",),
    ("drive.dwell_time",),
    ("material.density",),
    ("material.least_viscosity", reading_key(4)),
    ("suction.temperature",),
    ("drive.ramp_time",),
    (reading_key(5),),
    (reading_key(6),),
    ("outlet.tip_diameter",),
    ("drive.supply_gauge_pressure",),
    ("outlet.gauge_pressure",),
    ("piston_check.seat",),
    ("piston_check.seat_diameter",),
    ("piston_check.cage_diameter",),
    ("piston_check.travel",),
    ("lower.bore",),
    ("material.bulk_modulus",),
    ("lower.lower_dead_volume",),
)
"""Inputs that have a dimension of one Sobol sequence, those that decide most often first (our choice); keys
of which a scenario draws but one share it."""

PLACES = (*range(19), 22, 23, 24, 27, 28, 29, 32, 37, 44, 46, 50, 56, 60, 68, 85, 98, 99, 119)
"""Dimensions of scipy's Sobol sequence of which no two go together in 128 draws: correlations below 0.25 in
24 scrambled sets, where others come to 0.8 (measured)."""


OF_MACHINE = ("lower.", "inlet_check.", "piston_check.", "drive.")
"""How the keys begin whose drawn values may contradict each other: a ball falls through its seat. The user's
lower is none of that kind, so such a draw is left out. Any other that is refused may well be the truth, and
so may a ball that has less room in its cage than the closures know."""

ENDING = (
    "inlet_check.seat_half_angle",
    "piston_check.seat_half_angle",
    "outlet.hose_compliance",
    "suction.port_compliance",
)
"""Keys whose drawn value ends where others leave no more room for it, for the lower is there all the same: a
ball that would touch above or below its cone sits on the cone's edge, and a hose gives no more than it
holds."""

HALVINGS = 12
"""Of the way from the likely value to the drawn one."""

OF_MATERIAL = "material."
"""How the keys begin that belong to a material and not to its lower or its site."""


@dataclass(frozen=True)
class Draws:
    """Sets of values of all that is not known.

    ``shares`` of chance between 0 and 1 and ``values`` [SI], an array [draw, input] in the order of the
    inputs; of names their place among the choices. ``changes``: dotted key -> SI value, one a draw, None
    where a key goes; ``scenarios`` that they make, None where they make none: ``refused`` says why, by draw,
    and ``impossible`` which of these are of a machine that cannot be.
    """

    inputs: Inputs
    seed: int
    shares: Array
    values: Array
    changes: tuple[dict[str, Any], ...]
    scenarios: tuple[Scenario | None, ...]
    refused: dict[int, str] = field(default_factory=dict)
    impossible: frozenset[int] = frozenset()

    def __len__(self) -> int:
        return len(self.changes)

    @property
    def scenario(self) -> Scenario:
        """What all draws start from: every input at its likely value."""
        return self.inputs.scenario

    @property
    def drawn(self) -> tuple[Drawn, ...]:
        """The inputs, one a column."""
        return self.inputs.drawn

    def column(self, key: str) -> Array:
        """The drawn values of an input."""
        return self.values[:, [item.key for item in self.drawn].index(key)]

    def first(self, count: int) -> "Draws":
        """The first draws alone."""
        few = {i: why for i, why in self.refused.items() if i < count}
        cut = (self.shares[:count], self.values[:count], self.changes[:count], self.scenarios[:count])
        return Draws(self.inputs, self.seed, *cut, few, self.impossible & few.keys())

    def viscosity(self, rate: float) -> Array:
        """Viscosity [Pa s] of each draw at a shear rate [1/s], in the lower; nan where it was refused."""
        return np.array([np.nan if s is None else apparent_viscosity(s, rate) for s in self.scenarios])

    @cached_property
    def rows(self) -> tuple[record.Input, ...]:
        """The inputs for a report: below which values 5, 50 and 95 of 100 draws lie."""
        return tuple(_row(item, self.column(item.key)) for item in self.drawn)


def _row(item: Drawn, values: Array) -> record.Input:
    ends = np.quantile(values, [0.05, 0.5, 0.95], method="inverted_cdf").tolist()
    told = [item.spread.choices[int(end)] for end in ends] if item.spread.choices else ends
    return record.Input(item.key, item.name, prose(item.origin), item.dimension, *told)


ALONE: Sequence[Mapping[str, Any]] = ({},)
"""Of a draw that goes with no further changes."""


def draw(
    inputs: Inputs,
    count: int,
    seed: int = 0,
    own: str = "",
    beside: Sequence[Mapping[str, Any]] = ALONE,
) -> Draws:
    """So many draws, a power of two. The first 32 of 128 are the set of 32, and so on; an input has the same
    shares of chance whatever others there are. ``own``: a material whose keys are drawn apart from those of
    other names, while all other keys have the same shares with each. ``beside``: further changes (dotted key
    -> SI value), with each of which a draw is to make a scenario; ``scenarios`` are those with the last."""
    if count < 1 or count & (count - 1):
        raise refused("draws", f"{count} given", f"a power of two, {FIRST} or more for a look", "128")
    shares = np.column_stack(
        [_shares(item.key, count, seed, own) for item in inputs.drawn] or [np.empty((count, 0))]
    )
    columns = [item.spread.at(shares[:, k]) for k, item in enumerate(inputs.drawn)]
    rows = zip(*(column.tolist() for column in columns), strict=True) if columns else [()] * count
    keys = [item.key for item in inputs.drawn]
    drawn = [inputs.followed(dict(zip(keys, row, strict=True))) for row in rows]
    scenarios, why, impossible = list[Scenario | None](), dict[int, str](), set[int]()
    for i, values in enumerate(drawn):
        made = _made(inputs, values, beside)
        scenarios.append(None if isinstance(made, ScenarioError) else made)
        if isinstance(made, ScenarioError):
            why[i] = str(made)
            if any(fault.key.startswith(OF_MACHINE) and not fault.of_model for fault in made.faults):
                impossible.add(i)
    coded = [_coded(item, [values[item.key] for values in drawn]) for item in inputs.drawn]
    table, changes = np.column_stack(coded or [np.empty((count, 0))]), tuple(map(inputs.changes, drawn))
    return Draws(inputs, seed, shares, table, changes, tuple(scenarios), why, frozenset(impossible))


def _made(
    inputs: Inputs, values: dict[str, Any], beside: Sequence[Mapping[str, Any]]
) -> Scenario | ScenarioError:
    """The scenario of a draw, whose ``values`` of the keys of ``ENDING`` are brought within what the others
    leave for them; why there is none."""
    made: Scenario | ScenarioError = inputs.scenario
    for further in beside:
        made = _made_beside(inputs, values, further)
        if isinstance(made, ScenarioError):
            break
    return made


def _made_beside(
    inputs: Inputs, values: dict[str, Any], further: Mapping[str, Any]
) -> Scenario | ScenarioError:
    """The same with one set of further changes."""
    try:
        return with_values(inputs.scenario, {**inputs.changes(values), **further})
    except ScenarioError as error:
        likely = {item.key: item.spread.likely for item in inputs.drawn if item.key in ENDING}
        if not {fault.key for fault in error.faults} <= likely.keys():
            return error
        ends = {fault.key: likely[fault.key] for fault in error.faults}
        return _ended(inputs, values, ends, further) or error


def _ended(
    inputs: Inputs, values: dict[str, Any], likely: Mapping[str, float], further: Mapping[str, Any]
) -> Scenario | None:
    """The scenario with these keys as far from their likely values as the rules let them be; None where they
    do not even hold at those."""
    made, inside, outside = None, 0.0, 1.0
    share, far = 0.0, {key: values[key] for key in likely}
    for _ in range(HALVINGS):
        tried = {key: now + share * (far[key] - now) for key, now in likely.items()}
        try:
            changes = {**inputs.changes({**values, **tried}), **further}
            made = with_values(inputs.scenario, changes)
        except ScenarioError:
            if made is None:
                return None
            outside = share
        else:
            inside = share
            values.update(tried)
        share = 0.5 * (inside + outside)
    return made


def _coded(item: Drawn, column: list[Any]) -> Array:
    """Values as numbers: of names their place among the choices."""
    places = {name: place for place, name in enumerate(item.spread.choices)}
    return np.array([places[value] for value in column] if places else column, np.float64)


def _shares(key: str, count: int, seed: int, own: str = "") -> Array:
    """Shares of chance of an input, which hang on its key and the seed alone: so no input moves when another
    gets known exactly.

    A key of ``LEADING`` has its dimension of a scrambled Sobol sequence, all others the first dimension of
    one of their own, shuffled: even in each, independent between them. Those of a material of its ``own`` are
    shuffled together; another seed would not do, for two scrambles of one dimension go up and down together
    (correlations to 0.98, measured).
    """
    size = max(count, FIRST)
    place = next((k for k, keys in enumerate(LEADING) if key in keys), None)
    if place is not None:
        points = _sobol(size, seed)[:, PLACES[place]]
    else:
        points = _of_one(size, [seed, zlib.crc32(key.encode())])
    if own and key.startswith(OF_MATERIAL):
        points = _shuffled(points, np.random.default_rng([seed, zlib.crc32(own.encode())]))
    return np.asarray(points[:count] + 0.5 ** (BITS + 1))


@lru_cache(maxsize=2)
def _sobol(count: int, seed: int) -> Array:
    """Points of a scrambled Sobol sequence (Owen 1998; by scipy), always of as many dimensions."""
    from scipy.stats import qmc

    return np.asarray(qmc.Sobol(PLACES[-1] + 1, bits=BITS, rng=np.random.default_rng(seed)).random(count))


def _of_one(count: int, seed: list[int]) -> Array:
    """The same of one dimension, shuffled."""
    from scipy.stats import qmc

    rng = np.random.default_rng(seed)
    return _shuffled(qmc.Sobol(1, bits=BITS, rng=rng).random(count)[:, 0], rng)


def _shuffled(points: Array, rng: np.random.Generator) -> Array:
    """The points in an order of chance within each doubling of their number."""
    points, start, stop = points.copy(), 0, FIRST
    while start < len(points):
        points[start:stop] = rng.permutation(points[start:stop])
        start, stop = stop, 2 * stop
    return points
