"""Units: the table against pint, text forms, rounding, refusals."""

from __future__ import annotations

import itertools
import math
import subprocess
import sys

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stemlore.errors import BareNumberError, UnitError
from stemlore.units import (
    DIMENSIONLESS,
    Dimension,
    convert,
    factor_between,
    measure,
    read_quantity,
    settle,
    show,
    unit,
    unit_symbols,
)

REGISTRY = pint.get_application_registry()  # type: ignore[no-untyped-call]

# how pint writes what the table writes otherwise, and the SI unit of each dimension
_PINT = {
    "%": "percent",
    "in": "inch",
    "mi": "mile",
    "t": "metric_ton",
    "lb": "pound",
    "min": "minute",
    "h": "hour",
    "d": "day",
    "kgf/cm2": "kgf/cm**2",
    "N.m": "N*m",
    "N.cm": "N*cm",
    "lbf.in": "lbf*inch",
    "lbf.ft": "lbf*foot",
    "kgf.cm": "kgf*cm",
    "deg": "degree",
    "L": "liter",
}
_SI = {
    "number": "",
    "length": "m",
    "mass": "kg",
    "time": "s",
    "pressure": "Pa",
    "speed": "m/s",
    "torque": "N*m",
    "force": "N",
    "temperature": "kelvin",
    "difference of temperatures": "delta_degC",
    "calendar time": "month",
    "angle": "rad",
    "frequency": "Hz",
    "volume": "m**3",
}


@pytest.mark.parametrize("symbol", unit_symbols())
@pytest.mark.parametrize("value", [1.0, 36.5])
def test_every_row_of_the_table_agrees_with_pint(symbol: str, value: float) -> None:
    of = unit(symbol)
    theirs = REGISTRY.Quantity(value, _PINT.get(symbol, symbol)).to(_SI[str(of.dimension)]).magnitude
    assert (value + of.offset) * of.factor == pytest.approx(theirs, rel=1e-12, abs=0)


@pytest.mark.parametrize("one", unit_symbols())
def test_every_pair_of_one_dimension_converts_as_pint_does(one: str) -> None:
    for other in unit_symbols():
        given, wanted = unit(one), unit(other)
        if given.dimension != wanted.dimension:
            with pytest.raises(UnitError, match="measures"):
                factor_between(given, wanted)
            continue
        theirs = REGISTRY.Quantity(7.25, _PINT.get(one, one)).to(_PINT.get(other, other)).magnitude
        assert convert(7.25, given, wanted) == pytest.approx(theirs, rel=1e-9, abs=0.51e-6)


@pytest.mark.parametrize(
    ("text", "wanted", "stored"),
    [
        # 1 psi = 0.45359237 kg x 9.80665 m/s2 / (25.4 mm)2 = 6 894.757293 Pa
        ("65 psi", "kPa", 448.159224),
        ("450 kPa", "kPa", 450.0),
        ("450kPa", "kPa", 450.0),
        ("4.5 bar", "kPa", 450.0),
        ("2,5 bar", "kPa", 250.0),
        (".5 bar", "kPa", 50.0),
        ("2.5e2 kPa", "kPa", 250.0),
        ("1 MPa", "kPa", 1000.0),
        ("0 bar", "kPa", 0.0),
        ("4/32 in", "mm", 3.175),
        ("2⁄32 in", "mm", 1.5875),
        ("1 1/4 in", "mm", 31.75),
        ('1 1/4"', "mm", 31.75),
        ("1.6 MM", "mm", 1.6),
        ("-10 °C", "degC", -10.0),
        ("−10 degC", "degC", -10.0),
        ("14 °F", "degC", -10.0),
        ("263.15 K", "degC", -10.0),
        ("35 in-lb", "N.m", 3.954469),
        ("110 Nm", "N.m", 110.0),
        ("81 lb-ft", "N.m", 109.821254),
        ("130 mph", "km/h", 209.21472),
        ("3.5 t", "kg", 3500.0),
        ("7700 lbs", "kg", 3492.661249),
        ("18 months", "year", 1.5),
        ("433.92 MHz", "MHz", 433.92),
        ("20 %", "1", 0.2),
        ("6 years", "month", 72.0),
    ],
)
def test_texts_of_the_trade_are_read(text: str, wanted: str, stored: float) -> None:
    assert measure(text, unit(wanted)) == stored


