"""Operators build nodes; what Python would answer at once is refused with the way to say it."""

from __future__ import annotations

import math
import pickle
from datetime import date, datetime

import pytest

from stemlore.errors import (
    BareNumberError,
    DimensionError,
    NodeTruthError,
    NotationError,
    RuleError,
    StemloreError,
    UnitError,
    UnknownFieldError,
)
from stemlore.rules import constant, field, parameter, today
from stemlore.rules import nodes as n

DEPTH = field("tyre.tread_depth_main_grooves")
PRESSURE = field("tyre.pressure")
TYRE_TEMPERATURE = field("tyre.tyre_temperature")
AMBIENT = field("tyre.ambient_temperature")
MADE = field("tyre.manufactured")
WORN = DEPTH < "1.6 mm"


@pytest.mark.parametrize(
    ("made", "operator"),
    [(DEPTH < "2 mm", "<"), (DEPTH <= "2 mm", "<="), (DEPTH > "2 mm", ">"), (DEPTH >= "2 mm", ">=")],
)
def test_an_order_builds_a_comparison_and_computes_nothing(made, operator):
    assert made == n.Compare(operator, DEPTH, n.Constant(2.0, "number", DEPTH.unit))
    assert made.kind == "flag"


def test_a_comparison_may_stand_either_way_round():
    # Python turns 'text < node' into 'node > text'
    assert (DEPTH > "2 mm") == (DEPTH > "2 mm")


def test_text_with_a_unit_is_converted_to_the_unit_of_the_field_once():
    made = PRESSURE <= "65 psi"
    # NIST SP 811, B.8: 1 psi = 6.894757 kPa
    assert made.right.value == pytest.approx(65 * 6.894757, abs=1e-4)
    assert made.right.unit == PRESSURE.unit
    assert round(made.right.value, 6) == made.right.value


@pytest.mark.parametrize(
    ("made", "kind"),
    [
        (WORN & (PRESSURE > "2 bar"), n.And),
        (WORN | (PRESSURE > "2 bar"), n.Or),
        (~WORN, n.Not),
        (DEPTH.within("1 mm", "2 mm"), n.Within),
        (DEPTH.equals("1 mm"), n.Equals),
        (DEPTH.differs("1 mm"), n.Not),
        (DEPTH.one_of("1 mm", "2 mm"), n.OneOf),
        (DEPTH + "1 mm", n.Arithmetic),
        ("1 mm" + DEPTH, n.Arithmetic),
        (DEPTH - DEPTH, n.Arithmetic),
        ("8 mm" - DEPTH, n.Arithmetic),
        (2 * DEPTH, n.Arithmetic),
        (DEPTH / 2, n.Arithmetic),
        (-DEPTH, n.Arithmetic),
        ((DEPTH / "1 mm") ** 2, n.Arithmetic),
    ],
)
def test_operators_build_nodes(made, kind):
    assert isinstance(made, kind)


def use_bool():
    if WORN:
        pass


def use_and():
    return WORN and WORN


def use_not():
    return not WORN


def use_chain():
    return "1 mm" < DEPTH < "2 mm"  # noqa: SIM300


@pytest.mark.parametrize("use", [use_bool, use_and, use_not, use_chain])
def test_the_truth_of_a_node_is_refused_and_the_message_says_what_to_use(use):
    with pytest.raises(NodeTruthError, match=r"& \| ~"):
        use()


def test_python_s_in_is_refused_and_the_message_names_one_of():
    with pytest.raises(NodeTruthError, match="one_of"):
        "M1" in field("vehicle.category")  # noqa: B015


def test_iteration_is_refused_and_the_message_names_every():
    with pytest.raises(NodeTruthError, match="every"):
        list(DEPTH)


@pytest.mark.parametrize(
    "use",
    [
        lambda: (field("vehicle.category") == "M1") & WORN,
        lambda: WORN & (field("vehicle.category") == "M1"),
        lambda: (field("vehicle.category") != "M1") | WORN,
        lambda: WORN | ("M1" in ("M1", "N1")),
    ],
)
def test_python_s_equality_among_conditions_is_refused_and_the_message_names_equals(use):
    with pytest.raises(NodeTruthError, match=r"\.equals\(\)"):
        use()


def test_the_named_error_is_also_a_type_error():
    with pytest.raises(TypeError):
        bool(WORN)


