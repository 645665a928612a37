"""A closing event on a moving mesh, and the same by the model's law: when the ball is at its seat, how fast.

``python tests/closing_event.py`` prints every table, some ten minutes of one core; names of tables (creeping,
meshes, events, stop, chamber, starts, opening) print those. Needs the extra ``fem``. Lengths are in seat
radii r, speeds in the largest mean speed U in the bore, the density of the liquid is 1: Re = 2 U r/nu, forces
in rho U^2 r^2. A ball that falls through still liquid has no U: there g (density ratio - 1) r stands for U^2,
and Re is 2 w r/nu with the ball's own largest speed.
"""

import argparse
import math
import time

import numpy as np
from helpers.closing_event import Case, Event, Size, Steps, closing_time
from helpers.closing_law import ByLaw, BySolves, left
from scipy.integrate import cumulative_trapezoid, solve_ivp

SIZE = Size()
NEARER = Size(end=0.005, run_in=2.0, run_out=2.0)
VOLUME = 4.0 / 3.0 * math.pi * SIZE.ball**3


class Steady:
    """A flow that does not change."""

    turned = 0.0

    def __init__(self, through):
        self.through = through

    def __call__(self, _t):
        return self.through

    def rate(self, _t):
        return 0.0


class Reversing:
    """From mean speed 1 in the bore to -1, by half a cosine of some length."""

    def __init__(self, length):
        self.length, self.turned = length, length / 2.0

    def __call__(self, t):
        return math.pi * math.cos(math.pi * min(t / self.length, 1.0))

    def rate(self, t):
        k = math.pi / self.length
        return -k * math.pi * math.sin(k * t) if t < self.length else 0.0


def reversing(reynolds, ratio, gravity=0.1, length=4.0, compliance=0.0, size=SIZE):
    """A ball of a density over the liquid's, held on its stop until the flow lets it go."""
    mass = ratio * VOLUME
    weight = (ratio - 1.0) * gravity * VOLUME
    return Case(mass, weight, 1.0, 2.0 / reynolds, Reversing(length), length / 60.0, compliance, size)


def falling(viscosity, ratio, longest):
    """The same let go in still liquid; its weight less buoyancy over that of the liquid it displaces is 1."""
    return Case(ratio * VOLUME, VOLUME, 1.0, viscosity, Steady(0.0), longest)


def solved(case, fineness, share):
    """The event, and the processor time that it took [s]."""
    began = time.process_time()
    event = Event(case, fineness, Steps(share))
    event.run()
    return event, time.process_time() - began


def over(path, lift):
    """Time at which a path of the law passes a lift, and its speed there."""
    return tuple(float(np.interp(-lift, -path.lift, x)) for x in (path.time, path.speed))


def row(*cells):
    print(
        "| " + " | ".join(f"{cell:.4g}" if isinstance(cell, float) else str(cell) for cell in cells) + " |",
        flush=True,
    )


def table(*head):
    print()
    row(*head)
    print("|---" * len(head) + "|")


def percent(value, known):
    return f"{100.0 * (value / known - 1.0):+.2f} %"


def creeping():
    """Without the liquid's inertia the law is exact: what differs is mesh, step and table."""
    table(
        "creeping", "elements", "lift in a step", "steps", "closing time", "law by the table", "processor s"
    )
    for name, weight, through in (("falls in still liquid", 1000.0, 0.0), ("against the flow", 100.0, -1.0)):
        longest = 1.0 if not through else 0.05
        case = Case(200.0, weight, 0.0, 1.0, Steady(through), longest)
        law, _ = over(ByLaw(case).run(), SIZE.end)
        for fineness, share in ((0.4, 0.04), (0.4, 0.02), (0.3, 0.02), (0.3, 0.01)):
            event, spent = solved(case, fineness, share)
            closed = closing_time(event.rows, SIZE.end)
            row(name, fineness, share, len(event.rows), closed, percent(law, closed), round(spent, 1))


