"""A scenario with other values, checked only where they reach.

What reads none of the changed keys cannot find fault with them: asked again are the limits of a new value,
the defaults that follow from it in its table, the marks and rules that read it, and the material. A value
that is not surely of its kind and in its limits is left to the whole validation.
"""

from collections.abc import Collection, Iterable, Mapping, Sequence, Set
from functools import lru_cache
from typing import TYPE_CHECKING, Any, Literal, NamedTuple, get_args, get_origin

from balltravel.scenario.arguments import plain
from balltravel.scenario.rules.all import RULES, Rule, following_faults
from balltravel.scenario.rules.marks import instead_fault, needed_fault
from balltravel.scenario.rules.material import material_faults
from balltravel.scenario.rules.rule import Fault, ScenarioError
from balltravel.scenario.tables import FIELDS, INSTEAD, NEEDED, TABLES, flat, given_keys
from balltravel.units.keys import InsteadOf, NeededWith, names_of, quantity_of

if TYPE_CHECKING:
    from balltravel.scenario.model import Scenario

_ARRAYS = {key for key, field in FIELDS.items() if get_origin(field.annotation) is tuple}
_LIMITS = {
    key: (quantity.low, quantity.high)
    for key, field in FIELDS.items()
    if key not in _ARRAYS and (quantity := quantity_of(field))
}
_CHOICES = {
    key: get_args(field.annotation)
    for key, field in FIELDS.items()
    if get_origin(field.annotation) is Literal
}
_NAMES = {key: names for key, field in FIELDS.items() if key not in _ARRAYS and (names := names_of(field))}
_COUNTS = {key for key in _ARRAYS if int in get_args(FIELDS[key].annotation)}
LISTS = _ARRAYS - _COUNTS
"""Keys whose values only the whole validation knows to be sound."""

_FOLLOWING: dict[str, Any] = {
    key: field.default_factory for key, field in FIELDS.items() if field.default_factory is not None
}
_OF_THE_MATERIAL = (*(key for key in FIELDS if key.startswith("material.")), "suction.temperature")
_CONDITIONAL = NEEDED.keys() - _FOLLOWING.keys()
"""Keys that have no value, not even a default, where they are not given."""


def _surely(key: str, value: object) -> Any:
    """The value as a scenario holds it, if it is surely of its kind and within its limits; else None."""
    kind = type(value)
    if kind not in (float, int, str, tuple, list):
        value = plain(value)
        kind = type(value)
    if key in _LIMITS:
        low, high = _LIMITS[key]
        return float(value) if kind in (float, int) and low <= value <= high else None  # type: ignore
    if kind is str:
        known = _NAMES[key].allowed if key in _NAMES else _CHOICES.get(key, ())
        return value if value in known else None
    if key in _COUNTS and isinstance(value, tuple | list) and all(type(number) is int for number in value):
        return tuple(value)
    return None


class _Share(NamedTuple):
    """What is done in one table: its name, the keys with another value and their names in it, names that are
    given now and those that are not, keys whose value follows, and, where one does, all names and keys up to
    the last such."""

    table: str
    keys: tuple[tuple[str, str], ...]
    given: frozenset[str]
    gone: frozenset[str]
    following: tuple[str, ...]
    followed: tuple[tuple[str, str], ...]


class _Reach(NamedTuple):
    """How far other values of some keys reach: what is done in which tables, all keys whose value may change,
    of these those that follow and those left without a value, all keys given now, and what is asked again."""

    shares: tuple[_Share, ...]
    changed: frozenset[str]
    following: tuple[str, ...]
    without: frozenset[str]
    given: frozenset[str]
    rules: tuple[Rule, ...]
    needed: tuple[tuple[str, NeededWith], ...]
    instead: tuple[tuple[str, InsteadOf], ...]
    material: bool


