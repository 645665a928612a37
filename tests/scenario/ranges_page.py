"""The table of typical ranges in docs/ranges.md, made from the marks of the keys: ``python ranges_page.py``
writes it anew."""

from pathlib import Path

from balltravel.scenario.model import FIELDS, quantity_of
from balltravel.scenario.ranges import has_default
from balltravel.scenario.tables import TYPICAL
from balltravel.scenario.unknowns import A_SHARE, described
from balltravel.units import to_text
from balltravel.units.typical import Typical

PAGE = Path(__file__).parents[2] / "docs" / "ranges.md"
HEAD = '| key | a written value | `"unknown"` | source |\n|---|---|---|---|\n'


def rows() -> list[str]:
    """A line of the table for each key that has a typical range; both checks together."""
    lines = []
    for key, mark in TYPICAL.items():
        inlet = key.replace("piston_check.", "inlet_check.")
        if key.startswith("piston_check.") and inlet in TYPICAL:
            continue
        shared = key.startswith("inlet_check.") and key.replace("inlet_", "piston_", 1) in TYPICAL
        named = f"`{key}`" + (" and the same of `piston_check`" if shared else "")
        lines.append(f"| {named} | {_written(key, mark)} | {_unknown(key, mark)} | {mark.source} |")
    return lines


def _written(key: str, mark: Typical) -> str:
    """How far a value that was just written spreads."""
    quantity = quantity_of(FIELDS[key])
    dimension = quantity.dimension if quantity else ""
    if mark.choices:
        text = "known; left out: " + described(mark.about(None))
    elif mark.factor > 1.0:
        text = f"{100.0 * (mark.factor - 1.0):.3g} %" if mark.factor < A_SHARE else f"x/ {mark.factor:g}"
    elif mark.by_size:
        text = f"+- {1e3 * mark.by_size[0][1]:g} to {1e3 * mark.by_size[-1][1]:g} mm by its size"
    elif mark.even:
        amount = to_text(mark.amount, dimension)
        text = f"even from {amount} less to {amount} more"
    else:
        amount = f"{mark.amount:g} K" if dimension == "temperature" else to_text(mark.amount, dimension)
        text = f"+- {amount}"
    if mark.acts_with:
        other, choices = mark.acts_with
        without = choices == (None,)
        text += f"; without a `{other}`" if without else f"; with `{other}` = {' or '.join(choices)}"
    return text


def _unknown(key: str, mark: Typical) -> str:
    """What stands for a value that is not known at all."""
    law, quantity = mark.of_unknown(), quantity_of(FIELDS[key])
    if law is not None and quantity is not None:
        return described(law, quantity.dimension)
    return "its default" if has_default(key) else "-"


def sizes(mark: Typical) -> str:
    """What a tolerance is for which size, in a sentence's words."""
    return ", ".join(f"{1e3 * amount:g} mm up to {1e3 * size:g} mm" for size, amount in mark.by_size)


def with_table(page: str) -> str:
    """The page with its table made anew."""
    before, _, after = page.partition(HEAD)
    rest = after.partition("\n\n")[2]
    return f"{before}{HEAD}{chr(10).join(rows())}\n\n{rest}"


if __name__ == "__main__":
    PAGE.write_text(with_table(PAGE.read_text(encoding="utf-8")), encoding="utf-8")
