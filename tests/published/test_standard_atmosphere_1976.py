"""U.S. Standard Atmosphere (1976): pressure over altitude up to 11 km; the library ``fluids`` as referee."""

import numpy as np
import pytest

from balltravel.site.atmosphere import barometric_pressure

# Table I of the standard, geometric altitude [m] -> pressure [mbar]; from memory.
TABLE = {0.0: 1013.25, 1000.0: 898.76, 2000.0: 795.01, 3000.0: 701.21, 5000.0: 540.48, 8000.0: 356.51}


def test_the_pressure_agrees_with_the_standards_table(agree):
    """Five digits, from memory."""
    for altitude, mbar in TABLE.items():
        agree(barometric_pressure(altitude), 100.0 * mbar, rel=2e-5)


def test_the_pressure_agrees_with_an_independent_library(agree):
    """1e-11: the same formula and constants; the earth a metre larger is 5e-10."""
    fluids = pytest.importorskip("fluids")
    for altitude in np.linspace(-500.0, 11000.0, 47):
        agree(barometric_pressure(altitude), fluids.ATMOSPHERE_1976(altitude).P, rel=1e-11)
