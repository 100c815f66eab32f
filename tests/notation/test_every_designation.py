"""What holds for every designation: round trip, fuzz, hash, pickle."""

from __future__ import annotations

import pickle
import re
import time
from datetime import date
from typing import Any

import attrs
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stemlore import notation
from stemlore.errors import NotationError
from stemlore.notation import (
    DateSpan,
    RimSize,
    ServiceDescription,
    TyreIdentificationNumber,
    TyreSize,
    ValveCode,
)

TYPES: tuple[Any, ...] = (
    DateSpan,
    RimSize,
    ServiceDescription,
    TyreIdentificationNumber,
    TyreSize,
    ValveCode,
)

SYMBOLS = [*(f"A{step}" for step in range(1, 9)), *"BCDEFGJKLMNPQRSTUHVWY"]
LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
HALVES = st.integers(8, 108).map(lambda twice: twice / 2)

services = st.builds(
    ServiceDescription, st.integers(0, 279), st.none() | st.integers(0, 279), st.sampled_from(SYMBOLS)
) | st.builds(
    ServiceDescription, st.integers(0, 279), st.none() | st.integers(0, 279), st.just("Y"), st.just(True)
)


@st.composite
def tyre_sizes(draw: st.DrawFn) -> TyreSize:
    ratio = draw(st.none() | st.integers(15, 105))
    construction = draw(st.sampled_from(["radial", "diagonal", "bias_belted"]))
    version = draw(st.sampled_from(["", "XL", "HL", "RF"]))
    return TyreSize(
        width=draw(st.integers(100, 999)),
        aspect_ratio=ratio,
        rim_diameter_code=draw(HALVES if ratio is not None else HALVES.filter(lambda code: code <= 24.5)),
        construction=construction,
        prefix="" if version == "HL" else draw(st.sampled_from(["", "P", "LT", "ST", "T"])),
        suffix=draw(st.sampled_from(["", "C", "CP", "LT"])),
        speed_mark=draw(st.sampled_from(["", "S", "H", "V", "Z"])) if construction == "radial" else "",
        load_version=version,
        service=draw(st.none() | services),
    )


@st.composite
def rim_sizes(draw: st.DrawFn) -> RimSize:
    diameter = draw(st.integers(6, 126)) / 2
    return RimSize(
        width_code=draw(st.integers(100, int(min(diameter, 60) * 100))) / 100,
        diameter_code=diameter,
        flange=draw(st.sampled_from(["", "JJ", "JK", *"BDEFGHJKLPRSTVW"])),
        pieces=draw(st.sampled_from(["one", "several"])),
        hump=draw(st.sampled_from(["", "H", "H2", "FH", "FH2", "CH", "EH2", "EH2+", "SL"])),
        offset_mm=draw(st.none() | st.integers(-3000, 3000).map(lambda tenths: tenths / 10)),
    )


valve_codes = st.builds(ValveCode, number=st.integers(1, 9999), suffix=st.text(LETTERS, max_size=4))

day_pairs = st.tuples(st.dates(), st.dates()).map(lambda pair: DateSpan(min(pair), max(pair)))
weeks = st.builds(DateSpan.week, st.integers(1, 9998), st.integers(1, 52))
years = st.builds(lambda year: DateSpan(date(year, 1, 1), date(year, 12, 31)), st.integers(1, 9999))
months = st.dates().map(lambda day: DateSpan.parse(f"{day:%Y-%m}".rjust(7, "0")))
date_spans = day_pairs | weeks | years | months | st.dates().map(DateSpan.day)


@st.composite
def identification_numbers(draw: st.DrawFn) -> TyreIdentificationNumber:
    code = draw(st.text(LETTERS + "0123456789", max_size=9))
    week = draw(st.integers(1, 52))
    form = draw(st.sampled_from(["four", "three", "marked", "none"]))
    if form == "none":
        return TyreIdentificationNumber(code=code[:8] + "X")
    if form == "four":
        return TyreIdentificationNumber(code=code, date_code=f"{week:02d}{draw(st.integers(0, 99)):02d}")
    figures = f"{week:02d}{draw(st.integers(0, 9))}"
    return TyreIdentificationNumber(code=code, date_code=figures, decade=1990 if form == "marked" else None)


VALUES: st.SearchStrategy[Any] = st.one_of(
    date_spans, rim_sizes(), services, identification_numbers(), tyre_sizes(), valve_codes
)

