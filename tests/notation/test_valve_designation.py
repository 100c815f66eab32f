"""Valve designations of ETRTO, national standards and ISO."""

from __future__ import annotations

import pytest

from stemlore.errors import NotationError, RecordError
from stemlore.notation import ValveCode, ValveDesignation, parse_valve


@pytest.mark.parametrize(
    ("text", "scheme", "name"),
    [
        ("V2.03.1", "ETRTO", "V2.03.1"),
        ("v 2-03-1", "ETRTO", "V2.03.1"),
        ("V-3.23.2", "ETRTO", "V3.23.2"),
        ("V 3 . 20 . 12", "ETRTO", "V3.20.12"),
        ("Ｖ２．０３．１", "ETRTO", "V2.03.1"),
        ("43 GS 11.5", "national", "43 GS 11.5"),
        ("43gs11,5", "national", "43 GS 11.5"),
        ("61,5 GS 11,50", "national", "61.5 GS 11.5"),
        ("43 GS 16.0", "national", "43 GS 16"),
        ("CQ 07", "ISO", "CQ 07"),
        ("cq07", "ISO", "CQ 07"),
        ("VQ 07", "ISO", "VQ 07"),
    ],
)
def test_reads_and_writes(text: str, scheme: str, name: str) -> None:
    value = ValveDesignation.parse(text)
    assert value == ValveDesignation(scheme=scheme, name=name)
    assert str(value) == name
    assert parse_valve(text) == value


@pytest.mark.parametrize(
    ("text", "position", "suggestion"),
    [
        ("V2031", 1, "V2.03.1"),
        ("V203-1", 1, "V2.03.1"),
        ("V 2 03 1", 4, "V2.03.1"),
        ("V2.03", 5, ""),
        ("V2.03.x", 6, ""),
        ("V2.3.1", 1, ""),
        ("V2.03.0", 1, ""),
        ("V0.03.1", 1, ""),
        ("V2.033.1", 3, ""),
        ("V2.03.1 2", 8, ""),
        ("V", 1, ""),
        ("43 GS", 5, ""),
        ("43", 2, ""),
        ("43 ABCD 11.5", 3, ""),
        ("4 GS 11.5", 0, ""),
        ("43 GS 115", 6, ""),
        ("43-GS-11.5", 2, "43 GS 11.5"),
        ("43 GS 11.5 X", 11, ""),
        ("cq7", 2, ""),
        ("CQ07 1", 5, ""),
        ("ABC12", 0, ""),
        ("TR413", 0, ""),
        ("?", 0, ""),
    ],
)
def test_refuses(text: str, position: int, suggestion: str) -> None:
    with pytest.raises(NotationError) as caught:
        ValveDesignation.parse(text)
    assert (caught.value.position, caught.value.suggestion) == (position, suggestion)


def test_a_national_name_says_length_and_class_of_hole() -> None:
    value = ValveDesignation.parse("61.5 GS 11.5")
    assert (value.length_mm, value.hole_class_mm) == (61.5, 11.5)
    etrto = ValveDesignation.parse("V2.03.1")
    assert (etrto.length_mm, etrto.hole_class_mm) == (None, None)


@pytest.mark.parametrize("text", ["TR413", " tr 13", "ＴＲ４１３"])
def test_tr_numbers_are_valve_codes(text: str) -> None:
    assert isinstance(parse_valve(text), ValveCode)


def test_any_valve_refuses_what_is_none() -> None:
    with pytest.raises(NotationError):
        parse_valve("")
    with pytest.raises(NotationError, match="text is needed"):
        parse_valve(413)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("scheme", "name", "path"),
    [
        ("TRA", "TR413", "scheme"),
        ("ETRTO", "V2.3.1", "name"),
        ("ISO", "TR 13", "name"),
        ("national", 43, "name"),
    ],
)
def test_constructor_refuses(scheme: str, name: str, path: str) -> None:
    with pytest.raises(RecordError) as caught:
        ValveDesignation(scheme=scheme, name=name)
    assert [fault.path for fault in caught.value.faults] == [path]


def test_names_of_two_lists_are_never_equal() -> None:
    # an equivalence is for a table with its source; here a name is only itself
    assert ValveDesignation.parse("V2.03.1") != ValveDesignation.parse("43 GS 11.5")
    assert sorted([ValveDesignation.parse("V2.03.2"), ValveDesignation.parse("V2.03.1")])[0].name == "V2.03.1"
