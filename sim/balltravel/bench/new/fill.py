"""A whole scenario by what was answered: what nobody asked or knows gets a range by its proportion to a size
that is known.

The proportions are our choice and have no source; the likely ones are near those of scenarios/primer.toml. A
size is drawn within its range by itself, so the ranges are narrow enough that parts which fit into each other
still do.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass

from balltravel.bench.new.answers import likely
from balltravel.bench.new.blanks import BLANKS, BY_NAME, Blank, in_system
from balltravel.bench.new.known import OURS, Known
from balltravel.bench.new.lines import Line, Lines
from balltravel.bench.new.material import likely_viscosity, material_lines
from balltravel.bench.new.shims import shim_lines
from balltravel.scenario.trade_names import DENSITIES

CLEAR = 1.06
"""Parts of a known size leave a range at least this much room (our choice)."""


@dataclass(frozen=True)
class Proportion:
    """A size as a share of another: least, likely and largest, and what is said of it."""

    key: str
    of: str
    shares: tuple[float, float, float]
    said: str


BORES = (
    ("rod", 1 / 0.7), ("ball", 1 / 0.6), ("cage", 1 / 0.78), ("seat", 1 / 0.43), ("stroke", 1 / 1.9),
)  # fmt: skip
"""The bore over each size from which it may be guessed."""

BALLS = (("seat", 1 / 0.72), ("cage", 0.78), ("bore", 0.6))
"""The ball over each size from which it may be guessed."""

SMALLEST_BORE, LARGEST_BORE, USUAL_BORE = 0.8, 1.26, 0.05
BALL_WITHIN = (0.88, 1.0, 1.12)

FITTED = (
    Proportion("stroke", "bore", (1.3, 1.9, 2.6), "of the bore"),
    Proportion("rod", "bore", (0.62, 0.7, 0.76), "of the bore: half its area at 0.71"),
    Proportion("seat", "ball", (0.62, 0.72, 0.8), "of the ball"),
    Proportion("cage", "ball", (1.2, 1.28, 1.38), "of the ball"),
    Proportion("hose", "bore", (0.6, 0.8, 1.0), "of the bore"),
)

UNASKED = (
    Proportion("inlet_check.seat_length", "seat", (0.2, 0.4, 0.7), "of the seat's bore, up to its edge"),
    Proportion("inlet_check.stop_pad_diameter", "ball", (0.25, 0.4, 0.55), "of the ball, if it is a pad"),
    Proportion("piston_check.ball_diameter", "bore", (0.4, 0.46, 0.52), "of the bore"),
    Proportion("piston_check.seat_diameter", "piston ball", (0.62, 0.72, 0.8), "of its ball"),
    Proportion("piston_check.seat_length", "piston ball", (0.15, 0.29, 0.5), "of its ball"),
    Proportion("piston_check.cage_diameter", "piston ball", (1.2, 1.28, 1.38), "of its ball"),
    Proportion("piston_check.cage_length", "piston ball", (1.25, 1.4, 1.8), "of its ball"),
    Proportion("piston_check.stop_pad_diameter", "piston ball", (0.25, 0.4, 0.55), "of its ball, if a pad"),
    Proportion("piston_check.travel", "piston ball", (0.1, 0.2, 0.3), "of its ball"),
)

ANY_BALL = {"low": "3120 kg/m3", "likely": "7800 kg/m3", "high": "15350 kg/m3"}
ANY_BALL_SAID = (
    "not known: silicon nitride to tungsten carbide, steel most likely (our choice). A magnet tells steel."
)
OF_PISTON_SAID = "Not asked: taken as of the same material as the foot valve's ball."
STOP_SAID = "Not asked: pins or a flat pad stop the ball. Look at it and leave one of the two."
RATE = {"low": "10 /min", "likely": "25 /min", "high": "45 /min"}
LENGTH = {"low": "1 m", "likely": "1.5 m", "high": "3 m"}
LENGTH_IN_FEET = {"low": "3 ft", "likely": "5 ft", "high": "10 ft"}
LIFT = {"low": "-0.3 m", "likely": "0.3 m", "high": "1 m"}
LIFT_IN_FEET = {"low": "-1 ft", "likely": "1 ft", "high": "3 ft"}
TIP_PRESSURES, TIP_DISCHARGE, LIKELY_DENSITY = (50e5, 120e5, 250e5), 0.8, 1300.0
"""[Pa], least, likely and highest; of a tip's bore; [kg/m3]."""
FIXED_PRESSURE = {"low": "50 bar", "likely": "120 bar", "high": "250 bar"}
FIXED_PRESSURE_IN_PSI = {"low": "700 psi", "likely": "1700 psi", "high": "3600 psi"}
NARROWEST_TIP, WIDEST_TIP = 1e-5, 0.05
"""[m]"""
TIP_HOSE = (
    {"low": "1 m", "likely": "3 m", "high": "10 m"}, {"low": "12.5 mm", "likely": "19 mm", "high": "25 mm"},
)  # fmt: skip
TIP_HOSE_IN_INCHES = (
    {"low": "3 ft", "likely": "10 ft", "high": "33 ft"},
    {"low": "1/2 in", "likely": "3/4 in", "high": "1 in"},
)  # fmt: skip
"""Its length, and its bore."""
CAGE_LENGTHS = (1.2, 1.4, 1.8)
CHANGEOVER = ((0.02, 0.05, 0.1), (0.01, 0.05, 0.1))
FAST_RATE = 1.5
"""Cycles a second above which the usual changeover would fill too much of a stroke (our choice)."""


