"""Which cause fits what was seen: a curve of its signs over its size, all that is not known as one Gaussian.

Seen values, and those that the runs expect, stand on the scale of their sign (a logarithm or the value). A
cause moves them by its size; what is not known moves them by slopes that all causes share; the rest is how
well they are read. So each cause's probability is its evidence: the mean over its sizes, all equally likely,
of a normal law's density. Each cause and none begin as equally likely.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from balltravel.bench.observed import Condition, Observations, Reading
from balltravel.bench.one_sided import chi_square_of, log_likelihood, taken
from balltravel.bench.runs import Answers
from balltravel.bench.signs import MILLIMETRE, SIGNS, SLOWEST, Array

SIZES = 60
"""Sizes of a cause that are looked at, from barely any to the largest."""

DAILY = (
    "material.",
    "suction.lift",
    "suction.temperature",
    "drive.supply_gauge_pressure",
    "drive.cycle_rate",
)
DAILY_SHARE = 1.0 / 3.0
"""What may differ between a good day and today, and by what share of how well it is known at all (our
choice)."""

CURVE_ERROR = 0.2
"""How far a curve may be off, over how far its cause moves a reading; and slopes of what is not known, which
bend as well (our choice)."""

OFFSET = 10.0
"""By how many times its reading's error a sign of the scenario may be off, both on a good day and today (our
choice): a scenario that is wrong must not point to a cause."""

CREEP = ("seconds_per_stroke_up", "seconds_per_stroke_down")
GIVE = ("give_up", "give_down")
BY_THE_CUBE = (*CREEP, "gland_weep")
"""Signs that rise about with the cube of a gap: the cube root is what a curve goes through."""

REACTION = 0.5
"""Time [s] that an eye takes to tell a jump of the rod from the creep that follows (our choice)."""


@dataclass(frozen=True)
class Row:
    """A reading: its sign, the situation that it is of (``seen 1``, ``stall``), whether it is of a good day,
    and on the sign's scale its value and standard deviation; ``floor``: what was added to be able to say that
    nothing was seen. ``at_most``: the value is a bound, for nothing was seen."""

    key: str
    situation: str
    good: bool
    value: float
    sd: float
    floor: float
    at_most: bool = False

    @property
    def none_in(self) -> float | None:
        """For how long [s] nobody saw a creep; None of a reading with a value."""
        return MILLIMETRE / self.floor if self.at_most else None

    def scaled(self, value: float) -> float:
        """A value [SI] on the sign's scale."""
        return float(SIGNS[self.key].scaled(value, self.floor))


@dataclass(frozen=True)
class Curve:
    """What a cause does to the readings: sizes as shares of its largest (n), and what is expected at each (n,
    readings)."""

    shares: Array
    expected: Array


@dataclass(frozen=True)
class Fitted:
    """How a cause fits: its evidence (logarithm), the share of its largest size that fits best, what is
    expected there (readings), chi-square, its effect in standard deviations of all that is not known, and
    the largest that any of its sizes would have; how probable each of its sizes is, as shares of the largest
    (n), what is expected at each (n, readings)."""

    evidence: float
    share: float
    expected: Array
    chi_square: float
    effect: float
    largest_effect: float
    shares: Array
    weights: Array
    curve: Array


def rows_of(observed: Observations, stroke: float) -> list[Row]:
    """All readings of a file; ``stroke`` [m] turns times of creep into speeds."""
    rows = []
    for good, conditions in ((False, observed.seen), (True, observed.good_days)):
        for number, condition in enumerate(conditions, 1):
            situation = _situation(condition, observed, number)
            rows += [
                _row(key, situation, good, reading, stroke) for key, reading in condition.readings.items()
            ]
    for good, stall in ((False, observed.stall), (True, observed.good_stall)):
        rows += [_stall_row(key, good, stall, stroke) for key in stall]
    return rows


def give_sd(creep: float) -> float:
    """How well a give is read [m] where the piston creeps on at a speed [m/s]."""
    return math.hypot(SIGNS[GIVE[0]].sd, REACTION * creep)


def _stall_row(key: str, good: bool, stall: Mapping[str, Reading], stroke: float) -> Row:
    """A reading of a stall; a give is told from the creep, the worse the faster that is."""
    row = _row(key, "stall", good, stall[key], stroke)
    creep = stall.get(CREEP[GIVE.index(key)]) if key in GIVE and stall[key].sd is None else None
    if creep is None or creep.none:
        return row
    return replace(row, sd=give_sd(stroke / creep.value))


