"""Scenario files and settings spoilt at random: by bytes, and by what a TOML file is made of."""

import re
from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np
from robustness.pieces import LINES, LONG, NUMBERS, SPLICES, UNITS, VALUES

from balltravel.scenario.model import FIELDS, TABLES

Chance = np.random.Generator

SCENARIOS = sorted((Path(__file__).parents[2] / "scenarios").glob("*.toml"))
WHOLE = [path.read_bytes() for path in SCENARIOS]

_RANGES = {
    b"viscosity": b'{ low = "2 Pa.s", likely = "5 Pa.s", high = "9 Pa.s" }',
    b"flow": b'["Newtonian", "power law"]\nthinning_exponent = { low = 0.5, high = 0.9 }',
    b"density": b'{ likely = "1350 kg/m3", within = "3 %" }',
    b"free_gas_fraction": b'"unknown"',
    b"bore": b'{ likely = "48 mm", within = "0.05 mm" }',
    b"rod": b'{ exactly = "34 mm" }',
    b"ramp_time": b'{ distribution = "lognorm", s = 0.3, scale = "30 ms" }',
    b"dwell_time": b'{ likely = "40 ms", within = "x 2" }',
    b"lift": b'{ low = "0.1 m", high = "0.5 m" }',
}


def _with_ranges(data: bytes) -> bytes:
    """The primer's file with a range of every form."""
    for key, written in _RANGES.items():
        data, count = re.subn(rb"(?m)^" + key + rb" = .*$", lambda _, k=key, w=written: k + b" = " + w, data)
        assert count == 1, key
    return data


RANGED = _with_ranges(next(path for path in SCENARIOS if path.stem == "primer").read_bytes())

_ENTRY = re.compile(r"^(\s*[^#\[=]+?\s*=\s*)(.*?)(\s+#.*)?$")
_NUMBER = re.compile(r"[-+]?[0-9][0-9./]*(?:e[-+]?[0-9]+)?")


def _any(chance: Chance, options: Sequence):
    return options[int(chance.integers(len(options)))]


# --- bytes


def _bytes(chance: Chance, data: bytes) -> bytes:
    """A few bytes flipped, deleted, inserted, duplicated, chopped or spliced from another file."""
    at, size = int(chance.integers(len(data) + 1)), int(chance.integers(1, 60))
    head, tail = data[:at], data[at:]
    other = _any(chance, WHOLE)
    return _any(
        chance,
        (
            lambda: head + bytes([(tail[:1] or b"\n")[0] ^ 1 << int(chance.integers(8))]) + tail[1:],
            lambda: head + tail[size:],
            lambda: head + chance.bytes(int(chance.integers(1, 5))) + tail,
            lambda: head + tail[:size] * int(chance.integers(2, 50)) + tail,
            lambda: head + _any(chance, SPLICES) + tail,
            lambda: head + _any(chance, SPLICES) + tail[1:],
            lambda: head,
            lambda: tail,
            lambda: head + other[int(chance.integers(len(other))) :],
        ),
    )()


def _whole(chance: Chance, data: bytes) -> bytes:
    """Another coding, other line ends, the file twice."""
    return _any(
        chance,
        (
            lambda: b"\xef\xbb\xbf" + data,
            lambda: data.replace(b"\n", b"\r\n"),
            lambda: data.replace(b"\n", b"\r"),
            lambda: data.decode("utf-8", "replace").encode("utf-16"),
            lambda: data.replace(b"um", "µm".encode("latin-1")),
            lambda: data + data,
            lambda: data.rstrip(b"\n"),
            lambda: data.replace(b'"', b"'"),
            lambda: data * 30,
        ),
    )()


# --- structure


def _entry_lines(lines: list[str]) -> list[int]:
    return [n for n, line in enumerate(lines) if _ENTRY.match(line)] or [0]


def _number(chance: Chance, value: str) -> str:
    digits = int(chance.integers(2, 17))
    far, near = f"{10.0 ** chance.uniform(-8, 8):.{digits}g}", f"{chance.uniform(0.7, 1.4):.{digits}g}"

    def other(found: re.Match[str]) -> str:
        try:
            close = f"{float(near) * float(found[0]):.{digits}g}"
        except ValueError:
            close = near
        return _any(chance, (far, close, close, _any(chance, NUMBERS)))

    return _NUMBER.sub(other, value, count=1)


def _unit(chance: Chance, value: str) -> str:
    return re.sub(r"(?<=[0-9]) ?[^\s\"0-9,\]]+\"", lambda _: f' {_any(chance, UNITS)}"', value, count=1)


def _value(chance: Chance, value: str) -> str:
    """Another value: of another type, with another number or another unit."""
    return _any(chance, (_number, _number, _unit, _unit, lambda chance, _: _any(chance, VALUES)))(
        chance, value
    )


