"""The command ``balltravel``: parse, call, print, exit code. Heavy imports are inside the commands."""

import argparse
import contextlib
import os
import sys
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from balltravel import __version__

if TYPE_CHECKING:
    import xarray as xr

    from balltravel.files import ScenarioFile

DONE, NOT_WRITTEN, BAD_INPUT, SOME_FAILED, INTERRUPTED = 0, 1, 2, 3, 130

_CODES = """\
results go to the standard output, everything else to the standard error output.
exit codes: 0 done; 1 done, but the result could not be written; 2 bad input, nothing was run;
3 some cases failed (their number is printed); 130 interrupted."""

_EXAMPLES = """\
examples:
  balltravel check scenarios/primer.toml
  balltravel simulate scenarios/primer.toml --set "material.viscosity=3500 cP" --figure cycle.png
  balltravel recommend scenarios/primer.toml --figure travel.png
  balltravel sweep scenarios/primer.toml --over 'drive.cycle_rate=["20 /min", "40 /min"]' --out rates.nc
"""


class _RefusedError(Exception):
    """Bad input that is no fault of the scenario file; the message says what and what is allowed."""


def _parser() -> argparse.ArgumentParser:
    raw = argparse.RawDescriptionHelpFormatter
    parser = argparse.ArgumentParser(
        prog="balltravel",
        description="How the two ball checks of a pump lower behave, and which ball travel to set.",
        epilog=f"{_EXAMPLES}\n{_CODES}",
        formatter_class=raw,
    )
    parser.add_argument("--version", action="version", version=f"balltravel {__version__}")
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")

    def command(name: str, run: Callable[[argparse.Namespace], int], about: str) -> argparse.ArgumentParser:
        sub = commands.add_parser(name, help=about, description=about, epilog=_CODES, formatter_class=raw)
        sub.set_defaults(run=run)
        sub.add_argument("file", metavar="FILE", help="scenario file (TOML), see docs/scenario.md")
        sub.add_argument(
            "--set", action="append", default=[], dest="settings", metavar="KEY=VALUE",
            help='replace a value of the file, e.g. "material.viscosity=3500 cP"; repeatable',
        )  # fmt: skip
        sub.add_argument("--json", action="store_true", help="print the result as JSON, in SI units")
        return sub

    command("check", _check, "Read a scenario and print what was understood and what follows; runs nothing.")
    one = command("simulate", _simulate, "Simulate one cycle and print what it says.")
    one.add_argument("--out", metavar="FILE.nc", help="write the cycle as netCDF")
    one.add_argument("--figure", metavar="FILE.png", help="draw the cycle (png, pdf or svg)")
    best = command("recommend", _recommend, "Try all arrangements of the shims and recommend one.")
    best.add_argument("--figure", metavar="FILE.png", help="draw the losses against travel (png, pdf or svg)")
    many = command("sweep", _sweep, "Run every combination of values; all arrangements of the shims if none.")
    many.add_argument(
        "--over", action="append", default=[], dest="grid", metavar="KEY=[VALUES]",
        help="values to run over, stronger than the file's [sweep]; repeatable",
    )  # fmt: skip
    many.add_argument("--out", metavar="FILE.nc", help="write all results as netCDF")
    many.add_argument("--workers", type=_count, metavar="N", help="threads; all cores by default")
    return parser


def _count(text: str) -> int:
    if not text.isascii() or not text.isdigit() or not 1 <= int(text[:9]) <= 1024:
        raise argparse.ArgumentTypeError(f"{text[:80]!r} given; allowed: 1 to 1024; example: 4")
    return int(text)


def main(argv: Sequence[str] | None = None) -> int:
    """Run a command line (that of the process by default); returns the exit code.

    Usage errors and ``--help`` end in SystemExit, as argparse does.
    """
    arguments = _parser().parse_args(argv)
    try:
        return int(arguments.run(arguments))
    except KeyboardInterrupt:
        _say("interrupted: nothing was written")
        return INTERRUPTED
    except _RefusedError as refused:
        _say(str(refused))
        return BAD_INPUT


# --- the commands


