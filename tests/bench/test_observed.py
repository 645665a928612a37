"""A file of observations: read whole, or refused with every fault, each at its line."""

import math
from datetime import date

import pytest

from balltravel.bench.fit import rows_of
from balltravel.bench.read_observed import parse_observations, read_observations
from balltravel.bench.signs import SIGNS
from balltravel.scenario.model import ScenarioError
from balltravel.units.spread import SURE

from ..helpers.lowers import scenario

TODAY = date(2026, 3, 31)

WHOLE = """\
[[seen]]
date = 2026-03-30
set = { "drive.cycle_rate" = "25 /min" }
cycle_rate = "25 /min"
weighed_per_cycle = { value = "152 cc", within = "4 %" }
upstroke_time = "1.25 s"
downstroke_time = "1.15 s"
tip_pressure = "113 bar"
dip_at_top = "7 %"
vacuum_at_inlet = { value = "-0.22 bar", within = "0.05 bar" }
pounding = "heard"

[stall]
pressure = "120 bar"
seconds_per_stroke_up = "none in 5 min"
seconds_per_stroke_down = "140 s"
give_down = "4 mm"
gland_weep = "12 cc/h"

[ball_fall]
check = "inlet"
oil_viscosity = "10 Pa.s"
oil_density = "970 kg/m3"
time = "317 ms"

[[good_day]]
set = { "drive.cycle_rate" = "25 /min" }
cycle_rate = "24.8 /min"
"""


def read(text):
    return parse_observations(text, "today.toml", scenario(), TODAY)


def faults_of(text):
    with pytest.raises(ScenarioError) as error:
        read(text)
    return [str(fault) for fault in error.value.faults]


def test_a_whole_file_is_read_in_si():
    observed = read(WHOLE)
    (seen,), (good,) = observed.seen, observed.good_days
    assert seen.day == date(2026, 3, 30)
    assert seen.changes == {"drive.cycle_rate": pytest.approx(25.0 / 60.0)}
    assert good.changes == seen.changes
    values = {key: reading.value for key, reading in seen.readings.items()}
    assert values == pytest.approx(
        {
            "cycle_rate": 25.0 / 60.0, "weighed_per_cycle": 152e-6, "upstroke_time": 1.25,
            "downstroke_time": 1.15, "tip_pressure": 113e5, "dip_at_top": 0.07, "vacuum_at_inlet": -0.22e5,
            "pounding": 0.7,
        }
    )  # fmt: skip
    assert observed.stall_pressure == 120e5
    assert observed.stall["seconds_per_stroke_up"].none
    assert observed.stall["gland_weep"].value == pytest.approx(12e-6 / 3600.0)
    assert observed.ball_fall["time"] == pytest.approx(0.317)


def test_within_is_where_95_of_100_lie_and_else_a_sign_has_its_usual_error():
    observed = read(WHOLE)
    weighed = observed.seen[0].readings["weighed_per_cycle"]
    assert weighed.sd == pytest.approx(0.04 * 152e-6 / SURE)
    rows = {(row.key, row.good): row for row in rows_of(observed, 0.09)}
    assert rows["weighed_per_cycle", False].sd == pytest.approx(0.04 / SURE)
    assert rows["vacuum_at_inlet", False].sd == pytest.approx(0.05e5 / SURE)
    assert rows["cycle_rate", False].sd == SIGNS["cycle_rate"].sd


def test_creep_is_compared_as_speed_and_none_is_at_most_a_millimetre_in_the_time():
    rows = {row.key: row for row in rows_of(read(WHOLE), 0.09)}
    up, down = rows["seconds_per_stroke_up"], rows["seconds_per_stroke_down"]
    assert up.value == pytest.approx(math.log(2.0 * 1e-3 / 300.0))
    assert up.at_most
    assert up.none_in == pytest.approx(300.0)
    assert not down.at_most
    assert down.none_in is None
    assert down.value == pytest.approx(math.log(0.09 / 140.0 + 1e-3 / 300.0))