def _change_value(chance: Chance, lines: list[str]) -> None:
    at = _any(chance, _entry_lines(lines))
    found = _ENTRY.match(lines[at])
    if found:
        lines[at] = found[1] + _value(chance, found[2])


def _change_key(chance: Chance, lines: list[str]) -> None:
    at = _any(chance, _entry_lines(lines))
    name, equals, value = lines[at].partition("=")
    key = _any(chance, [*FIELDS]).split(".")[int(chance.integers(2))]
    new = (
        key,
        f"{name.strip()}x",
        name.strip()[1:],
        f'"{name.strip()}"',
        f"a.{name.strip()}",
        name.upper(),
        f"{name} {name}",
    )
    lines[at] = f"{_any(chance, new)} {equals} {value}"


def _drop(chance: Chance, lines: list[str]) -> None:
    at = int(chance.integers(len(lines)))
    del lines[at : at + int(chance.integers(1, 4))]


def _duplicate(chance: Chance, lines: list[str]) -> None:
    at = _any(chance, _entry_lines(lines))
    lines.insert(int(chance.integers(len(lines) + 1)), lines[at])


def _move(chance: Chance, lines: list[str]) -> None:
    line = lines.pop(_any(chance, _entry_lines(lines)))
    lines.insert(int(chance.integers(len(lines) + 1)), line)


def _insert(chance: Chance, lines: list[str]) -> None:
    lines.insert(int(chance.integers(len(lines) + 1)), _any(chance, LINES))


def _rename_table(chance: Chance, lines: list[str]) -> None:
    headers = [n for n, line in enumerate(lines) if line.startswith("[")] or [0]
    lines[_any(chance, headers)] = (
        f"[{_any(chance, [*TABLES, 'sweep', 'sucktion', 'lower.bore', '[lower]', ''])}]"
    )


def _swap_values(chance: Chance, lines: list[str]) -> None:
    entries = _entry_lines(lines)
    one, other = _any(chance, entries), _any(chance, entries)
    first, second = (_ENTRY.match(lines[n]) for n in (one, other))
    if first and second:  # rods as wide as bores, lengths that are pressures
        lines[one], lines[other] = first[1] + second[2], second[1] + first[2]


STRUCTURE: tuple[Callable[[Chance, list[str]], None], ...] = (
    _change_value,
    _change_value,
    _change_value,
    _change_value,
    _change_key,
    _drop,
    _duplicate,
    _move,
    _insert,
    _rename_table,
    _swap_values,
    _swap_values,
)


def _structure(chance: Chance, data: bytes) -> bytes:
    lines = data.decode("utf-8", "surrogateescape").split("\n")
    _any(chance, STRUCTURE)(chance, lines)
    return "\n".join(lines or [""]).encode("utf-8", "surrogateescape" if b"\xff" in data else "surrogatepass")


def spoilt(chance: Chance, files: Sequence[bytes] = WHOLE) -> bytes:
    """One of the files (the shipped scenarios) with one to four faults."""
    data = _any(chance, files)
    for _ in range(int(chance.choice((1, 1, 1, 2, 3, 4)))):
        way = chance.random()
        data = (_structure if way < 0.6 else _bytes if way < 0.95 else _whole)(chance, data)[:400_000]
    return data


# --- settings

_PAIRS = re.findall(r"^(\w+) = (.*?)(?:\s+#.*)?$", WHOLE[1].decode(), re.MULTILINE)


def spoilt_setting(chance: Chance, many: bool) -> str:
    """``table.key=value``, or ``table.key=[values]``: keys, values and the text of both spoilt."""
    key, (_, value) = _any(chance, [*FIELDS]), _any(chance, _PAIRS)
    fitting = [text for name, text in _PAIRS if key.endswith(f".{name}")]
    if fitting and chance.random() < 0.7:
        value = fitting[0]
    if chance.random() < 0.6:
        value = _value(chance, value)
    if chance.random() < 0.3:
        value = value.strip('"')
    if many:
        value = _any(
            chance, (f"[{value}]", f"[{value}]", f"[{value}, {_value(chance, value)}]", value, f"[{value},")
        )
    if chance.random() < 0.1:
        key = _any(
            chance,
            (
                "",
                "title",
                "sweep",
                "lower",
                key.upper(),
                key[1:],
                f"{key}.x",
                f'"{key}"',
                "k" * LONG,
                "\x1b[2J",
                "\n",
            ),
        )
    text = f"{key}={value}"
    if chance.random() < 0.2:
        text = _bytes(chance, text.encode("utf-8", "surrogatepass")).decode("utf-8", "surrogateescape")
    return text
