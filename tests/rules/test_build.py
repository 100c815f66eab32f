"""What packs write with: kinds and dimensions are checked as a tree is built."""

from __future__ import annotations

from datetime import date

import pytest

from stemlore.errors import (
    BareNumberError,
    DimensionError,
    NodeTruthError,
    RuleError,
    UnknownFieldError,
    UnknownTableError,
)
from stemlore.rules import (
    all_of,
    any_of,
    choose,
    constant,
    every,
    exp,
    field,
    first_known,
    greater,
    lesser,
    log,
    lookup,
    parameter,
    same,
    some,
    spread,
    today,
    years_since,
)
from stemlore.rules import nodes as n
from stemlore.rules.build import rebuilt
from stemlore.units import unit

DEPTH = field("tyre.tread_depth_main_grooves")
PRESSURE = field("tyre.pressure")
CATEGORY = field("vehicle.category")
STUDDED = field("tyre.studded")
MADE = field("tyre.manufactured")


@pytest.mark.parametrize(
    ("path", "kind", "symbol"),
    [
        ("tyre.pressure", "number", "kPa"),
        ("tyre.load_index", "number", "1"),
        ("tyre.studded", "flag", None),
        ("vehicle.category", "word", None),
        ("work.tool_class", "word", None),
        ("valve.code", "word", None),
        ("tyre.manufactured", "date", None),
    ],
)
def test_a_field_has_the_kind_and_unit_of_its_specification(path, kind, symbol):
    made = field(path)
    assert made.kind == kind
    assert (made.unit and made.unit.symbol) == symbol


def test_constants_take_the_kind_of_what_is_written():
    assert constant("2.5 bar") == n.Constant(2.5, "number", unit("bar"))
    assert constant("radial") == n.Constant("radial", "word")
    assert constant(True) == n.Constant(True, "flag")
    assert constant(date(2024, 1, 1)) == n.Constant(date(2024, 1, 1), "date")
    assert constant(5).unit == field("tyre.load_index").unit


# --- choose and first_known --------------------------------------------------------------------


def test_choose_gives_one_kind_in_one_unit():
    made = choose(STUDDED, "2 bar", PRESSURE)
    assert made.kind == "number"
    assert made.unit == PRESSURE.unit
    assert made.then.value == 200.0


@pytest.mark.parametrize(
    "use",
    [
        lambda: choose(STUDDED, DEPTH, PRESSURE),
        lambda: choose(STUDDED, DEPTH, CATEGORY),
        lambda: first_known(DEPTH, PRESSURE),
        lambda: first_known(field("maker.cold_pressure"), CATEGORY),
        lambda: lesser(DEPTH, PRESSURE),
        lambda: greater(DEPTH, "2 bar"),
        lambda: exp(DEPTH),
        lambda: log("2 mm"),
        lambda: spread(CATEGORY),
        lambda: lookup("load_index", CATEGORY, "load_kg"),
        lambda: lookup("load_index", DEPTH, "load_kg"),
        lambda: lookup("tubeless_valves", DEPTH, "valve_hole_mm"),
    ],
)
def test_what_does_not_fit_is_refused(use):
    with pytest.raises((DimensionError, ValueError)):
        use()


def test_choose_needs_a_condition():
    with pytest.raises(RuleError, match="condition"):
        choose(DEPTH, "1 mm", "2 mm")
    with pytest.raises(NodeTruthError, match="equals"):
        choose(CATEGORY == "M1", "1 mm", "2 mm")


def test_a_bare_number_is_refused_in_choose_too():
    with pytest.raises(BareNumberError):
        choose(STUDDED, DEPTH, 2)


@pytest.mark.parametrize("use", [lambda: choose(STUDDED, MADE, MADE), lambda: first_known(MADE, MADE)])
def test_days_that_may_be_spans_cannot_be_chosen(use):
    with pytest.raises(RuleError, match="compare it first"):
        use()


def test_choosing_waits_for_a_parameter():
    assert first_known(field("maker.cold_pressure"), parameter("xa.a.b")).kind == "open"


# --- ages ----------------------------------------------------------------------------------------


def test_an_age_is_a_span_of_years():
    age = years_since(MADE)
    assert age.unit == unit("year")
    assert (age <= "120 months").right.value == 10.0


@pytest.mark.parametrize("of", [DEPTH, CATEGORY, today(), "2024-01-01"])
def test_an_age_is_of_a_date_field(of):
    with pytest.raises(RuleError, match="date field"):
        years_since(of)


def test_a_span_may_only_be_compared():
    age = years_since(MADE)
    for use in (lambda: age + "1 year", lambda: choose(STUDDED, age, age), lambda: spread(age)):
        with pytest.raises((RuleError, DimensionError)):
            use()