def _check(arguments: argparse.Namespace) -> int:
    given = _read(arguments)
    from balltravel.preview import preview

    found = preview(given.scenario)
    if arguments.json:
        from balltravel.json_form import check_dict

        return _print_json(check_dict(given.scenario, found))
    from balltravel.text import check_text

    return _print(check_text(given.scenario, found))


def _simulate(arguments: argparse.Namespace) -> int:
    given = _read(arguments)
    _refuse_targets(arguments)
    from balltravel.advice import warnings_for
    from balltravel.core.status import Status
    from balltravel.metrics import cycle_metrics
    from balltravel.simulation import simulate

    _tell_of_compilation()
    data = _with_provenance(simulate(given.scenario), given)
    failed = _failed([data.attrs["status_code"]])
    metrics = None if failed else cycle_metrics(data)
    warnings = warnings_for(given.scenario, metrics, Status(data.attrs["status_code"]))
    code = _write(data, arguments.out)
    if arguments.figure and failed:
        _say(f"{arguments.figure}: not drawn, for the run failed")
    elif arguments.figure:
        from balltravel.plots import cycle_figure

        code = max(code, _draw(lambda: cycle_figure(data), arguments.figure))
    if arguments.json:
        from balltravel.json_form import simulation_dict

        printed = _print_json(simulation_dict(data, metrics, warnings))
    else:
        from balltravel.text import simulation_text

        printed = _print(simulation_text(data, metrics, warnings))
    return _ended(failed, 1, max(code, printed))


def _recommend(arguments: argparse.Namespace) -> int:
    given = _read(arguments)
    _refuse_targets(arguments)
    from balltravel.advice import recommend

    _tell_of_compilation()
    with _progress("arrangements") as progress:
        found = recommend(given.scenario, progress=progress)
    failed = sum(_trial_failed(trial.status) for trial in found.arrangements)
    code = DONE
    if arguments.figure:
        from balltravel.plots import travel_figure

        code = _draw(lambda: travel_figure(found, given.scenario), arguments.figure)
    if arguments.json:
        from balltravel.json_form import recommendation_dict

        printed = _print_json(recommendation_dict(given.scenario, found))
    else:
        from balltravel.text import recommendation_text

        printed = _print(recommendation_text(given.scenario, found))
    return _ended(failed, len(found.arrangements), max(code, printed))


def _sweep(arguments: argparse.Namespace) -> int:
    given = _read(arguments, arguments.grid)
    _refuse_targets(arguments)
    from balltravel.scenario import ScenarioError
    from balltravel.sweeps import shim_grid, sweep

    grid: Mapping[str, Sequence[Any]] = given.sweep or shim_grid(given.scenario)
    _tell_of_compilation()
    try:
        with _progress("cases") as progress:
            data = sweep(given.scenario, grid, workers=arguments.workers, progress=progress)
    except ScenarioError as error:
        raise _RefusedError("\n".join(f"in the sweep: {line}" for line in str(error).splitlines())) from None
    data = _with_provenance(data, given)
    codes = data["status"].values.ravel().tolist()
    code = _write(data, arguments.out)
    if arguments.json:
        from balltravel.json_form import sweep_dict

        printed = _print_json(sweep_dict(data))
    else:
        from balltravel.text import sweep_text

        printed = _print(sweep_text(data))
    return _ended(_failed(codes), len(codes), max(code, printed))


def _failed(codes: Sequence[Any]) -> int:
    from balltravel.core.status import Status

    return sum(Status(int(code)).failed for code in codes)


def _trial_failed(status: str) -> bool:
    from balltravel.core.status import Status

    return any(status == one.name.lower() for one in Status if one.failed)


def _ended(failed: int, cases: int, code: int) -> int:
    if not failed:
        return code
    _say(f"{failed} of {cases} cases failed")
    return SOME_FAILED


# --- input and what is refused before the run


def _read(arguments: argparse.Namespace, grid: Sequence[str] = ()) -> "ScenarioFile":
    from balltravel.files import read_scenario_file
    from balltravel.scenario import ScenarioError

    try:
        return read_scenario_file(arguments.file, arguments.settings, grid)
    except ScenarioError as error:
        raise _RefusedError(str(error)) from None