@pytest.mark.parametrize(
    "text",
    [
        "", "bar", "kPa 250", "two bar", "2.5.1 bar", "1,234.5 kPa", "1.234,5 kPa", "1 1/0 in", "1/0 in",
        "nan bar", "inf kPa", "1e999 kPa", "2.5 brr", "2.5 kPa extra", "2 bar 3", "--2 bar", "0x10 bar",
        "2.5 atü", "2.5 barg", "30 psig", "2.5 bar" + "r" * 200, "1 hogshead/fortnight", "3 A", "2 rankine",
    ],
)  # fmt: skip
def test_texts_that_are_no_pressure_are_refused(text: str) -> None:
    with pytest.raises(UnitError) as caught:
        measure(text, unit("kPa"))
    assert caught.value.advice or caught.value.message


@pytest.mark.parametrize("bare", ["2.5", " 36 ", "1/2", 2.5, 36, True, float("nan")])
def test_a_bare_number_is_refused(bare: object) -> None:
    with pytest.raises(BareNumberError) as caught:
        measure(bare, unit("kPa"))
    assert "unit" in str(caught.value)
    assert isinstance(caught.value, TypeError)


@pytest.mark.parametrize("thing", [None, [], b"2 bar", object(), 2j])
def test_what_is_neither_text_nor_quantity_is_refused(thing: object) -> None:
    with pytest.raises(UnitError, match="not a quantity"):
        measure(thing, unit("kPa"))


@pytest.mark.parametrize(
    ("text", "wanted", "right"),
    [
        ("2.5 mm", "kPa", "length"),
        ("5 delta_degC", "degC", "difference of temperatures"),
        ("5 degC", "delta_degC", "temperature"),
        ("31536000 s", "year", "time"),
        ("1 N.m", "N", "torque"),
    ],
)
def test_another_dimension_is_refused_by_name(text: str, wanted: str, right: str) -> None:
    with pytest.raises(UnitError, match=right):
        measure(text, unit(wanted))


def test_case_matters_only_where_it_changes_the_meaning() -> None:
    assert unit("KPA") is unit("kPa")
    assert unit("Bar") is unit("BAR") is unit("bar")
    assert unit("kG") is unit("kg")
    assert unit("MPa") is not unit("hPa")
    with pytest.raises(UnitError):
        measure("5 mPa·s", unit("MPa"))


def test_a_pint_quantity_is_measured_by_the_same_table() -> None:
    for number, symbol, text in ((36, "psi", "36 psi"), (2.5, "bar", "2.5 bar"), (0.36, "MPa", "0.36 MPa")):
        assert measure(REGISTRY.Quantity(number, symbol), unit("kPa")) == measure(text, unit("kPa"))
    assert measure(REGISTRY.Quantity(20.0, "degC"), unit("degC")) == 20.0
    assert measure(REGISTRY.Quantity(10, "N*m"), unit("N.m")) == 10.0
    assert measure(REGISTRY.Quantity(90, "km/hour"), unit("km/h")) == 90.0
    assert measure(REGISTRY.Quantity(0.5), unit("1")) == 0.5
    assert measure(pint.UnitRegistry().Quantity(2, "bar"), unit("kPa")) == 200.0
    assert measure(REGISTRY.Quantity(math.nan, "bar"), unit("kPa")) is None
    with pytest.raises(UnitError):
        measure(REGISTRY.Quantity(2, "kg"), unit("kPa"))


def test_a_unit_beyond_the_table_is_looked_up_in_pint() -> None:
    # 1 torr = 101 325 / 760 Pa by definition
    assert measure("760 torr", unit("kPa")) == 101.325
    assert measure("1 yard", unit("mm")) == 914.4
    assert measure("1 stone", unit("kg")) == 6.350293
    assert unit("torr").dimension == unit("Pa").dimension