# Characters that stand in designations, and ones that look as if they could.
LIKELY = st.sampled_from(
    "0123456789RDBZXJHEFTCLPVW/-.,()+ x\u00d7\u00bd\u00b2\u0445\uff10\u25c1\u2460\u0660\u00df\u0130"
)


@st.composite
def damaged(draw: st.DrawFn) -> str:
    text = str(draw(VALUES))
    for _ in range(draw(st.integers(1, 4))):
        at = draw(st.integers(0, len(text)))
        kind = draw(st.sampled_from(["cut", "put", "swap", "double"]))
        if kind == "cut":
            text = text[:at] + text[at + 1 :]
        elif kind == "put":
            text = text[:at] + draw(LIKELY) + text[at:]
        elif kind == "swap":
            text = text[:at] + text[at + 1 : at + 2] + text[at : at + 1] + text[at + 2 :]
        else:
            text = text[:at] + text[at : at + 3] + text[at:]
    return text


def value_or_notation_error(text: str) -> None:
    for cls in TYPES:
        try:
            value = cls.parse(text)
        except NotationError as error:
            assert error.text == text
            assert 0 <= error.position <= len(text)
            assert error.why
            if error.suggestion:
                assert str(cls.parse(error.suggestion)) == error.suggestion
        else:
            assert cls.parse(str(value)) == value


@given(VALUES)
def test_round_trip(value: Any) -> None:
    written = str(value)
    again = type(value).parse(written)
    assert again == value
    assert hash(again) == hash(value)
    assert str(again) == written


@given(VALUES)
def test_spelling_does_not_matter(value: Any) -> None:
    spaced = f"\u3000{str(value).lower()}\t"
    wide = "".join(chr(ord(char) + 0xFEE0) if "!" <= char <= "~" else char for char in str(value))
    assert type(value).parse(spaced) == value
    assert type(value).parse(wide) == value


@given(VALUES)
def test_survives_pickling_and_change(value: Any) -> None:
    assert pickle.loads(pickle.dumps(value)) == value
    assert attrs.evolve(value) == value


@settings(max_examples=200)
@given(st.text(max_size=90))
def test_any_text_is_a_value_or_a_notation_error(text: str) -> None:
    value_or_notation_error(text)


@settings(max_examples=400)
@given(st.text(LIKELY, max_size=24))
def test_likely_text_is_a_value_or_a_notation_error(text: str) -> None:
    value_or_notation_error(text)


@settings(max_examples=400)
@given(damaged())
def test_damaged_text_is_a_value_or_a_notation_error(text: str) -> None:
    value_or_notation_error(text)


@pytest.mark.parametrize("cls", TYPES)
def test_the_error_survives_pickling(cls: Any) -> None:
    with pytest.raises(NotationError) as caught:
        cls.parse("?")
    again = pickle.loads(pickle.dumps(caught.value))
    assert (again.text, again.position, str(again)) == ("?", 0, str(caught.value))
    assert again.why == caught.value.why


@pytest.mark.parametrize("cls", TYPES)
@pytest.mark.parametrize("given_value", [None, 5, 2.5, b"91V", ["91V"]])
def test_only_text_is_read(cls: Any, given_value: object) -> None:
    with pytest.raises(NotationError, match="text is needed"):
        cls.parse(given_value)


@pytest.mark.parametrize("cls", TYPES)
@pytest.mark.parametrize("piece", ["9", "1/", "9 ", "(", "A", "1 1", "\u00bd", "\ufdfa"])
def test_long_texts_are_refused_at_once(cls: Any, piece: str) -> None:
    with pytest.raises(NotationError):
        cls.parse((piece * 80)[:80])
    began = time.process_time()
    with pytest.raises(NotationError, match="longer than 80 characters"):
        cls.parse(piece * 1_000_000)
    assert time.process_time() - began < 1.0  # read to the end it would take far longer


@pytest.mark.parametrize("cls", TYPES)
def test_values_are_frozen(cls: Any) -> None:
    value = {
        DateSpan: "2018",
        RimSize: "6Jx15",
        ServiceDescription: "91V",
        TyreSize: "205/55R16",
        TyreIdentificationNumber: "2318",
        ValveCode: "TR413",
    }[cls]
    with pytest.raises(attrs.exceptions.FrozenInstanceError):
        setattr(cls.parse(value), attrs.fields(cls)[0].name, None)


def test_front_door_lists_every_type() -> None:
    assert notation.__all__ == sorted(cls.__name__ for cls in TYPES)
    assert all(re.match(r"[A-Z0-9].*", cls.__doc__ or "") for cls in TYPES)
