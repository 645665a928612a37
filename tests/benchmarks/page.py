"""docs/speed.md: what was measured, on what, how, and what it does not say."""

import textwrap
from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple

from own_engine import TARGET
from problem import TUNED
from tables import WIDTH, Table, as_markdown

from balltravel.files.read_write import write_whole

DOCS = Path(__file__).parents[2] / "docs"
PAGE, FIGURE = DOCS / "speed.md", DOCS / "images" / "work_precision.png"

HEAD = """
How fast is it? Contenders are measured side by side in one run, after a warm-up, by CPU time unless something
else is said: they take turns, and the least of several rounds counts. Nothing here is promised or tested:
times depend on the machine. To measure on yours:
"""

OWN = f"""
A case is one lower in one material, from rest until its cycle repeats. A sweep also sets up the cases,
checks their values and collects the results; the target is that this adds at most {TARGET - 1.0:.0%} to the
core's time.
"""

RIVALS = (
    """
Each solver gets the same right-hand side: this engine's own compiled balances, with nine scaled states (the
eight that feed back and the volume delivered), and an absolute tolerance equal to the relative one. Each
runs the same number of cycles from rest and starts anew at every kink of the stroke. The error is that of
the volume delivered in the last cycle, against a reference with the same right-hand side and the same
contact, computed by another solver (below).
""",
    f"""
The solvers differ in contact. *Events*: a ball rests on its seat or stop until the net force pulls it off,
and may rebound when it lands ([M7](model.md#m7-seat-and-stop)); this engine, and scipy with its events.
*Penalty*: numbalsoda has no events, so both balls are always free. Beyond seat and stop a stiff spring with
critical damping pushes back. The outlet pressure on the seat area compresses the spring by {TUNED.sinks:g}
of the ball travel; the damping acts in full from about {TUNED.skin:g} of that depth; and the flow sees a
lift that does not fall below {TUNED.rest:g} of the travel while a ball just touches its seat (less when it
is pressed in). A ball does not bounce. The table of references says by how much this changes delivery. These
three numbers favour the penalty: of 18 combinations tried with primer and stain, they are about the fastest
for numbalsoda among those that change delivery by less than 1e-4.
""",
    """
What the ratios leave out: this engine also records every step, integrates seven more volumes and locates
flow reversals and crossings of pressure and gap; the others do not. This engine uses exact derivatives, the
others finite differences. The error at a tolerance counts as no less than the errors at tighter tolerances.
Where the loosest run is already more accurate than the error asked for, its time counts. scipy calls back
into Python at every evaluation, so its ratios are mostly those of Python against compiled code.
""",
)

MANY = """
What a sweep costs besides its integration, in time and memory, and how long real cases take.
"""


class Measured(NamedTuple):
    """All tables of a run, by part; the lines on the machine; and the command that made them."""

    command: str
    machine: Sequence[str]
    own: Sequence[Table]
    rivals: Sequence[Table]
    many: Sequence[Table]
    versions: Sequence[Table]


def _filled(text: str) -> str:
    return textwrap.fill(" ".join(text.split()), WIDTH + 10, break_long_words=False, break_on_hyphens=False)


def text_of(measured: Measured) -> str:
    """The page."""
    parts = [
        "# Speed",
        _filled(HEAD),
        "    python tests/benchmarks/speed.py\n"
        "    python tests/benchmarks/speed.py --page             # and writes this page",
        "numbalsoda is left out if it is not installed (`pip install numbalsoda` needs gfortran and cmake).",
        "The figures below were made by",
        f"    {measured.command}",
        "\n".join(f"- {line}" for line in measured.machine),
        "## This engine",
        _filled(OWN),
        *map(as_markdown, measured.own),
        "## Other solvers on the same equations",
        *map(_filled, RIVALS),
        f"![CPU time of a case over the error of the volume delivered](images/{FIGURE.name})",
        *map(as_markdown, measured.rivals),
        "## From a hundred cases to a million",
        _filled(MANY),
        *map(as_markdown, measured.many),
    ]
    if measured.versions:
        parts += ["## An older version", *map(as_markdown, measured.versions)]
    return "\n\n".join(parts) + "\n"


def write(measured: Measured) -> None:
    """Write the page, whole or not at all."""
    write_whole(text_of(measured).encode(), PAGE)