def meshes():
    """How far an event depends on elements, steps and the length of the bores."""
    table(
        "Re 200, density ratio 1.5",
        "elements",
        "lift in a step",
        "leaves its stop",
        "closing time",
        "processor s",
    )
    for fineness, share, size in (
        (0.4, 0.06, SIZE),
        (0.4, 0.03, SIZE),
        (0.4, 0.06, SIZE._replace(run_in=9.0, run_out=6.0)),
        (0.3, 0.06, SIZE),
        (0.22, 0.06, SIZE),
    ):
        event, spent = solved(reversing(200.0, 1.5, size=size), fineness, share)
        row(f"bores {size.run_in:g}, {size.run_out:g}", fineness, share, event.left,
            closing_time(event.rows, SIZE.end), round(spent, 1))  # fmt: skip


def backward(flow, until):
    """Volume passed back from the flow's reversal on."""
    t = np.linspace(flow.turned, until, 2000)
    return -float(cumulative_trapezoid([flow(x) for x in t], t)[-1])


def compare(name, case, fineness, share=0.06):
    """A row: the event, and what the law makes of it."""
    event, _ = solved(case, fineness, share)
    rows, end, turned = event.rows, case.size.end, case.flow.turned
    closed = closing_time(rows, end)
    fastest = max(abs(x.speed) for x in rows)
    cells = [name, fineness, f"{2.0 * (1.0 if turned else fastest) / case.viscosity:.0f}", event.left, closed]
    cells.append(closed - turned if turned else "")
    for options in ({}, {"fade": 0.0}, {"massless": True}):
        path = ByLaw(case, **options).run(100.0)
        late, _ = over(path, end)
        cells.append(
            percent(late, closed) + (f" ({percent(late - turned, closed - turned)})" if turned else "")
        )
        if options:
            continue
        lifts = np.interp([x.time for x in rows], path.time, path.lift)
        apart = np.abs(lifts - [x.lift for x in rows]).max() / case.size.stop
        back = percent(backward(case.flow, late), backward(case.flow, closed)) if turned else ""
        cells += [back, percent(over(path, end)[1], rows[-1].speed), f"{100.0 * apart:.1f} %"]
    row(*cells)


def events():
    """The flow through the check is given."""
    table("event", "elements", "Re", "leaves its stop", "closing time", "lag", "law: closing time (lag)",
          "volume back", "speed at the end", "lift, at most, of the stop's", "no fade",
          "no mass of the liquid")  # fmt: skip
    for reynolds, ratio, gravity, length, fineness in (
        (30.0, 6.0, 0.1, 4.0, 0.3),
        (30.0, 1.5, 0.1, 4.0, 0.3),
        (30.0, 1.5, 0.1, 2.0, 0.3),
        (200.0, 6.0, 0.04, 4.0, 0.25),
        (200.0, 1.5, 0.1, 4.0, 0.25),
        (200.0, 1.5, 0.1, 8.0, 0.25),
    ):
        case = reversing(reynolds, ratio, gravity, length)
        compare(f"reversal in {length:g}, ratio {ratio:g}", case, fineness)
    for ratio, viscosity, longest in (
        (6.0, 0.03, 0.1),
        (1.5, 0.019, 0.08),
        (6.0, 0.0045, 0.1),
        (1.5, 0.0035, 0.06),
    ):
        compare(f"fall, ratio {ratio:g}", falling(viscosity, ratio, longest), 0.3)


def stop():
    """The push of steady flow on the stop, by the law and by its table's own solves, and when it lets go."""
    table("on the stop", "push by the law", "by solves", "leaves by the law", "by solves", "on the mesh")
    for reynolds, ratio, gravity, length in (
        (30.0, 1.5, 0.1, 4.0),
        (200.0, 6.0, 0.04, 4.0),
        (200.0, 1.5, 0.1, 4.0),
        (200.0, 1.5, 0.1, 8.0),
    ):
        case = reversing(reynolds, ratio, gravity, length, size=SIZE._replace(end=0.98 * SIZE.stop))
        both = [of(case) for of in (ByLaw, BySolves)]
        pushes = [law.steady(case.size.stop, 0.0, math.pi)[1] for law in both]
        name = f"Re {reynolds:g}, ratio {ratio:g}, in {length:g}"
        row(name, *pushes, *map(left, both), solved(case, 0.3, 0.06)[0].left)


