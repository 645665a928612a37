"""What a file must have and has not: tables, and keys of the tables that are there."""

from collections.abc import Collection, Iterator, Sequence
from typing import Any, Literal, get_args, get_origin

from balltravel.files.values import SHIM_NUMBERS
from balltravel.scenario.model import FIELDS, TABLES, Scenario, example_of, quantity_of
from balltravel.scenario.rules.all import Fault
from balltravel.scenario.tables import INSTEAD, NEEDED, TITLE_EXAMPLE, TITLE_TEXT


def missing_faults(
    entries: Collection[str], tables: Collection[str], wrong: Collection[str]
) -> Iterator[Fault]:
    """Required tables and keys that nobody wrote, by the keys of all entries, the tables that are there and
    the keys that have a fault."""
    if "title" not in entries:
        yield Fault("title", "missing", TITLE_TEXT, TITLE_EXAMPLE)
    for table, model in TABLES.items():
        required = [name for name, field in model.model_fields.items() if field.is_required()]
        if table in wrong:
            continue
        if table not in tables and _must_be_there(table, required, entries):
            yield _missing_table(table, required)
            continue
        yield from (_missing_key(f"{table}.{name}") for name in required if f"{table}.{name}" not in entries)


def _must_be_there(table: str, required: Sequence[str], entries: Collection[str]) -> bool:
    """Whether a table without a header is wanted and none of the keys that it must have is given (any at all,
    where each may be left out)."""
    keys = {f"{table}.{name}" for name in required or TABLES[table].model_fields}
    return Scenario.model_fields[table].is_required() and not keys & set(entries)


def _missing_table(table: str, required: Sequence[str]) -> Fault:
    """The fault of a table that is not there, with every key that its usual form needs."""
    usual = {key: _usual(mark.selector) for key, mark in NEEDED.items() if key.startswith(f"{table}.")}
    needed = [key for key, choice in usual.items() if choice in NEEDED[key].choices]
    needed += [key for key, mark in INSTEAD.items() if mark.required and key.startswith(f"{table}.")]
    names = [*required, *(key.split(".")[1] for key in needed)]
    forms = {NEEDED[key].selector: usual[key] for key in needed if key in NEEDED}
    told = [
        f' (these with {key.split(".")[1]} = "{choice}")'
        for key, choice in forms.items()
        if FIELDS[key].is_required()
    ]
    return Fault(
        f"[{table}]", "missing table", f"a table with {', '.join(names)}{''.join(told)}", f"[{table}]"
    )


def _usual(key: str) -> Any:
    """The default of a choice, or the first of one that has none."""
    field = FIELDS[key]
    return get_args(field.annotation)[0] if field.is_required() else field.default


def _missing_key(key: str) -> Fault:
    field = FIELDS[key]
    quantity = quantity_of(field)
    allowed = SHIM_NUMBERS
    if quantity:
        allowed = quantity.allowed()
    elif get_origin(field.annotation) is Literal:
        allowed = " or ".join(f'"{choice}"' for choice in get_args(field.annotation))
    return Fault(key, "missing", allowed, example_of(key))
