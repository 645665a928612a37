"""The system of units that results are shown in: which unit stands for each metric one, and which system is
in use. Whoever asks for results sets it (``units.display.shown_in``); whoever shows a number asks for it
here.
"""

from contextvars import ContextVar

US, METRIC, BOTH = "us", "metric", "both"
SYSTEMS = (US, METRIC, BOTH)

in_use: ContextVar[str] = ContextVar("balltravel_units", default=BOTH)
"""Of the work under way; threads that show numbers get a copy of it (``sweeps.cases.in_threads``)."""

IN_US = {
    "um": "thou", "mm": "in", "cm": "in", "m": "ft",
    "Pa": "psi", "hPa": "psi", "kPa": "psi", "MPa": "psi", "mbar": "psi", "bar": "psi",
    "Pa.s": "cP", "Pa s": "cP", "mPa.s": "cP", "P": "cP", "cSt": "cP", "mm2/s": "cP",
    "kg/m3": "lb/gal", "kg/l": "lb/gal", "g/cc": "lb/gal", "degC": "degF",
    "m/s": "in/s", "mm/s": "in/s", "mm/min": "in/min", "m/min": "in/min",
    "l": "US gal", "m3": "US gal", "mm3": "cc", "ml": "cc", "l/min": "US gpm", "m3/s": "US gpm",
    "g": "lb", "kg": "lb", "N": "lbf", "mN": "lbf", "kN": "lbf", "N/m": "lbf/in", "N/mm": "lbf/in",
    "mJ": "in.lbf", "J": "in.lbf", "cc/bar": "cc/psi", "m3/Pa": "cc/psi", "%/bar": "%/psi", "1/Pa": "%/psi",
    "l/s/bar": "ft3/min/psi", "l/min/bar": "ft3/min/psi", "m3/s/Pa": "ft3/min/psi",
    "bar.min/l": "psi/US gpm", "Pa.s/m3": "psi/US gpm",
}  # fmt: skip
"""Metric unit -> the one that a US shop has in its place. A cc stays one, as the trade counts cc per cycle;
so do times, rates, shear rates, angles, and what only a data sheet has (kJ/mol, 1/K)."""

STRESS_IN_US = "dyn/cm2"
"""Of a yield stress, whose sizes in psi nobody could read; it goes with cP, as Pa does with Pa.s."""

NOT_METRIC = frozenset({*IN_US.values(), STRESS_IN_US, "in3", "inHg", "in3/psi", "ft/s", "%/degF"})
"""Units that no metric printout has."""


def unit_in_use(metric: str, dimension: str = "") -> str:
    """The unit in which numbers are shown that otherwise have this metric unit; ``dimension`` tells a stress
    from a pressure."""
    if in_use.get() != US:
        return metric
    return STRESS_IN_US if dimension == "stress" else IN_US.get(metric, metric)
