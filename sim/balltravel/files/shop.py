"""What a shop writes for a key, as the key of a scenario that means the same."""

from dataclasses import replace

from balltravel.files.values import Entry
from balltravel.material.reading_text import tells_readings
from balltravel.scenario.model import ScenarioError
from balltravel.scenario.trade_names import DENSITIES
from balltravel.site.ball_materials import BALL_MATERIALS, ball_material_named, names_ball_material
from balltravel.units import UnitError
from balltravel.units.spread import Spread

VISCOSITY, READINGS = "material.viscosity", "material.readings"


def viscosity_as_reading(entries: dict[str, Entry], since: int = 0) -> None:
    """A viscosity that tells what an instrument showed becomes the only reading, in place.

    Where there are readings too, they stay, and so does the viscosity, to be refused; unless it alone was
    set, at a line from ``since`` on, and the readings are of the file.
    """
    viscosity, readings = entries.get(VISCOSITY), entries.get(READINGS)
    if viscosity is None or not tells_readings(viscosity.raw):
        return
    if readings is None or (since and readings.line < since <= viscosity.line):
        del entries[VISCOSITY]
        entries[READINGS] = replace(viscosity, key=READINGS, raw=[viscosity.raw], written_as=VISCOSITY)


def names_material(entry: Entry) -> bool:
    """Whether an entry tells a ball's density by what the ball is made of."""
    return entry.key in DENSITIES and (bool(entry.written_as) or names_ball_material(entry.raw))


def density_of(entry: Entry) -> Spread:
    """The density of a ball's material, as it may be; raises ScenarioError."""
    try:
        name = ball_material_named(entry.raw)
    except UnitError as error:
        raise ScenarioError([entry.fault(error.given, error.allowed, error.example)]) from None
    *densities, source = BALL_MATERIALS[name]
    return Spread("triangle", tuple(densities), origin=f"{name}, {source}")
