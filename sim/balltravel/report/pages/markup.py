"""Templates of pages: everything that a user wrote is escaped; one file, nothing fetched."""

from functools import cache
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined


@cache
def _environment() -> Environment:
    return Environment(
        loader=PackageLoader("balltravel.report.pages", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def markup(template: str, **values: Any) -> str:
    """A template of ``templates/`` filled in; a name that is missing is an error of the program."""
    return _environment().get_template(template).render(**values)
