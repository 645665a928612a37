"""Where each key of a TOML text stands, and limits that keep the parser from choking.

The parser of the standard library names no lines once it has succeeded, takes seconds on a dotted key of
some ten thousand parts and overflows the stack on deep nesting; so the text is looked over first.
"""

import re
from collections.abc import Iterator

LONGEST_LINE = 4000
MOST_STATEMENTS = 2000
MOST_COMMAS = 20_000
MOST_KEY_PARTS = 8
DEEPEST = 8

# Text that is never closed counts as text up to the end of the file or line: a pattern that gave up instead
# would look through the rest once for each quote.
_TOKEN = re.compile(
    r'"""(?:\\.?|[^\\])*?(?:"{3,5}|\Z)'
    r"|'''.*?(?:'{3,5}|\Z)"
    r'|"(?:\\[^\n]|[^"\\\n])*"?'
    r"|'[^'\n]*'?"
    r"|\#[^\n]*"
    r"|[\[\]{}=.,\n]"
    r"""|[^\s"'#\[\]{}=.,]+""",
    re.DOTALL,
)

Statement = tuple[int, list[str]]
"""Number of its first line, its tokens."""


class TextLimitError(ValueError):
    """A text beyond a limit: line, what was given, what is allowed."""

    def __init__(self, line: int, given: str, allowed: str) -> None:
        self.line, self.given, self.allowed = line, given, allowed
        super().__init__(f"line {line}: {given}; allowed: {allowed}")


def _tokens(text: str) -> Iterator[tuple[int, str]]:
    """Line number and text of every token but comments."""
    line = 1
    for token in _TOKEN.findall(text):
        if token[0] != "#":
            yield line, token
        if token[0] in "\n\"'":  # what no pattern takes holds no line end
            line += token.count("\n")


def _statements(text: str) -> Iterator[Statement]:
    """Headers and assignments; raises TextLimitError for keys, dots and brackets beyond the limits."""
    first, statement, depth, dots, keys, commas = 1, list[str](), 0, 0, 0, 0
    for line, token in _tokens(text):
        if token == "\n" and depth == 0:
            if statement:
                yield first, statement
            statement, dots = [], 0
            continue
        first = first if statement else line
        statement.append(token)
        depth = max(depth + (token in "[{") - (token in "]}"), 0)
        dots = dots + 1 if token == "." else 0 if token in "[]{}=,\n" else dots
        keys, commas = keys + (token == "="), commas + (token == ",")
        if keys > MOST_STATEMENTS:
            raise TextLimitError(
                line, "too many keys", f"at most {MOST_STATEMENTS}, those of inline tables too"
            )
        if commas > MOST_COMMAS:
            raise TextLimitError(line, "too many values", f"at most {MOST_COMMAS} in arrays and tables")
        if depth > DEEPEST:
            raise TextLimitError(line, f"brackets nested {depth} deep", f"at most {DEEPEST}")
        if dots >= MOST_KEY_PARTS:
            raise TextLimitError(line, "a key of too many parts", f"at most {MOST_KEY_PARTS} parts")
    if statement:
        yield first, statement


def _check_lines(text: str) -> None:
    for number, line in enumerate(text.split("\n"), 1):
        if len(line) > LONGEST_LINE:
            raise TextLimitError(number, f"a line of {len(line)} characters", f"at most {LONGEST_LINE}")


def key_lines(text: str) -> dict[tuple[str, ...], int]:
    """Line number of every header and key outside inline tables: ``("lower", "bore") -> 12``.

    Raises TextLimitError before anything slow is done with the text.
    """
    _check_lines(text)
    lines: dict[tuple[str, ...], int] = {}
    table: tuple[str, ...] = ()
    for count, (line, tokens) in enumerate(_statements(text)):
        if count >= MOST_STATEMENTS:
            raise TextLimitError(line, "too many keys", f"at most {MOST_STATEMENTS} headers and keys")
        head = tokens[: tokens.index("=")] if "=" in tokens else tokens
        parts = tuple(token.strip("\"'") for token in head if token not in "[].")
        if tokens[0] == "[":
            table, parts = parts, ()
        lines.setdefault((*table, *parts), line)
    return lines


def line_of(lines: dict[tuple[str, ...], int], *path: str) -> int:
    """Line of the key, or of the nearest table around it, or 1."""
    for length in range(len(path), 0, -1):
        if path[:length] in lines:
            return lines[path[:length]]
    return 1
