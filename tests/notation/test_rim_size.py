"""Rim sizes."""

from __future__ import annotations

import pytest

from stemlore.errors import NotationError, RecordError
from stemlore.notation import RimSize


@pytest.mark.parametrize(
    ("text", "written"),
    [
        ("6 1/2 J x 16 H2 ET45", "6.5Jx16 H2 ET45"),
        ("6½ J × 16 H2 ET 45", "6.5Jx16 H2 ET45"),
        ("6-1/2 J x 16", "6.5Jx16"),
        ("6.5Jx16", "6.5Jx16"),
        ("6,5 J X 16", "6.5Jx16"),
        ("6.50jx16h2et47,5", "6.5Jx16 H2 ET47.5"),
        ("６．５Ｊｘ１６", "6.5Jx16"),
        ("7JJx17 ET-12", "7JJx17 ET-12"),
        ("7JKx17 ET+12mm", "7JKx17 ET12"),
        ("7Jx17 ET0", "7Jx17 ET0"),
        ("7Jx17 ET-0", "7Jx17 ET0"),
        ("7Jx17 ET45 EH2+", "7Jx17 EH2+ ET45"),
        ("7Jx17 FH2", "7Jx17 FH2"),
        ("7Jx17 H1", "7Jx17 H"),
        ("8.25x22.5", "8.25x22.5"),
        ("11.75 x 22,5 ET120", "11.75x22.5 ET120"),
        ("7.50V-20", "7.5V-20"),
        ("8.5-20", "8.5-20"),
        ("5.50Fx16", "5.5Fx16"),
        ("3.00Bx10", "3Bx10"),
    ],
)
def test_reads_and_writes(text: str, written: str) -> None:
    value = RimSize.parse(text)
    assert str(value) == written
    assert RimSize.parse(written) == value


def test_fields() -> None:
    value = RimSize.parse("6 1/2 J x 16 H2 ET45")
    assert value == RimSize(width_code=6.5, diameter_code=16, flange="J", hump="H2", offset_mm=45)
    assert value.pieces == "one"
    assert RimSize.parse("8.5-20").pieces == "several"
    assert RimSize.parse("6Jx15").offset_mm is None
    assert RimSize.parse("6Jx15") != RimSize.parse("6Jx15 ET0")


@pytest.mark.parametrize(
    ("text", "angle"),
    [
        ("6.5Jx16", 5.0),
        ("3.00Bx10", 5.0),
        ("6x17.5", 15.0),
        ("8.25x22.5", 15.0),
        ("8.25x24.5", 15.0),
        ("6x16.5", None),  # not sourced
        ("8.5-20", None),  # several pieces
        ("7x30", None),
    ],
)
def test_seat_angle(text: str, angle: float | None) -> None:
    assert RimSize.parse(text).seat_angle_deg == angle


@pytest.mark.parametrize(
    ("text", "position", "suggestion"),
    [
        ("", 0, ""),
        ("J16", 0, ""),
        ("61/2Jx16", 0, "6.5Jx16"),
        ("6 1/3 J x 16", 2, ""),
        ("6 3/2 J x 16", 2, ""),
        ("6.5 1/2 J x 16", 4, ""),
        ("22.5x8.25", 0, "8.25x22.5"),
        ("17x7.5", 0, "7.5x17"),
        ("16x6.5J", 0, "6.5Jx16"),
        ("16x6 1/2J H2", 0, "6.5Jx16 H2"),
        ("6.5Qx16", 3, ""),
        ("6.5J 16", 5, ""),
        ("6.5J*16", 4, "6.5Jx16"),
        ("6.5Jх16", 4, "6.5Jx16"),  # a Cyrillic letter
        ("6.5Jx", 5, ""),
        ("6.5Jx16.25", 5, ""),
        ("6.5Jx16 H3", 8, ""),
        ("6.5Jx16 H2 H", 11, ""),
        ("6.5Jx16 ET", 10, ""),
        ("6.5Jx16 ET45 ET45", 13, ""),
        ("6.5Jx16 ET999", 10, ""),
        ("6.5Jx16 5x112", 8, ""),
        ("0.5x16", 0, ""),
        ("6.12345x16", 0, ""),
        ("6²x16", 1, ""),
    ],
)
def test_refuses(text: str, position: int, suggestion: str) -> None:
    with pytest.raises(NotationError) as caught:
        RimSize.parse(text)
    assert (caught.value.position, caught.value.suggestion) == (position, suggestion)


def test_constructor_refuses_width_and_diameter_in_the_wrong_order() -> None:
    with pytest.raises(RecordError, match="the width stands first"):
        RimSize(width_code=17, diameter_code=7.5)


def test_constructor_collects_all_faults() -> None:
    with pytest.raises(RecordError) as caught:
        RimSize(width_code=0, diameter_code=16.2, flange="Q", pieces="two", hump="H9", offset_mm=1e9)
    assert [fault.path for fault in caught.value.faults] == [
        "width_code",
        "diameter_code",
        "flange",
        "pieces",
        "hump",
        "offset_mm",
    ]
