"""What a formula is asked with, and what it says when that is wrong."""

from __future__ import annotations

import math
import pickle
import sys
from typing import Any

import numpy as np
import pint
import polars as pl
import pytest

from stemlore.errors import (
    BareNumberError,
    MissingExtraError,
    OutOfRangeError,
    RecordError,
    RuleError,
    UnitError,
)
from stemlore.formulas import choose, define_formula, exp, formula, log
from stemlore.formulas._operators import positive
from stemlore.formulas._units import compound, for_pint
from stemlore.provenance import Grade
from stemlore.units import Unit, unit

COLD = formula("cold_pressure")
RIM = formula("rim_width")
U = pint.get_application_registry()


def test_text_with_units_and_quantities() -> None:
    given = {"hot_pressure": "2.8 bar", "hot_temperature": "45 degC", "cold_temperature": "20 degC"}
    value, of = COLD.quantity(**given, ambient="1013 hPa")
    assert value == 250.037718
    assert of == unit("kPa")
    mixed = {**given, "hot_pressure": U.Quantity(2.8, "bar")}
    assert COLD.quantity(**mixed, ambient="101.3 kPa")[0] == value


def test_all_faults_of_arguments_are_told_at_once() -> None:
    with pytest.raises(RecordError) as caught:
        COLD.quantity(
            hot_pressure=2.8, hot_temperature="45 kPa", ambient=U.Quantity(math.nan, "kPa"), wind="3 m/s"
        )
    told = {fault.path: str(fault) for fault in caught.value.faults}
    assert set(told) == {"wind", "hot_pressure", "hot_temperature", "cold_temperature", "ambient"}
    assert "has no unit" in told["hot_pressure"]
    assert "temperature that a cold pressure is told for" in told["cold_temperature"]
    assert "not a finite number" in told["ambient"]


@pytest.mark.parametrize("wrong", [None, True, "6 1", [6.0]])
def test_floats_are_floats(wrong: object) -> None:
    with pytest.raises(UnitError, match="plain number"):
        RIM(wrong)


@pytest.mark.parametrize("missing", [math.nan, math.inf, -math.inf])
def test_missing_is_no_number(missing: float) -> None:
    with pytest.raises(OutOfRangeError, match="missing"):
        RIM(missing)


def test_out_of_range_names_the_values_and_survives_pickling() -> None:
    with pytest.raises(OutOfRangeError) as caught:
        COLD(2000.0, 300.0, 290.0, 101.3)
    again = pickle.loads(pickle.dumps(caught.value))
    assert "hot_pressure = 2000 kPa" in str(again)
    assert "at most 1000 kPa gauge" in again.advice
    assert isinstance(again, ValueError)


def test_quantities_must_all_have_units() -> None:
    with pytest.raises(BareNumberError, match="ambient"):
        COLD(U.Quantity(280, "kPa"), U.Quantity(318, "K"), U.Quantity(293, "K"), 101.3)
    with pytest.raises(pint.DimensionalityError):
        COLD(U.Quantity(280, "mm"), U.Quantity(318, "K"), U.Quantity(293, "K"), U.Quantity(101.3, "kPa"))
    with pytest.raises(OutOfRangeError):
        COLD(U.Quantity(2800, "kPa"), U.Quantity(318, "K"), U.Quantity(293, "K"), U.Quantity(101.3, "kPa"))
    many = RIM(U.Quantity(np.array([6.0, 7.0]), ""))
    assert many.magnitude.tolist() == pytest.approx([152.4, 177.8])
    with pytest.raises(OutOfRangeError):
        RIM(U.Quantity(np.array([6.0, -7.0]), ""))
    assert formula("section_height")(U.Quantity(205, "mm"), 0.55).magnitude == pytest.approx(112.75)


def test_a_quantity_asks_a_procedure() -> None:
    printed = formula("jatma_printed_load")
    assert printed(U.Quantity(2.1, "bar"), U.Quantity(670, "kg")).value == 620.0  # LI 94, a workshop's page


def test_integers_and_nulls_in_columns() -> None:
    frame = pl.DataFrame({"code": [6, None, -1, 7]})
    assert frame.select(RIM(pl.col("code")))["code"].to_list() == pytest.approx([152.4, None, None, 177.8])


def test_a_body_that_divides_by_zero_is_out_of_range() -> None:
    for body, value in (
        (lambda x: 1 / (x - x), 1.0),
        (lambda x: x**0.5, -1.0),
        (lambda x: exp(x), 1e4),
        (lambda x: x * math.inf, 1.0),
    ):
        made = define_formula(
            args={"x": ("1", "anything")}, returns=("1", "something"), sources=[], examples=[], name="odd"
        )(body)
        assert (made.name, made.subject, made.valid, made.doc) == ("odd", "test_running", "", "")
        with pytest.raises(OutOfRangeError, match="not a finite number"):
            made(value)
        assert np.isnan(made(np.array([value]))).all()
        assert pl.select(made(pl.lit(value))).item() is None


def test_a_missing_extra_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "scipy.optimize", None)
    with pytest.raises(MissingExtraError, match="science"):
        formula("fit_load_exponent")(np.array([150.0, 200.0]), np.array([215.0, 270.0]), 250.0, 325.0)


