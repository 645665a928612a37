"""Rules between the sizes of a ball check."""

import math

from balltravel.closures.own.record import CheckTable
from balltravel.closures.passages import ribbed_equivalent
from balltravel.scenario.rules.rule import Objection, Rule, in_mm, larger, smaller
from balltravel.units import to_text

CAGE_RATIO = (0.02, 0.95)
"""Ball over cage diameter for which wall factors and added mass are known (docs/closures.md)."""

WIDEST_LAND = 0.2
"""Width of a lapped band over the ball's diameter at most (our choice): it is to be narrow."""


def _cage_holds(length: float, ball: float) -> Objection:
    if length >= ball:
        return None
    return (
        f"{in_mm(length)} given",
        f"a cage at least as long as its ball: {in_mm(ball)}",
        f'"{in_mm(1.4 * ball)}"',
    )


def _cage_ratio(ball: float, cage: float, form: str) -> Objection:
    low, high = CAGE_RATIO
    if form != "bore":
        return None
    # As a quotient, which is what the closures see: products round differently. A ball as big as its cage or
    # bigger is told of by another rule.
    if low <= ball / cage <= high or ball >= cage:
        return None
    return (
        f"{in_mm(ball)} in a cage of {in_mm(cage)} given",
        f"a ball of {low:g} to {high:g} cage diameters, for which the closures are known",
        f'"{in_mm(0.78 * cage)}"',
    )


def _rib_ratio(ball: float, cage: float, housing: float, count: float, width: float, form: str) -> Objection:
    """A ball between ribs: what it passes must be that of a bore for which the closures are known."""
    if form != "ribs" or not ball < cage < housing or count % 1.0 or count * width >= math.pi * cage:
        return None
    low, high = CAGE_RATIO
    bore = 2.0 * ribbed_equivalent(0.5 * ball, 0.5 * cage, 0.5 * housing, int(count), width)
    if low <= ball / bore <= high:
        return None
    return (
        f"{in_mm(ball)} between ribs that pass as much as a bore of {in_mm(bore)} given",
        f"a ball of {low:g} to {high:g} of that bore, for which the closures are known",
        f'"{in_mm(0.8 * bore)}"',
    )


def _whole_ribs(count: float) -> Objection:
    return (f"{count:g} given", "a whole number of ribs", "3") if count % 1.0 else None


def _mouth_wider(mouth: float, bore: float) -> Objection:
    if mouth > bore:
        return None
    return f"{in_mm(mouth)} given", f"a mouth wider than the bore of {in_mm(bore)}", f'"{in_mm(1.2 * bore)}"'


def _ribs_fit(width: float, count: float, cage: float) -> Objection:
    if count * width < math.pi * cage:
        return None
    room = in_mm(math.pi * cage / count)
    return (
        f"{count:g} ribs of {in_mm(width)} given",
        f"ribs with openings between them: below {room}",
        '"4 mm"',
    )


def _cone_holds(angle: float, ball: float, bore: float, mouth: float) -> Objection:
    """The ball must touch the cone between its bore and its mouth."""
    contact = ball * math.cos(angle)
    if bore < contact < mouth or mouth <= bore:
        return None
    fitting = to_text(math.acos(min(0.5 * (bore + mouth) / ball, 1.0)), "angle", 3)
    return (
        f"{to_text(angle, 'angle')} lets the ball sit on a circle of {in_mm(contact)}",
        f"an angle (half of the included one) at which it sits between the bore of {in_mm(bore)} and the "
        f"mouth of {in_mm(mouth)}",
        f'"{fitting}"',
    )


def _land_fits(land: float, form: str, angle: float, ball: float, bore: float, mouth: float) -> Objection:
    contact = ball * math.cos(angle)
    room = min((contact - bore) / math.sin(angle), (mouth - contact) / math.sin(angle), WIDEST_LAND * ball)
    if land <= room or form != "cone" or room <= 0.0:  # the cone itself is at fault then
        return None
    return f"{in_mm(land)} given", f"a band inside the cone: at most {in_mm(room)}", f'"{in_mm(0.5 * room)}"'


def _land_has_cone(land: float, form: str) -> Objection:
    if land == 0.0 or form == "cone":
        return None
    return f"{in_mm(land)} given", 'a band lapped to the ball only on a seat = "cone"', '"0 mm"'


ANOTHER_BALL, ANOTHER_BORE, ANOTHER_ANGLE = 0.01, 0.05, math.radians(5.0)
"""How far a check may be from the one that its table was made for (our choice): ball, and bores of seat and
cage, as shares; half angle. The tolerances of bores and angles lie within, the next ball does not."""