def test_what_was_set_may_be_written_as_a_shop_writes_it():
    text = (
        '[[seen]]\nset = { "inlet_check.ball_material" = "carbide", "outlet.gauge_pressure" = "1800 PSI", '
        '"drive.cycle_rate" = "25 cpm" }\ncycle_rate = "25 cpm"\nvacuum_at_inlet = "6 inHg"\n'
    )
    (seen,) = read(text).seen
    assert seen.changes["inlet_check.ball_density"] == 14900.0
    assert seen.changes["outlet.gauge_pressure"] == pytest.approx(1800 * 6894.757, rel=1e-6)
    assert seen.changes["drive.cycle_rate"] == seen.readings["cycle_rate"].value == 25.0 / 60.0
    with pytest.raises(ScenarioError, match="ball_material"):
        read('[[seen]]\nset = { "inlet_check.ball_materal" = "steel" }\ncycle_rate = "25 cpm"\n')


def test_none_is_a_dip_a_give_or_a_weep_of_nothing_but_creep_needs_for_how_long():
    text = '[[seen]]\ndip_at_top = "none"\n\n[stall]\npressure = "120 bar"\n'
    text += 'give_up = "none"\ngland_weep = "none"\n'
    observed = read(text)
    assert observed.seen[0].readings["dip_at_top"].value == 0.0
    assert {key: reading.value for key, reading in observed.stall.items()} == {
        "give_up": 0.0,
        "gland_weep": 0.0,
    }
    (fault,) = faults_of(f'{text}seconds_per_stroke_up = "none"\n')
    assert fault.endswith('example: "none in 5 min"')
    (fault,) = faults_of('[[seen]]\nvacuum_at_inlet = "none"\n')
    assert "does not begin with a plain number" in fault


def test_a_weight_is_a_volume_by_the_density():
    text = '[[seen]]\nweighed_per_cycle = "125 g"\n'
    (seen,) = read(text).seen
    expected = 0.125 / scenario().material.density
    assert seen.readings["weighed_per_cycle"].value == pytest.approx(expected)


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ('weighed_per_cycle = "-3 cc"', "weighed_per_cycle: \"-3 cc\" given; allowed: "),
        ('weighed_per_cycle = "5 l"', "cc a cycle, and the lower sweeps"),
        ('cycle_rate = "nan /min"', "does not begin with a plain number"),
        ("cycle_rate = 23", "a bare number 23 given"),
        ('cycle_rat = "30 /min"', 'no such key (did you mean "cycle_rate"?)'),
        ('cycle_rate = { value = "30 /min", with = "2 %" }', '"with" given; allowed: value and within'),
        ('cycle_rate = { value = "30 /min", within = "0 %" }', "more than 0.01 % of the value"),
        ('pounding = "loud"', 'allowed: "none" or "heard" or "hard"'),
        ('date = "2026-04-01"\ncycle_rate = "30 /min"', "2026-04-01 is in the future"),
        ('date = "yesterday"\ncycle_rate = "30 /min"', "a day as year-month-day"),
        ('set = { "lower.bor" = "48 mm" }\ncycle_rate = "30 /min"', "lower.bor"),
        ('set = { "lower.bore" = "48" }\ncycle_rate = "30 /min"', "lower.bore"),
        ('set = "fast"\ncycle_rate = "30 /min"', "a table of keys of the scenario"),
        ("date = 2026-03-30", "nothing was seen"),
        ('cycle_rate = "none in 5 min"', "does not begin with a plain number"),
        ('vacuum_at_inlet = "-3 bar"', "vacuum_at_inlet"),
    ],
)  # fmt: skip
def test_what_cannot_be_seen_is_refused_with_its_line(line, said):
    (told,) = faults_of(f"[[seen]]\n{line}\n")
    assert said in told
    assert told.startswith("today.toml:")


