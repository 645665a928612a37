"""The cautions under every answer that may send somebody to a tool or a knob."""

CARE = (
    "Care: relieve pressure, lock out before opening (a jet pierces skin); never exceed the lowest rated",
    "part; heated vapour burns: ground, ventilate. Manual, data sheet, codes, licensed practice decide.",
)
"""Two lines; part of every such answer, printed or as JSON. Common practice, no source."""

CARE_IN_FIGURES = "Relieve pressure and lock out before opening. Never exceed the lowest rated part."

COMPUTED = "Computed, not measured: the model has not been compared with a pump."


def invented(text: str) -> str:
    """The sentence of a scenario file's own comments that begins with "Invented"; empty where none does."""
    words = " ".join(line.lstrip("# ").strip() for line in text.splitlines() if line.startswith("#"))
    _, begins, rest = words.partition("Invented")
    return f"{begins}{rest.partition('.')[0]}." if begins else ""
