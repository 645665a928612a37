"""Which reading that nobody has made yet would narrow most, by the slopes that are known."""

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from balltravel.bench.calibrate.expected import STALL, sign_of, unread
from balltravel.bench.calibrate.posterior import linear_at
from balltravel.bench.fit import row_at

if TYPE_CHECKING:
    from balltravel.bench.calibrate.calibrate import Fit

WORTH = 0.9
"""Width after over that before above which a further reading is not worth naming (our choice)."""


@dataclass(frozen=True)
class NextReading:
    """A reading: its sign, the situation that it is of, how it is made, and the input that it would narrow
    most, with its width over the prior's now and then."""

    key: str
    name: str
    situation: str
    how: str
    input: str
    now: float
    then: float


def next_reading_of(fit: "Fit", stroke: float) -> NextReading | None:
    """The reading that tells most about all inputs together, and the one that gets narrowest by it; None
    where none is worth making."""
    p = fit.posterior
    situations = sorted({row.situation for row in fit.rows if row.situation.startswith("seen")} | {STALL})
    rows = [row_at(key, name, stroke) for name, key in unread(fit.rows, situations)]
    if not rows:
        return None
    slopes = linear_at(p.best, p.fitted, lambda points: fit.bench.expected(rows, points)).slopes
    best: tuple[float, NextReading] | None = None
    for row, slope in zip(rows, slopes, strict=True):
        moved = p.covariance @ slope
        spread = row.sd**2 + float(slope @ moved)
        widths = np.sqrt(np.maximum(np.diag(p.covariance) - moved**2 / spread, 0.0)) / p.widths
        k, gain = int(np.argmin(widths)), 0.5 * math.log(spread / row.sd**2)
        if widths[k] > WORTH or (best and gain <= best[0]):
            continue
        sign = sign_of(row.key)
        now = float(p.widths[k])
        made = NextReading(row.key, sign.name, row.situation, sign.how, fit.unknowns.each[k].name, now,
                           now * float(widths[k]))  # fmt: skip
        best = (gain, made)
    return best[1] if best else None