@lru_cache(maxsize=256)
def _reach(
    given: frozenset[str], keys: frozenset[str], gone: frozenset[str], still: frozenset[str] = frozenset()
) -> _Reach:
    """Of new values for ``keys``, of which those ``gone`` are taken out, where others are ``given``;
    ``still``: keys that would follow and are known to follow from none of them."""
    tables = [table for table in TABLES if any(key.startswith(f"{table}.") for key in keys)]
    after = (given | keys) - gone
    following = tuple(key for key in _FOLLOWING if key not in after | still and key.split(".")[0] in tables)
    changed, turned = keys | {*following}, given ^ after
    return _Reach(
        tuple(_share(table, keys, gone, following) for table in tables),
        changed,
        following,
        gone & _CONDITIONAL,
        after,
        tuple(rule for rule in RULES if changed.intersection(rule.keys)),
        tuple(
            (key, mark)
            for key, mark in NEEDED.items()
            if changed & {mark.selector, mark.other} or turned & {key, mark.instead}
        ),
        tuple((key, mark) for key, mark in INSTEAD.items() if turned & {key, mark.source}),
        "suction.temperature" in changed or "material" in tables,
    )


def _sources(read: Collection[str], keys: Sequence[str], following: Sequence[str]) -> tuple[str, ...]:
    """Of the changed ``keys`` those on whose values what is ``read`` hangs; a value that follows hangs on all
    of its table."""
    tables = {key.split(".")[0] for key in read if key in following}
    return tuple(key for key in keys if key in read or key.split(".")[0] in tables)


def _share(table: str, keys: Set[str], gone: Set[str], following: Sequence[str]) -> _Share:
    names = [(f"{table}.{name}", name) for name in TABLES[table].model_fields]
    following = tuple(key for key, _ in names if key in following)
    last = max((k for k, (key, _) in enumerate(names) if key in following), default=-1)
    return _Share(
        table,
        tuple((key, name) for key, name in names if key in keys),
        frozenset(name for key, name in names if key in keys - gone),
        frozenset(name for key, name in names if key in gone),
        following,
        tuple(names[: last + 1]),
    )


class Sound(list[dict[str, Any]]):
    """Changes of which each is known to make a scenario: values as a scenario has them, sound by themselves
    and together."""


class Part(NamedTuple):
    """What finds fault with values of the ``keys`` alone, whatever others have: how far it reaches, and the
    known values of all other keys that its rules and marks read."""

    keys: tuple[str, ...]
    reach: _Reach
    known: dict[str, Any]


