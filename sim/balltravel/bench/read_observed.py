"""A TOML file of observations, read with all its faults at once."""

import difflib
import math
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

from balltravel.bench.known_before import highest_at_inlet, pressure_at_stall
from balltravel.bench.observed import (
    BALL_FALL,
    GOOD_DAY,
    GOOD_STALL,
    SEEN,
    STALL,
    Condition,
    Observations,
    Reading,
)
from balltravel.bench.signs import CYCLE_SIGNS, POUNDING, STALL_SIGNS, Sign
from balltravel.bench.slips import slips_between, slips_within
from balltravel.files.document import named
from balltravel.files.lines import TextLimitError, key_lines
from balltravel.files.read_write import read_text
from balltravel.files.swept import value_as_set
from balltravel.files.toml_text import read_toml
from balltravel.scenario.arguments import scenario_given
from balltravel.scenario.model import FIELDS, Scenario, ScenarioError, unknown_key, with_values
from balltravel.scenario.rules.all import Fault
from balltravel.units import UnitError, amount_to_si, shown, to_si, to_text
from balltravel.units.keys import Quantity, choice_error
from balltravel.units.spread import SURE

MOST_CONDITIONS = 4
"""Conditions under which a pump is watched, at most (our choice): each costs a set of runs."""

SAME_PRESSURE = 0.1
"""By what share the pressures of two stalls that are compared may differ (our choice)."""

NOTHING = "none"
"""A dip, a give or a weep that is not there: read as 0."""

EXAMPLE = 'cycle_rate = "30 /min"'

_STALL_PRESSURE = Quantity("pressure", 1e5, 1e8, "120 bar")
_FALL: dict[str, Quantity] = {
    "oil_viscosity": Quantity("viscosity", 1e-4, 1e4, "10 Pa.s"),
    "oil_density": Quantity("density", 300.0, 1e4, "970 kg/m3"),
    "time": Quantity("time", 1e-3, 1e4, "317 ms"),
}
_NONE_IN = re.compile(r"\s*none\s+in\s+(.+)", re.DOTALL)
_AS_A_WEEP = (
    'a volume over a time, caught at the gland, "0 cc/h" to "1 l/s", or "none": cc/h, cc/min, US fl oz/h'
)
_HEADER, _KEY = re.compile(r"\s*\[{1,2}\s*([\w.\"]+)\s*\]"), re.compile(r"\s*([\w.\"]+)\s*=")


def read_observations(path: str | Path, scenario: Scenario, today: date | None = None) -> Observations:
    """The observations in a TOML file, of this scenario; ``today``: the last day that can be, by default that
    of the machine. Raises ScenarioError with every fault."""
    return parse_observations(read_text(path), str(path), scenario, today)


def parse_observations(text: str, name: str, scenario: Scenario, today: date | None = None) -> Observations:
    """The same of a text; ``name`` stands in its faults."""
    scenario_given(scenario)
    try:
        key_lines(text)
        tables = read_toml(text, name, EXAMPLE)
    except TextLimitError as error:
        where = f"{name}:{error.line}"
        raise ScenarioError([Fault("", error.given, error.allowed, "", where, error.line)]) from None
    reader = _Reader(name, _places(text), scenario, today or date.today())
    observations = reader.read(tables)
    if reader.faults:
        raise ScenarioError(sorted(reader.faults, key=lambda fault: fault.line))
    return observations


def _places(text: str) -> dict[tuple[str, int, str], int]:
    """Line of each key, by its table, the number of that table among those of its name, and its name; of the
    header by an empty name."""
    places: dict[tuple[str, int, str], int] = {}
    counts: dict[str, int] = {}
    table = ""
    for number, line in enumerate(text.split("\n"), 1):
        if header := _HEADER.match(line):
            table = header[1]
            counts[table] = counts.get(table, 0) + 1
            places[table, counts[table], ""] = number
        elif key := _KEY.match(line):
            places.setdefault((table, counts.get(table, 1), key[1].strip('"')), number)
    return places