def _situation(condition: Condition, observed: Observations, number: int) -> str:
    """A good day is of the first condition that was set like it."""
    same = [i for i, seen in enumerate(observed.seen, 1) if seen.changes == condition.changes]
    return f"seen {same[0] if same else number}"


def row_at(key: str, situation: str, stroke: float) -> Row:
    """A reading that nobody has made yet, as well as it is usually made."""
    return _row(key, situation, False, Reading(math.nan), stroke)


def _row(key: str, situation: str, good: bool, reading: Reading, stroke: float) -> Row:
    sign = SIGNS[key]
    value, sd, floor = reading.value, reading.sd, sign.floor
    if reading.none:
        # The piston moved less than an eye sees in the time: a bound of its speed, which is the floor too.
        floor = MILLIMETRE / value
        return Row(key, situation, good, float(sign.scaled(floor, floor)), sign.sd, floor, at_most=True)
    if key in CREEP:
        floor = MILLIMETRE / SLOWEST
        value, sd = stroke / value, sd and sd * stroke / value**2  # sd is that of the time
    if sd is None:
        return Row(key, situation, good, float(sign.scaled(value, floor)), sign.sd, floor)
    scaled = sd / max(value + floor, 1e-300) if sign.share else sd
    return Row(key, situation, good, float(sign.scaled(value, floor)), scaled, floor)