def chamber():
    """A chamber that yields between check and piston, down to a gap of some thousandths."""
    lifts = (0.1, 0.03, 0.01, 0.005)
    table(
        "chamber of compliance 0.003",
        "leaves",
        *(f"time at {z}" for z in lifts),
        *(f"speed at {z}" for z in lifts[1:]),
    )
    for reynolds, ratio in ((30.0, 1.5), (30.0, 6.0), (200.0, 1.5)):
        case = reversing(reynolds, ratio, compliance=0.003, size=NEARER)
        name = f"Re {reynolds:g}, ratio {ratio:g}"
        rows = (event := solved(case, 0.4 if reynolds < 100.0 else 0.3, 0.06)[0]).rows
        at = [closing_time(rows, z) for z in lifts]
        speeds = [float(np.interp(t, [x.time for x in rows], [x.speed for x in rows])) for t in at[1:]]
        row(name + ", mesh", event.left, *at, *speeds)
        for options in ({}, {"fade": 0.0}, {"massless": True}, {"whole": True}):
            path = ByLaw(case, **options).run(100.0)
            got = [over(path, z) for z in lifts]
            row(f"{name}, law {options or ''}", path.left, *(t for t, _ in got), *(w for _, w in got[1:]))


def starts():
    """How fast a light ball gains speed from rest: what a history force would change."""
    table(
        "fall from rest", "Re", "mesh: from 1/4 to 3/4 of its largest speed", "law over mesh", "closing time"
    )
    for ratio, viscosity, longest in ((1.15, 0.05, 0.1), (1.15, 0.01, 0.1), (6.0, 0.03, 0.1)):
        case = falling(viscosity, ratio, longest)
        rows = solved(case, 0.4, 0.05)[0].rows
        path = ByLaw(case).run(100.0)
        both = []
        for t, w in (
            (np.array([x.time for x in rows]), np.array([-x.speed for x in rows])),
            (path.time, -path.speed),
        ):
            top = int(w.argmax())
            quarter, most = np.interp([0.25 * w[top], 0.75 * w[top]], w[: top + 1], t[: top + 1])
            both.append((most - quarter, w[top]))
        closed = closing_time(rows, SIZE.end)
        row(f"ratio {ratio:g}", f"{2.0 * both[0][1] / viscosity:.0f}", both[0][0], both[1][0] / both[0][0],
            percent(over(path, SIZE.end)[0], closed))  # fmt: skip


class Beginning:
    """Flow that grows evenly to mean speed 1 in two units of time."""

    turned = 0.0

    def __call__(self, t):
        return math.pi * min(t / 2.0, 1.0)

    def rate(self, t):
        return math.pi / 2.0 if t < 2.0 else 0.0


def opening():
    """A ball leaves its seat: the law against Lagrange's equations with the check's own flow (no mesh)."""
    table("opening", "largest pressure drop", "law", "time to 0.1", "law")
    for reynolds, ratio, gravity in ((30.0, 6.0, 0.1), (30.0, 1.5, 0.1), (200.0, 6.0, 0.05)):
        size = SIZE._replace(run_in=1.0, run_out=1.0)
        weight = (ratio - 1.0) * gravity * VOLUME
        case = Case(ratio * VOLUME, weight, 1.0, 2.0 / reynolds, Beginning(), 0.1, 0.003, size)
        drop = weight / math.pi
        start = math.sqrt(2.0 * case.compliance * drop * 2.0 / math.pi)
        both = []
        for whole in (True, False):
            law = ByLaw(case, whole=whole)

            def rates(t, y, law=law):
                return law.free(t, [max(y[0], 1e-4), *y[1:]])

            def lifted(_t, y):
                return y[0] - 0.3

            lifted.terminal = True
            from_seat = [1.5e-4, 0.0, 0.0, 1.0001 * drop]
            s = solve_ivp(
                rates, (start, start + 20.0), from_seat, "LSODA", events=lifted, rtol=1e-7, atol=1e-9
            )
            both.append((s.y[3].max(), float(np.interp(0.1, np.maximum.accumulate(s.y[0]), s.t)) - start))
        (largest, t), (by_law, t_law) = both
        row(f"ratio {ratio:g}, Re {reynolds:g}", largest, percent(by_law, largest), t, percent(t_law, t))


TABLES = {f.__name__: f for f in (creeping, meshes, events, stop, chamber, starts, opening)}


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("tables", nargs="*", choices=[[], *TABLES], help="all by default")
    for name in parser.parse_args().tables or TABLES:
        TABLES[name]()


if __name__ == "__main__":
    main()
