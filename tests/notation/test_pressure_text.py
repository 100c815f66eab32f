"""Pressure as people write it."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stemlore.errors import BareNumberError, NotationError, UnitError
from stemlore.notation import parse_pressure
from stemlore.units import measure, unit


@pytest.mark.parametrize(
    ("text", "kpa"),
    [
        ("32 psi", 220.632233),  # 6.894757 kPa to the psi
        ("32psi", 220.632233),
        ("32 P.S.I.", 220.632233),
        ("32 lbf/in²", 220.632233),
        ("32 lb/sq.in", 220.632233),
        ("2,2 bar", 220.0),
        ("2.2BAR", 220.0),
        ("２．２　ｂａｒ", 220.0),
        ("+2.2 bar", 220.0),
        (".5 bar", 50.0),
        ("220 kPa", 220.0),
        ("220KPA", 220.0),
        ("0.22 MPa", 220.0),
        ("2200 mbar", 220.0),
        ("2200 hPa", 220.0),
        ("1 kgf/cm²", 98.0665),
        ("1 kg/cm2", 98.0665),
        ("0 bar", 0.0),
        ("220000 Pa", 220.0),
    ],
)
def test_reads(text: str, kpa: float) -> None:
    assert parse_pressure(text) == (pytest.approx(kpa, abs=1e-6), text)


def test_keeps_what_was_given() -> None:
    assert parse_pressure("  2,2 Bar \n") == (220.0, "2,2 Bar")


@pytest.mark.parametrize(
    ("text", "position", "why", "suggestion"),
    [
        ("", 0, "nothing to read", ""),
        ("32", 2, "the unit is missing", ""),
        (" 32 ", 3, "the unit is missing", ""),
        ("2.2 atü", 4, "technical atmosphere above ambient; give bar or kPa", ""),
        ("2.2 ata", 4, "technical atmosphere, absolute", ""),
        ("2.2 at", 4, "gauge or absolute is not told", ""),
        ("32 psig", 3, "told by its field; write psi", ""),
        ("32 psia", 3, "told by its field; write psi", ""),
        ("2.2 atm", 4, "technical to others", ""),
        ("32 lbs", 3, "that is a mass", ""),
        ("32 #", 3, "that is a mass", ""),
        ("2.2 kg", 4, "that is a mass", ""),
        ("2.2 b", 4, "written in full", ""),
        ("0.22 MPA", 5, "great M and a small a", ""),  # never kPa
        ("2.2 baar", 4, "no unit of pressure", "2.2 bar"),
        ("2.2 banana", 4, "no unit of pressure", ""),
        ("2.2 ???", 4, "no unit of pressure", ""),
        ("2.2 km", 4, "km measures length", ""),
        ("220 kPa (32 psi)", 4, "one figure with one unit", ""),
        ("33PSI/230kPa", 2, "one figure with one unit", ""),
        ("2.2-2.4 bar", 3, "one figure with one unit", ""),
        ("2 200 mbar", 2, "one figure with one unit", ""),
        ("1.000,5 kPa", 5, "one figure with one unit", ""),
        ("-2 bar", 0, "not below ambient", ""),
        ("2. bar", 2, "after the decimal mark", ""),
        ("bar 2.2", 0, "a number stands first", "2.2 bar"),
        ("PSI: 32", 0, "a number stands first", "32 psi"),
        ("bar", 0, "a number stands first", ""),
        (" . bar", 1, "a number stands first", ""),
        ("2² bar", 1, "one figure with one unit", ""),
        ("9" * 61, 60, "longer than 60", ""),
    ],
)
def test_refuses_with_a_reason(text: str, position: int, why: str, suggestion: str) -> None:
    with pytest.raises(NotationError) as caught:
        parse_pressure(text)
    assert why in caught.value.why
    assert (caught.value.position, caught.value.suggestion) == (position, suggestion)


def test_the_cause_is_chained() -> None:
    with pytest.raises(NotationError) as bare:
        parse_pressure("32")
    assert isinstance(bare.value.__cause__, BareNumberError)
    with pytest.raises(NotationError) as unknown:
        parse_pressure("2.2 atü")
    assert isinstance(unknown.value.__cause__, UnitError)


def test_only_text_is_read() -> None:
    with pytest.raises(NotationError, match="text is needed, not float"):
        parse_pressure(2.2)  # type: ignore[arg-type]


@given(st.integers(0, 99999), st.sampled_from(["bar", "kPa", "psi", "mbar", "MPa", "kgf/cm2"]))
def test_goes_through_the_one_conversion(hundredths: int, symbol: str) -> None:
    text = f"{hundredths // 100}.{hundredths % 100:02d} {symbol}"
    assert parse_pressure(text) == (measure(text, unit("kPa")), text)
    assert parse_pressure(text.replace(".", ","))[0] == parse_pressure(text)[0]


@settings(deadline=None)  # a strange unit loads pint
@given(st.text(max_size=70) | st.text("0123456789.,-+ barpskPüaglt/²#()", max_size=20))
def test_any_text_is_a_pressure_or_a_notation_error(text: str) -> None:
    try:
        value, given_text = parse_pressure(text)
    except NotationError as error:
        assert 0 <= error.position <= len(text)
        assert error.why
        if error.suggestion:
            assert parse_pressure(error.suggestion)[1] == error.suggestion
    else:
        assert value >= 0
        assert given_text == text.strip()
