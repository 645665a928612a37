"""Verdicts that nobody drew: one that changes, one that holds, one of equals, one where no travel meets."""

from dataclasses import replace
from typing import Any

import numpy as np

from balltravel.study.travel.trials import Choice
from balltravel.study.verdict.record import (
    Change,
    Deciding,
    Input,
    Measurement,
    Outcome,
    Prospect,
    Verdict,
    VerdictPoints,
)

SHIMS = (1, 2, 3)
BELOW = ((), (1,), (2,), (1, 2), (3,), (1, 3), (2, 3), (1, 2, 3))
TRAVELS = [1e-3 * travel for travel in range(2, 10)]
CHOICES = [
    Choice(below, tuple(n for n in SHIMS if n not in below), travel)
    for below, travel in zip(BELOW, TRAVELS, strict=True)
]
VISCOSITY = "material.viscosity"
GAS = "material.gas_fraction"
INPUTS = (
    Input(GAS, "free gas in the material", "our estimate, no source", "fraction", 0.002, 0.0063, 0.02),
    Input(VISCOSITY, "viscosity", "", "viscosity", 5.9, 10.0, 16.9),
    Input("inlet_check.seat", "form of the inlet seat", "no source: look at it", "", "edge", "edge", "cone"),
)


def prospect(choice: Choice, **changes: Any) -> Prospect:
    chance = {"fill": 0.641, "landing": 1.0, "pumping": 1.0, "all": 0.641}
    made = Prospect(choice, chance, 0.0423, 0.7123, 0.8834, 0.9633, 0.3, 0.004, 0.0151, 0.031, 0.0, 0.0107)
    return replace(made, **changes)


def _by_travel(choice: Choice) -> Prospect:
    short = max(0.0, 8.0 - 1e3 * choice.ball_travel) / 6.0
    chance = 0.641 * (1.0 - short)
    return prospect(
        choice,
        chance={"fill": chance, "landing": 1.0, "pumping": 1.0, "all": chance},
        delivery_5=0.7123 - 0.4 * short,
        delivery_50=0.8834 - 0.2 * short,
        delivery_95=0.9633 - 0.01 * short,
        best=0.3 * (1.0 - short),
        regret_95=0.0151 + 0.3 * short,
        avoidable=0.031 + 0.6 * short,
        worse_half=0.0107 + 0.11 * short + 0.004 * (choice.ball_travel > 8.5e-3),
    )


def measured(**changes: Any) -> Measurement:
    made = Measurement(
        "the viscosity where you pump it",
        "rotational viscometer",
        (VISCOSITY,),
        "viscosity",
        0.00512,
        0.0004,
        (
            Outcome(5.9, 8.6, 0.45, CHOICES[4]),
            Outcome(8.6, 11.0, 0.25, CHOICES[7]),
            Outcome(11.0, 16.9, 0.3, CHOICES[7]),
        ),
        100.0,
    )
    return replace(made, **changes)


CHANGES = Verdict(
    chosen=CHOICES[6],
    holds=0.6875,
    holds_error=0.041,
    within=0.01,
    any_meets=0.7031,
    changes=True,
    deciding=(Deciding(VISCOSITY, "viscosity", 0.0055, 0.0004), Deciding(GAS, "free gas", 0.0006, 0.0004)),
    thresholds=(Change(VISCOSITY, "viscosity", "viscosity", 8.6, 7.91, 9.4, CHOICES[4], CHOICES[7], 0.005),),
    measurements=(measured(), measured(what="a Krebs reading", how="", rate=0.0, saved=0.001)),
    all_equal=False,
    regret_mean=0.0072,
    prospects=tuple(map(_by_travel, CHOICES)),
    inputs=INPUTS,
    draws=128,
    refused=0,
    seed=0,
    early=False,
)

HOLDS = replace(
    CHANGES, holds=1.0, holds_error=0.0, any_meets=1.0, changes=False, deciding=(), thresholds=(),
    measurements=(), regret_mean=0.0004,
)  # fmt: skip

EQUAL = replace(
    HOLDS,
    chosen=CHOICES[0],
    all_equal=True,
    draws=32,
    early=True,
    prospects=tuple(
        prospect(
            choice, chance={"fill": 1.0, "landing": 1.0, "pumping": 1.0, "all": 1.0}, chance_error=0.0,
            delivery_5=0.981, delivery_50=0.983, delivery_95=0.985, best=0.125, regret_95=0.0008,
            avoidable=0.0,
        )
        for choice in CHOICES
    ),
)  # fmt: skip

NONE_MEETS = replace(
    CHANGES,
    any_meets=0.0781,
    prospects=tuple(
        prospect(choice, chance={"fill": 0.0625, "landing": 1.0, "pumping": 1.0, "all": 0.0625})
        for choice in CHOICES
    ),
)


def points(verdict: Verdict, seed: int = 0) -> VerdictPoints:
    """Draws that go with a verdict: more viscosity wants more travel, unless all are equal."""
    chance = np.random.default_rng(seed)
    values = np.column_stack(
        [10.0 * np.exp(0.3 * chance.normal(size=128)), 0.0063 * np.exp(0.7 * chance.normal(size=128))]
    )
    wanted = 7e-3 + 3e-3 * np.log(values[:, :1] / 10.0) + 2e-4 * np.log(values[:, 1:] / 0.0063)
    travel = np.array(TRAVELS)[None, :]
    short, long = np.maximum(0.0, wanted - travel), np.maximum(0.0, travel - wanted)
    lost = 0.0 * travel * wanted if verdict.all_equal else 60.0 * short + 8.0 * long
    best = np.array(TRAVELS)[np.argmin(lost, axis=1)]
    loss = lost - lost.min(axis=1, keepdims=True)
    return VerdictPoints(
        (VISCOSITY, GAS), ("viscosity", "free gas in the material"), ("viscosity", "fraction"),
        values, best, loss,
    )  # fmt: skip