@pytest.mark.parametrize(
    "use",
    [
        lambda: DEPTH & WORN,
        lambda: WORN | DEPTH,
        lambda: ~DEPTH,
        lambda: ~field("vehicle.category"),
        lambda: WORN & today(),
    ],
)
def test_a_number_word_or_day_is_no_condition(use):
    with pytest.raises(RuleError, match="stands where a condition is needed"):
        use()


# --- numbers and their dimensions ------------------------------------------------------------


@pytest.mark.parametrize(
    "use",
    [
        lambda: DEPTH >= 1.6,
        lambda: 1.6 <= DEPTH,  # noqa: SIM300
        lambda: DEPTH + 1,
        lambda: DEPTH.within(1, 2),
        lambda: DEPTH.equals(2),
        lambda: DEPTH.one_of(2, 3),
    ],
)
def test_a_bare_number_beside_a_unit_is_refused_and_the_message_shows_how(use):
    with pytest.raises(BareNumberError, match=r"write '.* mm'"):
        use()


def test_a_plain_number_may_stand_beside_a_plain_number():
    assert (field("tyre.load_index") >= 91).right.value == 91.0
    assert (DEPTH / "2 mm" >= 1).kind == "flag"


@pytest.mark.parametrize(
    "use",
    [
        lambda: DEPTH >= PRESSURE,
        lambda: DEPTH + PRESSURE,
        lambda: DEPTH - field("vehicle.gross_mass"),
        lambda: DEPTH.within(PRESSURE, PRESSURE),
        lambda: DEPTH.equals(PRESSURE),
        lambda: DEPTH.equals(field("vehicle.category")),
        lambda: field("vehicle.category") <= DEPTH,
        lambda: field("vehicle.category") >= "M1",
        lambda: field("tyre.studded") > field("tyre.retread"),
        lambda: DEPTH**2,
        lambda: field("vehicle.category") + "M1",
        lambda: MADE - MADE,
        lambda: field("tyre.size").one_of(205),
        lambda: DEPTH > MADE,
    ],
)
def test_dimensions_are_checked_when_the_tree_is_built(use):
    with pytest.raises(DimensionError):
        use()


@pytest.mark.parametrize("text", ["1.6 bar", "1.6 parsnips", "deep"])
def test_text_of_another_dimension_or_no_unit_is_refused(text):
    with pytest.raises(UnitError):
        text <= DEPTH  # noqa: B015


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_a_constant_is_finite(value):
    with pytest.raises(RuleError, match="finite"):
        field("tyre.load_index") >= value  # noqa: B015
    with pytest.raises(RuleError, match="finite"):
        constant(value)


@pytest.mark.parametrize("value", [None, b"1 mm", [1], object()])
def test_what_is_no_value_is_refused(value):
    with pytest.raises(RuleError, match="cannot stand in a rule"):
        value <= DEPTH  # noqa: B015


def test_a_product_has_the_product_of_the_units():
    assert (DEPTH * DEPTH).unit.dimension.length == 2
    assert (DEPTH / DEPTH).unit.dimension == field("tyre.load_index").unit.dimension


def test_the_negative_of_a_parameter_waits_for_its_unit():
    assert (-parameter("xa.a.b")).kind == "open"


# --- temperatures ----------------------------------------------------------------------------


def test_the_difference_of_two_temperatures_is_no_temperature():
    rise = TYRE_TEMPERATURE - AMBIENT
    assert (rise <= "10 delta_degC").right.value == 10.0
    with pytest.raises(UnitError):
        rise <= "10 degC"  # noqa: B015
    with pytest.raises(DimensionError):
        rise >= AMBIENT  # noqa: B015


def test_a_difference_may_be_added_to_a_temperature():
    warmer = AMBIENT + "10 delta_degC"
    assert warmer.unit == AMBIENT.unit
    assert ("10 delta_degC" + AMBIENT).unit == AMBIENT.unit
    assert (warmer >= TYRE_TEMPERATURE).kind == "flag"


@pytest.mark.parametrize(
    "use",
    [
        lambda: TYRE_TEMPERATURE + AMBIENT,
        lambda: TYRE_TEMPERATURE + "10 degC",
        lambda: "10 delta_degC" - AMBIENT,
        lambda: TYRE_TEMPERATURE - "10 delta_degF",
        lambda: TYRE_TEMPERATURE * 2,
        lambda: TYRE_TEMPERATURE / AMBIENT,
        lambda: -TYRE_TEMPERATURE,
    ],
)
def test_what_makes_no_sense_of_temperatures_is_refused(use):
    with pytest.raises(DimensionError):
        use()


