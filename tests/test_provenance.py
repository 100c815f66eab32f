"""Sources, grades, canonical JSON."""

from __future__ import annotations

import hashlib
import json
import struct
from datetime import date
from types import MappingProxyType
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stemlore.provenance import Citation, Grade, Source, canonical_json, fingerprint_of

# RFC 8785, appendix B: IEEE 754 double as hexadecimal, and its JSON form
_NUMBERS = [
    ("0000000000000000", "0"),
    ("8000000000000000", "0"),
    ("0000000000000001", "5e-324"),
    ("8000000000000001", "-5e-324"),
    ("7fefffffffffffff", "1.7976931348623157e+308"),
    ("ffefffffffffffff", "-1.7976931348623157e+308"),
    ("4340000000000000", "9007199254740992"),
    ("c340000000000000", "-9007199254740992"),
    ("4430000000000000", "295147905179352830000"),
    ("44b52d02c7e14af5", "9.999999999999997e+22"),
    ("44b52d02c7e14af6", "1e+23"),
    ("44b52d02c7e14af7", "1.0000000000000001e+23"),
    ("444b1ae4d6e2ef4e", "999999999999999700000"),
    ("444b1ae4d6e2ef4f", "999999999999999900000"),
    ("444b1ae4d6e2ef50", "1e+21"),
    ("3eb0c6f7a0b5ed8c", "9.999999999999997e-7"),
    ("3eb0c6f7a0b5ed8d", "0.000001"),
    ("41b3de4355555553", "333333333.3333332"),
    ("41b3de4355555554", "333333333.33333325"),
    ("41b3de4355555555", "333333333.3333333"),
    ("41b3de4355555556", "333333333.3333334"),
    ("41b3de4355555557", "333333333.33333343"),
    ("becbf647612f3696", "-0.0000033333333333333333"),
    ("43143ff3c1cb0959", "1424953923781206.2"),
]


@pytest.mark.parametrize(("bits", "text"), _NUMBERS)
def test_numbers_are_written_as_the_standard_prints_them(bits: str, text: str) -> None:
    (number,) = struct.unpack(">d", bytes.fromhex(bits))
    assert canonical_json(number) == text.encode()


def test_the_sample_of_the_standard() -> None:
    # RFC 8785, section 3.2.2 (input), 3.2.3 (sorted output) and 3.2.4 (its bytes)
    sample = json.loads(
        r"""{
        "numbers": [333333333.33333329, 1E30, 4.50, 2e-3, 0.000000000000000000000000001],
        "string": "\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/",
        "literals": [null, true, false]
        }"""
    )
    wanted = (
        '{"literals":[null,true,false],"numbers":[333333333.3333333,1e+30,4.5,0.002,1e-27],'
        '"string":"€$\\u000f\\nA\'B\\"\\\\\\\\\\"/"}'
    )
    assert canonical_json(sample) == wanted.encode()
    assert canonical_json(sample)[:11].hex(" ") == "7b 22 6c 69 74 65 72 61 6c 73 22"


def test_the_order_of_keys_of_the_standard() -> None:
    # RFC 8785, section 3.2.3: keys sort by UTF-16 code units
    sample = {
        "\u20ac": "Euro Sign",
        "\r": "Carriage Return",
        "\ufb33": "Hebrew Letter Dalet With Dagesh",
        "1": "One",
        "\U0001f600": "Emoji: Grinning Face",
        "\u0080": "Control",
        "\u00f6": "Latin Small Letter O With Diaeresis",
    }
    assert list(json.loads(canonical_json(sample)).values()) == [
        "Carriage Return",
        "One",
        "Control",
        "Latin Small Letter O With Diaeresis",
        "Euro Sign",
        "Emoji: Grinning Face",
        "Hebrew Letter Dalet With Dagesh",
    ]


_plain = st.recursive(
    st.one_of(
        st.none(),
        st.booleans(),
        st.integers(-(2**53) + 1, 2**53 - 1),
        st.floats(allow_nan=False, allow_infinity=False),
        st.text(st.characters(exclude_categories=["Cs"])),
    ),
    lambda inner: st.one_of(
        st.lists(inner, max_size=4),
        st.dictionaries(st.text(st.characters(exclude_categories=["Cs"]), max_size=6), inner, max_size=4),
    ),
    max_leaves=12,
)


@settings(max_examples=300)
@given(_plain)
def test_plain_values_are_written_as_an_independent_writer_does(value: Any) -> None:
    rfc8785 = pytest.importorskip("rfc8785")
    assert canonical_json(value) == rfc8785.dumps(value)


@given(_plain)
def test_reading_back_gives_the_value(value: Any) -> None:
    # JSON has one kind of number: 1e22 comes back as a float only if asked for
    assert json.loads(canonical_json(value), parse_int=float) == value


def test_dates_mappings_and_tuples_are_plain_values() -> None:
    value = MappingProxyType({"b": (1, 2.0), "a": date(2018, 6, 4)})
    assert canonical_json(value) == b'{"a":"2018-06-04","b":[1,2]}'
    assert canonical_json(Grade.READ) == b'"read"'


@pytest.mark.parametrize("value", [float("nan"), float("inf"), {"a": [float("-inf")]}])
def test_what_is_not_finite_has_no_form(value: object) -> None:
    with pytest.raises(ValueError, match="no JSON form"):
        canonical_json(value)


def test_other_objects_have_no_form() -> None:
    with pytest.raises(TypeError, match="set has no JSON form"):
        canonical_json({"a": {1}})


def test_a_fingerprint_is_the_hash_of_the_canonical_text() -> None:
    assert fingerprint_of({"b": 1, "a": 2.0}) == hashlib.sha256(b'{"a":2,"b":1}').hexdigest()
    assert fingerprint_of({"b": 1, "a": 2}) == fingerprint_of({"a": 2.0, "b": 1.0})


def test_grades_fall_from_read_to_memory() -> None:
    assert [grade.strength for grade in Grade] == [5, 4, 3, 2, 1]
    assert [grade.value for grade in Grade if not grade.needs_source] == ["practice", "memory"]
    assert len({grade.meaning for grade in Grade}) == 5


def test_a_citation_prints_issuer_number_place_and_grade() -> None:
    source = Source(id="xa", title="Road Act", issuer="Xanadu", number="Act 7/2001", grade=Grade.READ)
    assert str(source) == "Xanadu, Act 7/2001"
    assert str(Citation(source, "art. 3", Grade.SECONDARY)) == (
        "Xanadu, Act 7/2001, art. 3 [told by a secondary source]"
    )
    assert str(Citation(source, "", Grade.READ)) == "Xanadu, Act 7/2001 [text read]"
    assert str(Citation(None, "", Grade.MEMORY)) == "[from memory, unverified]"
    assert str(Citation(None, "trade custom", Grade.PRACTICE)) == "trade custom [common practice, no source]"
    assert (
        str(Source(id="s", title="Guide of Xanadu", issuer="Xanadu", grade=Grade.READ)) == "Guide of Xanadu"
    )
    assert str(Source(id="s", title="Guide", issuer="", grade=Grade.READ)) == "Guide"
