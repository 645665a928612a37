"""What stands on a job card, in words, whatever it is printed on."""

from dataclasses import dataclass

from balltravel.scenario.model import Scenario
from balltravel.study.travel.trials import Choice


@dataclass(frozen=True)
class Sign:
    """A row of the watch list: what one sees, what it means, what to do."""

    sign: str
    means: str
    do: str


@dataclass(frozen=True)
class Blank:
    """What is filled in today: the ``key`` that it has in a file of observations, if it goes there, its unit,
    and its ``name`` on the card."""

    key: str
    unit: str
    name: str


@dataclass(frozen=True)
class Card:
    """Front: ``headline`` first, then ``steps``: where the shims go; ``drawn``: what the section shows, with
    its ``caption``; ``numbers``: name and value; ``verdict``: sentences; ``watch``;
    ``blanks``: a head and what stands under it, two of them; ``cautions``. Back: ``back``: a head and its
    lines each; ``shims``: name of each shim and where it goes. ``foot``: version and date."""

    title: str
    job: str
    headline: str
    steps: tuple[str, ...]
    drawn: tuple[Scenario, Choice]
    caption: str
    numbers: tuple[tuple[str, str], ...]
    verdict: tuple[str, ...]
    watch: tuple[Sign, ...]
    blanks: tuple[tuple[str, tuple[Blank, ...]], ...]
    cautions: tuple[str, ...]
    shims: tuple[tuple[str, str], ...]
    back: tuple[tuple[str, tuple[str, ...]], ...]
    foot: str
