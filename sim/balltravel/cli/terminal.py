"""Somebody at a terminal, or a file of lines in his place: asks, and reads what is typed."""

import sys

from balltravel.bench.new.answers import LONGEST
from balltravel.cli.output import say


class Terminal:
    """Asks on the standard error output, for the standard output is kept for the result."""

    def __init__(self) -> None:
        reconfigure = getattr(sys.stdin, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="replace")

    def ask(self, prompt: str) -> str | None:
        """A line that is typed, cut where it is far too long; None at the end of all input."""
        if sys.stdin is None:
            return None
        if sys.stderr is not None:
            sys.stderr.write(prompt)
            sys.stderr.flush()
        line = sys.stdin.readline(2 * LONGEST)
        whole = line
        while whole and not whole.endswith("\n"):  # the rest of a long line is no answer of its own
            whole = sys.stdin.readline(2 * LONGEST)
        if not sys.stdin.isatty():
            say("")
        return line.rstrip("\r\n") if line else None

    def say(self, text: str) -> None:
        """Lines for whoever is asked."""
        for line in text.split("\n"):
            say(line)