class _Reader:
    """Reads tables and keeps what is wrong with them."""

    def __init__(
        self, name: str, places: Mapping[tuple[str, int, str], int], scenario: Scenario, today: date
    ) -> None:
        self.name, self.places, self.scenario, self.today = name, places, scenario, today
        self.faults: list[Fault] = []

    def read(self, tables: Mapping[str, Any]) -> Observations:
        """All tables of a file."""
        known = (SEEN, GOOD_DAY, STALL, GOOD_STALL, BALL_FALL)
        for table in tables:
            if table not in known:
                self._refuse(table, 1, "", "no such table" + _near(table, known), "[[seen]], [[good_day]], "
                             "[stall], [good_stall], [ball_fall]", "[[seen]]")  # fmt: skip
        seen = tuple(self._conditions(SEEN, tables.get(SEEN)))
        for number, slip in slips_between(seen):
            self._refuse(SEEN, number, *slip)
        good = tuple(self._conditions(GOOD_DAY, tables.get(GOOD_DAY, [])))
        for number, condition in enumerate(good, 1):
            if all(condition.changes != other.changes for other in seen) and not self.faults:
                allowed = "the set of one of [[seen]], with which the good day is compared"
                self._refuse(GOOD_DAY, number, "set", "no [[seen]] was set like this", allowed)
        pressure, stall, taken = self._stall(STALL, tables.get(STALL), seen)
        good_stall = self._good_stall(tables.get(GOOD_STALL), pressure)
        ball_fall = self._ball_fall(tables.get(BALL_FALL))
        return Observations(seen, good, pressure, stall, ball_fall, taken, good_stall)

    def _refuse(self, table: str, number: int, key: str, given: str, allowed: str, example: str = "") -> None:
        line = self.places.get((table, number, key), self.places.get((table, number, ""), 1))
        several = (table, 2, "") in self.places
        head = f"{table} {number}" if several else table
        where = f"{self.name}:{line}"
        self.faults.append(Fault(f"{head}.{key}" if key else head, given, allowed, example, where, line))

    def _conditions(self, table: str, raw: Any) -> Iterator[Condition]:
        """The tables [[seen]] or [[good_day]]."""
        if not isinstance(raw, list) or not all(isinstance(item, dict) for item in raw):
            given = "missing" if raw is None else f"{shown(raw)} given"
            self._refuse(table, 1, "", given, f"tables [[{table}]]", f"[[{table}]]")
            return
        if len(raw) > MOST_CONDITIONS:
            self._refuse(table, 1, "", f"{len(raw)} tables", f"at most {MOST_CONDITIONS}")
            return
        for number, item in enumerate(raw, 1):
            yield self._condition(table, number, item)

    def _condition(self, table: str, number: int, item: Mapping[str, Any]) -> Condition:
        changes = self._changes(table, number, item.get("set", {}))
        readings: dict[str, Reading] = {}
        for key, value in item.items():
            if key in CYCLE_SIGNS:
                reading = self._reading(table, number, key, value, CYCLE_SIGNS[key])
                readings |= {key: reading} if reading else {}
            elif key not in ("set", "date"):
                given = "no such key" + _near(key, CYCLE_SIGNS)
                self._refuse(table, number, key, given, f"set, date, {', '.join(CYCLE_SIGNS)}", "cycle_rate")
        if set(item) <= {"set", "date"}:
            self._refuse(table, number, "", "nothing was seen", "at least one sign",
                         'cycle_rate = "23 /min"')  # fmt: skip
        for slip in slips_within(self.scenario, readings, changes):
            self._refuse(table, number, *slip)
        if "vacuum_at_inlet" in readings:
            raw, read = item["vacuum_at_inlet"], readings["vacuum_at_inlet"]
            readings["vacuum_at_inlet"] = self._vacuum(table, number, raw, read, changes)
        return Condition(changes, readings, self._day(table, number, item.get("date")))

    def _changes(self, table: str, number: int, raw: Any) -> dict[str, Any]:
        """What was set, in SI, if it makes a scenario."""
        if not isinstance(raw, dict):
            self._refuse(table, number, "set", f"{shown(raw)} given", "a table of keys of the scenario",
                         '{ "outlet.tip_diameter" = "1.05 mm" }')  # fmt: skip
            return {}
        changes: dict[str, Any] = {}
        try:
            for key, value in _flattened(raw):
                entry = named(key, value, "", 0)
                if entry.key not in FIELDS:
                    raise ScenarioError([unknown_key(key)])
                changes[entry.key] = value_as_set(entry, self.scenario.material.density)
            with_values(self.scenario, changes)
        except ScenarioError as error:
            for fault in error.faults:
                self._refuse(
                    table, number, "set", f"{fault.key}: {fault.given}", fault.allowed, fault.example
                )
        return changes

    def _day(self, table: str, number: int, raw: Any) -> date | None:
        if raw is None:
            return None
        try:
            day = raw if type(raw) is date else date.fromisoformat(raw)
        except (TypeError, ValueError):
            given = f"{shown(raw)} given"
            self._refuse(table, number, "date", given, "a day as year-month-day", '"2026-03-31"')
            return None
        if day > self.today:
            self._refuse(table, number, "date", f"{day} is in the future", f"a day until {self.today}")
        return day

    def _reading(self, table: str, number: int, key: str, raw: Any, sign: Sign) -> Reading | None:
        """A value in SI with how well it was read."""
        if key == "pounding":
            if isinstance(raw, str) and raw in POUNDING:
                return Reading(POUNDING[raw])
            error = choice_error(raw, tuple(POUNDING))
            self._refuse(table, number, key, error.given, error.allowed, error.example)
            return None
        within = None
        if isinstance(raw, dict):
            odd = [name for name in raw if name not in ("value", "within")]
            if odd or "value" not in raw:
                given = f'"{odd[0]}" given' if odd else "no value"
                self._refuse(table, number, key, given, "value and within", _with_within(sign))
                return None
            raw, within = raw["value"], raw.get("within")
        try:
            value, none = self._number(raw, sign)
            sd = None if within is None else _sd(within, value, sign)
        except UnitError as error:
            if key == "gland_weep":  # a weep is a flow, but none of a pump
                error = UnitError(error.given, _AS_A_WEEP, sign.quantity.written())
            self._refuse(table, number, key, error.given, error.allowed, error.example)
            return None
        return Reading(value, sd, none)

    def _number(self, raw: Any, sign: Sign) -> tuple[float, bool]:
        """The value [SI], and whether it is how long nothing was seen; raises UnitError."""
        if raw == NOTHING and sign.may_be_none:
            raise UnitError('"none" given', "a time, or for how long nothing was seen", '"none in 5 min"')
        if raw == NOTHING and sign.quantity.low == 0.0:
            return 0.0, False
        nothing = _NONE_IN.fullmatch(raw) if sign.may_be_none and isinstance(raw, str) else None
        value = to_si(nothing[1] if nothing else raw, sign.quantity.dimension) if not sign.weighed else (
            _volume(raw, self.scenario.material.density)
        )  # fmt: skip
        objection = sign.quantity.objection(value)
        if objection:
            raise UnitError(f"{shown(raw)} given", objection[1], sign.quantity.written())
        return value, nothing is not None

    def _vacuum(
        self, table: str, number: int, raw: Any, read: Reading, changes: Mapping[str, Any]
    ) -> Reading:
        """The gauge pressure at the inlet: of a number without a sign, as a vacuum gauge shows it, a vacuum.
        Where the inlet may stand above the atmosphere such a number may be either, and is refused."""
        text = raw["value"] if isinstance(raw, dict) else raw
        if read.value <= 0.0 or str(text).strip().startswith("+"):
            return read
        most = highest_at_inlet(self.scenario, changes)
        if read.value <= most:
            given = f"{shown(text)} given, and the inlet may stand up to {to_text(most, 'pressure', 2)} above"
            plain = f"{text}".strip()
            allowed = f'"-{plain}" for a vacuum, "+{plain}" for a pressure above the atmosphere'
            self._refuse(table, number, "vacuum_at_inlet", given, allowed, f'"-{plain}"')
            return read
        quantity = CYCLE_SIGNS["vacuum_at_inlet"].quantity
        if objection := quantity.objection(-read.value):
            given = f"a vacuum of {shown(text)} given"
            self._refuse(table, number, "vacuum_at_inlet", given, objection[1], quantity.written())
        return replace(read, value=-read.value)

    def _stall(
        self, table: str, raw: Any, seen: Sequence[Condition] = ()
    ) -> tuple[float | None, dict[str, Reading], str]:
        """The table [stall] or [good_stall]: its pressure [Pa] and readings, and where the pressure is from
        if nobody read it."""
        if raw is None:
            return None, {}, ""
        if not isinstance(raw, dict):
            self._refuse(table, 1, "", f"{shown(raw)} given", "a table", f"[{table}]")
            return None, {}, ""
        readings: dict[str, Reading] = {}
        for key, value in raw.items():
            if key in STALL_SIGNS:
                reading = self._reading(table, 1, key, value, STALL_SIGNS[key])
                readings |= {key: reading} if reading else {}
            elif key != "pressure":
                given = "no such key" + _near(key, ("pressure", *STALL_SIGNS))
                self._refuse(table, 1, key, given, f"pressure, {', '.join(STALL_SIGNS)}", "give_down")
        for key in ("give_up", "give_down"):
            if key in readings and readings[key].value > self.scenario.lower.stroke:
                self._refuse(table, 1, key, f"{shown(raw[key])} given", "at most the stroke", '"3 mm"')
        if not raw:
            self._refuse(table, 1, "", "nothing was seen", "at least one sign", 'give_down = "4 mm"')
            return None, {}, ""
        told = None if "pressure" in raw else pressure_at_stall(self.scenario, _tip_pressures(seen))
        if told is not None:
            return told[0], readings, told[1]
        if "pressure" not in raw:
            allowed = (
                f"what the piston pushes against with the outlet closed, {_STALL_PRESSURE.allowed()}: creep "
                "goes with it; left out with a motor, a tip_pressure in [[seen]] or an outlet.gauge_pressure"
            )
            self._refuse(table, 1, "pressure", "missing", allowed, _STALL_PRESSURE.written())
            return None, readings, ""
        return self._plain(table, "pressure", raw, _STALL_PRESSURE), readings, ""

    def _good_stall(self, raw: Any, pressure: float | None) -> dict[str, Reading]:
        """The stall of a good day; its pressure is that of [stall], whether it says so or not."""
        if isinstance(raw, dict) and pressure is not None and "pressure" not in raw:
            raw = {**raw, "pressure": f"{pressure!r} Pa"}
        own, readings, _ = self._stall(GOOD_STALL, raw)
        if own is not None and (pressure is None or abs(own / pressure - 1.0) > SAME_PRESSURE):
            allowed = "the pressure of [stall], with which the good day is compared"
            self._refuse(GOOD_STALL, 1, "pressure", f"{to_text(own, 'pressure')} given", allowed)
        return readings

    def _ball_fall(self, raw: Any) -> dict[str, Any]:
        if raw is None:
            return {}
        if not isinstance(raw, dict):
            self._refuse(BALL_FALL, 1, "", f"{shown(raw)} given", "a table", "[ball_fall]")
            return {}
        for key in raw:
            if key not in ("check", *_FALL):
                given = "no such key" + _near(key, ("check", *_FALL))
                self._refuse(BALL_FALL, 1, key, given, f"check, {', '.join(_FALL)}", "time")
        if raw.get("check") not in ("inlet", "piston"):
            given = f"{shown(raw['check'])} given" if "check" in raw else "missing"
            self._refuse(BALL_FALL, 1, "check", given, '"inlet" or "piston"', '"inlet"')
        return {"check": raw.get("check")} | {
            key: self._plain(BALL_FALL, key, raw, quantity) for key, quantity in _FALL.items()
        }

    def _plain(self, table: str, key: str, raw: Mapping[str, Any], quantity: Quantity) -> float | None:
        """A quantity that must be there [SI]."""
        try:
            if key not in raw:
                raise UnitError("missing", quantity.allowed(), quantity.written())
            value = to_si(raw[key], quantity.dimension)
            objection = quantity.objection(value)
            if objection:
                raise UnitError(f"{shown(raw[key])} given", objection[1], quantity.written())
        except UnitError as error:
            self._refuse(table, 1, key, error.given, error.allowed, error.example)
            return None
        return value


