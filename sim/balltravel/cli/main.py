"""The command ``balltravel``: parse, call, exit code."""

import argparse
from collections.abc import Callable, Sequence

from balltravel import __version__
from balltravel.cli.input import RefusedError
from balltravel.cli.lower import (
    check_command,
    material_command,
    recommend_command,
    resistance_command,
    simulate_command,
    sweep_command,
)
from balltravel.cli.output import BAD_INPUT, INTERRUPTED, say
from balltravel.cli.site import limits_command, prime_command, suction_command, wear_command

_CODES = """\
results go to the standard output, everything else to the standard error output.
exit codes: 0 done; 1 done, but the result could not be written; 2 bad input, nothing was run;
3 some cases failed (their number is printed); 130 interrupted."""

_EXAMPLES = """\
examples:
  balltravel check scenarios/primer.toml
  balltravel material scenarios/mastic_by_readings.toml --figure flow.png
  balltravel material --kind "roof elastomer"
  balltravel simulate scenarios/primer.toml --set "material.viscosity=3500 cP" --figure cycle.png
  balltravel recommend scenarios/primer.toml --figure travel.png
  balltravel recommend scenarios/week_of_a_coater.toml --week --figure week.png
  balltravel suction scenarios/primer.toml --set "suction.altitude=1500 m"
  balltravel limits scenarios/mastic.toml --figure effects.png
  balltravel resistance --ball-over-seat 1.4 --cage-over-seat 1.8 --lift-over-seat 0.2
  balltravel wear scenarios/primer.toml --gap "50 um"
  balltravel prime scenarios/primer.toml --figure priming.png
  balltravel sweep scenarios/primer.toml --over 'drive.cycle_rate=["20 /min", "40 /min"]' --out rates.nc
"""


Adder = Callable[..., argparse.ArgumentParser]
"""Adds a command: its name, what runs it, what it is about, and ``file="?"`` where it needs no file."""

PICTURE = "(png, pdf or svg)"


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

    def command(
        name: str, run: Callable[[argparse.Namespace], int], about: str, file: str | None = None
    ) -> argparse.ArgumentParser:
        sub = commands.add_parser(name, help=about, description=about, epilog=_CODES, formatter_class=raw)
        sub.set_defaults(run=run)
        sub.add_argument(
            "file", metavar="FILE", nargs=file, help="scenario file (TOML), see docs/scenario.md"
        )
        sub.add_argument(
            "--set", action="append", default=[], dest="settings", metavar="KEY=VALUE",
            help='replace a value of the file, e.g. "material.viscosity=3500 cP"; repeatable',
        )  # fmt: skip
        sub.add_argument("--json", action="store_true", help="print the result as JSON, in SI units")
        return sub

    _add_lower(command)
    _add_site(command)
    _add_resistance(command)
    _add_sweep(command)
    return parser


def _add_lower(command: Adder) -> None:
    """What a lower is and does."""
    command("check", check_command, "Print what was understood and what follows; runs nothing.")
    about = "Print what was understood of the material, or invented kinds of it."
    stuff = command("material", material_command, about, file="?")
    stuff.add_argument("--figure", metavar="FILE.png", help=f"draw its viscosity {PICTURE}")
    stuff.add_argument("--kinds", action="store_true", help="list kinds of material with common ranges")
    stuff.add_argument("--kind", metavar="NAME", help="print the invented example of a kind, to paste")
    one = command("simulate", simulate_command, "Simulate one cycle and print what it says.")
    one.add_argument("--out", metavar="FILE.nc", help="write the cycle as netCDF")
    one.add_argument("--figure", metavar="FILE.png", help=f"draw the cycle {PICTURE}")
    best = command("recommend", recommend_command, "Try all arrangements of the shims and recommend one.")
    best.add_argument("--figure", metavar="FILE.png", help=f"draw the losses against travel {PICTURE}")
    best.add_argument("--week", action="store_true", help="one arrangement for all materials of [week]")


def _add_site(command: Adder) -> None:
    """What the site does to it, wear, and what else would help."""
    about = "Print how far each input may go by itself, and which inputs matter most."
    what = command("limits", limits_command, about)
    what.add_argument("--figure", metavar="FILE.png", help=f"draw what matters most {PICTURE}")
    what.add_argument("--workers", type=_count, metavar="N", help="threads; all cores by default")
    about = "Print the net positive suction head there is and needed, and the vessel."
    command("suction", suction_command, about)
    about = "Cycles until material fills a suction hose and a lower full of air."
    dry = command("prime", prime_command, about)
    dry.add_argument(
        "--against", default="0 bar", metavar="PRESSURE",
        help="gauge pressure at the outlet meanwhile; none by default, as with an open prime valve",
    )  # fmt: skip
    dry.add_argument("--figure", metavar="FILE.png", help=f"draw it over the cycles {PICTURE}")
    worn = command("wear", wear_command, "Print what worn seats and packings do, each alone.")
    worn.add_argument("--gap", metavar="LENGTH", help='gap that is tried, "30 um" by default')


def _add_resistance(command: Adder) -> None:
    about = "Print the resistance of a check in creeping flow over its lift."
    inside = command("resistance", resistance_command, about, file="?")
    inside.add_argument("--ball-over-seat", type=float, metavar="R/r", help="ball over seat radius")
    inside.add_argument("--cage-over-seat", type=float, metavar="R_c/r", help="cage over seat radius")
    inside.add_argument("--lift-over-seat", type=float, metavar="z/r", help="lift over seat radius")
    inside.add_argument("--solve", action="store_true", help="solve anew by finite elements (extra fem)")
    inside.add_argument("--figure", metavar="FILE.png", help=f"draw it with its limits {PICTURE}")


def _add_sweep(command: Adder) -> None:
    about = "Run every combination of values; all arrangements of the shims if none."
    many = command("sweep", sweep_command, about)
    many.add_argument(
        "--over", action="append", default=[], dest="grid", metavar="KEY=[VALUES]",
        help="values to run over, stronger than the file's [sweep]; repeatable",
    )  # fmt: skip
    many.add_argument("--out", metavar="FILE.nc", help="write all results as netCDF")
    many.add_argument("--workers", type=_count, metavar="N", help="threads; all cores by default")


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
        say("interrupted: nothing was written")
        return INTERRUPTED
    except RefusedError as refused:
        say(str(refused))
        return BAD_INPUT