def test_an_absolute_temperature_can_be_multiplied():
    absolute = AMBIENT - "-273.15 degC"
    assert (absolute / absolute >= 1).kind == "flag"


def test_a_limit_in_fahrenheit_is_a_temperature():
    assert (AMBIENT <= "212 degF").right.value == 100.0


# --- days ------------------------------------------------------------------------------------


def test_a_date_field_is_compared_as_the_span_it_may_be():
    made = date(2020, 1, 1) <= MADE
    assert isinstance(made.left, n.Span)
    assert (MADE >= "2020-01-01") == made


def test_equality_of_days_is_a_pair_of_comparisons():
    made = MADE.equals(date(2020, 1, 1))
    assert isinstance(made, n.And)
    assert {part.operator for part in made.parts} == {">=", "<="}


def test_a_time_of_day_is_no_day():
    with pytest.raises(RuleError, match="time of day"):
        datetime(2020, 1, 1, 12, 0) <= MADE  # noqa: B015


def test_text_that_is_no_day_is_refused():
    with pytest.raises(RuleError, match="2026-11-25"):
        MADE >= "last spring"  # noqa: B015


# --- words -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "use",
    [
        lambda: field("vehicle.category").equals("M4"),
        lambda: field("vehicle.category").differs("M4"),
        lambda: field("vehicle.category").one_of("M1", "M4"),
        lambda: constant("M4").equals(field("vehicle.category")),
    ],
)
def test_a_word_that_the_field_cannot_have_is_refused_with_those_it_can(use):
    with pytest.raises(RuleError, match="'M4' is not a word of vehicle.category") as caught:
        use()
    assert "M1, M2, M3" in str(caught.value)


def test_a_mistyped_word_names_the_near_one():
    with pytest.raises(RuleError, match="did you mean radial"):
        field("tyre.construction").equals("radail")


def test_a_designation_is_compared_as_the_field_spells_it():
    made = field("tyre.size").one_of("205/55R16 91V")
    assert made.options == ("205/55 R16 91V",)
    assert field("tyre.size").equals("205/55R16 91V").right.value == "205/55 R16 91V"
    with pytest.raises(NotationError):
        field("tyre.size").equals("a big one")


def test_one_of_needs_constants():
    with pytest.raises(RuleError, match="at least one"):
        DEPTH.one_of()
    with pytest.raises(RuleError, match="not a constant"):
        DEPTH.one_of(field("tyre.tread_depth_whole_tread"))


# --- names -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("asked", "near"),
    [
        ("tyre.tread_depth", "tyre.tread_depth_"),
        ("tyre.presure", "tyre.pressure"),
        ("vehicle.gros_mass", "vehicle.gross_mass"),
        ("axle.steerd", "axle.steered"),
    ],
)
def test_an_unknown_field_names_the_near_ones(asked, near):
    with pytest.raises(UnknownFieldError) as caught:
        field(asked)
    assert near in str(caught.value)
    assert caught.value.asked == asked


@pytest.mark.parametrize(
    "path", ["vehicle.axles", "assembly.tyre", "vehicle.permitted_sizes", "assembly.own"]
)
def test_a_field_that_holds_records_is_refused(path):
    with pytest.raises(RuleError, match="cannot read"):
        field(path)


# --- as values -------------------------------------------------------------------------------


def test_equal_trees_are_equal_and_hash_alike():
    one, two = (
        (DEPTH < "1.6 mm") & ~(date(2020, 1, 1) < MADE),
        (DEPTH < "1.6 mm") & ~(date(2020, 1, 1) < MADE),
    )
    assert one == two
    assert hash(one) == hash(two)
    assert one != (DEPTH < "1.7 mm")


def test_a_tree_cannot_be_altered():
    with pytest.raises(AttributeError):
        WORN.operator = ">"  # type: ignore[attr-defined]


def test_a_tree_survives_pickling():
    made = (DEPTH < "1.6 mm") & (date(2020, 1, 1) < MADE) & n.UNKNOWN
    assert pickle.loads(pickle.dumps(made)) == made


def test_children_and_walk_reach_every_leaf():
    made = (DEPTH + "1 mm" <= "2 mm") | field("tyre.studded")
    assert {part.path for part in n.walk(made) if isinstance(part, n.Field)} == {DEPTH.path, "tyre.studded"}
    assert next(n.walk(made)) is made


def test_every_node_error_is_of_the_one_root():
    for use in (use_bool, lambda: DEPTH >= 1, lambda: DEPTH >= PRESSURE, lambda: field("tyre.x")):
        with pytest.raises(StemloreError):
            use()
