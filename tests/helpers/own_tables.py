"""The table of a conical check that balltravel check-table made (elements of 0.212 of the local width)."""

from pathlib import Path

from balltravel.files.check_table import table_from

CONE_TABLE = Path(__file__).parents[1] / "data" / "cone_of_45_degrees.nc"
"""Of the inlet check of scenarios/primer.toml with the settings below."""

CONE_SEAT = (
    "inlet_check.seat=cone",
    "inlet_check.seat_half_angle=45 deg",
    "inlet_check.seat_mouth_diameter=26 mm",
    "inlet_check.seat_diameter=18 mm",
)
WITH_TABLE = (*CONE_SEAT, f"inlet_check.table={CONE_TABLE}")


def table_in(path):
    """The table in a file."""
    return table_from(path.read_bytes())