def _refuse_targets(arguments: argparse.Namespace) -> None:
    """Find what cannot be written before the long run."""
    targets = {"--out": getattr(arguments, "out", None), "--figure": getattr(arguments, "figure", None)}
    faults = [fault for option, path in targets.items() if path for fault in _target_faults(option, path)]
    if targets["--out"] and not targets["--out"].lower().endswith(".nc"):
        faults.append(f"--out {targets['--out']}: allowed: a name ending in .nc (netCDF)")
    if targets["--figure"] and not targets["--figure"].lower().endswith((".png", ".pdf", ".svg")):
        faults.append(f"--figure {targets['--figure']}: allowed: a name ending in .png, .pdf or .svg")
    for option, path in targets.items():
        if path and os.path.realpath(path) == os.path.realpath(arguments.file):
            faults.append(f"{option} {path}: this is the scenario file, it would be overwritten")
    if faults:
        raise _RefusedError("\n".join(faults))


def _target_faults(option: str, path: str) -> Iterator[str]:
    folder = os.path.dirname(path) or "."
    if "\0" in path:
        yield f"{option}: a name with a zero byte; allowed: the name of a file; example: result.nc"
    elif os.path.isdir(path):
        yield f"{option} {path}: this is a folder; allowed: the name of a file in it"
    elif not os.path.isdir(folder):
        yield f"{option} {path}: no folder {folder}; allowed: a file in a folder that exists"
    elif not os.access(folder, os.W_OK):
        yield f"{option} {path}: the folder {folder} cannot be written to"


# --- output


def _with_provenance(data: "xr.Dataset", given: "ScenarioFile") -> "xr.Dataset":
    return data.assign_attrs(scenario_text=given.text, scenario_sha256=given.sha256)


def _write(data: "xr.Dataset", path: str | None) -> int:
    if not path:
        return DONE
    from balltravel.files import FileError, write_dataset

    try:
        write_dataset(data, path)
    except FileError as error:
        _say(str(error))
        return NOT_WRITTEN
    _say(f"{path}: written")
    return DONE


def _draw(make: Callable[[], Any], path: str) -> int:
    from balltravel.plots import save

    try:
        save(make(), path)
    except OSError as error:
        _say(f"{path}: cannot be written: {error.strerror or error}")
        return NOT_WRITTEN
    _say(f"{path}: written")
    return DONE


def _print_json(value: Any) -> int:
    import json

    from balltravel.json_form import strict

    return _print(json.dumps(strict(value), indent=2, allow_nan=False))


def _print(text: str) -> int:
    """Write a result to the standard output; a reader that went away is no fault."""
    reconfigure = getattr(sys.stdout, "reconfigure", None)
    if reconfigure is not None:
        reconfigure(errors="replace")
    try:
        sys.stdout.write(f"{text}\n")
        sys.stdout.flush()
    except BrokenPipeError:
        _drop_output()
    except OSError as error:
        _say(f"standard output: cannot be written: {error.strerror or error}")
        _drop_output()
        return NOT_WRITTEN
    return DONE


def _drop_output() -> None:
    """Let the flush at exit go nowhere, so that it raises no second error."""
    with contextlib.suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _say(text: str) -> None:
    with contextlib.suppress(OSError):
        print(text, file=sys.stderr, flush=True)


def _tell_of_compilation() -> None:
    """Say why nothing seems to happen: the first run on a machine compiles the core."""
    from pathlib import Path

    import numba

    import balltravel.jit  # noqa: F401 - it sets the folder

    folder = Path(os.environ.get("NUMBA_CACHE_DIR") or str(getattr(numba.config, "CACHE_DIR", "")))
    if not getattr(numba.config, "DISABLE_JIT", 0) and not any(folder.rglob("integrate.run-*.nbi")):
        _say("compiling the core, once after each installation: this takes ten seconds to two minutes ...")


@contextlib.contextmanager
def _progress(what: str) -> Iterator[Callable[[int, int], None] | None]:
    """A bar on a terminal, nothing elsewhere."""
    if not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeRemainingColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(what, total=None)
        yield lambda done, total: bar.update(task, completed=done, total=total)


if __name__ == "__main__":
    sys.exit(main())