def test_times_of_strokes_and_a_rate_that_contradict_each_other_are_named():
    (told,) = faults_of('[[seen]]\ncycle_rate = "30 /min"\nupstroke_time = "2 s"\ndownstroke_time = "2 s"\n')
    assert "both strokes take 4 s, and 30 /min is 2 s a cycle" in told
    assert told.startswith("today.toml:2: ")


@pytest.mark.parametrize(
    ("text", "line", "said"),
    [
        ('[[seen]]\ncycle_rate = "30 /min"\nupstroke_time = "10 s"\n', 3,
         "10 s, and 30 /min is 2 s a cycle"),
        ('[[seen]]\nset = { "drive.cycle_rate" = "50 /min" }\ncycle_rate = "20 /min"\n', 3,
         "20 /min, and 50 /min in set"),
        ('[[seen]]\nweighed_per_cycle = "120 cc"\n[[seen]]\nweighed_per_cycle = "30 cc"\n', 4,
         "30 cc, and 120 cc in table 1 of the same setting"),
        ('[[seen]]\nvacuum_at_inlet = "-0.2 bar"\n[[seen]]\nvacuum_at_inlet = "-0.6 bar"\n', 4,
         "and -20 kPa in"),
    ],
)  # fmt: skip
def test_readings_that_contradict_each_other_or_what_was_set_are_named(text, line, said):
    (told,) = faults_of(text)
    assert said in told
    assert told.startswith(f"today.toml:{line}: ")


@pytest.mark.parametrize(
    "text",
    [
        '[[seen]]\ncycle_rate = "30 /min"\nupstroke_time = "1.6 s"\n',
        '[[seen]]\nset = { "drive.cycle_rate" = "20 /min" }\ncycle_rate = "21 /min"\n',
        '[[seen]]\nweighed_per_cycle = "120 cc"\n[[seen]]\nweighed_per_cycle = "112 cc"\n',
        '[[seen]]\ndate = 2026-03-01\ntip_pressure = "90 bar"\n[[seen]]\ntip_pressure = "40 bar"\n',
        '[[seen]]\ntip_pressure = "90 bar"\n[[seen]]\nset = { "lower.bore" = "47 mm" }\n'
        'tip_pressure = "40 bar"\n',
    ],
)
def test_readings_that_may_both_be_true_are_not(text):
    assert read(text).seen


@pytest.mark.parametrize(
    "line",
    ['seconds_per_stroke_up = "-3 s"', 'seconds_per_stroke_up = "0 s"',
     'seconds_per_stroke_up = "none in -5 min"',
     'give_up = "-1 mm"', 'gland_weep = "-2 cc/h"', 'gland_weep = { value = "2 cc/h", within = "-5 %" }'],
)  # fmt: skip
def test_what_is_negative_at_a_stall_is_refused_with_its_line(line):
    (told,) = faults_of(f'[[seen]]\ncycle_rate = "30 /min"\n[stall]\npressure = "120 bar"\n{line}\n')
    assert told.startswith(f"today.toml:5: stall.{line.split()[0]}: ")
    assert "allowed: " in told


STALLED = '[[seen]]\ncycle_rate = "30 /min"\n[stall]\npressure = "120 bar"\nseconds_per_stroke_up = "40 s"\n'


def test_the_stall_of_a_good_day_has_the_pressure_of_todays():
    for pressure in ("", 'pressure = "115 bar"\n'):
        observed = read(f'{STALLED}[good_stall]\n{pressure}seconds_per_stroke_up = "none in 5 min"\n')
        assert observed.good_stall["seconds_per_stroke_up"].none
        assert observed.stall["seconds_per_stroke_up"].value == 40.0