def _of_table(what: str, made: float, here: float, share: float) -> Objection:
    """Whether a size is that of the check that a table was made for."""
    if abs(made / here - 1.0) <= share:
        return None
    allowed = f"a table of this check: {in_mm(here)} within {100.0 * share:g} %"
    return f"made for {what} of {in_mm(made)}", allowed, MAKE_TABLE


MAKE_TABLE = "balltravel check-table lower.toml --out foot_valve.nc"


def _table_of_ball(table: CheckTable, ball: float) -> Objection:
    return _of_table("a ball", 2.0 * table.ball * table.contact, ball, ANOTHER_BALL)


def _table_of_seat(table: CheckTable, form: str, bore: float) -> Objection:
    made = "a cone" if table.half_angle else "an edge"
    if not made.endswith(form):
        return (
            f"made for a seat that is nearest to {made}",
            f'a table of this check: seat = "{form}"',
            MAKE_TABLE,
        )
    size = 2.0 * table.contact * (table.bore if table.half_angle else 1.0)
    return _of_table("a seat bore", size, bore, ANOTHER_BORE)


def _table_of_cone(table: CheckTable, angle: float, mouth: float) -> Objection:
    if not table.half_angle:
        return None
    if abs(table.half_angle - angle) > ANOTHER_ANGLE:
        made, here = (to_text(value, "angle", 3) for value in (table.half_angle, angle))
        return f"made for a half angle of {made}", f"a table of this check: {here} within 5 deg", MAKE_TABLE
    return _of_table("a mouth", 2.0 * table.contact * table.mouth, mouth, ANOTHER_BORE)


def _table_of_cage(table: CheckTable, cage: float, form: str) -> Objection:
    return (
        _of_table("a cage", 2.0 * table.contact * table.cage, cage, ANOTHER_BORE) if form == "bore" else None
    )


def _table_of_ribs(
    table: CheckTable, ball: float, cage: float, housing: float, count: float, width: float
) -> Objection:
    if not ball < cage < housing or count % 1.0 or count * width >= math.pi * cage:
        return None
    bore = 2.0 * ribbed_equivalent(0.5 * ball, 0.5 * cage, 0.5 * housing, int(count), width)
    return _of_table("a cage that passes as a bore", 2.0 * table.contact * table.cage, bore, ANOTHER_BORE)


def _table_rules(check: str) -> tuple[Rule, ...]:
    """That a check's own table was made for it."""

    def keys(*names: str) -> tuple[str, ...]:
        return tuple(f"{check}.{name}" for name in ("table", *names))

    return (
        Rule(keys("ball_diameter"), _table_of_ball),
        Rule(keys("seat", "seat_diameter"), _table_of_seat),
        Rule(keys("seat_half_angle", "seat_mouth_diameter"), _table_of_cone),
        Rule(keys("cage_diameter", "cage"), _table_of_cage),
        Rule(
            keys("ball_diameter", "cage_diameter", "housing_diameter", "rib_count", "rib_width"),
            _table_of_ribs,
        ),
    )


def check_rules(check: str) -> tuple[Rule, ...]:
    """Rules of the check of this name."""
    ball, pad = f"{check}.ball_diameter", f"{check}.stop_pad_diameter"
    bore, cage, mouth = f"{check}.seat_diameter", f"{check}.cage_diameter", f"{check}.seat_mouth_diameter"
    angle, land, form = f"{check}.seat_half_angle", f"{check}.seat_land_width", f"{check}.seat"
    width, count, housing = f"{check}.rib_width", f"{check}.rib_count", f"{check}.housing_diameter"
    return (
        Rule((ball, bore), larger("a ball", "the bore of its seat")),
        Rule((ball, cage), smaller("a ball", "its cage")),
        Rule((ball, cage, f"{check}.cage"), _cage_ratio, of_model=True),
        Rule((angle, ball, bore, mouth), _cone_holds),
        Rule((mouth, cage), smaller("a cone's mouth", "the cage")),
        Rule((land, form, angle, ball, bore, mouth), _land_fits),
        Rule((land, form), _land_has_cone),
        Rule((housing, cage), larger("a housing", "the circle inside the ribs")),
        Rule((count,), _whole_ribs),
        Rule((width, count, cage), _ribs_fit),
        Rule((mouth, bore), _mouth_wider),
        Rule((ball, cage, housing, count, width, f"{check}.cage"), _rib_ratio, of_model=True),
        Rule((f"{check}.cage_length", ball), _cage_holds),
        Rule((pad, f"{check}.cage_diameter"), smaller("a pad", "the cage")),
        *_table_rules(check),
    )
