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
        ("MT2.50x17", "MT2.5x17"),
        ("mt 3,50 x 17", "MT3.5x17"),
        ("DW23Bx42", "DW23Bx42"),
        ("W18L-38", "W18L-38"),
        ("W 8 x 16", "W8x16"),
        ("5.50F-16 SDC", "5.5F-16 SDC"),
        ("3.00-10 DT", "3-10 DT"),
        ("9.00x15,3", "9x15.3"),
        ("8.25x22.5 15°", "8.25x22.5 15°"),
        ("8.25x22.5 15 deg DC", "8.25x22.5 15°"),
        ("8.25x22.5 15DC ET120", "8.25x22.5 15° ET120"),
        ("6.5Jx16 H2 5º", "6.5Jx16 5° H2"),
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
        ("6x16.5 15°", 15.0),  # as marked
        ("8.5-20 5°", 5.0),
        ("6.5Jx16 15°", 15.0),
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
        (" WM2-18", 1, ""),
        ("17xMT3.50", 3, "MT3.5x17"),
        ("17M/C x MT3.50", 2, "MT3.5x17"),
        ("J17xMT3.50", 0, "MT3.5x17"),
        ("22.5x8.25 15°", 0, "8.25x22.5 15°"),
        ("8.25x22.5 15° 15°", 14, ""),
        ("5.5F-16 SDC SDC", 12, ""),
        ("8.25x22.5 10°", 10, ""),
        ("9x15.4", 2, ""),
        ("70Jx80", 0, ""),
        ("6.5Jx16 ET301", 10, ""),
        ("6.5Jx5", 0, ""),
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
        RimSize(
            width_code=0,
            diameter_code=16.2,
            flange="Q",
            pieces="two",
            hump="H9",
            offset_mm=1e9,
            prefix="WM",
            contour="XX",
            marked_seat_angle_deg=10,
        )
    assert [fault.path for fault in caught.value.faults] == [
        "width_code",
        "diameter_code",
        "flange",
        "pieces",
        "hump",
        "offset_mm",
        "prefix",
        "contour",
        "marked_seat_angle_deg",
    ]


def test_the_joint_says_whether_the_rim_comes_apart() -> None:
    assert RimSize.parse("8.25x22.5").rim_pieces == "single_piece"
    assert RimSize.parse("8.5-20").rim_pieces == "multi_piece"


@pytest.mark.parametrize(
    ("text", "half"), [("6x16", False), ("6x16.5", True), ("8.25x22.5", True), ("9x15.3", False)]
)
def test_half_inch_codes_are_told(text: str, half: bool) -> None:
    assert RimSize.parse(text).is_half_inch is half


def test_order_goes_by_diameter_then_width() -> None:
    values = sorted(RimSize.parse(text) for text in ("7Jx17", "8Jx16", "6.5Jx16", "6x17.5"))
    assert [str(value) for value in values] == ["6.5Jx16", "8Jx16", "7Jx17", "6x17.5"]