@pytest.mark.parametrize(
    ("text", "said"),
    [(f'{STALLED}[good_stall]\npressure = "80 bar"\ngive_up = "2 mm"\n',
      "today.toml:7: good_stall.pressure: 80 bar given; allowed: the pressure of [stall]"),
     ('[[seen]]\ncycle_rate = "30 /min"\n[good_stall]\npressure = "80 bar"\ngive_up = "2 mm"\n',
      "today.toml:4: good_stall.pressure: 80 bar given; allowed: the pressure of [stall]")],
)  # fmt: skip
def test_a_stall_of_a_good_day_that_cannot_be_compared_is_refused(text, said):
    (told,) = faults_of(text)
    assert told.startswith(said)


def test_a_good_day_in_the_future_is_refused():
    text = '[[seen]]\ncycle_rate = "30 /min"\n[[good_day]]\ndate = 2999-01-01\ncycle_rate = "30 /min"\n'
    (told,) = faults_of(text)
    assert told.startswith("today.toml:4: good_day.date: 2999-01-01 is in the future")


STALL = '[[seen]]\ncycle_rate = "30 /min"\n{}[stall]\nseconds_per_stroke_down = "140 s"\n'


def test_the_pressure_of_a_stall_may_be_left_out_where_something_else_tells_it():
    observed = read(STALL.format(""))
    assert observed.stall_pressure == scenario().outlet.gauge_pressure
    assert observed.stall_pressure_from == "the scenario's outlet.gauge_pressure"
    assert observed.notes[0].endswith("bar, the scenario's outlet.gauge_pressure")
    observed = read(STALL.format('tip_pressure = "113 bar"\n'))
    assert (observed.stall_pressure, observed.stall_pressure_from) == (
        113e5, "the highest tip_pressure that was read",
    )  # fmt: skip
    assert read(WHOLE).stall_pressure_from == ""
    assert read(WHOLE).notes == []


def test_a_motor_tells_the_pressure_of_a_stall_by_its_supply_and_ratio(story):
    drum = story("roof_elastomer_from_a_drum")
    observed = parse_observations(STALL.format(""), "today.toml", drum, TODAY)
    assert observed.stall_pressure == drum.drive.supply_gauge_pressure * drum.drive.area_ratio
    assert "supply" in observed.stall_pressure_from


def test_a_pressure_that_nothing_tells_is_asked_for_with_what_it_is_for():
    tip = {"form": "tip", "gauge_pressure": None, "hose_length": 15.0, "hose_diameter": 0.0095,
           "tip_diameter": 1e-3, "tip_discharge_coefficient": 0.8}  # fmt: skip
    with pytest.raises(ScenarioError, match=r"stall.pressure: missing.*creep goes with it.*tip_pressure"):
        parse_observations(STALL.format(""), "today.toml", scenario(outlet=tip), TODAY)


def test_all_faults_are_told_at_once_in_the_order_of_their_lines():
    told = faults_of(
        '[[seen]]\ncycle_rate = "fast"\nvacum = 3\n[stall]\ngive_down = "2 m"\n[bal_fall]\n[[good_day]]\n'
    )
    lines = [int(fault.split(":")[1]) for fault in told]
    assert lines == sorted(lines)
    text = "\n".join(told)
    for part in (
        "fast",
        "vacum",
        "at most the stroke",
        "bal_fall",
        "nothing was seen",
    ):
        assert part in text


@pytest.mark.parametrize(
    "text",
    ["", "seen = 3", "[seen]\ncycle_rate = 3", "[[seen", "seen = [1, 2]", "[[seen]]\n" * 9, "stall = 3\n",
     '[[seen]]\ncycle_rate = "30 /min"\n[ball_fall]\n', '[[seen]]\ncycle_rate = "30 /min"\n[stall]\n'],
)  # fmt: skip
def test_what_is_no_file_of_observations_is_refused_in_a_sentence(text):
    assert all("allowed: " in told for told in faults_of(text))


def test_a_good_day_of_another_setting_cannot_be_compared():
    text = '[[seen]]\ncycle_rate = "30 /min"\n[[good_day]]\nset = { "lower.bore" = "47 mm" }\n'
    (told,) = faults_of(text + 'cycle_rate = "30 /min"\n')
    assert "no [[seen]] was set like this" in told


