"""Makes docs/validation.md and docs/validation_log.md from the tests' own numbers.

``python tests/validation.py`` takes some minutes; further arguments go to pytest (``-n 2``). The page has
one row a claim of ``validation_text/claims.toml``; its numbers are those that the fixtures ``within`` and
``agree`` print. The log has all that the tests print, each under the sentence that is its name. Nothing is
written if a test fails, a claim's test did not run or printed no number, or a published source stands in no
claim.
"""

import re
import subprocess
import sys
import tempfile
import tomllib
import xml.etree.ElementTree as Tree
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

ROOT = Path(__file__).parents[1]
TEXT = Path(__file__).parent / "validation_text"
PAGE, LOG = ROOT / "docs" / "validation.md", ROOT / "docs" / "validation_log.md"

PARTS = {
    "tests/published": "Component data and libraries",
    "tests/physics": "Exact limits and laws of the whole",
    "tests/study": "Exact limits and laws of studies",
    "tests/closures": "Closures and the finite-element solver",
    "tests/core": "The core and its integrator",
    "tests/referee": "A second solver",
    "tests/box": "Any scenario at all",
}
STUDIES = ("test_priming.py", "test_creep_at_stall.py", "test_suction_head.py")
"""Of tests/study, those that hold a result against something outside."""

COMPARED = re.compile(r"(\d+) numbers? within (\S+): largest difference (\S+)")
HEADER = "| claim | reference | compared | worst | allowed | test |\n|---|---|---|---|---|---|"


class Case(NamedTuple):
    """A test that ran: its file below tests/ without ending, its name and case, what it printed."""

    file: str
    name: str
    printed: str


class Compared(NamedTuple):
    """How many numbers were held to a tolerance, and the largest difference."""

    count: int
    allowed: float
    worst: float


class StaleError(Exception):
    """A claim without a number, or a source without a claim."""


def run_tests(report: Path, options: list[str]) -> int:
    """Run the tests; their output goes into the report."""
    places = [part for part in PARTS if part != "tests/study"] + [f"tests/study/{file}" for file in STUDIES]
    logging = [f"--junitxml={report}", "-o", "junit_logging=system-out"]
    return subprocess.run(
        [sys.executable, "-m", "pytest", "-q", *logging, *options, *places], cwd=ROOT
    ).returncode


def cases_of(report: Path) -> list[Case]:
    """All tests that ran."""
    return [
        Case(
            case.get("classname", "").replace(".", "/").removeprefix("tests/"),
            case.get("name", "").removeprefix("test_"),
            case.findtext("system-out") or "",
        )
        for case in Tree.parse(report).iter("testcase")
        if case.find("skipped") is None
    ]


def compared_under(claim: dict[str, Any], cases: list[Case]) -> list[Compared]:
    """What the tests of a claim compared; raises StaleError for a test without a number."""
    found = []
    for wanted in claim.get("tests", [""]):
        own = [
            Compared(int(count), float(allowed), float(worst))
            for case in cases
            if case.file == claim["file"] and wanted in ("", case.name.partition("[")[0])
            for count, allowed, worst in COMPARED.findall(case.printed)
        ]
        if not own:
            raise StaleError(f"{claim['claim']}: no number from {claim['file']} {wanted}")
        found += own
    return found


def telling(found: list[Compared]) -> list[Compared]:
    """The largest difference and, if it is another, the one that comes nearest to its tolerance."""
    largest = max(found, key=lambda c: c.worst)
    nearest = max(found, key=lambda c: c.worst / c.allowed)
    return [largest] if nearest.worst == largest.worst else [nearest, largest]


def written(number: float, of: str) -> str:
    """Per cent from 0.01 % on, else a power of ten; plain where it counts things."""
    if of in ("of an order", "tolerances"):
        return f"{number:.3g}"
    if number >= 1e-4:
        return f"{100.0 * number:.2g} %"
    mantissa, _, power = f"{number:.1e}".partition("e")
    return "0" if number == 0.0 else f"{mantissa}e{int(power)}"


