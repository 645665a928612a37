"""Which keys of a scenario a function reads: noted while it runs.

What a function gives depends on what it read and on nothing else: as long as none of these keys has another
value it takes the same way and gives the same again.
"""

import inspect
from collections.abc import Callable
from typing import Any, cast

from pydantic import BaseModel

from balltravel.scenario.model import Scenario


class _Noted:
    """A table, or the whole scenario, that notes the dotted keys of whatever is read of it."""

    def __init__(self, model: BaseModel, place: str, seen: set[str]) -> None:
        self._model, self._place, self._seen = model, place, seen

    def __getattr__(self, name: str) -> Any:
        kind = type(self._model)
        if name not in kind.model_fields:  # a property or a method, which may read more
            return inspect.getattr_static(kind, name).__get__(self, kind)
        value = getattr(self._model, name)
        if isinstance(value, BaseModel):
            return _Noted(value, f"{name}.", self._seen)
        self._seen.add(f"{self._place}{name}")
        return value

    def _whole(self) -> BaseModel:
        """The table itself, of which every key counts as read."""
        self._seen.update(f"{self._place}{name}" for name in type(self._model).model_fields)
        return self._model

    # What goes by a whole table, a cache for example, reads all of it.
    def __iter__(self) -> Any:
        return iter(self._whole())

    def __hash__(self) -> int:
        return hash(self._whole())

    def __eq__(self, other: object) -> bool:
        return bool(self._whole() == (other._whole() if isinstance(other, _Noted) else other))


def keys_read(function: Callable[[Scenario], object], scenario: Scenario) -> frozenset[str]:
    """Dotted keys of which ``function`` reads the values in a scenario."""
    seen: set[str] = set()
    function(cast(Scenario, _Noted(scenario, "", seen)))
    return frozenset(seen)
