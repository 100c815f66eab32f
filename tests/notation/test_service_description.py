"""Service descriptions: load index and speed symbol."""

from __future__ import annotations

import pytest

from stemlore.errors import NotationError, RecordError
from stemlore.notation import SPEED_SYMBOLS, ServiceDescription


@pytest.mark.parametrize(
    ("text", "single", "dual", "symbol", "bracketed", "written"),
    [
        ("91V", 91, None, "V", False, "91V"),
        ("91 V", 91, None, "V", False, "91V"),
        (" 91v ", 91, None, "V", False, "91V"),
        ("91Ｖ", 91, None, "V", False, "91V"),
        ("121/118R", 121, 118, "R", False, "121/118R"),
        ("121 / 118 r", 121, 118, "R", False, "121/118R"),
        ("100Y", 100, None, "Y", False, "100Y"),
        ("(95Y)", 95, None, "Y", True, "(95Y)"),
        ("95(Y)", 95, None, "Y", True, "(95Y)"),
        ("(58W)", 58, None, "W", True, "(58W)"),
        ("58(w)", 58, None, "W", True, "(58W)"),
        ("( 95 y )", 95, None, "Y", True, "(95Y)"),
        ("123A8", 123, None, "A8", False, "123A8"),
        ("0A1", 0, None, "A1", False, "0A1"),
        ("279B", 279, None, "B", False, "279B"),
        ("88U", 88, None, "U", False, "88U"),
    ],
)
def test_reads_and_writes(
    text: str, single: int, dual: int | None, symbol: str, bracketed: bool, written: str
) -> None:
    value = ServiceDescription.parse(text)
    assert value == ServiceDescription(single, dual, symbol, bracketed)
    assert str(value) == written
    assert ServiceDescription.parse(written) == value


@pytest.mark.parametrize(
    ("text", "position", "suggestion"),
    [
        ("", 0, ""),
        ("   ", 0, ""),
        ("V91", 0, "91V"),
        ("91", 2, ""),
        ("91I", 2, ""),
        ("91O", 2, ""),
        ("91A", 2, ""),
        ("91A9", 2, ""),
        ("91A10", 4, ""),
        ("280V", 0, ""),
        ("1234V", 0, ""),
        ("121-118R", 3, "121/118R"),
        ("121/R", 4, ""),
        ("(91V)", 3, "91V"),
        ("(95Y", 4, "(95Y)"),
        ("95Y)", 3, "(95Y)"),
        ("(95(Y)", 3, "(95Y)"),
        ("91V XL", 4, ""),
        ("9¹V", 1, ""),
        ("91Т", 2, "91T"),  # a Cyrillic letter: offered, not taken
        ("٩١V", 0, ""),
    ],
)
def test_refuses(text: str, position: int, suggestion: str) -> None:
    with pytest.raises(NotationError) as caught:
        ServiceDescription.parse(text)
    assert (caught.value.position, caught.value.suggestion) == (position, suggestion)
    assert caught.value.text == text


def test_constructor_collects_all_faults() -> None:
    with pytest.raises(RecordError) as caught:
        ServiceDescription(300, True, "Z", True)
    assert [fault.path for fault in caught.value.faults] == [
        "load_index",
        "load_index_dual",
        "speed_symbol",
        "bracketed",
    ]


def test_constructor_refuses_a_bracket_that_is_no_truth_value() -> None:
    with pytest.raises(RecordError, match="true or false is needed"):
        ServiceDescription(95, None, "Y", 1)  # type: ignore[arg-type]


def test_brackets_change_the_meaning() -> None:
    assert ServiceDescription.parse("(95Y)") != ServiceDescription.parse("95Y")


def test_speed_symbols_stand_in_order_of_speed() -> None:
    assert len(SPEED_SYMBOLS) == 29
    assert SPEED_SYMBOLS[:2] == ("A1", "A2")
    assert SPEED_SYMBOLS[-5:] == ("U", "H", "V", "W", "Y")  # H stands between U and V


def test_order_goes_by_load_then_speed() -> None:
    texts = ["91V", "91H", "91U", "90Y", "(91Y)", "91/88H", "91Y"]
    values = sorted(ServiceDescription.parse(text) for text in texts)
    assert [str(value) for value in values] == ["90Y", "91U", "91H", "91V", "91Y", "(91Y)", "91/88H"]