def _tip_pressures(seen: Sequence[Condition]) -> list[float]:
    return [each.readings["tip_pressure"].value for each in seen if "tip_pressure" in each.readings]


def _near(name: str, names: Any) -> str:
    close = difflib.get_close_matches(name[:80], list(names), n=1)
    return f' (did you mean "{close[0]}"?)' if close else ""


def _flattened(raw: Mapping[str, Any], head: str = "") -> Iterator[tuple[str, Any]]:
    for name, value in raw.items():
        key = f"{head}{name}"
        if isinstance(value, dict):
            yield from _flattened(value, f"{key}.")
        else:
            yield key, value


def _volume(raw: Any, density: float) -> float:
    """A volume that was measured, or a mass that was weighed over the density [kg/m3]; raises UnitError."""
    try:
        return to_si(raw, "volume")
    except UnitError as error:
        try:
            return to_si(raw, "mass") / density
        except UnitError:
            raise error from None


def _sd(within: Any, value: float, sign: Sign) -> float:
    """Standard deviation [SI] of 95 of 100 within a share or an amount; raises UnitError."""
    if isinstance(within, str) and within.strip().endswith("%") and sign.quantity.dimension != "fraction":
        reach = to_si(within, "fraction") * abs(value)
    elif sign.weighed:
        reach = amount_to_si(within, "volume")
    else:
        reach = amount_to_si(within, sign.quantity.dimension)
    if not 1e-4 * abs(value) < reach < math.inf:
        raise UnitError(f"within {shown(within)} given", "more than 0.01 % of the value", '"2 %"')
    return reach / SURE


def _with_within(sign: Sign) -> str:
    return f'{{ value = {sign.quantity.written()}, within = "2 %" }}'