def filled(known: Known, material: str | None) -> Lines:
    """The lines of a whole scenario; ``material``: as it was typed, None where it is not known. Raises
    ScenarioError for a material that cannot be read."""
    sizes = _sizes(known)
    lines = _answered(known)
    for name, span in _spans(known, sizes).items():
        blank = BY_NAME[name]
        lines[blank.key] = Line(
            known.span(blank.key, *span),
            f"{blank.letter}: not known: {in_system(blank.unknown, None)} {OURS}.",
        )
    lines |= shim_lines(known, sizes["ball"])
    lines |= {part.key: _proportional(known, sizes, part) for part in UNASKED}
    lines |= _cage_length(known, sizes)
    lines |= _balls(known)
    lines |= {f"{check}.stop": Line(["pins", "pad"], STOP_SAID) for check in ("inlet_check", "piston_check")}
    return lines | _site(known) | _outlet(known, sizes, material) | material_lines(material)


def _balls(known: Known) -> Lines:
    """What both balls are made of."""
    inlet, piston = DENSITIES
    blank, raw = BY_NAME["made of"], known.raw.get("made of")
    asked = Line(ANY_BALL, f"{blank.letter}: {ANY_BALL_SAID}")
    if raw is not None:
        asked = Line(raw, _answered_words(blank), True)
    return {inlet: asked, piston: Line(asked.raw, OF_PISTON_SAID)}


def _answered(known: Known) -> Lines:
    """Those that the file has as they were typed."""
    plain = [blank for blank in BLANKS if blank.name not in ("made of", "below", "travel", "material")]
    return {
        blank.key: Line(known.raw[blank.name], _answered_words(blank), True)
        for blank in plain
        if known.raw.get(blank.name) is not None
    }


def _answered_words(blank: Blank) -> str:
    return f"{blank.letter}: {blank.asks[0].lower()}{blank.asks[1:]}. Answered."


def _sizes(known: Known) -> dict[str, float]:
    """The likely size [m] of every part, known or not."""
    names = ("bore", "stroke", "rod", "ball", "seat", "cage", "hose")
    sizes = {name: size for name in names if (size := known.likely(name)) is not None}
    sizes.setdefault("bore", _guessed(sizes, BORES) or USUAL_BORE)
    sizes.setdefault(
        "ball", _within(_guessed(sizes, BALLS) or 0.6 * sizes["bore"], sizes, ("seat",), ("cage",))
    )
    for part in FITTED:
        sizes.setdefault(part.key, part.shares[1] * sizes[part.of])
    return {**sizes, "piston ball": 0.46 * sizes["bore"]}


def _guessed(sizes: Mapping[str, float], ways: tuple[tuple[str, float], ...]) -> float | None:
    return next((share * sizes[name] for name, share in ways if name in sizes), None)


def _within(size: float, sizes: Mapping[str, float], above: tuple[str, ...], below: tuple[str, ...]) -> float:
    """The size, larger than those parts and smaller than these, as far as they are known; in the middle of
    both where they leave no room."""
    least = CLEAR * max((sizes[name] for name in above if name in sizes), default=0.0)
    most = min((sizes[name] for name in below if name in sizes), default=math.inf) / CLEAR
    return 0.5 * (least / CLEAR + most * CLEAR) if least > most else min(max(size, least), most)


FITS = {
    "bore": (("rod",), ()),
    "rod": ((), ("bore",)),
    "ball": (("seat",), ("cage",)),
    "seat": ((), ("ball",)),
    "cage": (("ball",), ()),
}
"""For each part those that fit into it, and those into which it fits."""


def _spans(known: Known, sizes: Mapping[str, float]) -> dict[str, tuple[float, float, float]]:
    """Least, likely and largest size [m] of each blank that is not known."""
    shares = {part.key: tuple(share / part.shares[1] for share in part.shares) for part in FITTED}
    shares |= {"bore": (SMALLEST_BORE, 1.0, LARGEST_BORE), "ball": BALL_WITHIN}
    spans: dict[str, tuple[float, float, float]] = {}
    for name, (low, _, high) in shares.items():
        if known.raw.get(name) is None:
            above, below = FITS.get(name, ((), ()))
            least, middle, most = (
                _within(share * sizes[name], sizes, above, below) for share in (low, 1.0, high)
            )
            spans[name] = (least, middle, most)
    return spans


def _proportional(known: Known, sizes: Mapping[str, float], part: Proportion) -> Line:
    low, middle, high = (share * sizes[part.of] for share in part.shares)
    said = f"Not measured: {part.shares[0]:g} to {part.shares[2]:g} {part.said} {OURS}."
    return Line(known.span(part.key, low, middle, high), said)


