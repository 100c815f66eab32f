"""The plain reading, node by node, of one subject."""

from __future__ import annotations

import math
from datetime import date

import pytest

from stemlore.model import Assembly, Axle, Job, MakerInstruction, Tyre, Vehicle, from_stored
from stemlore.rules import choose, every, exp, field, first_known, log, lookup, same, some, spread, today
from stemlore.rules import nodes as n
from stemlore.rules._facts import view_of
from stemlore.rules._layout import layout_of
from stemlore.rules._lower import lowered
from stemlore.rules._walker import evaluate, missing_fields
from stemlore.units import DIMENSIONLESS

DAY = date(2026, 11, 25)
DEPTH, PRESSURE = field("tyre.tread_depth_main_grooves"), field("tyre.pressure")
STUDDED, RETREAD, SNOWFLAKE = (field(f"tyre.{name}") for name in ("studded", "retread", "snowflake"))


def view(*, fitment="centre", maker=None, **tyre):
    job = Job(
        vehicle=Vehicle(category="M1", axles=[Axle(number=1, fitment=fitment)]),
        assemblies=[Assembly(position="axle 1 centre", tyre=from_stored(Tyre, tyre))] if tyre else [],
        makers=[maker] if maker else [],
    )
    return view_of(job, DAY, layout_of(job).positions[0])


def walked(tree, **tyre):
    return evaluate(lowered(tree), view(**tyre))


@pytest.mark.parametrize("odd", [None, math.nan, math.inf, -math.inf])
def test_a_reading_that_is_no_number_is_missing(odd):
    for tree in (DEPTH >= "1.6 mm", DEPTH < "1.6 mm", DEPTH.equals("1.6 mm"), DEPTH.within("1 mm", "2 mm")):
        assert walked(tree, tread_depth_main_grooves=odd) is None


@pytest.mark.parametrize(
    ("value", "at_least", "at_most", "above", "below"),
    [
        (0.0, False, True, False, True),
        (-0.0, False, True, False, True),
        (1.6, True, True, False, False),
        (1.600001, True, False, True, False),
        (1e300, True, False, True, False),
    ],
)
def test_comparisons_at_the_limit(value, at_least, at_most, above, below):
    assert walked(DEPTH >= "1.6 mm", tread_depth_main_grooves=value) is at_least
    assert walked(DEPTH <= "1.6 mm", tread_depth_main_grooves=value) is at_most
    assert walked(DEPTH > "1.6 mm", tread_depth_main_grooves=value) is above
    assert walked(DEPTH < "1.6 mm", tread_depth_main_grooves=value) is below


def test_a_computed_number_is_rounded_before_it_is_compared():
    assert 0.1 + 0.2 != 0.3
    assert walked((DEPTH + DEPTH * 2).equals("0.3 mm"), tread_depth_main_grooves=0.1) is True


@pytest.mark.parametrize("depth", [0.0, -0.0])
def test_a_division_by_zero_is_missing(depth):
    assert (
        walked(PRESSURE / (DEPTH / "1 mm") >= "0 kPa", tread_depth_main_grooves=depth, pressure=1.0) is None
    )


def test_what_overflows_on_the_way_is_missing_even_if_it_would_come_back():
    grown = PRESSURE / "1 kPa" * 1e300
    assert walked(grown / 1e300 >= 0, pressure=1e300) is None
    assert walked(1.0 / grown >= 0, pressure=1e300) is None
    assert walked(exp(PRESSURE / "1 kPa") >= 0, pressure=1000.0) is None
    assert walked(log(PRESSURE / "1 kPa") >= 0, pressure=0.0) is None


def test_words_days_and_numbers_of_a_list():
    assert walked(field("tyre.construction").one_of("radial", "diagonal"), construction="radial") is True
    assert walked(field("tyre.construction").one_of("diagonal"), construction="radial") is False
    assert walked(field("tyre.construction").equals("radial"), pressure=1.0) is None
    assert walked(field("tyre.load_index").one_of(91, 92), load_index=91) is True
    assert walked(today() >= date(2026, 11, 25), pressure=1.0) is True


def test_conditions_are_kleenes():
    told = {"studded": True, "retread": False}
    assert walked(RETREAD & SNOWFLAKE, **told) is False
    assert walked(STUDDED & SNOWFLAKE, **told) is None
    assert walked(STUDDED | SNOWFLAKE, **told) is True
    assert walked(RETREAD | SNOWFLAKE, **told) is None
    assert walked(~SNOWFLAKE, **told) is None
    assert evaluate(n.UNKNOWN, view()) is None


def test_one_bound_settles_a_range_while_the_other_is_missing():
    low, high = field("wheel.rated_pressure"), field("valve.rated_pressure")
    for tree in (PRESSURE.within(low, "300 kPa"), PRESSURE.within(low, high)):
        assert walked(tree, pressure=250.0) is None
    assert walked(PRESSURE.within(low, "300 kPa"), pressure=301.0) is False
    assert walked(PRESSURE.within("200 kPa", high), pressure=199.0) is False


