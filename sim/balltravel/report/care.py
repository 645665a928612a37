"""The cautions under every answer that may send somebody to a tool or a knob."""

CARE = (
    "Care: relieve pressure, lock out before opening (a jet pierces skin); never exceed the lowest rated",
    "part; heated vapour burns: ground, ventilate. Manual, data sheet, codes, licensed practice decide.",
)
"""Two lines; part of every such answer, printed or as JSON. Common practice, no source."""

CARE_IN_FIGURES = "Relieve pressure and lock out before opening. Never exceed the lowest rated part."
