"""Roos and Willmarth (1971), AIAA J. 9(2):285-291: measured drag of spheres, 122 points, Re 5 to 1.2e5.

Data via github atrettel/sheardata, licence CC-BY-4.0.
"""

import numpy as np

from balltravel.closures.drag import sphere_drag_coefficient


def test_the_chosen_drag_lies_within_the_scatter_of_the_measurements(within, table):
    """8 % root mean square and 25 % at most: neighbouring points differ by up to 20 % themselves."""
    rows = table("roos_willmarth_1971_spheres.csv")
    assert len(rows) == 122
    error = np.log([sphere_drag_coefficient(row["Re"]) / row["Cd"] for row in rows])
    laminar = error[[row["Re"] < 1000 for row in rows]]
    print(
        f"122 points: {np.sqrt(np.mean(error**2)):.3f} root mean square, {np.abs(error).max():.3f} at most; "
        f"{len(laminar)} below Re 1000: {np.sqrt(np.mean(laminar**2)):.3f}"
    )
    assert np.sqrt(np.mean(error**2)) < 0.08
    within(error, 0.25)
    assert np.sqrt(np.mean(laminar**2)) < 0.04
