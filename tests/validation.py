"""Makes docs/validation.md from the tests' own numbers: ``python tests/validation.py`` (some minutes).

Runs the tests of physics, published sources, referee and box, and sets down what each of them prints, under
the sentence that is its name, and how many hold in silence. Nothing is written if a test fails.
"""

import re
import subprocess
import sys
import tempfile
import xml.etree.ElementTree as Tree
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).parents[1]
PAGE = ROOT / "docs" / "validation.md"
HEAD, BY_HAND = (Path(__file__).parent / "validation_text" / name for name in ("head.md", "by_hand.md"))

TABLE, LINES = "| what | found |\n|---|---|\n", "\n"

GROUPS = {
    "tests/published": "Component data and libraries",
    "tests/physics": "Exact limits, laws and the integrator",
    "tests/referee": "A second solver",
    "tests/box": "Any scenario at all",
}


def run_tests(report: Path) -> int:
    """Run the groups' tests; their output goes into the report."""
    options = ["-q", "-n", "2", f"--junitxml={report}", "-o", "junit_logging=system-out"]
    return subprocess.run([sys.executable, "-m", "pytest", *options, *GROUPS], cwd=ROOT).returncode


def told(report: Path) -> Iterator[tuple[str, str, str]]:
    """File, sentence and what was printed of every test that ran; empty where it printed nothing."""
    for case in Tree.parse(report).iter("testcase"):
        if case.find("skipped") is not None:
            continue
        text = case.findtext("system-out") or ""
        yield case.get("classname", "").replace(".", "/"), case.get("name", ""), in_a_cell(text)


def in_a_cell(text: str) -> str:
    """Printed lines as one: arrays, which numpy breaks into lines, as short numbers with commas."""

    def short(array: re.Match[str]) -> str:
        return ", ".join(f"{float(number):.2g}" for number in array[1].split())

    text = re.sub(r"\[([-+.e\d\s]+)\]", short, text)
    lines = (line.strip() for line in text.splitlines())
    return "; ".join(line for line in lines if line and not line.startswith("---"))


def sentence(name: str) -> str:
    """A test's name as a sentence, with its case."""
    words, _, case = name.partition("[")
    words = words.removeprefix("test_").replace("_", " ")
    return words[:1].upper() + words[1:] + (f" ({case.rstrip(']')})" if case else "")


def about(file: str) -> str:
    """First sentence of a test file's docstring."""
    text = (ROOT / f"{file}.py").read_text()
    match = re.match(r'"""(.+?)(?:\.\s|\.?"""|\n\n)', text, re.DOTALL)
    return " ".join(match[1].split()) if match else ""


def page(report: Path) -> str:
    """The whole page."""
    rows: dict[str, list[str]] = {}
    silent: Counter[str] = Counter()
    for file, name, text in told(report):
        row = f"| {sentence(name)} | {text.replace('|', chr(92) + '|')} |"
        rows.setdefault(file, []).extend([row] if text else [])
        silent[file] += not text
    for file, count in silent.items():
        rows[file] += [f"| {count} tests that print nothing | hold |"] if count else []
    parts = [HEAD.read_text()]
    for folder, title in GROUPS.items():
        parts.append(f"## {title}\n")
        files = sorted(file for file in rows if file.startswith(folder))
        parts += [f"**{about(file)}** (`{file}.py`)\n\n{TABLE}{LINES.join(rows[file])}\n" for file in files]
    return "\n".join([*parts, BY_HAND.read_text()])


def main() -> int:
    with tempfile.TemporaryDirectory() as folder:
        report = Path(folder) / "report.xml"
        if run_tests(report):
            return 1
        PAGE.write_text(page(report))
    return 0


if __name__ == "__main__":
    sys.exit(main())
