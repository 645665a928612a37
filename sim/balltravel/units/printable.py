"""Text of a user, as it may reach a terminal, and how wide that is taken to be."""

WIDTH = 100
"""Columns at which printed sentences, tables and errors are broken."""


def printable(text: str) -> str:
    r"""The text in one line: characters that a terminal might obey or hide (control characters, line ends,
    changes of direction, bytes that are no text) stand there as escapes, such as ``\x1b``."""
    if text.isprintable():
        return text
    return "".join(
        letter if letter.isprintable() else letter.encode("unicode_escape").decode("ascii") for letter in text
    )
