"""Metrics of a sound cycle that nobody ran: half a litre swept, all of it delivered."""

from dataclasses import replace
from typing import Any

from balltravel.cycle.metrics import CheckMetrics, LossBudget, Metrics

SOUND_CHECK = CheckMetrics(0.03, 0.01, 0.02, 0.02, 1e-6, 0.0, 0.2, 1e-3, 0.3, 0.005, 0.005)
SWEPT = 5e-4


def budget(**changes: float) -> LossBudget:
    """All that is swept is delivered, but for the changes."""
    return LossBudget(**({"swept": SWEPT, "delivered": SWEPT, **dict.fromkeys(LOSSES, 0.0)} | changes))


LOSSES = ("underfill", "inlet_backflow", "piston_backflow", "leak", "compression_and_gas", "residual")


def check(**changes: Any) -> CheckMetrics:
    """A ball that lands softly and comes home, but for the changes."""
    return replace(SOUND_CHECK, **changes)


def metrics(**changes: Any) -> Metrics:
    """A cycle of two seconds that fills, but for the changes."""
    sound = Metrics(
        fill_fraction=0.98, fill_at_top_dead_centre=0.98, volumetric_efficiency=1.0, delivered_volume=SWEPT,
        delivered_flow=0.5 * SWEPT, delivered_upstroke=0.5 * SWEPT, delivered_downstroke=0.5 * SWEPT,
        inlet_gauge_pressure=-1e4, upstroke_time=1.0, downstroke_time=1.0, dip_at_top=0.1, dip_at_bottom=0.05,
        lowest_chamber_pressure=6e4, lowest_pressure_at_pull_off=6e4,
        lowest_pressure_after=7e4, lowest_port_pressure=9e4, vapour_margin=5e4, void_volume=0.0,
        void_collapse=0.0, lost_stroke=1e-3, lost_upstroke=1e-3, lost_downstroke=1e-3, volume_residual=1e-9,
        cycle_rate=0.5, piston_speed=0.1, outlet_pressure=1e7, spray_pressure=1e7, pressure_dip=0.1,
        packing_leak_volume=0.0, rod_leak_volume=0.0, inlet=SOUND_CHECK, piston=SOUND_CHECK,
        loss_budget=budget(),
    )  # fmt: skip
    return replace(sound, **changes)
