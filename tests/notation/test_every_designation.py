"""What holds for every designation: round trip, fuzz, hash, pickle."""

from __future__ import annotations

import contextlib
import os
import pickle
import re
import time
from typing import Any

import attrs
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from made_designations import VALUES

from stemlore import notation
from stemlore.errors import NotationError
from stemlore.notation import (
    CoreChamber,
    DateSpan,
    Grommet,
    RimSize,
    ServiceDescription,
    ThreadName,
    TyreIdentificationNumber,
    TyreSize,
    ValveCode,
    ValveDesignation,
    identification_number,
    parse_valve,
    rim_size,
    service_description,
    tyre_size,
)

EXAMPLES: dict[Any, str] = {
    CoreChamber: "No. 1",
    DateSpan: "2018",
    Grommet: "B 04",
    RimSize: "6Jx15",
    ServiceDescription: "91V",
    ThreadName: "8V1",
    TyreIdentificationNumber: "2318",
    TyreSize: "205/55R16",
    ValveCode: "TR413",
    ValveDesignation: "V2.03.1",
}
TYPES: tuple[Any, ...] = tuple(EXAMPLES)

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
    for parse in (parse_valve, notation.parse_pressure):
        with contextlib.suppress(NotationError):
            parse(text)


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


@settings(max_examples=200, deadline=None)
@given(st.text(max_size=90))
def test_any_text_is_a_value_or_a_notation_error(text: str) -> None:
    value_or_notation_error(text)


@settings(max_examples=400, deadline=None)
@given(st.text(LIKELY, max_size=24))
def test_likely_text_is_a_value_or_a_notation_error(text: str) -> None:
    value_or_notation_error(text)


@settings(max_examples=400, deadline=None)
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


def worst(cls: Any, piece: str, length: int) -> float:
    """Return the least processor time of five readings."""
    text = (piece * length)[:length]
    times = []
    for _ in range(5):
        began = time.process_time()
        for _ in range(20):
            with contextlib.suppress(NotationError):
                cls.parse(text)
        times.append(time.process_time() - began)
    return min(times)


@pytest.mark.parametrize("cls", TYPES)
def test_work_grows_with_the_length_only(cls: Any) -> None:
    for piece in ("9", "9 ", "1/", "91V ", "205/55R16 ", "H"):
        short, long = worst(cls, piece, 8), worst(cls, piece, 80)
        assert long < 40 * short + 0.01  # ten times as long; the square would be a hundred times


# What the quick patterns take must be what the scanner reads.
@settings(max_examples=300, deadline=None)
@given(VALUES, st.booleans())
def test_the_quick_way_gives_what_the_scanner_gives(value: Any, packed: bool) -> None:
    text = str(value).replace(" ", "") if packed else str(value)
    agree(type(value), text)


# forms that the quick patterns take, and neighbours that they must leave alone
QUICK = st.from_regex(
    r"(P|LT|T)?[1-3]\d[05]/[1-9][05] ?Z?RF? ?[12]\d(\.5)?( ?(C|M/C))?( \(?\d\d(/\d\d)?[A-Z]\)?)?( XL)?"
    r"|[1-9]\d?(\.\d\d?)?(-| ?R) ?[1-6]\d(\.5)?( 1\d\d(/1\d\d)?[A-Z])?"
    r"|(DOT ?)?([A-Z0-9]{3,4} ?[A-Z0-9]{4,6} )?\d{3,4}"
    r"|\d{1,2}(\.5)?(JJ?|B|K|E)?[xX]\d\d(\.5)?( F?H2?| CH)?( ET ?\d{1,3})?"
    r"|\d{2,3}(/\d{2,3})?[A-Z]\d?",
    fullmatch=True,
)


@settings(max_examples=600, deadline=None)
@given(QUICK)
def test_the_quick_way_and_the_scanner_agree_near_the_common_forms(text: str) -> None:
    for cls in (TyreSize, TyreIdentificationNumber, RimSize, ServiceDescription):
        agree(cls, text)


def agree(cls: Any, text: str) -> None:
    """A leading space keeps a text from the quick patterns, and changes nothing else."""
    try:
        read = cls.parse(f" {text}")
    except NotationError as error:
        with pytest.raises(NotationError) as caught:
            cls.parse(text)
        assert (caught.value.position, caught.value.why) == (error.position - 1, error.why)
    else:
        quick = cls.parse(text)
        assert (quick, str(quick), hash(quick)) == (read, str(read), hash(read))


def test_common_forms_do_go_the_quick_way() -> None:
    for quick in (
        tyre_size._common("205/55 R16 91V"),
        tyre_size._common("225/45ZR17 (91Y) XL"),
        tyre_size._common("11R22.5 146/143L"),
        service_description._COMMON("121/118R"),
        identification_number._COMMON("DOT U2LL LMLR 5107"),
        rim_size._COMMON("6.5Jx16 H2 ET45"),
    ):
        assert quick is not None


class House(TyreSize):
    """A class of somebody else on top of ours."""


def test_a_class_on_top_reads_its_own_values() -> None:
    assert type(House.parse("205/55R16")) is House


@given(VALUES, VALUES)
def test_order_agrees_with_equality(one: Any, other: Any) -> None:
    if type(one) is not type(other) or isinstance(one, DateSpan | TyreIdentificationNumber | ValveCode):
        return
    assert (one < other) + (one > other) + (one == other) == 1
    assert (one <= other) == (one < other or one == other)


SLOW = os.environ.get("STEMLORE_SLOW") == "1"


@pytest.mark.slow
@pytest.mark.skipif(not SLOW, reason="STEMLORE_SLOW=1 runs it")
@settings(max_examples=100_000, deadline=None, suppress_health_check=list(HealthCheck))
@given(damaged() | st.text(LIKELY, max_size=24) | st.text(max_size=90) | QUICK)
def test_a_hundred_thousand_texts_are_values_or_notation_errors(text: str) -> None:
    value_or_notation_error(text)
    if text.strip():
        agree(TyreSize, text[:79])


@pytest.mark.parametrize("cls", TYPES)
def test_values_are_frozen(cls: Any) -> None:
    value = EXAMPLES[cls]
    with pytest.raises(attrs.exceptions.FrozenInstanceError):
        setattr(cls.parse(value), attrs.fields(cls)[0].name, None)


def test_front_door_lists_every_type() -> None:
    names = {"SPEED_SYMBOLS", "parse_pressure", "parse_valve", *(cls.__name__ for cls in TYPES)}
    assert set(notation.__all__) == names
    assert all(re.match(r"[A-Z0-9].*", cls.__doc__ or "") for cls in TYPES)
