"""The file of a pump's history: what is added stays, what is cut is set aside, what is wrong has its line."""

import threading
from datetime import date, timedelta

import pytest

from balltravel.bench.history.book import CUT, END, add_entry, book_path, read_book
from balltravel.bench.history.entries import totals
from balltravel.scenario.model import ScenarioError

from ..helpers.lowers import scenario

TODAY = date(2026, 3, 31)
SEEN = """\
# read by Ann
[[seen]]
date = 2026-03-30
set = { "drive.cycle_rate" = "25 /min" }
cycle_rate = "25 /min"                   # a minute by the watch
weighed_per_cycle = { value = "152 cc", within = "4 %" }

[stall]
pressure = "120 bar"
seconds_per_stroke_down = "140 s"
"""
WHOLE = f'[[entry]]\ndate = 2026-03-01\ndid = "opened"\n{END}\n'


@pytest.fixture(scope="module")
def lower():
    return scenario(shims={"thicknesses": (1e-3, 2e-3, 4e-3), "below": (1,)})


@pytest.fixture
def log(tmp_path):
    return tmp_path / "primer.log.toml"


def add(log, lower, observed=None, today=TODAY, **keys):
    return add_entry(log, lower, keys, observed, today=today)[0]


def read(log, lower, today=TODAY):
    return read_book(log, lower, today)


def refusal(log, lower, **keys):
    before = log.read_bytes() if log.exists() else None
    with pytest.raises(ScenarioError) as error:
        add(log, lower, **keys)
    assert (log.read_bytes() if log.exists() else None) == before
    return str(error.value)


def test_it_lies_beside_the_scenario(tmp_path):
    assert book_path(tmp_path / "primer.toml") == tmp_path / "primer.log.toml"
    assert book_path("my lower").name == "my lower.log.toml"


def test_what_is_added_is_read_back(log, lower):
    added = [
        add(log, lower, did='"valve" open', cycles="120000", date="2026-03-01", cleaned=["foot valve"]),
        add(log, lower, replaced=["ball", "throat packing"], turned=["seat"], cycles="+1200", litres=400),
        add(log, lower, shims_above=[3], material="grün $5 \x7f\n\t\\", note="—", litres="+300 US gal"),
    ]  # fmt: skip
    entries = read(log, lower).entries
    assert [entry.as_dict() | {"line": 0} for entry in entries] == [entry.as_dict() for entry in added]
    assert entries[0].day == date(2026, 3, 1)
    assert entries[1].day == TODAY
    assert entries[2].shims_below == (1, 2)
    assert totals(entries, "cycles")[:2] == [120000.0, 121200.0]
    assert totals(entries, "litres")[1:] == pytest.approx([0.4, 1.5356], rel=1e-4)


def test_observations_are_copied_with_their_comments_and_say_what_their_file_says(log, lower, tmp_path):
    file = tmp_path / "today.toml"
    file.write_text(SEEN)
    added = add(log, lower, file)
    (entry,) = read(log, lower).entries
    assert entry.observed == added.observed
    assert entry.observed.seen[0].readings["weighed_per_cycle"].value == pytest.approx(152e-6)
    assert entry.day == date(2026, 3, 30)
    assert "# read by Ann" in log.read_text()
    assert "# a minute by the watch" in log.read_text()
    assert "[[entry.seen]]" in log.read_text()


@pytest.mark.parametrize(
    "text",
    ['seen = [{ cycle_rate = "30 /min" }]\n', SEEN + '# end of entry\n[ball_fall]\ncheck = "inlet"\n'
     'oil_viscosity = "10 Pa.s"\noil_density = "970 kg/m3"\ntime = "317 ms"\n'],
)  # fmt: skip
def test_observations_that_cannot_be_copied_as_they_stand_are_refused(log, lower, tmp_path, text):
    file = tmp_path / "today.toml"
    file.write_text(text)
    assert "cannot be copied" in refusal(log, lower, observed=file)


def test_a_history_cut_anywhere_keeps_every_entry_before_and_goes_on(log, lower, tmp_path):
    """Cut behind every byte of the last entry: it is set aside with its line, and another one goes behind."""
    file = tmp_path / "today.toml"
    file.write_text(SEEN)
    add(log, lower, did="first", date="2026-03-01")
    start = log.stat().st_size
    add(log, lower, file, did="zweite Öffnung")
    whole = log.read_bytes()
    for length in range(start, len(whole)):
        log.write_bytes(whole[:length])
        book = read(log, lower)
        ended = whole[:length].rstrip().endswith(END.encode())
        assert [entry.did for entry in book.entries] == (
            ["first", "zweite Öffnung"] if ended and length > start + 5 else ["first"]
        )
        cut = whole[start:length].strip()
        assert len(book.aside) == bool(cut and len(book.entries) == 1)
        add(log, lower, did="third")
        again = read(log, lower)
        assert [entry.did for entry in again.entries] == [*(entry.did for entry in book.entries), "third"]
        assert again.aside == book.aside
        assert log.read_bytes().startswith(whole[:length])