def test_floats_need_no_numpy(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delitem(sys.modules, "numpy", raising=False)
    monkeypatch.delitem(sys.modules, "polars", raising=False)
    assert RIM(6.0) == pytest.approx(152.4)


def test_a_value_exactly_at_a_bound_is_inside_whatever_asks() -> None:
    """35 psi is the lowest pressure of the chart; 228.15 K comes out of -45 degrees a bit less."""
    load = formula("tra_lt_load")
    values = {"pressure": 35 * 6.894757293168361, "reference_load": 1379.8, "reference_pressure": 551.580583}
    wanted = load(**values)
    many = {name: [value] * 3 for name, value in values.items()}
    assert load(**{name: np.array(value) for name, value in many.items()}).tolist() == pytest.approx(
        [wanted] * 3
    )
    found = pl.DataFrame(many).select(x=load(**{name: pl.col(name) for name in values}))["x"].to_list()
    assert found == pytest.approx([wanted] * 3)
    assert COLD(250.0, 293.15, -45 + 273.15, 101.3) < 250


# --- operators -------------------------------------------------------------------------------


def test_choose_takes_one_of_two() -> None:
    assert choose(True, 1, 2) == 1
    assert choose(False, 1, 2) == 2
    assert choose(np.array([True, False]), 1, np.array([5, 6])).tolist() == [1, 6]
    frame = pl.DataFrame({"a": [1.0, 2.0, None], "b": [7.0, 8.0, 9.0]})
    assert frame.select(x=choose(pl.col("a") > 1.5, pl.col("b"), 0.0))["x"].to_list() == [0.0, 8.0, None]
    # unknown, but both agree
    assert frame.select(x=choose(pl.col("a") > 1.5, 3.0, 3.0))["x"].to_list() == [3.0, 3.0, 3.0]


@pytest.mark.parametrize("function, wanted", [(exp, math.e), (log, 0.0)])
def test_exp_and_log(function: Any, wanted: float) -> None:
    assert function(1.0) == pytest.approx(wanted)
    assert function(np.array([1.0]))[0] == pytest.approx(wanted)
    assert pl.select(function(pl.lit(1.0))).item() == pytest.approx(wanted)
    assert function(U.Quantity(100, "percent")).magnitude == pytest.approx(wanted)
    with pytest.raises(pint.DimensionalityError):
        function(U.Quantity(1, "m"))


def test_compound_units() -> None:
    assert compound("kPa") is unit("kPa")
    assert compound("km/h") is unit("km/h")
    assert compound("mm3").factor == pytest.approx(1e-9)
    assert compound("1/km").factor == pytest.approx(1e-3)
    gas = compound("m2/s2/K")
    assert (gas.dimension.length, gas.dimension.time, gas.dimension.temperature) == (2, -2, -1)
    assert for_pint(gas) == "m**2/s**2/K"
    assert U.Quantity(1, for_pint(compound("mm3"))).to("litre").magnitude == pytest.approx(1e-6)
    with pytest.raises(UnitError):
        compound("kPa/furlongs_")


# --- trees -----------------------------------------------------------------------------------


class Part:
    """A stand-in for a part of a rule's tree: it writes down what is done with it."""

    def __init__(self, text: str, of: Unit | None = None) -> None:
        self.text, self.unit = text, of

    def __repr__(self) -> str:
        return self.text

    def _join(self, sign: str, other: object) -> Part:
        return Part(f"({self} {sign} {other})", self.unit)

    def __add__(self, other: object) -> Part:
        return self._join("+", other)

    def __mul__(self, other: object) -> Part:
        return self._join("*", other)

    def __sub__(self, other: object) -> Part:
        return self._join("-", other)

    def __truediv__(self, other: object) -> Part:
        return self._join("/", other)

    def __and__(self, other: object) -> Part:
        return self._join("&", other)

    def __gt__(self, other: object) -> Part:
        return self._join(">", other)

    def __ge__(self, other: object) -> Part:
        return self._join(">=", other)

    def __le__(self, other: object) -> Part:
        return self._join("<=", other)

    def chosen(self, then: object, otherwise: object) -> Part:
        return Part(f"choose({self}, {then}, {otherwise})")

    def number(self, value: float | None, of: Unit) -> Part:
        return Part(f"{value} {of}", of)

    def in_unit(self, of: Unit) -> Part:
        return Part(f"{self} in {of}", of)

    def exp(self) -> Part:
        return Part(f"exp({self})")

    def log(self) -> Part:
        return Part(f"log({self})")


def test_a_tree_is_built_with_units_range_and_exact_constants() -> None:
    built = RIM(Part("code", unit("mm")))
    assert repr(built) == "choose((code in 1 > 0.0 1), (code in 1 * 25.4 mm) in mm, None mm)"
    without_range = define_formula(
        args={"x": ("mm", "a length"), "y": ("mm", "another")},
        returns=("mm", "both"),
        sources=[],
        examples=[],
    )(lambda x, y: x + y)
    assert repr(without_range(Part("x"), "1 in")) == "(x in mm + 25.4 mm) in mm"
    assert repr(without_range(Part("x"), 2)) == "(x in mm + 2.0 mm) in mm"
    for wrong in (None, True, math.nan):
        with pytest.raises(UnitError, match="part of a rule"):
            without_range(Part("x"), wrong)


def test_a_temperature_in_a_tree_must_know_its_scale() -> None:
    with pytest.raises(RuleError, match="known later"):
        COLD(Part("p", unit("kPa")), Part("t"), "20 degC", "1013 hPa")


def test_operators_ask_the_tree() -> None:
    part = Part("x", unit("mm"))
    assert repr(choose(part, 1, 2)) == "choose(x, 1, 2)"
    assert (repr(exp(part)), repr(log(part))) == ("exp(x)", "log(x)")
    assert repr(positive(part)) == "(x > 0.0 mm)"
    with pytest.raises(RuleError, match="procedure"):
        formula("jatma_printed_load")(part, 545.0)


def test_grade_is_the_weakest() -> None:
    assert formula("tyre_volume").grade is Grade.REPRODUCTION
    assert formula("tra_lt_load").grade is Grade.SECONDARY
    assert formula("section_height").grade is Grade.SECONDARY
