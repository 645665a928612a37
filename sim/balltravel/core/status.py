"""How a run ended, as a value with a sentence of advice."""

from enum import IntEnum


class Status(IntEnum):
    """End of a run. Everything but OK and NOT_PERIODIC means that there is no complete cycle to report."""

    OK = 0
    NOT_PERIODIC = 1
    STEP_TOO_SMALL = 2
    TOO_MANY_STEPS = 3
    TOO_MANY_EVENTS = 4
    NOT_FINITE = 5
    DRAWN_EMPTY = 6
    STALLED = 7
    RATE_NOT_FOUND = 8
    UNFORESEEN = 9

    @property
    def failed(self) -> bool:
        """Whether the numbers of the run must not be used."""
        return self > Status.NOT_PERIODIC

    @property
    def advice(self) -> str:
        """What happened and what to do, in a sentence."""
        return _ADVICE[self]


_ADVICE = {
    Status.OK: "The cycle repeats; its numbers can be used.",
    Status.NOT_PERIODIC: (
        "The cycle does not repeat itself within the allowed number of cycles or steps (a ball that bounces "
        "does this, or a line or chamber that still fills or empties); the numbers are those "
        "of the last cycle, and scatter at least as much as delivery changed over it."
    ),
    Status.STEP_TOO_SMALL: (
        "The integrator could not go on with a sensible step; check the scenario for extreme values "
        "(from Python, a larger rtol may do)."
    ),
    Status.TOO_MANY_STEPS: "A cycle took more steps than allowed; check the scenario for extreme values.",
    Status.TOO_MANY_EVENTS: (
        "A ball chatters: it met its seat or stop many hundred times in a cycle, as a light ball may in thin "
        "material that passes a narrow seat fast. How hard depends on what the model leaves out, so no "
        "numbers are given; run slower, or take a heavier ball or a wider seat."
    ),
    Status.DRAWN_EMPTY: (
        "A ball that moved drew more out of the inlet port or a chamber than was in it, so the model ends "
        "here: material cannot follow; widen or shorten the suction hose, or run slower."
    ),
    Status.STALLED: (
        "The motor stalls: what it pushes against balances it before the end of a stroke. With a closed "
        "outlet that is as it should be (balltravel wear tells how it creeps); else raise the supply "
        "pressure, or lower the outlet's."
    ),
    Status.RATE_NOT_FOUND: (
        "The cycle rate at which this tip makes the stated pressure was not found within the allowed runs "
        'and steps; give a cycle rate with outlet.form = "tip" and see what pressure it makes, or state a '
        "pressure and a tip that go better together."
    ),
    Status.UNFORESEEN: (
        "An error in balltravel itself ended this case; the others are not touched by it. Please report it "
        "with the scenario."
    ),
    Status.NOT_FINITE: "The initial state is not finite; check the scenario for extreme values.",
}
