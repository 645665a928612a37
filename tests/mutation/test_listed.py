"""The list of what is mutated keeps up with the package: no module forgotten, no test that is gone."""

import tomllib
from fnmatch import fnmatch
from pathlib import Path

HERE = Path(__file__).parent
ROOT = HERE.parents[1]
PACKAGE = ROOT / "sim" / "balltravel"
LISTED = tomllib.loads((HERE / "tests.toml").read_text(encoding="utf-8"))


def test_each_module_is_mutated_or_said_to_be_left_out():
    modules = [path.relative_to(PACKAGE).as_posix() for path in PACKAGE.rglob("*.py") if path.stat().st_size]
    left_out = LISTED["left_out"]
    assert [
        name
        for name in modules
        if name not in LISTED["tests"] and not any(fnmatch(name, pattern) for pattern in left_out)
    ] == []


def test_no_module_that_is_gone_is_listed():
    assert [name for name in LISTED["tests"] if not (PACKAGE / name).exists()] == []


def test_the_tests_of_each_module_are_there():
    files = [
        name.partition("::")[0]
        for names in LISTED["tests"].values()
        for name in names
        if name.startswith("tests/")
    ]
    assert len(files) > 100
    assert [name for name in files if not (ROOT / name).exists()] == []