class Variations:
    """Other values for one scenario, any number of times."""

    def __init__(self, scenario: "Scenario") -> None:
        self.scenario = scenario
        self._given = frozenset(given_keys(scenario))
        without = _CONDITIONAL - self._given
        self._values = {key: value for key, value in flat(scenario).items() if key not in without}

    def changed(self, changes: Mapping[str, Any]) -> "tuple[Scenario, frozenset[str]] | None":
        """The scenario with other values (dotted key -> SI value; None takes the key out), and all keys that
        may have another value now. None where the whole validation must look at it: of a value that is not
        surely of its kind and in its limits. Raises ScenarioError for values that do not go together."""
        gone = frozenset([key for key, value in changes.items() if value is None])
        if not changes.keys() <= FIELDS.keys() or any(FIELDS[key].is_required() for key in gone):
            return None
        reach = _reach(self._given, frozenset(changes), gone)
        fresh: dict[str, Any] = {}
        for key, value in changes.items():
            fresh[key] = FIELDS[key].default if value is None else _surely(key, value)
            if fresh[key] is None and value is not None:
                return None
        tables = self._tables(reach, fresh)
        values = {**self._values, **fresh}
        for key in reach.without:
            del values[key]
        made = _with_tables(self.scenario, tables)
        faults = _faults(made, values, fresh, reach)
        if faults:
            raise ScenarioError(faults)
        return None if faults is None else (_without_ranges(made, changes), reach.changed)

    def parts(self, keys: Sequence[str]) -> list[Part]:
        """All that can find fault with other values of these keys, a part for each set of keys that something
        reads: so no combination of many is tried where that of few counts."""
        reach = self.reach(keys, frozenset())
        by_keys: dict[tuple[str, ...], list[Any]] = {}
        asked: list[tuple[str, Any, Sequence[str]]] = [
            *(("needed", item, (item[1].selector, item[1].other)) for item in reach.needed),
            *(("instead", item, ()) for item in reach.instead),
            *(("rules", rule, rule.keys) for rule in reach.rules if self._is_known(rule.keys, reach.changed)),
            *(("following", key, (key,)) for key in reach.following),
        ]
        if reach.material:
            asked.append(("material", True, _OF_THE_MATERIAL))
        for what, item, read in asked:
            by_keys.setdefault(_sources(read, keys, reach.following), []).append((what, item, read))
        return [self._part(part, group, reach) for part, group in by_keys.items()]

    def _is_known(self, keys: Sequence[str], changed: Set[str]) -> bool:
        """Whether a rule of these keys can be tried: a value that is not known and stays so is none."""
        values = (self._values.get(key) for key in keys if key not in changed)
        return all(value is not None and value == value for value in values)

    def _part(
        self, keys: tuple[str, ...], asked: Sequence[tuple[str, Any, Sequence[str]]], reach: _Reach
    ) -> Part:
        """All that reads values of these keys: for each what it is, itself and the keys that it reads."""
        read = {key for _, _, read in asked for key in read}
        tables = {key.split(".")[0] for key in read & {*reach.following}}
        if any(what == "material" for what, _, _ in asked):
            tables |= {"material", "suction"} & {key.split(".")[0] for key in keys}
        after = {share.table: share.following for share in reach.shares}
        shares = tuple(
            _share(table, {*keys}, frozenset(), after[table]) for table in TABLES if table in tables
        )
        of = {name: tuple(item for what, item, _ in asked if what == name) for name in _Reach._fields}
        part = reach._replace(
            shares=shares,
            following=of["following"],
            rules=of["rules"],
            needed=of["needed"],
            instead=of["instead"],
            material=bool(of["material"]),
        )
        return Part(keys, part, {key: self._values[key] for key in read & self._values.keys()})

    def faults(self, part: Part, values: Mapping[str, Any]) -> list[Fault] | None:
        """What a part finds wrong with values of its keys, each of which is sound by itself; None where the
        whole validation must tell it."""
        fresh = dict(values)
        made = _with_tables(self.scenario, self._tables(part.reach, fresh))
        return _faults(made, {**part.known, **fresh}, fresh, part.reach)

    def _tables(self, reach: _Reach, fresh: dict[str, Any]) -> dict[str, Any]:
        """Tables with fresh values, by name."""
        return {
            share.table: _table(getattr(self.scenario, share.table), share, fresh) for share in reach.shares
        }

    def reach(self, keys: Sequence[str], gone: frozenset[str]) -> _Reach:
        """How far other values of these keys reach, of which those ``gone`` are taken out."""
        changed = with_following(self.scenario, self._given, keys)
        return _reach(self._given, frozenset(keys), gone, frozenset(_FOLLOWING.keys() - changed))


class _Noted(dict[str, Any]):
    """Values that note which of them are asked for."""

    def __init__(self, values: Mapping[str, Any]) -> None:
        super().__init__(values)
        self.seen: set[str] = set()

    def __getitem__(self, name: str) -> Any:
        self.seen.add(name)
        return super().__getitem__(name)

    def get(self, name: str, default: Any = None) -> Any:
        self.seen.add(name)
        return super().get(name, default)


def with_following(scenario: "Scenario", given: Set[str], keys: Iterable[str]) -> set[str]:
    """These keys, and those beside the ``given`` ones whose value follows from them."""
    changed = {*keys}
    for key in _FOLLOWING:  # in their order: one may follow from another
        if key not in given and changed & _followed_from(scenario, key):
            changed.add(key)
    return changed


