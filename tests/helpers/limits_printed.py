"""What `limits` prints, read back as one reads it at a bench: each command and what it is said to give."""

import re
from typing import NamedTuple

NUMBERS = re.compile(r"fill ([\d.]+) %, deliv\. (-?[\d.]+) %, landing ([\d.]+) m/s")


class Printed(NamedTuple):
    """Settings of a line to try, and the numbers printed for it: fill [%], delivery [%], landing [m/s], as
    texts."""

    settings: tuple[str, ...]
    fill: str
    delivery: str
    landing: str


def lines_to_try(out: str) -> list[Printed]:
    """Every line to try of all arrangements, in their order."""
    found: list[Printed] = []
    for block in re.split(r"\n\n(?=As it is now|Recommended|Nearest|What one|What comes)", out)[1:]:
        block = block.split("\nEach input is varied")[0]
        block = re.sub(r"\n\nWhat decides:\n.*?\n\n", "\n", block, flags=re.DOTALL)
        head, _, rest = block.partition("\n\n")
        added = tuple(re.findall(r'add\s+--set\s+"([^"]+)"', head))
        rows = re.split(r"\nAlso:|(?:! )?Two together", rest)[0]
        for row, beneath in re.findall(r"^(.+)\n((?: {7}\S.*\n?)+)", rows, re.MULTILINE):
            alone, *size = re.split(r"(?:! )?next size:", beneath)
            found.append(Printed((*added, *_settings(alone)), *row.split()[-3:]))
            found += [Printed((*added, *_settings(text)), *_numbers(text)) for text in size]
        for pair in re.findall(r"Two together .*?(?=\n\n|\Z)", block, re.DOTALL):
            found.append(Printed(tuple(_settings(pair)), *_numbers(pair)))
    return found


def _settings(text: str) -> list[str]:
    return [" ".join(setting.split()) for setting in re.findall(r'--set\s+"([^"]+)"', text)]


def _numbers(text: str) -> tuple[str, ...]:
    (numbers,) = NUMBERS.findall(" ".join(text.split()))
    return numbers