def _cage_length(known: Known, sizes: Mapping[str, float]) -> Lines:
    """Long enough for the ball at its largest travel, or the model would warn of a ball that protrudes."""
    low, middle, high = (share * sizes["ball"] for share in CAGE_LENGTHS)
    stack = math.fsum(likely("shims.thicknesses", known.raw.get("shims") or []))
    reach = sizes["ball"] + max(stack, known.likely("travel") or 0.0)
    middle, high = max(middle, reach), max(high, 1.2 * reach)
    said = f"Not measured: from the seat on, ball included; 1.2 balls or more {OURS}."
    return {"inlet_check.cage_length": Line(known.span("inlet_check.cage_length", low, middle, high), said)}


def _changeover(known: Known) -> Lines:
    """Ramp and dwell as docs/ranges.md has them; shares of a stroke where they would fill it."""
    rate, said = known.likely("rate"), "Changeover, that hardly anybody has timed: docs/ranges.md."
    if rate is None or rate < FAST_RATE:
        return {"drive.ramp_time": Line("unknown", said), "drive.dwell_time": Line("unknown")}
    stroke = 0.5 / rate
    ramp, dwell = ([f"{1e3 * share * stroke:.3g} ms" for share in shares] for shares in CHANGEOVER)
    said = f"Changeover, not timed: 2 to 10 % (ramp), 1 to 10 % (dwell) of a stroke {OURS}."
    return {
        "drive.ramp_time": Line(dict(zip(("low", "likely", "high"), ramp, strict=True)), said),
        "drive.dwell_time": Line(dict(zip(("low", "likely", "high"), dwell, strict=True))),
    }


def _site(known: Known) -> Lines:
    """Drive, suction and outlet beside what was asked."""
    lines = {
        "drive.profile": Line("constant speed", "An air or hydraulic motor has more keys: docs/scenario.md."),
        **_changeover(known),
        "suction.lift": Line(
            LIFT_IN_FEET if known.inches else LIFT,
            f"Not asked: of the foot valve above the surface of the material; negative below it {OURS}.",
        ),
    }
    if known.raw.get("rate") is None:
        lines["drive.cycle_rate"] = Line(RATE, f"{BY_NAME['rate'].letter}: not known {OURS}. Count it.")
    if known.raw.get("length") is None:
        length = LENGTH_IN_FEET if known.inches else LENGTH
        lines["suction.hose_length"] = Line(length, f"{BY_NAME['length'].letter}: not known {OURS}.")
    return lines


def _outlet(known: Known, sizes: Mapping[str, float], material: str | None) -> Lines:
    """A tip that makes a common pressure of the likely flow of material of the likely viscosity, so that dips
    of two travels can be compared; where rate or material is not known a common pressure itself, for what a
    tip makes of all flows and viscosities that are drawn goes far beyond any lower's rating."""
    rate = known.likely("rate")
    if rate is None or material is None:
        fixed = FIXED_PRESSURE_IN_PSI if known.inches else FIXED_PRESSURE
        said = (
            f"Not asked: at the lower's outlet {OURS}. It counts for compression and little else. With rate "
            "and material known, a tip in its place lets dips at the turns be compared."
        )
        return {"outlet.gauge_pressure": Line(dict(fixed), said)}
    viscosity = likely_viscosity(material)
    flow = math.pi / 4.0 * sizes["bore"] ** 2 * sizes["stroke"] * rate
    bores = (_tip_bore(flow, viscosity, pressure) for pressure in reversed(TIP_PRESSURES))
    pressures = "700 to 3600 psi, 1700 psi" if known.inches else "50 to 250 bar, 120 bar"
    said = (
        f"Not asked: a tip that makes about {pressures} most likely, of the likely flow {OURS}: with it "
        'dips at the turns can be compared. Write yours. Without a tip: form = "fixed pressure" and '
        "gauge_pressure in place of all that is here."
    )
    hose, within = TIP_HOSE_IN_INCHES if known.inches else TIP_HOSE
    return {
        "outlet.form": Line("tip", said),
        "outlet.hose_length": Line(
            dict(hose), f"Not asked: the hose to the tip {OURS}. Its give softens dips."
        ),
        "outlet.hose_diameter": Line(dict(within)),
        "outlet.tip_diameter": Line(known.span("outlet.tip_diameter", *bores)),
        "outlet.tip_discharge_coefficient": Line({"low": 0.7, "likely": TIP_DISCHARGE, "high": 0.9}),
    }


def _tip_bore(flow: float, viscosity: float, pressure: float) -> float:
    """Bore [m] of a tip through which a flow [m3/s] takes a pressure [Pa]: docs/model.md, M8b, without
    length."""
    low, high = NARROWEST_TIP, WIDEST_TIP
    for _ in range(40):
        r = 0.5 * math.sqrt(low * high)
        speed = flow / (TIP_DISCHARGE * math.pi * r**2)
        wider = 3.0 * viscosity * flow / r**3 + 0.5 * LIKELY_DENSITY * speed**2 > pressure
        low, high = (2.0 * r, high) if wider else (low, 2.0 * r)
    return high
