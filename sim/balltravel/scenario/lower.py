"""What the user describes of a lower: cylinder, checks, shims, closures and targets."""

import math
from collections.abc import Mapping
from typing import Annotated, Any, Literal

from pydantic import Field

from balltravel.closures.families import FAMILIES
from balltravel.closures.own.record import CheckTable
from balltravel.units.keys import (
    Names,
    NeededWith,
    NotSwept,
    Quantity,
    Silent,
    Table,
    diameter,
    only_with,
)
from balltravel.units.typical import BORED, CALIPER, MEMORY, OUR_CHOICE, PRACTICE, Typical

DEAD_VOLUME_SHARE = 0.2
"""Default dead volume of a chamber as a share of bore area times stroke (from memory, no source)."""

MOST_SHIMS = 12
"""The arrangements of a set double with every shim."""

PassageLength = Annotated[float, Quantity("length", 0.0, 1.0, "10 mm")]
DeadVolume = Annotated[
    float,
    Quantity("volume", 1e-9, 1.0, "30 cc"),
    Typical(f"by filling it or from a drawing ({PRACTICE})", 1.2),
]
Travel = Annotated[float, Quantity("length", 0.0, 0.2, "5 mm"), CALIPER]
Spring = Typical(f"coil springs off the shelf ({PRACTICE})", factor=1.1)

_TABLE_SWEPT = NotSwept("a table swept", "keys with numbers or names", '"inlet_check.leak_gap" = ["0 um"]')
_ON_CONE, _WITH_RIBS = NeededWith("seat", ("cone",)), NeededWith("cage", ("ribs",))

STEEPEST, FLATTEST = 0.3, 1.3
"""Half angles of a conical seat [rad] that are accepted."""

USUAL_CONE = math.pi / 4.0
"""Half angle of a conical seat of which nothing is known [rad] (common practice, no source)."""

BARELY, MOUTH_SHARE = 1.02, 0.4
"""Where nothing is known of a conical seat: its contact over its bore at least; how far its mouth lies from
there to the cage (our choice)."""


USUAL_TILT = math.radians(1.0)
"""Angle of a lower from plumb (our choice, no source)."""


def cone_that_fits(data: Mapping[str, Any]) -> dict[str, Any]:
    """Half angle and mouth of a conical seat between bore and cage of a check, by its sizes: the usual angle,
    or the one at which the ball sits barely outside the bore; nothing where no cone fits."""
    ball, bore, cage = (data[name] for name in ("ball_diameter", "seat_diameter", "cage_diameter"))
    contact = max(ball * math.cos(USUAL_CONE), BARELY * bore)
    if not ball * math.cos(FLATTEST) < contact < ball * math.cos(STEEPEST):
        return {}
    mouth = contact + MOUTH_SHARE * (cage - contact)
    return {"seat_half_angle": math.acos(contact / ball), "seat_mouth_diameter": mouth}


def _default_dead_volume(data: dict[str, Any]) -> float:
    share = DEAD_VOLUME_SHARE * math.pi / 4
    return float(share * data.get("bore", math.nan) ** 2 * data.get("stroke", math.nan))


class Lower(Table):
    """Cylinder, rod and the volumes that the piston does not sweep."""

    bore: Annotated[float, Quantity("length", 5e-3, 0.5, "48 mm"), BORED]
    rod: Annotated[float, Quantity("length", 2e-3, 0.5, "34 mm"), BORED]
    stroke: Annotated[float, Quantity("length", 5e-3, 3.0, "90 mm")]
    lower_dead_volume: DeadVolume = Field(default_factory=_default_dead_volume)
    upper_dead_volume: DeadVolume = Field(default_factory=_default_dead_volume)
    piston_packing_gap: Annotated[float, Quantity("length", 0.0, 1e-3, "20 um"), Silent()] = 0.0
    piston_packing_length: Annotated[
        float, Quantity("length", 1e-4, 0.2, "12 mm"), Silent("piston_packing_gap")
    ] = 0.012
    rod_packing_gap: Annotated[float, Quantity("length", 0.0, 1e-3, "20 um"), Silent()] = 0.0
    rod_packing_length: Annotated[
        float, Quantity("length", 1e-4, 0.2, "12 mm"), Silent("rod_packing_gap")
    ] = 0.012


