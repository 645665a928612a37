"""Whether a size that somebody typed is far outside the usual ones, so that a slip is questioned where it is
typed."""

from collections.abc import Callable, Mapping

from balltravel.bench.new.blanks import Blank

FAR = 1.5
"""By what factor a size must lie outside the usual ones to be questioned (our choice)."""

SIZES: Mapping[str, tuple[float, float]] = {
    "bore": (0.025, 0.1), "stroke": (0.05, 0.2), "ball": (0.015, 0.05), "shims": (0.0005, 0.006),
    "rate": (10 / 60, 45 / 60), "hose": (0.02, 0.076), "length": (0.2, 4.0),
}  # fmt: skip
"""Usual ones as ``Blank.typical`` says them [SI]; of shims each."""

SHARES: Mapping[str, tuple[str, float, float]] = {
    "rod": ("bore", 0.6, 0.8), "seat": ("ball", 0.6, 0.8), "cage": ("ball", 1.2, 1.4),
    "travel": ("ball", 0.05, 0.3),
}  # fmt: skip
"""Usual ones as a share of another size."""


def is_far(blank: Blank, sizes: list[float], size_of: Callable[[str], float | None]) -> bool:
    """Whether one of the ``sizes`` [SI] of a blank is far outside the usual; ``size_of``: the likely size of
    another blank, None where it is not known."""
    whole: float | None = 1.0
    low, high = SIZES.get(blank.name, (0.0, float("inf")))
    if blank.name in SHARES:
        of, low, high = SHARES[blank.name]
        whole = size_of(of)
    return whole is not None and any(not low / FAR <= size / whole <= high * FAR for size in sizes)