def test_what_is_cut_is_said_in_a_sentence_with_its_line(log, lower):
    log.write_text(WHOLE + '\n[[entry]]\ndate = 2026-03-02\ndid = "ope')
    book = read(log, lower)
    assert len(book.entries) == 1
    (sentence,) = book.aside
    assert (
        sentence == f'{log}:6: the entry is cut short and set aside; if it is whole, write "{END}" behind it'
    )
    add(log, lower, did="closed")
    assert CUT in log.read_text()


def test_an_entry_written_by_hand_counts_once_its_end_is_there(log, lower):
    log.write_text(WHOLE + '\n# by hand\n[[entry]]\ndate = 2026-03-02\nreplaced = "ball"\ncycles = "+5"\n')
    assert len(read(log, lower).entries) == 1
    log.write_text(log.read_text() + END)
    assert read(log, lower).entries[1].replaced == ("ball",)


@pytest.mark.parametrize(
    ("middle", "line", "said"),
    [
        ("[[entry]]\ndate = 2026-03-02\ndid = opened\n", 7, "no TOML"),
        ("[[entry]]\ndate = 2026-03-02\nwhat = 3\n", 7, "no such key"),
        ("[[entry]]\ndate = 2026-03-02\nrepalced = []\n", 7, 'did you mean "replaced"'),
        ("[[entry]]\ndate = 2026-02-02\ndid = 'x'\n", 5, "2026-02-02 is before 2026-03-01"),
        ("[[entry]]\ndate = 2062-02-02\ndid = 'x'\n", 6, "2062-02-02 is in the future"),
        ("[[entry]]\ndid = 'x'\n", 5, "date: missing"),
        ("[[entry]]\ndate = 2026-03-02\n", 5, "nothing was done or seen"),
        ("rubbish\n", 5, "no TOML"),
        ("x = 3\n", 5, "no entry"),
        ("[[entry]]\ndate = 2026-03-02\ndid = 'x'\n\n[[entry]]\ndate = 2026-03-02\ndid = 'x'\n", 9,
         "no \"# end"),
        ("[[entry]]\ndate = 2026-03-02\n[[entry.seen]]\ncycle_rate = \"-3 /min\"\n", 8, "cycle_rate"),
        ("[[entry]]\ndate = 2026-03-02\n[[entry.seen]]\ndate = 2026-03-03\ncycle_rate = \"30 /min\"\n", 6,
         "2026-03-02 is before 2026-03-03, when it was seen"),
        ("[[entry]]\ndate = 2026-03-02\ncycles = -5\n", 7, "-5 given"),
        ("[[entry]]\ndate = 2026-03-02\ncycles = nan\n", 7, "NaN given"),
        ("[[entry]]\ndate = 2026-03-02\nreplaced = [3]\n", 7, "3 given"),
        ("[[entry]]\ndate = 2026-03-02\nshims_below = [1, 1]\n", 7, "each once, 1 to 3"),
        ("[[entry]]\ndate = 2026-03-02\nnote = '''\n\xe4'''\n", 0, ""),
    ],
)  # fmt: skip
def test_what_is_wrong_in_the_middle_is_refused_with_its_line_and_nothing_is_rewritten(
    log, lower, middle, line, said
):
    log.write_text(f"{WHOLE}{middle}{END}\n{WHOLE.replace('03-01', '03-30')}", encoding="utf-8")
    before = log.read_bytes()
    if not said:
        assert len(read(log, lower).entries) == 3
        return
    with pytest.raises(ScenarioError) as error:
        read(log, lower)
    told = str(error.value)
    assert told.startswith(f"{log}:{line}: "), told
    assert said in told
    assert "allowed: " in told
    with pytest.raises(ScenarioError, match=rf":{line}: "):
        add(log, lower, did="closed")
    assert log.read_bytes() == before


def test_a_counter_that_goes_back_is_told_as_it_was_typed(log, lower):
    """After a new counter, and in gallons: not the totals in litres that are made of them."""
    rows = [
        {"litres": "9000 US gal"},
        {"replaced": ["counter"], "litres": "500 US gal"},
        {"litres": "+20 US gal"},
    ]
    for row in rows:
        add(log, lower, date="2026-03-01", **row)
    with pytest.raises(ScenarioError, match=r"480 US gal is less than the 500 US gal and \+20 US gal of an"):
        add(log, lower, date="2026-03-02", litres="480 US gal")


