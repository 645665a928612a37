"""A run by parts: one step, the way to an event, a segment, a cycle; by the core's own passes."""

from balltravel.core.cycles import start
from balltravel.core.integrate import GO_ON, NO_STEP, ON_EVENT, SEARCH, TAKE, begin_search, try_once
from balltravel.core.march import CYCLE, SEGMENT, advance, begin_cycle, begin_segment

from .boxes import Work, boxed


def place(work: Work, segment: int, t: float, stop: float, h: float):
    """Where the run stands: in a step from ``t``."""
    m = work.box.march
    m.segment, m.t, m.stop, m.h, m.purpose, m.step = segment, t, stop, h, TAKE, 0.0
    return m


def accepted_step(p, c, segment, t, end, h, contact, work):
    """Length of a step that meets the tolerance (0 if there is none), the length to try next and 1 if it ends
    on an event."""
    m, p, c = place(work, segment, t, end, h), boxed(p), boxed(c)
    outcome = GO_ON
    while outcome == GO_ON:
        outcome = try_once(p, c, contact, work.box)
    return (0.0 if outcome == NO_STEP else m.step), m.h, 1.0 if outcome == ON_EVENT else 0.0


def located(p, c, segment, t, h, contact, work):
    """Length of a step that has passed guards, shortened to the first of them; and the attempts it took."""
    m, p, c = place(work, segment, t, t + 2.0 * h, h), boxed(p), boxed(c)
    m.step, attempts = h, 0
    outcome = begin_search(p, h, contact, work.box)
    assert outcome == ON_EVENT or m.purpose == SEARCH
    while outcome == GO_ON:
        outcome, attempts = try_once(p, c, contact, work.box), attempts + 1
    return m.step, attempts


def run_segment(p, c, segment, h, contact, work):
    """One segment, begun at the time in ``work.clock``; the length of the next step, or minus a status."""
    m = work.box.march
    start(boxed(p), work.box, SEGMENT)
    m.segment, m.h = segment, h
    begin_segment(boxed(p), work.box)
    return finished(p, c, contact, work)


def run_cycle(p, c, h, contact, work):
    """The same of one cycle."""
    m = work.box.march
    start(boxed(p), work.box, CYCLE)
    begin_cycle(boxed(p), work.box)
    m.h = h
    return finished(p, c, contact, work)


def finished(p, c, contact, work):
    m, p, c = work.box.march, boxed(p), boxed(c)
    while m.status < 0:
        advance(p, c, contact, work.box)
    return m.h if m.status == 0 else -float(m.status)
