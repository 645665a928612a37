"""How well a quantity is usually known: a mark that stands beside a key in its table.

A user who just writes ``viscosity = "5 Pa.s"`` does not know it to three digits. What is said here is drawn
unless a range is given, or ``exactly``.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Literal

from balltravel.units.spread import Spread, log_even

PRACTICE = "common practice, no source"
OUR_CHOICE = "our choice"
MEMORY = "from memory, no source"

ORIGIN = "typical"
"""The origin of a spread that nobody stated."""

Companions = Callable[[Mapping[str, Any]], dict[str, Any]]
"""From the values of a key's table, name -> value [SI], those of the keys that go with a choice."""


@dataclass(frozen=True)
class Typical:
    """How well a key's value is known where nobody says so.

    One of these holds: within ``factor`` times more or less (95 of 100 values, of the logarithm); within the
    ``amount`` [SI] (95 of 100, or ``even`` between the ends); within the first amount of ``by_size`` [m, m]
    whose size is not below the value; one of the ``choices`` with their ``weights``, with ``companions`` for
    those that need further keys. ``unknown``: low and high [SI], or low, likely and high, where the value is
    not known at all.
    ``of_default``: whether a value that somebody wrote is known exactly. ``acts_with``: another key, and its
    choices with which this one plays a part. ``source``: where the numbers are from.
    """

    source: str
    factor: float = 1.0
    amount: float = 0.0
    even: bool = False
    by_size: tuple[tuple[float, float], ...] = ()
    choices: tuple[str, ...] = ()
    weights: tuple[float, ...] = ()
    companions: tuple[tuple[str, Companions], ...] = ()
    unknown: tuple[float, ...] = ()
    of_default: bool = False
    acts_with: tuple[str, tuple[str, ...]] | tuple[()] = ()

    @property
    def kind(self) -> Literal["choices", "factor", "amount"]:
        """By what it spreads a value."""
        return "choices" if self.choices else "factor" if self.factor > 1.0 else "amount"

    def about(self, value: Any) -> Spread:
        """The spread of a value [SI] that was written or taken by default; exact where it has none: a factor
        of nothing."""
        if self.kind == "choices":
            return Spread("choices", choices=self.choices, weights=self.weights, origin=ORIGIN)
        if self.kind == "factor":
            if value <= 0.0:
                return Spread("exact", (value,), origin=ORIGIN)
            return Spread("normal", (value, self.factor), logarithmic=True, origin=ORIGIN)
        amount = self._amount(value)
        if self.even:
            return Spread("even", (value - amount, value + amount), origin=ORIGIN)
        return Spread("normal", (value, amount), origin=ORIGIN)

    def _amount(self, value: float) -> float:
        """The amount for a value of this size."""
        of_this_size = [amount for size, amount in self.by_size if value <= size]
        return of_this_size[0] if of_this_size else self.by_size[-1][1] if self.by_size else self.amount

    def of_unknown(self) -> Spread | None:
        """The spread of a value that is not known at all, if one is usual."""
        if self.kind == "choices":
            return self.about(None)
        if not self.unknown:
            return None
        law = "triangle" if len(self.unknown) == 3 else "even"
        logarithmic = log_even(self.unknown[0], self.unknown[-1])
        return Spread(law, self.unknown, logarithmic=logarithmic, origin=ORIGIN)


CALIPER = Typical("a caliper's reading of a turned part (common practice, no source)", amount=5e-5)
"""A length or a diameter of a small turned part that somebody measured."""

BORED = Typical(
    "ISO 2768-1 (1989), table 1, class f (read in a reprint)",
    by_size=((6e-3, 5e-5), (0.03, 1e-4), (0.12, 1.5e-4), (0.4, 2e-4), (1.0, 3e-4)),
)
"""A diameter that is bored or turned: the tolerance of a size that has none of its own."""

HOSE_BORE = Typical(
    "ISO 1307 (2006), table 1 (read in a reprint)",
    by_size=((0.0105, 4e-4), (0.0205, 6e-4), (0.0515, 8e-4), (0.0635, 1e-3), (0.1005, 1.6e-3), (0.5, 2.5e-3)),
)
"""The bore of a hose of rubber or plastics: half of what one built on a rigid mandrel may differ, 37.7 to
39.3 mm where it is 38 mm by name; the last step is that of 200 mm."""

GAUGE = Typical("a gauge of class 2.5 (EN 837-1), read at half of its scale (from memory)", factor=1.05)
"""A pressure that somebody reads off a gauge."""
