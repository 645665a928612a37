"""The cycle a second time: scipy's Radau stepped by hand, contacts and events by docs/model.md (M7)."""

import math
import time
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from referee.cycle import Cycle, Event, Piece, Result
from referee.model import FREE, ON_STOP, SEATED, Model
from referee.motor import DRIVEN
from scipy.integrate import Radau
from scipy.optimize import brentq

HOLD = 5e-5
FLOW_BAND = 1e-6
PRESSURE_BAND = 1e-4
LOCATED = 1e-10
SAMPLES = 4
LARGEST_STEP = 2e-3
INCREMENT = 1e-6
NAMES = ("inlet", "piston")


@dataclass
class Contact:
    """Mode of one ball (M7). ``deadline``: end of the hold of a ball at rest that is not armed."""

    mode: int = SEATED
    armed: bool = True
    deadline: float = math.inf

    def pull(self, force):
        """The net force in the direction away from what the ball rests on."""
        return force if self.mode == SEATED else -force


class Runner:
    """Integrates cycles one after the other; holds the contact modes, signs and the scaled state."""

    def __init__(self, model, rtol):
        self.model, self.rtol = model, rtol
        self.scales = model.scales
        self.y = model.start() / self.scales
        self.contacts = (Contact(), Contact())
        self.signs = {}
        self.band = FLOW_BAND * model.A_c * model.S * model.f

    def instant(self, t, scaled, segment):
        modes = (self.contacts[0].mode, self.contacts[1].mode)
        return self.model.instant(t, (scaled * self.scales).tolist(), segment, modes)

    # One cycle

    def cycle(self):
        """Runs one cycle from t = 0 to its end."""
        self.found, self.evaluations = Cycle(self.model), 0
        began = time.perf_counter()
        self.y = self.y.copy()
        self.y[self.model.moving :] = 0.0
        t, segment = 0.0, self._following(None, 0.0)
        while segment and not self.found.stalled:
            self.found.clock.append(t)
            t = self._through(segment)
            segment = self._following(segment, t)
        self.found.clock.append(t)
        for c in self.contacts:
            c.deadline -= t
        self.found.end_state = self.y * self.scales
        self.found.events.sort(key=lambda e: e.time)
        self.found.seconds, self.found.evaluations = time.perf_counter() - began, self.evaluations
        return self.found

    def _following(self, done, t):
        """The next segment; a motor's piston is driven from where it was held, at rest."""
        segment = self.model.following(done, t, (self.y * self.scales).tolist())
        if segment and segment.kind == DRIVEN:
            x, v = self.model.place["x"], self.model.place["v"]
            self.y[x], self.y[v] = segment.x0 / self.scales[x], 0.0
        return segment

    def _through(self, segment):
        """Integrates a segment to its end, or until the motor counts as stalled; returns the time."""
        t, motor = segment.start, self.model.motor
        last = min(segment.end, t + motor.longest) if motor else segment.end
        kinks = motor.kinks(segment) if motor else ()
        while t < last:
            self._settle(t, segment)
            kinks = [kink for kink in kinks if kink > t]
            bound = min([last, *(c.deadline for c in self.contacts), *kinks])
            t, over = self._advance(t, bound, segment)
            if over:
                return t
        self.found.stalled = math.isinf(segment.end)
        return t

    def _settle(self, t, segment):
        """Arms, releases at the end of a hold, and releases what a kink of the stroke pulls off."""
        instant = self.instant(t, self.y, segment)
        for n, c in enumerate(self.contacts):
            if c.mode == FREE:
                continue
            pulled = c.pull(instant.forces[n]) > 0
            if c.armed and pulled and t == segment.start:  # elsewhere it is the round-off of an arming
                self._release(t, n)
            elif not c.armed and not pulled:
                c.armed, c.deadline = True, math.inf
            elif not c.armed and t >= c.deadline:
                self._release(t, n)

    def _release(self, t, n):
        c = self.contacts[n]
        kind = "released" if c.mode == SEATED else "left stop"
        self._record(t, kind, NAMES[n], 0.0)
        c.mode, c.armed, c.deadline = FREE, False, math.inf

    def _record(self, t, kind, check, value):
        self.found.events.append(Event(float(t), kind, check, float(value)))

    # Integration

    def _rates(self, segment):
        def rates(t, scaled):
            self.evaluations += 1
            return np.array(self.instant(t, scaled, segment).rates) / self.scales

        return rates

    def _jacobian(self, rates, segment):
        """Central differences in the scaled states that feed back and move."""
        balls = [4 + 2 * n + k for n, c in enumerate(self.contacts) if c.mode == FREE for k in (0, 1)]
        names = enumerate(self.model.names[8 : self.model.moving], 8)
        more = [n for n, name in names if name not in ("x", "v") or segment.kind == DRIVEN]

        def jacobian(t, scaled):
            J = np.zeros((scaled.size, scaled.size))
            for j in [0, 1, 2, 3, *balls, *more]:
                step = INCREMENT * max(1.0, abs(scaled[j]))
                high, low = scaled.copy(), scaled.copy()
                high[j] += step
                low[j] -= step
                J[:, j] = (rates(t, high) - rates(t, low)) / (high[j] - low[j])
            return J

        return jacobian

    def _advance(self, t, bound, segment):
        """Integrates until the bound, the first contact event or the end of the segment; returns the time
        reached and whether the segment is over."""
        if self._over(self.instant(t, self.y, segment), self.y, segment) > 0:
            return t, True
        rates = self._rates(segment)
        radau = Radau(
            rates,
            t,
            self.y,
            bound,
            max_step=LARGEST_STEP * self.model.T,
            rtol=self.rtol,
            atol=self.rtol,
            jac=self._jacobian(rates, segment),
        )
        self._jumps(t, segment)
        samples = None
        while radau.status == "running":
            message = radau.step()
            if radau.status == "failed":
                raise RuntimeError(f"t = {radau.t}: {message}")
            piece = Piece(
                radau.t_old, radau.t, radau.dense_output(), segment, tuple(c.mode for c in self.contacts)
            )
            samples = self._samples(piece, samples[-1] if samples else None)
            contact = self._first_contact(piece, samples)
            over = self._end_of_segment(piece, samples)
            end = min([piece.end, *(contact or ())[:1], *(over or ())])
            self._watch(piece, samples, end)
            self.found.pieces.append(piece._replace(end=end))
            if contact or over:
                self.y = piece.dense(end)
            if over and over[0] == end:
                return end, True
            if contact:
                self._touch(end, contact[1], segment)
                return end, False
        self.y = radau.y.copy()
        return bound, False

    def _over(self, instant, y, segment):
        """Above 0 where a segment that does not know its end is over."""
        if math.isfinite(segment.end):
            return -1.0
        return self.model.over(instant, y * self.scales, segment)

    def _end_of_segment(self, piece, samples):
        """(time,) at which a motor's piston is pulled off its stop or is braked; None if not in this step."""
        segment = piece.segment

        def over(t):
            y = piece.dense(t)
            return self._over(self.instant(t, y, segment), y, segment)

        for (t0, y0, i0), (t1, y1, i1) in pairwise(samples):
            if self._over(i1, y1, segment) > 0:
                return (_root(over, t0, t1) if self._over(i0, y0, segment) < 0 else t0,)
        return None

    def _samples(self, piece, last):
        """(time, state, instant) in the step; ``last``: that of the step before, if it ends here."""
        times = np.linspace(piece.start, piece.end, SAMPLES + 1).tolist()
        states = piece.dense(np.array(times)).T
        pairs = list(zip(times, states, strict=True))
        first = [last] if last else []
        return first + [(t, y, self.instant(t, y, piece.segment)) for t, y in pairs[len(first) :]]

    # Contacts (M7)

    def _first_contact(self, piece, samples):
        """(time, check) of the first contact, release or arming in this step, or None."""
        found = [(t, n) for n in (0, 1) for t in [self._contact_time(piece, samples, n)] if t is not None]
        return min(found) if found else None

    def _contact_time(self, piece, samples, n):
        c, check = self.contacts[n], self.model.checks[n]
        lift_scale = self.scales[4 + 2 * n]
        small = LOCATED * check.travel

        def lift(y):
            return y[4 + 2 * n] * lift_scale

        def pull(t):
            return c.pull(self.instant(t, piece.dense(t), piece.segment).forces[n])

        for (t0, y0, i0), (t1, y1, i1) in pairwise(samples):
            if c.mode == FREE:
                for distance in (lift, lambda y: check.travel - lift(y)):
                    before, after = float(distance(y0)), float(distance(y1))
                    if after < -small or (after <= 0 and before > small):
                        shift = 0.0 if before > 0 else small
                        return _root(lambda t, d=distance, s=shift: d(piece.dense(t)) + s, t0, t1)
            else:
                before, after = c.pull(i0.forces[n]), c.pull(i1.forces[n])
                if (c.armed and after > 0) or (not c.armed and after <= 0):
                    return _root(pull, t0, t1) if before * after < 0 else t1 if before == 0 else t0
        return None

    def _touch(self, t, n, segment):
        """The event itself: a ball at rest is released or armed, a free one bounces or comes to rest."""
        c, check = self.contacts[n], self.model.checks[n]
        if c.mode != FREE:
            if c.armed:
                self._release(t, n)
            else:
                c.armed, c.deadline = True, math.inf
            return
        z, w = 4 + 2 * n, 5 + 2 * n
        stop = self.y[z] * self.scales[z] > check.travel / 2
        speed = abs(self.y[w]) * self.scales[w]
        self.y[z] = check.travel / self.scales[z] if stop else 0.0
        rebound = check.rebound(speed)
        self.y[w] = (-rebound if stop else rebound) / self.scales[w]
        if rebound > 0:
            self._record(t, "bounced", NAMES[n], speed)
            return
        self._record(t, "reached stop" if stop else "landed", NAMES[n], speed)
        c.mode = ON_STOP if stop else SEATED
        c.armed = c.pull(self.instant(t, self.y, segment).forces[n]) <= 0
        c.deadline = math.inf if c.armed else t + HOLD * self.model.T

    # Events that change nothing

    def _watched(self, instant, y):
        """(kind, check, value, band) of what is watched for changes of sign; 'landing_gap' apart."""
        flows = zip(("inlet", "piston", "outlet"), instant.flows, strict=True)
        watched = [("flow_turned", name, Q, self.band) for name, Q in flows]
        p_0 = self.model.p_0
        watched.append(("lower_crosses_barometric", "", instant.pressures[1] - p_0, PRESSURE_BAND * p_0))
        for n, check in enumerate(self.model.checks):
            z = y[4 + 2 * n] * self.scales[4 + 2 * n]
            watched.append(("landing_gap", NAMES[n], z - check.landing_gap, 0.0))
        return watched

    def _jumps(self, t, segment):
        """Signs that changed at a contact itself (a flow that ends with the ball's speed)."""
        for kind, check, value, band in self._watched(self.instant(t, self.y, segment), self.y):
            self._note(t, kind, check, value, band, self.y)

    def _note(self, t, kind, check, value, band, y):
        """Takes the sign over; an event if it differs from the one before. No sign within the band."""
        sign = _sign(value, band)
        before = self.signs.get((kind, check), 0)
        if not sign or sign == before:
            return
        self.signs[kind, check] = sign
        if before:
            n = NAMES.index(check) if kind == "landing_gap" else 0
            speed = y[5 + 2 * n] * self.scales[5 + 2 * n]
            self._record(t, kind, check, speed if kind == "landing_gap" else sign)

    def _watch(self, piece, samples, end):
        """Changes of sign in this step until its end."""
        kept = samples
        if end < piece.end:
            y_end = piece.dense(end)
            kept = [s for s in samples if s[0] < end]
            kept.append((end, y_end, self.instant(end, y_end, piece.segment)))
        for (t0, _, _), (t1, y1, i1) in pairwise(kept):
            for k, (kind, check, value, band) in enumerate(self._watched(i1, y1)):
                sign = _sign(value, band)
                if not sign or sign == self.signs.get((kind, check), 0):
                    continue

                def beyond(t, k=k, edge=sign * band):
                    y = piece.dense(t)
                    return self._watched(self.instant(t, y, piece.segment), y)[k][2] - edge

                t = _root(beyond, t0, t1) if beyond(t0) * (value - sign * band) < 0 else t0
                self._note(t, kind, check, value, band, piece.dense(t))


def _sign(value, band):
    """+1 above the band, -1 below it, 0 within."""
    return int(value > band) - int(value < -band)


def _root(function, t0, t1):
    """brentq to round-off of t."""
    return brentq(function, t0, t1, xtol=1e-15, rtol=8.9e-16)


def run(scenario, cycles=2, rtol=1e-10, exact=False, tubes=(None, None)):
    """Runs so many cycles from the documented Start, or until a motor stalls.

    ``exact``: closed forms in place of the spline in lift. ``tubes``: a closures.Tube for the inlet and
    the piston check, in place of the one interpolated here.
    """
    model = Model(scenario, exact, tubes)
    runner = Runner(model, rtol)
    result = Result(model, [])
    while len(result.cycles) < cycles and not (result.cycles and result.cycles[-1].stalled):
        result.cycles.append(runner.cycle())
    return result
