"""What a value that is not known well may be: a law by which shares of chance become values."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

LAWS = ("exact", "even", "triangle", "normal", "choices", "scipy")

SURE = 1.959963984540054
"""Standard deviations within which 95 of 100 values of a normal law lie."""

MOST = 3.0
"""Standard deviations at which the tails of a normal law are cut (our choice)."""

LOG_RATIO = 3.0
"""High over low from which on a law is that of the logarithm (our choice)."""


def log_even(low: float, high: float) -> bool:
    """Whether a value between these is spread in its logarithm."""
    return low > 0.0 and high >= LOG_RATIO * low


@dataclass(frozen=True)
class Spread:
    """A law of chance for one value [SI].

    ``numbers``: of ``exact`` the value; of ``even`` both ends; of ``triangle`` low, likely and high; of
    ``normal`` the middle and how far from it 95 of 100 lie, tails cut at 3 standard deviations; of
    ``scipy`` nothing, for ``name`` is a distribution of scipy.stats and ``shape`` its keywords.
    ``logarithmic``: the law is that of the value's logarithm, and the reach of a normal one a factor.
    ``choices`` with their ``weights`` for names. ``origin``: where it is from; empty where somebody gave it.
    ``limits``: where given, values beyond them are drawn at them. ``follows``: the dotted key, if any, to
    whose drawn value each is in proportion: a viscosity that was written in cSt to the density.
    """

    law: str
    numbers: tuple[float, ...] = ()
    logarithmic: bool = False
    choices: tuple[str, ...] = ()
    weights: tuple[float, ...] = ()
    name: str = ""
    shape: tuple[tuple[str, float], ...] = ()
    origin: str = ""
    limits: tuple[float, ...] = ()
    follows: str = ""

    def at(self, shares: ArrayLike) -> NDArray[Any]:
        """The values below which these shares of chance (between 0 and 1) lie, in their shape; of names each
        has a part of the way from 0 to 1 as long as its weight."""
        share = np.asarray(shares, np.float64)
        if self.law == "choices":
            ends = np.cumsum(self.weights or (1.0,) * len(self.choices))
            places = np.searchsorted(ends / ends[-1], share, side="right")
            return np.array(self.choices, object)[np.minimum(places, len(self.choices) - 1)]
        values = self._numbers_at(share)
        if not self.limits:
            return values
        low, high = self.limits
        return np.clip(values, low, high)

    def _numbers_at(self, share: Array) -> Array:
        """The values, be they within the limits or not."""
        if self.law == "scipy":
            return np.asarray(self._frozen().ppf(share), np.float64)
        scaled = np.array([math.log(number) for number in self.numbers]) if self.logarithmic else self.numbers
        values = _LAWS[self.law](share, scaled)
        values = np.exp(values) if self.logarithmic else values
        # Round-off must not bring a value beyond an end, which may be the limit of its key.
        return values if self.law == "normal" else np.clip(values, self.numbers[0], self.numbers[-1])

    def _frozen(self) -> Any:
        import scipy.stats

        law = getattr(scipy.stats, self.name, None)
        if not isinstance(law, scipy.stats.rv_continuous):
            raise ValueError("no continuous distribution of scipy.stats")
        return law(**dict(self.shape))

    @property
    def likely(self) -> Any:
        """The likely value: the most likely of a triangle, of names the one of most weight, else the
        middle."""
        if self.law == "triangle":
            return self.numbers[1]
        if self.law in ("exact", "normal"):
            return self.numbers[0]
        if self.law == "choices":
            return self.choices[int(np.argmax(self.weights))] if self.weights else self.choices[0]
        return float(self.at(0.5))

    @property
    def numbers_only(self) -> bool:
        """Whether its values are numbers, not names."""
        return self.law != "choices"

    @property
    def is_exact(self) -> bool:
        """Whether there is but one value."""
        if self.law == "choices":
            return len(self.choices) == 1
        ends = self.at([0.05, 0.95]) if self.law == "scipy" else np.array(self.numbers)
        if self.law == "normal":
            return self.numbers[1] == (1.0 if self.logarithmic else 0.0)
        return bool(np.all(ends == ends[0]))

    @property
    def ends(self) -> tuple[float, float]:
        """The lowest and the highest value of numbers, be they within the limits or not."""
        if self.law == "scipy":
            low, high = self._frozen().support()
            return float(low), float(high)
        if self.law == "normal":
            middle, reach = self.numbers
            wide = MOST / SURE
            if self.logarithmic:
                return middle / reach**wide, middle * reach**wide
            return middle - wide * reach, middle + wide * reach
        return self.numbers[0], self.numbers[-1]

    def within(self, low: float, high: float) -> "Spread":
        """The same law, cut at these limits if it reaches beyond them."""
        ends = self.ends
        return self if low <= ends[0] and ends[1] <= high else replace(self, limits=(low, high))

    def widened(self, factor: float) -> "Spread":
        """The same law with a range ``factor`` times as wide around its likely value; names stay."""
        if self.law in ("choices", "scipy", "exact"):
            return self
        turn: Any = math.log if self.logarithmic else float
        back: Any = math.exp if self.logarithmic else float
        scaled = [turn(number) for number in self.numbers]
        if self.law == "normal":
            wide = (scaled[0], factor * scaled[1])
        else:
            middle = turn(self.likely)
            wide = tuple(middle + factor * (number - middle) for number in scaled)
        return replace(self, numbers=tuple(back(number) for number in wide))


def _even(share: Array, numbers: Sequence[float]) -> Array:
    low, high = numbers
    return np.asarray(low + share * (high - low))


def _triangle(share: Array, numbers: Sequence[float]) -> Array:
    low, likely, high = numbers
    wide = high - low
    if not wide:
        return np.full(share.shape, likely)
    rising = low + np.sqrt(share * wide * (likely - low))
    falling = high - np.sqrt((1.0 - share) * wide * (high - likely))
    return np.where(share * wide < likely - low, rising, falling)


def _normal(share: Array, numbers: Sequence[float]) -> Array:
    from scipy.special import ndtr, ndtri

    middle, reach = numbers
    cut = ndtr(-MOST)
    return np.asarray(middle + reach / SURE * ndtri(cut + share * (1.0 - 2.0 * cut)))


_LAWS = {
    "exact": lambda share, numbers: np.full(share.shape, numbers[0]),
    "even": _even,
    "triangle": _triangle,
    "normal": _normal,
}