def test_a_bare_number_of_years_is_refused():
    with pytest.raises(BareNumberError, match="10 year"):
        years_since(MADE) <= 10  # noqa: B015


# --- members -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "use",
    [
        lambda: every(some(STUDDED)),
        lambda: some(same(DEPTH)),
        lambda: every(spread(DEPTH) <= "1 mm"),
    ],
)
def test_aggregates_do_not_stand_in_each_other(use):
    with pytest.raises(RuleError, match="cannot stand in each other"):
        use()


def test_aggregates_need_what_they_are_over():
    with pytest.raises(RuleError, match="condition"):
        every(DEPTH)
    with pytest.raises(RuleError, match="spans"):
        same(MADE)
    with pytest.raises(RuleError, match="unit"):
        spread(parameter("xa.a.b"))


def test_the_spread_of_temperatures_is_a_difference():
    gap = spread(field("tyre.tyre_temperature"))
    assert (gap <= "5 delta_degC").kind == "flag"
    with pytest.raises(ValueError, match="difference"):
        gap <= "5 degC"  # noqa: B015


# --- tables --------------------------------------------------------------------------------------


def test_a_lookup_has_the_unit_of_its_column():
    made = lookup("load_index", field("tyre.load_index"), "load_kg")
    assert made.unit == unit("kg")


def test_an_unknown_table_or_column_names_what_there_is():
    with pytest.raises(UnknownTableError, match="load_index"):
        lookup("load_indx", field("tyre.load_index"), "load_kg")
    with pytest.raises(RuleError, match="load_kg"):
        lookup("load_index", field("tyre.load_index"), "load")


def test_words_cannot_be_stepped():
    with pytest.raises(RuleError, match="stepped"):
        lookup("tubeless_valves", field("valve.table_code"), "valve_hole_mm", how="stepped")


def test_a_table_with_several_keys_cannot_be_looked_up_by_one():
    with pytest.raises(RuleError, match="together"):
        lookup("valve_holes", field("valve.kind"), "nominal_mm")


# --- all_of and any_of -----------------------------------------------------------------------------


def test_all_and_any_of_nothing_and_of_one():
    assert all_of() == n.Constant(True, "flag")
    assert any_of() == n.Constant(False, "flag")
    assert all_of(STUDDED) is STUDDED
    assert any_of(STUDDED) is STUDDED
    with pytest.raises(NodeTruthError):
        all_of(STUDDED, True)
    with pytest.raises(RuleError):
        any_of(STUDDED, DEPTH)


# --- made again once parameters are known --------------------------------------------------------------


def put(tree, **values):
    """Put constants for parameters, as opening a rulebook does."""
    if isinstance(tree, n.Parameter):
        return values[tree.name]
    parts = n.children(tree)
    new = tuple(put(part, **values) for part in parts)
    return tree if new == parts else rebuilt(tree, new)


def test_the_dimension_of_a_parameter_is_checked_when_it_is_put_in():
    tree = DEPTH >= parameter("p")  # noqa: SIM300
    assert put(tree, p=constant("0.2 cm")).right.value == 2.0
    with pytest.raises(DimensionError, match="pressure"):
        put(tree, p=constant("2 bar"))
    with pytest.raises(DimensionError):
        put(DEPTH >= 2 * parameter("p"), p=constant(2))  # noqa: SIM300


def test_a_word_of_a_parameter_is_checked_when_it_is_put_in():
    tree = CATEGORY.equals(parameter("p"))
    with pytest.raises(RuleError, match="not a word"):
        put(tree, p=constant("M4"))


def test_a_parameter_that_is_no_condition_is_refused_when_it_is_put_in():
    for tree in (parameter("p") & STUDDED, ~parameter("p"), choose(parameter("p"), "1 mm", "2 mm")):
        with pytest.raises(RuleError, match="condition"):
            put(tree, p=constant("2 mm"))


def test_a_negative_parameter_keeps_its_unit():
    made = put(DEPTH >= -parameter("p"), p=constant("2 mm"))  # noqa: SIM300
    assert made.right.of.unit == DEPTH.unit


def test_a_conversion_stays_one_conversion_when_the_tree_is_made_again():
    # what is converted holds a parameter
    limit = choose(parameter("p"), lookup("load_index", field("tyre.load_index"), "load_kg"), "500 kg")
    tonnes = n.Settled(n.Arithmetic("*", limit, constant(0.001), unit("t")), unit("t"))
    made = put(n.Compare("<=", tonnes, n.Constant(0.5, "number", unit("t"))), p=constant(True))
    assert made.left.unit == unit("t")
    assert made.left.of.right == constant(0.001)
    assert made.right.value == 0.5


def test_an_unknown_field_is_told_at_once():
    with pytest.raises(UnknownFieldError):
        every(field("tyre.presure") >= "2 bar")