def test_the_second_of_several_is_named_by_its_number():
    (told,) = faults_of('[[seen]]\ncycle_rate = "30 /min"\n[[seen]]\ncycle_rate = "-1 /min"\n')
    assert told.startswith("today.toml:4: seen 2.cycle_rate: ")


def test_a_file_that_is_not_there_is_refused():
    with pytest.raises(ScenarioError, match="No such file"):
        read_observations("nowhere.toml", scenario())


def test_a_rate_that_no_fault_explains_asks_for_what_was_set():
    """The scenario runs at 30 /min; a stopwatch is right within 2 %, so that 31 /min may be the same."""
    (told,) = faults_of('[[seen]]\ncycle_rate = "40 /min"\nweighed_per_cycle = "150 cc"\n')
    assert told.startswith("today.toml:2")
    assert "the scenario runs at 30 /min, which no fault changes" in told
    assert 'set = { "drive.cycle_rate" = "40 /min" }' in told
    assert read('[[seen]]\ncycle_rate = "31 /min"\n').seen[0].readings["cycle_rate"].value > 0.5
    set_so = '[[seen]]\nset = { "drive.cycle_rate" = "40 /min" }\ncycle_rate = "40 /min"\n'
    assert read(set_so).seen[0].readings["cycle_rate"].value == pytest.approx(40.0 / 60.0)


def _inlet(value, suction=None):
    text = f"[[seen]]\nvacuum_at_inlet = {value}\n"
    observed = parse_observations(text, "today.toml", scenario(suction=suction or {}), TODAY)
    return observed.seen[0].readings["vacuum_at_inlet"].value


def test_a_vacuum_may_be_written_as_its_gauge_reads_without_a_minus():
    mercury = 3386.389
    for written in ('"9 inHg"', '"-9 inHg"', '{ value = "9 inHg", within = "1 inHg" }'):
        assert _inlet(written) == pytest.approx(-9.0 * mercury, rel=1e-5)
    assert _inlet('"+9 inHg"') == pytest.approx(9.0 * mercury, rel=1e-5)
    with pytest.raises(ScenarioError, match="a vacuum of"):
        _inlet('"3 bar"')


def test_where_the_inlet_may_stand_above_the_atmosphere_a_number_without_a_sign_is_refused():
    pressed = {"tank_gauge_pressure": 2e5}
    with pytest.raises(ScenarioError) as error:
        _inlet('"0.3 bar"', pressed)
    (fault,) = map(str, error.value.faults)
    assert '"-0.3 bar" for a vacuum, "+0.3 bar" for a pressure above the atmosphere' in fault
    assert _inlet('"+0.3 bar"', pressed) == pytest.approx(0.3e5)
    assert _inlet('"-0.3 bar"', pressed) == pytest.approx(-0.3e5)


@pytest.mark.parametrize("typed", ["0.5 oz/h", "5 gal/h", "12", "3 mm"])
def test_a_weep_that_cannot_be_has_a_weep_as_its_example(typed):
    (told,) = faults_of(
        f'[[seen]]\ncycle_rate = "30 /min"\n\n[stall]\npressure = "120 bar"\ngland_weep = "{typed}"\n'
    )
    assert told.endswith('example: "12 cc/h"')
    assert "cc/h" in told.split("allowed:")[1].split("example:")[0]
    assert "gpm" not in told


def test_a_value_without_quotes_is_shown_with_its_quotes():
    with pytest.raises(ScenarioError) as caught:
        parse_observations("[[seen]]\ncycle_rate = 30 /min\n", "today.toml", scenario(), TODAY)
    (fault,) = caught.value.faults
    assert (fault.where, fault.example) == ("today.toml:2", 'cycle_rate = "30 /min"')
    assert "cycle_rate = 30 /min has its value without quotes" in fault.given
