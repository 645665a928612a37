"""What ``new`` prints when a scenario or a worksheet is made."""

import textwrap
from typing import TYPE_CHECKING

from balltravel.bench.new.blanks import BLANKS, BY_NAME
from balltravel.units.printable import WIDTH

if TYPE_CHECKING:
    from balltravel.bench.new.make import Made


def new_text(path: str, made: "Made") -> str:
    """What is known, what is not, and what to do next."""
    unknown = [
        f"{BY_NAME[name].letter} {BY_NAME[name].asks[0].lower()}{BY_NAME[name].asks[1:]}"
        for name in made.unknown
    ]
    words = f"{path}: written. {len(made.answered)} of {len(BLANKS)} blanks answered."
    if unknown:
        words += f" Not known, so a range stands for it: {'; '.join(unknown)}."
    lines = textwrap.wrap(words, WIDTH, break_long_words=False, break_on_hyphens=False)
    return "\n".join(
        [
            *lines,
            "",
            "Next:",
            f"  balltravel recommend {path}",
            f"  balltravel check {path} --ranges",
        ]
    )


def worksheet_text(path: str, system: str) -> str:
    """Where the sheet is and how its blanks get in."""
    units = "inches" if system == "us" else "millimetres"
    written = f"{path}: written, blanks in {units}. Print it, fill it in, then:"
    return f"{written}\n  balltravel new --answers {path}"
