"""The suction side as plain text: heads in metres, feet, bar and psi, and the vessel."""

import math
from collections.abc import Iterator, Sequence

from balltravel.report.tables import bullets, conditions, filled, number, plain, rounded, table, travel_set
from balltravel.scenario.model import Scenario
from balltravel.setup.drive import cycle_rate_of
from balltravel.study.site.suction_head import LESS_DELIVERY, SuctionReport, VesselReport
from balltravel.units import from_si, to_text
from balltravel.units.systems import BOTH, METRIC, US, in_use

_LESS = f"{100.0 * LESS_DELIVERY:g} %"

_NOTE = f"""\
Heads of the material at the inlet port; losses at full piston speed, acceleration head of the liquid in
the line at its largest. NPSH available: pressure on the surface plus static head, less losses and vapour
pressure (absolute). NPSH required: the NPSH at which underfill, backflow and leaks take {_LESS} more than
with ample suction pressure, found by runs of the full model with other pressures on the surface; below
zero where the losses above are too brief to starve the chamber. What free gas takes by expanding is left
out. The {_LESS} is common practice for centrifugal pumps, of their delivery, and is used for
reciprocating pumps too. The velocity head is part of the NPSH and is not subtracted."""

_HARMONIC = (
    "A crank's largest speed and largest acceleration do not coincide: the sum of the losses is too high."
)

GAS_TOLD = 0.01
"""What gas takes of swept from which on it is told (our choice)."""

_MOTOR = """\
A motor's largest acceleration lasts an instant: compare by the margin, where it counts on both sides."""


def suction_text(scenario: Scenario, report: SuctionReport) -> str:
    """Head available and required, margin, and what a vessel still holds."""
    parts = [
        plain(scenario.title),
        filled(f"{conditions(scenario)}; {travel_set(scenario)}"),
        "",
        _heads(report),
        "",
        *_npsh_line(report),
        *_gas_line(report),
        "",
        filled(_NOTE),
    ]
    if scenario.drive.profile == "harmonic":
        parts.append(filled(_HARMONIC))
    if scenario.drive.profile == "motor":
        parts.append(filled(_MOTOR))
    if report.vessel is not None:
        parts += bullets(
            "Vessel (the level is constant within a run)", list(_vessel(scenario, report.vessel))
        )
    return "\n".join(parts)


def _heads(report: SuctionReport) -> str:
    h = report.heads
    rows = [
        ("pressure on the surface (absolute)", h.surface),
        ("static head", h.static),
        ("hose friction", -h.hose),
        ("fittings and loss coefficient", -h.fittings),
        ("strainer", -h.strainer),
        ("acceleration", -h.acceleration),
        ("vapour pressure", -h.vapour),
        ("NPSH available", h.available),
        ("NPSH required", report.required.head),
        ("margin", report.margin),
        ("velocity head in the line", h.velocity),
    ]
    units = _HEAD_UNITS[in_use.get()]
    lines = [(name, *_in_units(value, report.weight, units)) for name, value in rows]
    return table(("", *units), lines, range(1, 1 + len(units)))


_DECIMALS = {"m": 3, "ft": 2, "bar": 4, "psi": 2}
_HEAD_UNITS = {BOTH: ("m", "ft", "bar", "psi"), METRIC: ("m", "bar"), US: ("ft", "psi")}


def _in_units(head: float | None, weight: float, units: Sequence[str]) -> Iterator[str]:
    """A head [m] as a height and as a pressure."""
    for unit in units:
        kind, times = ("length", 1.0) if unit in ("m", "ft") else ("pressure", weight)
        yield "-" if head is None else rounded(from_si(times * head, kind, unit), _DECIMALS[unit])


def _npsh_line(report: SuctionReport) -> list[str]:
    if report.required.head is None:
        return [filled(f"NPSH required: {report.required.why}.")]
    if report.margin is not None and report.margin < 0.0:
        return ["The lower starves: less NPSH is available than it requires."]
    ratio = "" if report.ratio is None else f"{number(report.ratio, 3)} times "
    return [f"NPSH available is {ratio or 'above '}the NPSH required."]


def _gas_line(report: SuctionReport) -> list[str]:
    share = report.required.gas_now
    if not share >= GAS_TOLD:  # nan: not known
        return []
    return [
        filled(
            f"Compression and free gas take {number(100.0 * share, 2)} % of swept more than they would with "
            "ample suction pressure, which packs the gas: the lower delivers that much less without starving."
        )
    ]


def _vessel(scenario: Scenario, vessel: VesselReport) -> Iterator[str]:
    def percent(fill: float) -> str:
        return "- (that run failed)" if math.isnan(fill) else f"{rounded(100.0 * fill, 1)} %"

    suction = scenario.suction
    usable = to_text(vessel.usable_volume, "volume")
    if in_use.get() == BOTH:
        usable += f" ({number(from_si(vessel.usable_volume, 'volume', 'US gal'), 3)} US gal)"
    yield f"{usable} are above the pickup."
    if math.isfinite(vessel.cycles_left):
        fall = to_text(vessel.level_fall, "length", 3)
        lasts = to_text(vessel.cycles_left / cycle_rate_of(scenario), "time", 3)
        cycles = number(vessel.cycles_left, 3)
        yield f"The level falls by {fall} per cycle; after {cycles} such cycles ({lasts}) the hose draws air."
    level = to_text(suction.vessel_level or 0.0, "length")
    yield (
        f"Fill: {percent(vessel.fill_full)} with the vessel full, {percent(vessel.fill_now)} now ({level}), "
        f"{percent(vessel.fill_at_pickup)} when the hose begins to draw air."
    )
    if vessel.lowest_level is None:
        yield "The targets hold at no level."
    elif vessel.lowest_level <= 1.001 * max(suction.pickup_above_bottom or 0.0, 1e-3):
        yield "The targets hold down to the pickup."
    else:
        lowest = to_text(vessel.lowest_level, "length", 3)
        yield f"The targets hold down to a level of {lowest}."
