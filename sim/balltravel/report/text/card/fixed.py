"""What stands on every card: blanks, cautions, and the back. All of it in our own words; common practice, no
source."""

from balltravel.bench.signs import CYCLE_SIGNS, POUNDING, STALL_SIGNS
from balltravel.report.tables import bench_unit
from balltravel.report.text.card.record import Blank
from balltravel.units.systems import US, in_use

CAUTIONS = (
    "Before any work: shut off and lock out the drive, relieve pressure on both sides of the checks. A jet "
    "pierces skin: an injection wound is an emergency. Never exceed the lowest rated part.",
    "Ground pump, hose and pail; no ignition sources; ventilate. Protect eyes and hands. The equipment's "
    "manual, the safety data sheet, local codes and licensed practice come first.",
    "First minutes and these lines: common practice, no source.",
)


def blanks() -> tuple[tuple[str, tuple[Blank, ...]], ...]:
    """What to measure today, in the words of a bench: the pump at work, and with the outlet closed."""
    today = tuple(Blank(word.lower(), "", word) for word in ("Date", "Name", "Lower"))
    seen = tuple(Blank(key, _unit(key), AT_WORK[key]) for key in CYCLE_SIGNS)
    stall = tuple(Blank(key, _unit(key), AT_STALL[key]) for key in ("pressure", *STALL_SIGNS))
    return ("Measured today, at work", seen), ("Outlet closed, pump pushing", (*stall, *today))


AT_WORK = {
    "weighed_per_cycle": "Caught, per cycle",
    "cycle_rate": "Cycles",
    "upstroke_time": "Upstroke takes",
    "downstroke_time": "Downstroke takes",
    "tip_pressure": "Pressure at the tip",
    "dip_at_top": "Dip at the top turn",
    "dip_at_bottom": "Dip at the bottom turn",
    "vacuum_at_inlet": "Vacuum at the inlet",
    "pounding": "Foot valve knocks",
}
AT_STALL = {
    "pressure": "Pressure then",
    "seconds_per_stroke_up": "Creeps up: a stroke in",
    "seconds_per_stroke_down": "Creeps down: a stroke in",
    "give_up": "Jumps up at once by",
    "give_down": "Jumps down at once by",
    "gland_weep": "Weeps at the gland",
}
"""The blanks by the keys of a file of observations."""


def _unit(key: str) -> str:
    """The unit in use for a blank."""
    if key == "vacuum_at_inlet":
        return "inHg" if in_use.get() == US else "bar"
    if key.startswith("give"):
        return bench_unit("length")
    units = {"weighed_per_cycle": "cc", "cycle_rate": "/min", "gland_weep": "cc/h"}
    if key == "pounding":
        return "/".join(POUNDING)
    if key in units:
        return units[key]
    if key.endswith("pressure"):
        return bench_unit("pressure")
    return "%" if key.startswith("dip") else "s"


BACK: tuple[tuple[str, tuple[str, ...]], ...] = (
    (
        "Before it comes apart",
        (
            "Pressure relieved and drive locked out? Flush with what the data sheet of the material allows.",
            "Note the order and the direction of every part as it comes out; a photo of each step helps.",
            "Support what is heavy. Balls, shims and seats fall out: work over a tray.",
        ),
    ),
    (
        "Look for wear",
        (
            "Balls: roll them in good light. A ring, a flat, pits or a dull band: replace. A new ball needs "
            "a seat without a groove, and the other way round.",
            "Seats: the line where the ball sits is narrow, even and closed all around. Cuts across it leak. "
            "Note whether the edge is sharp or a cone: the file of this job asks for it.",
            "A little clean oil on the seated ball should not run through for a while: a quick test only.",
            "Cages and stops: ball marks on one side, a hammered stop or a bent pin change the travel.",
            "Shims: flat, whole, without burrs; a bent one counts for more than its thickness. Measure each.",
            "Packings: hardened, rolled over, lips torn, dried material behind them.",
            "Rod and cylinder: run a fingernail along. What catches it, cuts new packings soon.",
            "Suction side: strainer, hose (soft or flattened?), every joint and gasket: here air gets in.",
        ),
    ),
    (
        "Putting it together",
        (
            "All sealing faces clean and dry; no old gasket left; no grit in the cage.",
            "Shims: count them. As many go in as came out. What is not below the cage goes above it.",
            "Seat the right side up; ball free to move: turn the part over and hear it drop.",
            "Travel: measure it with a depth gauge from ball to stop and compare with the front.",
            "Packings in the order and direction of the manual, wetted with what it names; do not force them "
            "over an edge or a thread.",
            "Tighten as the manual says and in its order; do not use a packing nut to stop a leak elsewhere.",
            "Rod straight in line with the drive; move it by hand once through its stroke where that can be.",
            "First strokes slowly, outlet open, until no bubbles come; then close it and look for creep.",
        ),
    ),
    (
        "Above all",
        ("The manual of the equipment decides, over every line here and on the front.",),
    ),
)
"""Head and lines."""

BACK_TITLE = "While the lower is open"
BACK_NOTE = (
    "Common practice, no source. General hints for lowers with two ball checks; the manual of yours is above "
    "all of them."
)
