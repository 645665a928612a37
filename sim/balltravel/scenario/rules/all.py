"""What must hold between the values of a scenario: rules as data, run on whatever values are known.

A rule is tried when every value it needs is known, so that one faulty key hides no other fault.
"""

import math
from collections.abc import Callable, Mapping, Sequence, Set
from typing import Any

from balltravel.closures.families import FAMILIES
from balltravel.closures.own.record import CheckTable
from balltravel.scenario.lower import TABULATED as USUAL_CLOSURES
from balltravel.scenario.rules.check import check_rules
from balltravel.scenario.rules.marks import faults_of_marks
from balltravel.scenario.rules.material import fitted_by_readings, growth_told_twice, rest_told_twice
from balltravel.scenario.rules.rule import STANDARD_GRAVITY, Fault, Objection, Rule, Values, smaller
from balltravel.scenario.rules.site import SITE_RULES
from balltravel.scenario.tables import FIELDS
from balltravel.units import to_text
from balltravel.units.keys import quantity_of

__all__ = ["RULES", "STANDARD_GRAVITY", "Fault", "Rule", "broken_rules", "following_faults"]


def _numbers_exist(below: Sequence[int], thicknesses: Sequence[float]) -> Objection:
    outside = [number for number in below if not 1 <= number <= len(thicknesses)]
    if not outside:
        return None
    if not thicknesses:
        return f"{list(below)} given", "no number, for the set has no shims", "[]"
    return (
        f"no shim has the number {outside[0]}",
        f"the numbers 1 to {len(thicknesses)}, counted in thicknesses",
        "[1]",
    )


def _numbers_once(below: Sequence[int]) -> Objection:
    twice = sorted({number for number in below if below.count(number) > 1})
    example = f"{sorted(set(below))}"
    return (f"shim {twice[0]} named more than once", "each shim at most once", example) if twice else None


def _travel_positive(base: float, below: Sequence[int], thicknesses: Sequence[float]) -> Objection:
    travel = base + math.fsum(thicknesses[number - 1] for number in below if 1 <= number <= len(thicknesses))
    if travel > 0:
        return None
    return "ball travel is zero", "base travel and shims below that add up to more than zero", '"2 mm"'


def _closures_know(flow: str, resistance: str) -> Objection:
    known = FAMILIES[resistance].flows
    if known is None or flow in known:
        return None
    others = [family.name for family in FAMILIES.values() if family.flows is None or flow in family.flows]
    allowed = f"{' or '.join(known)} material, or {' or '.join(others)} closures"
    return f'"{flow}" with {resistance} closures', allowed, f'"{others[0]}"'


def _closures_or_table(check: str) -> Callable[[str, CheckTable], Objection]:
    """Test: other closures than the usual ones are not named beside a check's own table, which would overrule
    them."""

    def test(resistance: str, _: CheckTable) -> Objection:
        if resistance == USUAL_CLOSURES.resistance:
            return None
        return (
            f'"{resistance}" given although {check}.table is, and a check goes by its own table',
            "one of both: other closures without a table, or a table and no closures.resistance",
            f'{check}.table = "none"',
        )

    return test


def _least_is_least(least: float, at_rest: float) -> Objection:
    if least <= at_rest:
        return None
    here, there = to_text(least, "viscosity"), to_text(at_rest, "viscosity")
    example = to_text(0.01 * at_rest, "viscosity")
    return f"{here} given", f"at most the viscosity at rest, which is {there}", f'"{example}"'


RULES: tuple[Rule, ...] = (
    Rule(("material.least_viscosity", "material.viscosity"), _least_is_least),
    Rule(("material.flow", "material.readings"), fitted_by_readings),
    Rule(("material.doubling_time", "material.readings"), growth_told_twice),
    Rule(("material.rested_ratio", "material.readings"), rest_told_twice),
    Rule(("material.flow", "closures.resistance"), _closures_know),
    *(
        Rule(("closures.resistance", f"{check}.table"), _closures_or_table(check))
        for check in ("inlet_check", "piston_check")
    ),
    Rule(("lower.rod", "lower.bore"), smaller("a rod", "the bore")),
    *check_rules("inlet_check"),
    *check_rules("piston_check"),
    Rule(("piston_check.cage_diameter", "lower.bore"), smaller("a piston check's cage", "the bore")),
    Rule(("piston_check.housing_diameter", "lower.bore"), smaller("a piston check's housing", "the bore")),
    Rule(("shims.below", "shims.thicknesses"), _numbers_exist),
    Rule(("shims.below",), _numbers_once),
    Rule(("inlet_check.base_travel", "shims.below", "shims.thicknesses"), _travel_positive),
    *SITE_RULES,
)


def broken_rules(values: Values, given: set[str]) -> list[Fault]:
    """Faults between known values.

    ``values``: dotted key -> SI value, defaults included, faulty keys left out.
    ``given``: every key that was given, with a faulty value or not.
    """
    relations = (rule.fault(values) for rule in RULES)
    return [*faults_of_marks(values, given), *filter(None, relations)]


def following_faults(values: Mapping[str, Any], given: Set[str]) -> list[Fault]:
    """Of defaults that follow from other keys: those that the key itself could not have."""
    faults = []
    for key, value in values.items():
        follows = FIELDS[key].default_factory is not None and key not in given
        quantity = quantity_of(FIELDS[key])
        if not follows or quantity is None or value is None or math.isnan(value):
            continue
        objection = quantity.objection(value)
        if objection:
            what, allowed = objection
            faults.append(Fault(key, what.replace("given", "follows from other keys"), allowed))
    return faults
