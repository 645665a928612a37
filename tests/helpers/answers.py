"""What a command gives out, text, JSON and figure, of one run of it, to compare units without another."""

import json
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

from matplotlib.text import Text

from balltravel.cli.command import Job
from balltravel.cli.given import read_file
from balltravel.cli.main import _parser
from balltravel.cli.run import _json, _load, _text
from balltravel.units.display import shown_in

SCENARIOS = Path(__file__).parents[2] / "scenarios"


class Answer(NamedTuple):
    """Text, JSON, and all words of the figure ("" of a command that draws none)."""

    text: str
    json: dict[str, Any]
    drawn: str


@cache
def answer_of(line: str, units: str) -> Answer:
    """Of a command line such as ``"simulate primer.toml"``, worked out and shown in these units."""
    return answers_of(line, (units,))[0]


@cache
def answers_of(line: str, units: tuple[str, ...]) -> list[Answer]:
    """The same, worked out in the first of these units and shown in each."""
    command_name, file_name, *options = line.split()
    options = [str(SCENARIOS / option) if option.endswith(".toml") else option for option in options]
    arguments = _parser().parse_args([command_name, str(SCENARIOS / file_name), *options])
    command = arguments.row.variant(arguments) or arguments.row
    file = read_file(arguments)
    with shown_in(units[0]):
        made = command.work(Job(arguments, file, lambda *_: None))
    answers = []
    for system in units:
        with shown_in(system):
            draws = command.figure and command.name != "sweep"  # whose figures depend on the keys
            drawn = words_of(_load(command.figure)(*made)) if draws else ""
            answers.append(_untitled(Answer(_text(command, made), _json(command, made), drawn), file))
    return answers


def _untitled(answer: Answer, file: Any) -> Answer:
    """Without the title, which is the user's own text and may have sizes in it."""
    title = file.scenario.title
    told = json.loads(json.dumps(answer.json).replace(json.dumps(title)[1:-1], "title"))
    return Answer(answer.text.replace(title, "title"), told, answer.drawn.replace(title, "title"))


def words_of(figure: Any) -> str:
    """All words of a figure."""
    figure.draw_without_rendering()
    return "\n".join(text.get_text() for text in figure.findobj(Text))


def sentences_of(values: Any) -> list[str]:
    """All texts of a JSON answer that are words for people."""
    if isinstance(values, str):
        return [values] if " " in values else []
    inner = values.values() if isinstance(values, dict) else values if isinstance(values, list) else []
    return [sentence for value in inner for sentence in sentences_of(value)]
