"""Answers that are kept beside the scenario that they will make, until it is written."""

import json
import os
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from balltravel.files.read_write import FileError, scenario_bytes, write_or_tell
from balltravel.scenario.arguments import refused

ENDING = ".answers"


@dataclass
class Draft:
    """What was typed so far, by the name of each blank; ``""``: as in the scenario that it starts from, whose
    name and text are ``base``."""

    typed: dict[str, str] = field(default_factory=dict)
    base: tuple[str, str] | None = None


def draft_path(path: str | Path) -> Path:
    """The file of the answers of a scenario that is being made."""
    return Path(f"{path}{ENDING}")


def load_draft(path: str | Path) -> Draft | None:
    """The answers that are kept for a scenario; None where there are none. Raises ScenarioError for a file
    that does not hold answers."""
    place = draft_path(path)
    if not os.path.lexists(place):
        return None
    try:
        raw = json.loads(scenario_bytes(place))
        typed, base = raw["answers"], raw["from"]
        whole = _texts(typed) and (base is None or _texts(base))
        if whole:
            return Draft(dict(typed), None if base is None else (base["name"], base["text"]))
    except (ValueError, KeyError, TypeError, RecursionError):
        pass
    given, allowed = (
        "it does not hold answers",
        "the file as it was written, or none: delete it to begin anew",
    )
    raise refused(str(place), given, allowed, f"rm {place}")


def _texts(raw: Any) -> bool:
    return isinstance(raw, dict) and all(isinstance(text, str) for pair in raw.items() for text in pair)


def keep_draft(draft: Draft, path: str | Path) -> None:
    """Keep the answers, whole or as they were before. Raises FileError."""
    base = draft.base and {"name": draft.base[0], "text": draft.base[1]}
    text = json.dumps({"answers": draft.typed, "from": base}, indent=1)
    write_text(text + "\n", draft_path(path))


def drop_draft(path: str | Path) -> None:
    """Take the answers away; what is not there is no fault. Raises FileError."""
    place = draft_path(path)
    try:
        place.unlink(missing_ok=True)
    except OSError as error:
        raise FileError(f"{place}: cannot be deleted: {error.strerror or error}") from None


def write_text(text: str, path: str | Path) -> None:
    """Write a text file, whole or not at all. Raises FileError."""
    write_or_tell(text.encode("utf-8"), path)
