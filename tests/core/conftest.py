from ..helpers.fixtures import difference, geometry, make_check, make_lower, table

__all__ = ["difference", "geometry", "make_check", "make_lower", "table"]