def test_choices_and_what_is_known_first():
    picked = choose(STUDDED, PRESSURE, "3 bar")
    assert walked(picked.equals("2 bar"), studded=True, pressure=200.0) is True
    assert walked(picked.equals("3 bar"), studded=False, pressure=200.0) is True
    assert walked(picked.equals("3 bar"), pressure=200.0) is None
    assert walked(picked.equals("3 bar"), pressure=300.0) is True
    assert walked(first_known(PRESSURE, "3 bar").equals("3 bar"), studded=True) is True


def test_lookups():
    # ETRTO load index 91: 615 kg
    carried = lookup("load_index", field("tyre.load_index"), "load_kg")
    assert walked(carried.equals("615 kg"), load_index=91) is True
    assert walked(carried.equals("615 kg"), load_index=999) is None
    assert walked(carried.equals("615 kg"), pressure=1.0) is None


def test_whole_numbers_are_added_as_doubles():
    index = field("tyre.load_index")
    made = evaluate(n.Arithmetic("+", index, index, DIMENSIONLESS), view(load_index=2**53 - 1))
    assert isinstance(made, float)


def test_a_maker_who_is_silent_is_missing():
    told = from_stored(MakerInstruction, {"source": "manual, page 3", "cold_pressure": 230.0})
    assert evaluate(field("maker.cold_pressure"), view(maker=told, pressure=1.0)) == 230.0
    assert evaluate(field("maker.cold_pressure"), view(pressure=1.0)) is None


# --- over members ----------------------------------------------------------------------------


def axle(*pressures, fitment="single"):
    sides = ("left", "right")
    job = Job(
        vehicle=Vehicle(axles=[Axle(number=1, fitment=fitment)]),
        assemblies=[
            Assembly(position=f"axle 1 {side}", tyre=from_stored(Tyre, {"pressure": each}))
            for side, each in zip(sides, pressures, strict=False)
        ],
    )
    return view_of(job, DAY, layout_of(job).axles[0])


@pytest.mark.parametrize(
    ("pressures", "fitment", "all_are", "one_is", "alike"),
    [
        ((200.0, 200.0), "single", True, True, True),
        ((200.0, 300.0), "single", False, True, False),
        ((300.0, 300.0), "single", False, False, True),
        ((200.0,), "single", None, True, None),
        ((300.0,), "single", False, None, None),
        ((), "single", None, None, None),
        ((200.0, 200.0), None, None, True, None),
        ((200.0, 300.0), None, False, True, False),
    ],
)
def test_an_absent_member_is_missing(pressures, fitment, all_are, one_is, alike):
    at = axle(*pressures, fitment=fitment)
    soft = PRESSURE.equals("200 kPa")
    assert evaluate(every(soft), at) is all_are
    assert evaluate(some(soft), at) is one_is
    assert evaluate(same(PRESSURE), at) is alike


def test_a_spread_settles_a_fail_before_all_are_known():
    limit = lowered(spread(PRESSURE) <= "10 kPa")
    assert evaluate(limit, axle(200.0, 210.0)) is True
    assert evaluate(limit, axle(200.0, 211.0)) is False
    assert evaluate(limit, axle(200.0)) is None
    assert evaluate(limit, axle(200.0, 211.0, fitment=None)) is False
    assert evaluate(limit, axle(200.0, 200.0, fitment=None)) is None


def test_wheels_nobody_told_of_have_no_axle_and_no_position():
    # else a rule about axle 1 would speak of wheels that may not be there
    job = Job()
    at = view_of(job, DAY, layout_of(job).positions[0])
    assert evaluate(field("axle.number"), at) is None
    assert evaluate(field("assembly.position"), at) is None
    spare = Job(assemblies=[Assembly(position="spare")])
    assert evaluate(field("axle.number"), view_of(spare, DAY, layout_of(spare).spares[0])) is None


def test_what_is_missing_is_what_could_still_change_it():
    at = view(studded=True, retread=False)
    tree = (RETREAD & (DEPTH >= "1.6 mm")) | (STUDDED & SNOWFLAKE)
    assert {path for _, path in missing_fields(lowered(tree), at)} == {"tyre.snowflake"}
    bounded = lowered(PRESSURE.within(field("wheel.rated_pressure"), "300 kPa"))
    assert {path for _, path in missing_fields(bounded, view(pressure=250.0))} == {"wheel.rated_pressure"}


def test_a_tree_with_a_span_is_not_walked():
    with pytest.raises(TypeError, match="Span"):
        evaluate(n.Span(PRESSURE, PRESSURE, None), view(pressure=1.0))
