"""docs/ranges.md says of every key how well it is usually known, or why it is not drawn."""

import re
import tomllib

from balltravel.files.read_write import read_scenario
from balltravel.scenario.tables import FIELDS, TYPICAL
from balltravel.scenario.unknowns import described, spreads_of
from balltravel.units.typical import BORED, HOSE_BORE

from .ranges_page import PAGE, sizes, with_table

TEXT = PAGE.read_text(encoding="utf-8")
FORMS = re.findall(r"^\| `([a-z_]+) = ([^`]+)` \| ([^|]+) \|", TEXT, re.MULTILINE)


def test_the_table_of_the_page_is_that_of_the_marks():
    assert with_table(TEXT) == TEXT, "python tests/scenario/ranges_page.py makes it anew"


def test_the_page_has_the_tolerance_of_each_size():
    plain = " ".join(TEXT.split())
    assert sizes(BORED) in plain
    assert sizes(HOSE_BORE) in plain


def test_every_key_that_is_not_drawn_stands_with_its_reason():
    reasons = TEXT.partition("## What is not drawn")[2]
    for key in FIELDS.keys() - TYPICAL.keys():
        assert re.search(rf"`{key.split('.')[1]}`|`{key}`|`\[{key.split('.')[0]}\]`", reasons), key


def test_every_form_on_the_page_is_read_and_is_what_the_page_says(story):
    assert len(FORMS) >= 8
    for name, written, words in FORMS:
        assert tomllib.loads(f"{name} = {written}")
        key = next(key for key in FIELDS if key.split(".")[1] == name)
        scenario = story("primer", f"{key}={written}")
        law = spreads_of(scenario).get(key)
        assert (key in scenario.ranges) == (not written.startswith('"0')), name
        assert (law is None) == (words.strip() == "no range at all"), name


def test_the_words_of_check_stand_on_the_page():
    for words in ("about 5 Pa.s (3.33 to 7.5)", "edge or cone (3 to 1)"):
        assert f"`{words}`" in TEXT
    assert described(TYPICAL["inlet_check.seat"].about(None)) == "edge or cone (3 to 1)"
    assert read_scenario(PAGE.parents[1] / "scenarios" / "primer.toml").ranges == {}