def row(claim: dict[str, Any], cases: list[Case]) -> str:
    """A claim as a row of its table."""
    found, of = compared_under(claim, cases), claim.get("of", "")
    shown = telling(found)
    worst = "; ".join(written(c.worst, of) for c in shown) + (f" {of}" if of else "")
    allowed = "; ".join(written(c.allowed, of) for c in shown)
    cells = [claim["claim"], claim["reference"], str(sum(c.count for c in found)), worst, allowed]
    return f"| {' | '.join(cells)} | `{claim['file']}.py` |"


def page(cases: list[Case]) -> str:
    """What a reviewer reads; raises StaleError."""
    groups = tomllib.loads((TEXT / "claims.toml").read_text(encoding="utf-8"))["group"]
    claimed = {claim["file"] for group in groups for claim in group["claim"]}
    published = {case.file for case in cases if case.file.startswith("published/")}
    if missing := sorted(published - claimed):
        raise StaleError(f"in no claim: {', '.join(missing)}")
    parts = [(TEXT / "head.md").read_text(encoding="utf-8")]
    for group in groups:
        rows = "\n".join(row(claim, cases) for claim in group["claim"])
        text = f"{group['text'].strip()}\n\n" if "text" in group else ""
        parts.append(f"## {group['title']}\n\n{text}{HEADER}\n{rows}\n")
    return "\n".join([*parts, (TEXT / "by_hand.md").read_text(encoding="utf-8")])


def in_a_cell(text: str) -> str:
    """Printed lines as one: arrays, which numpy breaks into lines, as short numbers with commas."""

    def short(array: re.Match[str]) -> str:
        return ", ".join(f"{float(number):.2g}" for number in array[1].split())

    text = re.sub(r"\[([-+.e\d\s]+)\]", short, text)
    lines = (line.strip() for line in text.splitlines())
    return "; ".join(line for line in lines if line and not line.startswith("---")).replace("|", "\\|")


def sentence(name: str) -> str:
    """A test's name as a sentence, with its case."""
    words, _, case = name.partition("[")
    words = words.replace("_", " ")
    return words[:1].upper() + words[1:] + (f" ({case.rstrip(']')})" if case else "")


def about(file: str) -> str:
    """First paragraph of a test file's docstring."""
    match = re.match(r'"""(.+?)(?:\.?"""|\.?\n\n)', (ROOT / "tests" / f"{file}.py").read_text(), re.DOTALL)
    return " ".join(match[1].split()) if match else ""


def of_a_file(file: str, cases: list[Case]) -> Iterator[str]:
    """A file's tests in the log."""
    yield f"**{about(file)}** (`{file}.py`)\n\n| what | found |\n|---|---|"
    told = [case for case in cases if in_a_cell(case.printed)]
    yield from (f"| {sentence(case.name)} | {in_a_cell(case.printed)} |" for case in told)
    if silent := len(cases) - len(told):
        yield f"| {silent} {'test that prints' if silent == 1 else 'tests that print'} nothing | pass |"
    yield ""


def log(cases: list[Case]) -> str:
    """All that the tests print."""
    by_file: dict[str, list[Case]] = {}
    for case in cases:
        by_file.setdefault(case.file, []).append(case)
    lines = [(TEXT / "log_head.md").read_text(encoding="utf-8")]
    for folder, title in PARTS.items():
        lines.append(f"## {title}\n")
        for file in sorted(by_file):
            if f"tests/{file}".startswith(f"{folder}/"):
                lines += of_a_file(file, by_file[file])
    return "\n".join([*lines, (TEXT / "by_hand_log.md").read_text(encoding="utf-8")])


def write_pages(report: Path) -> None:
    """Both documents from a report of the tests."""
    cases = cases_of(report)
    both = {PAGE: page(cases), LOG: log(cases)}
    for path, text in both.items():
        path.write_text(text, encoding="utf-8")


def main() -> int:
    with tempfile.TemporaryDirectory() as folder:
        report = Path(folder) / "report.xml"
        if run_tests(report, sys.argv[1:]):
            return 1
        try:
            write_pages(report)
        except StaleError as error:
            print(error, file=sys.stderr)
            return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