class Check(Table):
    """What both ball checks have in common."""

    ball_diameter: Annotated[float, diameter("29.4 mm")]
    ball_density: Annotated[float, Quantity("density", 500.0, 2.5e4, "7800 kg/m3")]
    seat_diameter: Annotated[float, diameter("21 mm"), BORED]
    seat_length: PassageLength
    seat: Annotated[
        Literal["edge", "cone"],
        Typical(
            f"a seat that nobody looked at ({OUR_CHOICE}, no source: look at it)",
            choices=("edge", "cone"),
            weights=(3.0, 1.0),
            companions=(("cone", cone_that_fits),),
            acts_with=("table", (None,)),
            of_default=True,
        ),
    ] = "edge"
    seat_half_angle: Annotated[
        float | None,
        Quantity("angle", STEEPEST, FLATTEST, "45 deg"),
        _ON_CONE,
        Typical(
            "ISO 2768-1 (1989), table 3, class f, sides up to 10 mm (from memory)", amount=math.radians(1.0)
        ),
    ] = None
    seat_mouth_diameter: Annotated[float | None, diameter("25 mm"), _ON_CONE, BORED] = None
    seat_land_width: Annotated[float, Quantity("length", 0.0, 0.05, "0.5 mm")] = 0.0
    cage_diameter: Annotated[float, diameter("37.8 mm"), BORED]
    cage_length: PassageLength
    cage: Literal["bore", "ribs"] = "bore"
    rib_count: Annotated[float | None, Quantity("number", 2.0, 24.0, "3"), _WITH_RIBS] = None
    rib_width: Annotated[float | None, diameter("4 mm"), _WITH_RIBS] = None
    housing_diameter: Annotated[float | None, diameter("44 mm"), _WITH_RIBS, BORED] = None
    stop: Literal["pins", "pad"]
    stop_pad_diameter: Annotated[float | None, diameter("12 mm"), NeededWith("stop", ("pad",))] = None
    discharge_coefficient: Annotated[
        float,
        Quantity("number", 0.3, 1.5, "0.7"),
        Typical(f"0.6 to 0.8 for sharp-edged gaps ({MEMORY})", amount=0.1),
    ] = 0.7
    spring_preload: Annotated[float, Quantity("force", 0.0, 1e4, "2 N"), Spring] = 0.0
    spring_rate: Annotated[float, Quantity("stiffness", 0.0, 1e7, "0.5 N/mm"), Spring] = 0.0
    holding_force: Annotated[float, Quantity("force", 0.0, 1e4, "20 N"), Silent()] = 0.0
    leak_gap: Annotated[float, Quantity("length", 0.0, 1e-3, "10 um")] = 0.0
    surface_roughness: Annotated[
        float, Quantity("length", 1e-8, 1e-3, "2 um"), Typical(f"lapped to worn ({MEMORY})", factor=3.0)
    ] = 2e-6
    table: Annotated[CheckTable | None, _TABLE_SWEPT, Silent()] = None

    @property
    def contact_diameter(self) -> float:
        """Diameter of the circle on which the ball sits [m]: the edge's, or on a cone d cos(half angle)."""
        if self.seat == "cone" and self.seat_half_angle is not None:
            return self.ball_diameter * math.cos(self.seat_half_angle)
        return self.seat_diameter

    @property
    def passage_diameter(self) -> float:
        """Bore [m] of what is around the ball where material passes it: of the cage, or behind the openings
        between its ribs."""
        return self.housing_diameter if self.housing_diameter is not None else self.cage_diameter


class InletCheck(Check):
    """The foot valve; its travel is the base travel plus the shims below the cage."""

    base_travel: Travel


class PistonCheck(Check):
    """The check in the piston."""

    travel: Annotated[float, Quantity("length", 1e-5, 0.2, "5 mm"), CALIPER]


class Shims(Table):
    """A fixed set of shims and the numbers, counted from 1, of those below the inlet check's cage."""

    thicknesses: Annotated[
        tuple[float, ...],
        Quantity("length", 1e-5, 0.05, '["1 mm", "2 mm", "4 mm"]'),
        Field(max_length=MOST_SHIMS),
    ]
    below: tuple[int, ...]


class Closures(Table):
    """By which closures a check is computed, and where in its cage the ball is taken to be."""

    resistance: Annotated[str, Names(FAMILIES)] = "tabulated"
    ball_position: Annotated[
        Literal["centred", "touching", "drifting", "offset"],
        Typical(
            f"drift by own solves; contact and inertia may hold the ball at either end ({OUR_CHOICE})",
            choices=("centred", "drifting", "touching"),
            weights=(1.0, 2.0, 1.0),
            of_default=True,
        ),
    ] = "centred"
    ball_offset: Annotated[
        float | None, Quantity("fraction", 0.0, 1.0, "30 %"), NeededWith("ball_position", ("offset",))
    ] = None
    tilt: Annotated[
        float,
        Quantity("angle", 0.0, 0.5, "1 deg"),
        only_with("ball_position", "drifting"),
        Typical(f"a pump that was hung by eye ({PRACTICE})", amount=USUAL_TILT, even=True),
    ] = USUAL_TILT


TABULATED = Closures()
"""Finite elements, ball on the axis of its cage."""


class Target(Table):
    """What the recommendation shall reach."""

    fill_fraction: Annotated[float, Quantity("fraction", 0.1, 0.999, "90 %")] = 0.9
    landing_speed: Annotated[float, Quantity("velocity", 1e-3, 100.0, "0.5 m/s")] = 0.5
    delivery: Annotated[float, Quantity("fraction", 0.0, 0.999, "85 %"), Silent()] = 0.0

    def is_default(self, key: str) -> bool:
        """Whether nobody set a target: it is then our choice, and refuses nothing."""
        return key not in self.model_fields_set
