"""A lower with motor and tip whose faults are drawn, run and read with errors: nobody tells the diagnosis
which they are."""

import math

import numpy as np

from balltravel.bench.causes import GAP_KEYS, SOUND_GAP, causes_of
from balltravel.bench.fit import CREEP, GIVE, Model, give_sd, rows_of
from balltravel.bench.observed import Condition, Observations, Reading
from balltravel.bench.runs import answers_of, at_stall, at_work, can_be
from balltravel.bench.signs import CYCLE_SIGNS, SIGNS, SLOWEST, STALL_SIGNS
from balltravel.scenario.model import ScenarioError, with_choices, with_values
from balltravel.scenario.unknowns import spreads_of

from .lowers import scenario

PRESSURE = 4e6
MOTOR = {
    "profile": "motor", "cycle_rate": None, "motor": "hydraulic", "supply_gauge_pressure": 1.2e7,
    "area_ratio": 1.4, "free_cycle_rate": 0.5,
}  # fmt: skip
TIP = {
    "form": "tip", "gauge_pressure": None, "hose_length": 15.0, "hose_diameter": 19e-3,
    "tip_diameter": 1.7e-3, "tip_discharge_coefficient": 0.8,
}  # fmt: skip


class Bench:
    """The lower as it is believed (``scenario``) and as it is (``truth``), what the runs of its diagnosis
    say, and faults drawn from a seed."""

    def __init__(self, seed, viscosity=10.0):
        self.scenario = scenario(material={"viscosity": viscosity}, drive=MOTOR, outlet=TIP)
        self.truth = self.scenario
        self.causes = causes_of(self.scenario)
        self.answers = {
            "seen 1": answers_of(self.scenario, self.causes, at_work(None, None)),
            "stall": answers_of(self.scenario, self.causes, at_stall(PRESSURE, None, None)),
        }
        self.rng = np.random.default_rng(seed)

    def unknowns(self):
        """Everything that is not known, drawn."""
        drawn = {key: self.rng.uniform() * SOUND_GAP for key in GAP_KEYS}
        for key, spread in spreads_of(self.truth).items():
            if spread.numbers_only:
                value = {key: float(spread.at(self.rng.uniform(0.02, 0.98)))}
                drawn |= value if can_be(self.truth, value) else {}
        return drawn

    def with_fault(self, cause, size):
        """Changes of a lower in which all that is not known is drawn, with a cause and without; None where
        its draw cannot have it."""
        changes = self.unknowns()
        try:
            worn = {**changes, **cause.changes(with_values(self.truth, changes), size)}
            with_values(self.truth, worn)
        except ScenarioError:
            return None
        return worn, changes

    def differs(self, changes):
        """From now on the true lower differs from the scenario."""
        self.truth = with_choices(self.scenario, changes)

    def also(self, worn, cause, share, sound):
        """A lower with another cause beside those that it has, and with that one alone; None and None where
        it cannot have both."""
        changes = cause.changes(with_values(self.truth, sound), cause.size(share))
        try:
            with_values(self.truth, {**worn, **changes})
            with_values(self.truth, {**sound, **changes})
        except ScenarioError:
            return None, None
        return {**worn, **changes}, {**sound, **changes}

    def strong_size(self, cause):
        """A size with an effect of three standard deviations or more by the curves; None where there is
        none."""
        every = {key: Reading(1.0) for key in SIGNS}
        rows = rows_of(observations(every), self.scenario.lower.stroke)
        model = Model([row for row in rows if self._has(row)], self.answers)
        curve = model.curve(cause.name)
        moved = curve.expected - model.sound
        effects = np.sqrt((moved * np.linalg.solve(model.covariance, moved.T).T).sum(axis=1))
        strong = curve.shares[effects >= 3.0]
        return cause.size(float(self.rng.choice(strong))) if len(strong) else None

    def _has(self, row):
        return math.isfinite(self.answers[row.situation].sound[row.key])

    def read(self, values):
        """What somebody reads of these signs [SI], with errors; nobody listens to the ball."""
        readings = {
            key: reading(key, values, self.rng, self.scenario.lower.stroke)
            for key in values
            if key != "pounding"
        }
        return {key: read for key, read in readings.items() if read}


def reading(key, values, rng, stroke):
    """What somebody reads of a sign, of the values [SI] of all of them; None where there is none."""
    sign, value, error = SIGNS[key], float(values[key]), rng.normal()
    if not math.isfinite(value):
        return None
    if key in CREEP:
        if value < 1e-3 / SLOWEST:
            return Reading(SLOWEST, None, True)
        return Reading(stroke / value * math.exp(error * sign.sd))
    if sign.share:
        return Reading((value + sign.floor) * math.exp(error * sign.sd) - sign.floor)
    if key in GIVE:
        return Reading(value + error * give_sd(values.get(CREEP[GIVE.index(key)], 0.0)))
    return Reading(value + error * sign.sd)


def observations(read, good=None):
    """Readings as a file of observations has them; ``good``: those of a good day."""

    def split(readings):
        return (
            {key: reading for key, reading in readings.items() if key in those}
            for those in (CYCLE_SIGNS, STALL_SIGNS)
        )

    working, stalled = split(read)
    well, well_stalled = split(good or {})
    good_days = (Condition({}, well),) if well else ()
    return Observations((Condition({}, working),), good_days, PRESSURE, stalled, good_stall=well_stalled)