class Model:
    """What the runs expect of a list of readings; those that a situation cannot have are nan."""

    def __init__(self, rows: Sequence[Row], answers: Mapping[str, Answers]) -> None:
        self.rows, self.answers = tuple(rows), answers
        self.values = np.array([row.value for row in rows])
        self.at_most = np.array([row.at_most for row in rows], bool)
        self.sound = np.array([row.scaled(self._of(row).sound[row.key]) for row in rows])
        self._unknowns = sorted({name for each in answers.values() for name in each.unknowns})
        moves = [[self._move(row, name) for name in self._unknowns] for row in rows]
        self._moves = np.array(moves).reshape(len(rows), len(self._unknowns))
        self.covariance = self.covariance_at(self.sound[None])[0]

    def _of(self, row: Row) -> Answers:
        return self.answers[row.situation]

    def covariance_at(self, expected: Array) -> Array:
        """Covariances (n, readings, readings) of readings about what is expected of them (n, readings).

        Errors of reading, all that is not known, and with a good day what may have changed since and how far
        the scenario may be off."""
        slopes = self._slopes(expected)
        bent = CURVE_ERROR**2 * (slopes**2).sum(axis=2)
        total = slopes @ slopes.swapaxes(1, 2) + bent[:, :, None] * np.eye(len(self.rows))
        total += np.diag([row.sd**2 for row in self.rows])
        compared = {(row.situation, row.key) for row in self.rows if row.good}
        if compared:
            today = np.array([0.0 if row.good else DAILY_SHARE for row in self.rows])
            daily = slopes[:, :, [name.startswith(DAILY) for name in self._unknowns]] * today[:, None]
            total = total + daily @ daily.swapaxes(1, 2)
        for place in compared:
            same = np.array([(row.situation, row.key) == place for row in self.rows])
            off = np.where(same, OFFSET * SIGNS[place[1]].sd, 0.0)
            total = total + np.outer(off, off)
        return np.asarray(total)

    def moving(self, share: float) -> set[str]:
        """Unknowns that move some reading by a share of its standard deviation or more."""
        moves = np.abs(self._slopes(self.sound[None])[0])
        count = (moves >= share * np.sqrt(np.diag(self.covariance))[:, None]).any(axis=0)
        return {name for name, counts in zip(self._unknowns, count, strict=True) if counts}

    def _slopes(self, expected: Array) -> Array:
        """How far each unknown moves each reading by one of its standard deviations (n, readings, unknowns).
        What leaks adds to a leak: the same is little, as a ratio, where much leaks already."""
        slopes = np.repeat(self._moves[None], len(expected), axis=0)
        for i, row in enumerate(self.rows):
            if row.key in BY_THE_CUBE:
                leaks = np.exp(expected[:, i, None])
                slopes[:, i] = np.log(np.maximum(leaks + self._moves[i], 0.5 * leaks) / leaks)
        return slopes

    def _move(self, row: Row, name: str) -> float:
        """How far an unknown moves a reading of a sound lower, of what leaks its value [SI]."""
        moved = self._of(row).unknowns.get(name)
        if moved is None:
            return 0.0
        values = moved[row.key], self._of(row).sound[row.key]
        if row.key not in BY_THE_CUBE:
            values = row.scaled(values[0]), row.scaled(values[1])
        by = values[0] - values[1]
        return by if math.isfinite(by) else 0.0

    def curve(self, cause: str, sizes: int = SIZES) -> Curve | None:
        """What a cause expects over its sizes, up to the largest that could be run; None if none could."""
        shares, nodes = self._nodes(cause)
        if len(shares) < 2:
            return None
        from scipy.interpolate import PchipInterpolator

        fine = np.linspace(0.0, shares[-1], sizes + 1)[1:]
        columns = []
        for row, values in zip(self.rows, nodes.T, strict=True):
            cube = row.key in BY_THE_CUBE
            over = PchipInterpolator(shares, np.cbrt(values) if cube else values)(fine)
            columns.append(SIGNS[row.key].scaled(over**3, row.floor) if cube else over)
        return Curve(fine, np.array(columns).T)

    def _nodes(self, cause: str) -> tuple[Array, Array]:
        """Shares at which a cause was run, none of it among them, and the readings there (of what rises by
        the cube the value [SI], else on the sign's scale); a good day has nothing of it."""
        nodes = np.array([self._at_nodes(row, cause) for row in self.rows]).T
        whole = np.isfinite(nodes).all(axis=1)
        until = len(whole) if whole.all() else int(np.argmin(whole))
        return np.array([0.0, *self._shares(cause)])[:until], nodes[:until]

    def _shares(self, cause: str) -> tuple[float, ...]:
        """Those of a cause in any situation: they are the same in all."""
        return next(iter(self.answers.values())).shares_of(cause)

    def _at_nodes(self, row: Row, cause: str) -> Array:
        answers = self._of(row)
        sound = answers.sound[row.key]
        moved = np.full(len(self._shares(cause)), sound) if row.good else answers.causes[cause][row.key]
        values = np.array([sound, *moved])
        if row.key in BY_THE_CUBE:
            return values
        return np.array([row.scaled(value) for value in values])

    def fits(self, causes: Sequence[str]) -> dict[str, Fitted]:
        """How each cause that can be fits the readings, and how none does (named by an empty text)."""
        fits = {"": self._fit(Curve(np.zeros(1), self.sound[None, :]))}
        for cause in causes:
            curve = self.curve(cause)
            if curve is not None:
                fits[cause] = self._fit(curve)
        return fits

    def by_size(self, curve: Curve, curve_error: float = CURVE_ERROR) -> tuple[Array, Array]:
        """Chi-square, and the logarithm of the likelihood, of each size of a cause.

        By a covariance that grows with the effect: a curve is the less right the farther it goes."""
        off, moved = self.values - curve.expected, curve.expected - self.sound
        grown = self.covariance_at(curve.expected)
        grown += (curve_error * moved)[:, :, None] ** 2 * np.eye(len(self.rows))
        chi_square = chi_square_of(off, np.linalg.inv(grown), self.at_most)
        return chi_square, log_likelihood(off, grown, self.at_most)

    def off(self, expected: Array) -> Array:
        """How far the readings are off what is expected of them (n, readings); a bound that is kept, no
        farther than all others make likely."""
        return taken(self.values - expected, np.linalg.inv(self.covariance), self.at_most)

    def seen(self, expected: Array) -> Array:
        """What is expected as far as it would be seen: below its bound nothing is (n, readings)."""
        return np.where(self.at_most, np.maximum(expected, self.values), expected)

    @property
    def freedom(self) -> int:
        """Degrees of freedom of a cause's best fit: a bound is none."""
        return max(int((~self.at_most).sum()) - 1, 1)

    def _fit(self, curve: Curve) -> Fitted:
        chi_square, likely = self.by_size(curve)
        moved = self.seen(curve.expected) - self.seen(self.sound)
        effects = np.sqrt(np.einsum("ni,ni->n", moved, np.linalg.solve(self.covariance, moved.T).T))
        best, top = int(np.argmax(likely)), float(likely.max())
        return Fitted(
            top + math.log(float(np.exp(likely - top).mean())),
            float(curve.shares[best]),
            curve.expected[best],
            float(chi_square[best]),
            float(effects[best]),
            float(effects.max()),
            curve.shares,
            np.exp(likely - top) / np.exp(likely - top).sum(),
            curve.expected,
        )