def test_two_routes_to_one_figure_end_in_one_double() -> None:
    for tenths in range(1, 1500):
        psi = tenths / 10
        through_bar = read_quantity(f"{psi} psi")
        kilopascal = convert(through_bar[0], unit("psi"), unit("kPa"))
        by_hand = settle(psi * 6.894757293168361)
        assert kilopascal == by_hand


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_settling_twice_changes_nothing(value: float) -> None:
    once = settle(value)
    assert settle(once) == once
    if abs(value) < 1e9:
        assert abs(once - value) <= 0.5e-6 + abs(value) * 1e-15
    else:
        assert once == value


@given(st.integers(-(10**9), 10**9))
def test_six_decimals_are_kept_as_written(micro: int) -> None:
    value = float(f"{micro / 10**6:.6f}")
    assert settle(value) == value


@given(st.floats(-1e6, 1e6), st.sampled_from(list(itertools.combinations(unit_symbols(), 2))))
def test_there_and_back_is_the_value_again(value: float, pair: tuple[str, str]) -> None:
    one, other = unit(pair[0]), unit(pair[1])
    if one.dimension == other.dimension and 1e-3 <= factor_between(one, other) <= 1e3:
        assert convert(convert(value, one, other), other, one) == pytest.approx(value, abs=1e-3, rel=1e-9)


@given(st.text(max_size=20))
def test_any_text_is_read_or_refused_with_a_named_error(text: str) -> None:
    try:
        number, _ = read_quantity(text)
    except (UnitError, BareNumberError):
        return
    assert math.isfinite(number)


def test_dimensions_multiply_and_have_names() -> None:
    length, force = unit("m"), unit("N")
    assert (length * force).dimension == unit("N.m").dimension
    assert str(unit("kPa").dimension) == "pressure"
    assert str(Dimension(length=2, time=-3)) == "length^2·time^-3"
    assert str(length * length * force) == "m·m·N"
    assert (length / length) is DIMENSIONLESS
    assert DIMENSIONLESS * length is length
    assert length * DIMENSIONLESS is length
    assert length / DIMENSIONLESS is length
    assert str(length / (length * force)) == "m/(m·N)"
    assert (unit("km") / unit("h")).dimension == unit("m/s").dimension


@pytest.mark.parametrize(
    ("value", "given_unit", "wanted", "text"),
    [
        (250.0, "kPa", None, "250 kPa"),
        (250.0, "kPa", "bar", "2.5 bar"),
        (448.159224, "kPa", "psi", "65 psi"),
        (-10.0, "degC", None, "-10 °C"),
        (110.0, "N.m", None, "110 N·m"),
        (25.0, "deg", None, "25°"),
        (1.0, "year", None, "1 year"),
        (6.0, "year", None, "6 years"),
        (0.2, "1", None, "0.2"),
        (0.2, "1", "%", "20%"),
        (12345678.0, "kg", None, "12345678.0 kg"),
    ],
)
def test_values_are_shown_for_people(value: float, given_unit: str, wanted: str | None, text: str) -> None:
    assert show(value, unit(given_unit), wanted=unit(wanted) if wanted else None) == text


def test_pint_is_opened_only_when_needed() -> None:
    code = (
        "import sys; from stemlore.units import measure, unit; measure('65 psi', unit('kPa'));"
        "assert 'pint' not in sys.modules"
    )
    subprocess.run([sys.executable, "-c", code], check=True, env={"PYTHONPATH": ":".join(sys.path)})


@pytest.mark.parametrize("text", ["2² bar", "2³ bar", "2₁ bar", "2⁴ kPa"])
def test_a_raised_digit_does_not_join_the_number(text: str) -> None:
    with pytest.raises(UnitError, match="raised digit"):
        read_quantity(text)


def test_a_raised_digit_of_the_unit_is_read() -> None:
    assert read_quantity("2 kgf/cm²")[0] == 2.0
