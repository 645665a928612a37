"""How far the rule for a ball off its axis is from the solves in space that there are.

``python tests/off_axis_compared.py`` prints a line a solve. The solves come from ``python -m
balltravel.closures.fem.make_table FILE --kind off_axis --workers 1`` with FILE the table's
``sim/balltravel/closures/table/ball_off_axis.csv``, which goes on where it stopped (extra ``fem``).
"""

import math

from helpers.off_axis_rows import beside_centred

from balltravel.closures.table.off_axis_gains import rule
from balltravel.closures.table.off_axis_grid import matrix

HEAD = """\
 ball ratio  lift  lean  offset |  passes more, times |  Rqw less, times |    S times   | outward
                                |   rule  held   free |  rule  held  free |  held  free  |  held  free"""


def line(centred, row):
    """A row's numbers: the flow's push away from the axis is over the pressure drop, in seat areas."""
    on = matrix(centred)
    by_rule = 1.0 / rule(*(row[name] for name in ("ball", "ratio", "lift", "offset")))
    held, free = (matrix(row, spin) for spin in ("held", "free"))
    pushes = row["Rqv"], row["Rqv"] - row["Rqs"] * row["Rvs"] / row["Rss"]
    outward = [push / of[0] / math.pi for push, of in zip(pushes, (held, free), strict=True)]
    place = "{ball:5g} {ratio:5g} {lift:5g} {lean:5g} {offset:7.4f}".format(**row)
    gains = " ".join(f"| {by_rule[k]:6.3f} {on[k] / held[k]:5.3f} {on[k] / free[k]:6.3f}" for k in (0, 1))
    slips = f"{held[2] / on[2]:5.3f} {free[2] / on[2]:5.3f}"
    return f"{place} {gains} | {slips} | {outward[0]:6.3f} {outward[1]:6.3f}"


if __name__ == "__main__":
    print(HEAD)
    for pair in beside_centred():
        print(line(*pair))
