"""Samples of keys that scatter or are not known well, drawn from distributions."""

import math
from collections.abc import Mapping
from typing import Any, Literal, Protocol, get_args

import numpy as np
from numpy.typing import NDArray

from balltravel.files.swept import MOST_CASES
from balltravel.scenario.arguments import Number, refused, table_given
from balltravel.scenario.model import FIELDS, ScenarioError, not_swept, quantity_of
from balltravel.scenario.rules.all import Fault
from balltravel.sweeps.values import Read
from balltravel.units import cut, shown

Array = NDArray[np.float64]
Method = Literal["sobol", "latin hypercube", "random"]

CASES = Number("cases", 1, MOST_CASES, "1024")
SEED = Number("seed", 0, 2**63 - 1, "1")

_FINEST = 2.0**-32
"""Shares closer than this to 0 and 1 are moved there: a tail without end has no value at its end."""

_EXAMPLE = '{"material.viscosity": ("1 Pa.s", "20 Pa.s", "log")}'


class Distribution(Protocol):
    """A frozen distribution, as scipy.stats has them."""

    def ppf(self, q: Array) -> Array:
        """The values below which these shares lie."""


def distributions(
    of: Mapping[str, Any], cases: int, method: Method = "sobol", seed: int = 0
) -> dict[str, Array]:
    """Samples for ``sweep(scenario, samples=...)``: dotted key -> ``cases`` values [SI].

    of: dotted key -> a frozen distribution of scipy.stats, in SI; or ``(low, high)``, even between two
    numbers [SI] or texts with units; or ``(low, high, "log")``, even in the logarithm. method: ``"sobol"``
    (scrambled; ``cases`` must be a power of two, for its points are balanced then only), ``"latin
    hypercube"`` or ``"random"``; keys are independent of each other. The same seed (0 or more) gives the
    same values. Limits of a key are checked by ``sweep``: cut the tails of a distribution that reaches
    beyond them. Raises ScenarioError with all faults.
    """
    asked = table_given("distributions", of, _EXAMPLE)
    if not asked:
        raise refused("distributions", "no key given", "a key and its distribution, one or more", _EXAMPLE)
    count, seed = CASES.checked(cases), SEED.checked(seed)
    inverses: dict[str, Distribution] = {}
    faults: list[Fault] = []
    for key, given in of.items():
        try:
            inverses[key] = _inverse(key, given)
        except ScenarioError as error:
            faults += error.faults
    if faults:
        raise ScenarioError(faults)
    shares = np.clip(_shares(len(inverses), count, method, seed), _FINEST, 1.0 - _FINEST)
    return {
        key: np.asarray(inverse.ppf(shares[:, i]), np.float64)
        for i, (key, inverse) in enumerate(inverses.items())
    }


class _Between:
    """Even between two values, or between their logarithms."""

    def __init__(self, low: float, high: float, by_logarithm: bool) -> None:
        self._low, self._high, self._log = low, high, by_logarithm

    def ppf(self, q: Array) -> Array:
        """The values below which these shares lie."""
        if self._log:
            return np.asarray(self._low * np.exp(q * math.log(self._high / self._low)))
        return np.asarray(self._low + q * (self._high - self._low))


def _inverse(key: str, given: Any) -> Distribution:
    """What turns shares into values of a key; raises ScenarioError."""
    fault = not_swept(key)
    if fault:
        raise ScenarioError([fault])
    if quantity_of(FIELDS[key]) is None:
        raise refused(key, "a distribution of no quantity", "a key with numbers", _EXAMPLE)
    if callable(getattr(given, "ppf", None)):
        return given  # type: ignore[no-any-return]
    allowed = 'a frozen distribution of scipy.stats, (low, high) or (low, high, "log")'
    if (
        not isinstance(given, list | tuple)
        or len(given) not in (2, 3)
        or list(given[2:]) not in ([], ["log"])
    ):
        raise ScenarioError([Fault(key, f"{cut(shown(given))} given", allowed, _EXAMPLE)])
    ends = Read(key, list(given[:2]), None)
    if ends.faults:
        raise ScenarioError(list(ends.faults))
    if not isinstance(ends.values, np.ndarray):
        raise ScenarioError([Fault(key, f"{cut(shown(given))} given", allowed, _EXAMPLE)])
    low, high = ends.values.tolist()
    if low >= high or (len(given) == 3 and low <= 0.0):
        allowed = "low below high" + (", both above zero" if len(given) == 3 else "")
        raise ScenarioError([Fault(key, f"{low:g} and {high:g} given", allowed, _EXAMPLE)])
    return _Between(low, high, len(given) == 3)


def _shares(dimensions: int, count: int, method: str, seed: int) -> Array:
    """Points of the unit cube, a row a case."""
    if method not in get_args(Method):
        allowed = " or ".join(f'"{name}"' for name in get_args(Method))
        raise refused("method", f"{shown(method)} given", allowed, '"sobol"')
    chance = np.random.default_rng(seed)
    if method == "random":
        return chance.random((count, dimensions))
    from scipy.stats import qmc

    if method == "latin hypercube":
        return np.asarray(qmc.LatinHypercube(dimensions, rng=chance).random(count))
    below = 1 << (count.bit_length() - 1)
    if below != count:
        allowed = "a power of two: Sobol points are balanced then only"
        raise refused("cases", f"{count} given", allowed, f"{below} or {2 * below}")
    return np.asarray(qmc.Sobol(dimensions, scramble=True, rng=chance).random(count))
