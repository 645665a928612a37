"""The factors of products of units (multiplied here, to be quick) against the library with the names."""

from fractions import Fraction
from itertools import product

import pytest

from balltravel.units import convert


@pytest.mark.parametrize("shape", ["{}", "{}.{}", "{}/{}2", "1/{}.{}", "{}3.{}-2"])
def test_a_product_of_units_is_exactly_what_pint_makes_of_it(shape):
    registry, names = convert.registry(), sorted(convert.names() - convert.OFFSET)
    for pair in product(names, names[::6]):
        powers = convert.factors(shape.format(*pair))
        factor, kind = convert._product(powers)
        container = registry.UnitsContainer(powers)
        assert Fraction(registry.Quantity(Fraction(1), container).to_root_units().magnitude) == factor, pair
        assert {k: n for k, n in registry.get_dimensionality(container).items() if n} == kind, pair
