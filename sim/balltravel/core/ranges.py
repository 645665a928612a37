"""How a closure says where it was looked at."""

from typing import NamedTuple


class Range(NamedTuple):
    """A closure, the quantity that tells how it is used, the intervals of it in which the closure was looked
    at (both ends included), and on what that rests."""

    closure: str
    quantity: str
    inside: tuple[tuple[float, float], ...]
    basis: str