def _followed_from(scenario: "Scenario", key: str) -> set[str]:
    """Keys from which the value of one follows that is not given: as long as none of them has another value,
    neither has this."""
    table = key.split(".")[0]
    names = [*TABLES[table].model_fields]
    values = getattr(scenario, table).__dict__
    noted = _Noted({name: values[name] for name in names[: names.index(key.split(".")[1])]})
    _FOLLOWING[key](noted)
    return {f"{table}.{name}" for name in noted.seen}


class Partly:
    """A scenario in which, of ``keys`` that get other values (``gone`` of them none), those alone have one
    that are ``read``: who asks for another of them raises AttributeError.

    ``keys``: those that have one; a value that follows hangs on all keys of its table. ``changed``: all keys
    whose value may change.
    """

    def __init__(
        self, variations: Variations, keys: Sequence[str], gone: frozenset[str], read: Set[str]
    ) -> None:
        reach = variations.reach(keys, gone)
        self.changed, self.keys = reach.changed, _sources(read, keys, reach.following)
        whole = {key.split(".")[0] for key in reach.following if key in read}
        follow = [key for key in reach.following if key.split(".")[0] in whole]
        tables = {
            share.table: getattr(variations.scenario, share.table).model_copy() for share in reach.shares
        }
        for key in reach.changed - {*self.keys, *follow}:
            table, name = key.split(".")
            del tables[table].__dict__[name]
        mine = [table for table in tables if any(key.startswith(f"{table}.") for key in self.keys)]
        self._shares = [(tables[table], _share(table, {*self.keys}, gone, follow)) for table in mine]
        self._scenario = _with_tables(variations.scenario, tables)

    def scenario(self, values: Sequence[Any]) -> "Scenario":
        """With values of its keys, in their order, each sound by itself and with the others. The tables are
        new each time, for caches may keep them; the scenario is the same."""
        fresh = dict(zip(self.keys, values, strict=True))
        if None in values:
            fresh = {key: FIELDS[key].default if value is None else value for key, value in fresh.items()}
        for blank, share in self._shares:
            self._scenario.__dict__[share.table] = _table(blank, share, fresh)
        return self._scenario


def _without_ranges(scenario: "Scenario", changes: Collection[str]) -> "Scenario":
    """A scenario, newly made, in which those keys have no range that was stated of their value before."""
    ranges = scenario.ranges
    if ranges and not ranges.keys().isdisjoint(changes):
        scenario.__dict__["ranges"] = {key: law for key, law in ranges.items() if key not in changes}
    return scenario


def _with_tables(scenario: "Scenario", tables: Mapping[str, Any]) -> "Scenario":
    """A scenario with other tables."""
    if not tables:
        return scenario
    made = scenario.model_copy()
    made.__dict__.update(tables)
    made.model_fields_set.update(tables)
    return made


def _table(table: Any, share: _Share, fresh: dict[str, Any]) -> Any:
    """A table with its ``fresh`` values, to which those are added that follow from others before them."""
    made = table.model_copy()
    values = made.__dict__
    for key, name in share.keys:
        values[name] = fresh[key]
    made.model_fields_set.update(share.given)
    if share.gone:
        made.model_fields_set.difference_update(share.gone)
    before: dict[str, Any] = {}
    for key, name in share.followed:
        if key in share.following:
            values[name] = fresh[key] = _FOLLOWING[key](before)
        before[name] = values[name]
    return made


def _faults(
    scenario: "Scenario", values: dict[str, Any], fresh: dict[str, Any], reach: _Reach
) -> list[Fault] | None:
    """What is found wrong by all that reads a changed key, in the order of the whole validation; None where
    that one must tell it."""
    faults = [needed_fault(key, mark, values, reach.given) for key, mark in reach.needed]
    faults += [instead_fault(key, mark, reach.given) for key, mark in reach.instead]
    faults += [rule.fault(values) for rule in reach.rules]
    broken = [fault for fault in faults if fault]
    broken += following_faults({key: fresh[key] for key in reach.following}, reach.given)
    if not reach.material or any(fault.key.startswith("material") for fault in broken):
        return broken
    try:
        return broken + material_faults(scenario.material, scenario.suction.temperature)
    except ValueError:  # a law that cannot be
        return None
