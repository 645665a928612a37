"""Text with a unit to SI and back: the only place where a number that is not SI lives."""

from balltravel.units.dimensions import DIMENSIONS, Dimension
from balltravel.units.read import UnitError, amount_to_si, cut, is_kinematic, kind_of, shown, to_si
from balltravel.units.write import (
    AS_BOUGHT,
    DIGITS,
    from_si,
    in_centistokes,
    in_digits,
    in_figures,
    inches_as_fraction,
    number_apart,
    to_text,
    to_texts,
    told_apart,
)

__all__ = [
    "AS_BOUGHT",
    "DIGITS",
    "DIMENSIONS",
    "Dimension",
    "UnitError",
    "amount_to_si",
    "cut",
    "from_si",
    "in_centistokes",
    "in_digits",
    "in_figures",
    "inches_as_fraction",
    "is_kinematic",
    "kind_of",
    "number_apart",
    "shown",
    "to_si",
    "to_text",
    "to_texts",
    "told_apart",
]