@pytest.mark.parametrize("junk", [b"\xff\xfe\n", b"did = '\xff'\n", b"\0\n"])
def test_bytes_that_are_no_text_in_the_middle_have_their_line_too(log, lower, junk):
    log.write_bytes(WHOLE.encode() + b"[[entry]]\ndate = 2026-03-02\n" + junk + f"{END}\n".encode())
    with pytest.raises(ScenarioError, match=rf"{log.name}:7: "):
        read(log, lower)


@pytest.mark.parametrize(
    ("keys", "said"),
    [
        ({"date": "2026-04-01", "did": "x"}, "2026-04-01 is in the future; allowed: a day until 2026-03-31"),
        ({"date": "2026-02-01", "did": "x"}, "2026-02-01 is before 2026-03-01"),
        ({"date": "yesterday", "did": "x"}, "a day as year-month-day"),
        ({}, "nothing was done or seen"),
        ({"replaced": ["bal"]}, '"bal" given; allowed: ball, '),
        ({"turned": ["packing"]}, "allowed: seat, foot valve seat, intake seat, inlet seat, piston seat"),
        ({"cycles": "90000"}, "90000 is less than 100000 of an entry before"),
        ({"cycles": "-5"}, "a number of cycles"),
        ({"cycles": "many"}, "a number of cycles"),
        ({"litres": "-5 l"}, '"-5 l" given'),
        ({"litres": "40 gal"}, "US or imp"),
        ({"litres": "+4 kg"}, "a unit of another kind"),
        ({"shims_below": [4]}, "1 to 3"),
        ({"shims_below": [1], "shims_above": [1, 2, 3]}, "each shim either below or above"),
        ({"did": "x" * 1001}, "at most 1000 letters"),
        ({"did": 3}, "3 given"),
        ({"cycles": True}, "given"),
        ({"wat": 3}, "no such key"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_is_written(log, lower, keys, said):
    add(log, lower, date="2026-03-01", cycles=100000)
    assert said in refusal(log, lower, **keys)


def test_a_refused_first_entry_makes_no_file(log, lower):
    refusal(log, lower, cycles="-5")
    assert not log.exists()


def test_what_is_seen_after_the_day_of_the_entry_is_refused(log, lower, tmp_path):
    file = tmp_path / "today.toml"
    file.write_text(SEEN)
    assert "2026-03-29 is before 2026-03-30" in refusal(log, lower, observed=file, date="2026-03-29")


def test_a_new_counter_goes_on_where_the_old_one_stopped(log, lower):
    for keys in (
        {"cycles": 500},
        {"replaced": ["counter"]},
        {"cycles": 20},
        {"cycles": "+7"},
        {"cycles": 40},
    ):
        add(log, lower, **keys)
    counts = totals(read(log, lower).entries, "cycles")
    assert [counts[i] for i in (0, 2, 3, 4)] == [500.0, 520.0, 527.0, 540.0]


def test_threads_that_add_at_once_all_have_their_entry(log, lower):
    threads = [threading.Thread(target=add, args=(log, lower), kwargs={"note": f"{n}"}) for n in range(12)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    book = read(log, lower)
    assert {entry.note for entry in book.entries} == {f"{n}" for n in range(12)}
    assert not book.aside


def test_a_long_history_is_read(log, lower):
    blocks = (
        f"[[entry]]\ndate = {date(2019, 1, 1) + timedelta(days=n)}\ncycles = {1000 * n}\n{END}\n"
        for n in range(2000)
    )
    log.write_text("\n".join(blocks))
    assert totals(read(log, lower).entries, "cycles")[-1] == 1_999_000.0


@pytest.mark.parametrize("kind", ["folder", "large"])
def test_what_is_no_history_is_refused(log, lower, kind):
    if kind == "folder":
        log.mkdir()
    else:
        log.write_bytes(b"#" * (4 * 1024 * 1024 + 1))
    with pytest.raises(ScenarioError, match="allowed: a text file of at most 4 MB"):
        read(log, lower)
    with pytest.raises(ScenarioError, match="allowed: a text file of at most 4 MB"):
        add(log, lower, did="x")


def test_a_link_is_followed_and_windows_line_ends_are_read(log, lower, tmp_path):
    other = tmp_path / "kept.toml"
    other.write_bytes(b"\xef\xbb\xbf" + WHOLE.replace("\n", "\r\n").encode())
    log.symlink_to(other)
    add(log, lower, did="closed")
    assert log.is_symlink()
    assert [entry.did for entry in read(other, lower).entries] == ["opened", "closed"]
