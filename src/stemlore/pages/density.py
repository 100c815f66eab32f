"""How large the type of a job sheet may be, so that it still stands on one page of A4."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import ceil
from typing import Any

__all__ = ["SIZES", "type_size"]

SIZES = (8.2, 7.8, 7.4, 7.0, 6.8)
"""Points of the text, largest first; smaller is not readable at arm's length."""

_LONG = 7.8  # for a sheet of several pages

_PAGE = 285.0  # millimetres between the margins
_WIDE = 194.0
_SPARE = 8.0  # other fonts run wider
_POINT = 25.4 / 72
_LINE = 1.2
_CHARACTER = 0.165  # millimetres a character and point, bold and plain mixed
_NUMBER, _BOX = 6.0, 5.0  # columns of the table
_ROW = 1.0
_FIXED = 30.0  # title, fields to fill in, headings, signatures


def type_size(sheet: Mapping[str, Any]) -> float:
    """Return the largest size at which the sheet is estimated to fit; a middle one where none does.

    An estimate by the count of characters: a browser sets the type, and
    nothing here can measure it.
    """
    for size in SIZES:
        # the smallest is tried with less to spare: nothing is lost if it runs over
        spare = _SPARE if size > SIZES[-1] else 3.0
        if _height(sheet, size) <= _PAGE - spare:
            return size
    return _LONG


def _height(sheet: Mapping[str, Any], size: float) -> float:
    line = size * _LINE * _POINT
    rows = [_lines(text, size, _WIDE) for text in _paragraphs(sheet)]
    text = _WIDE - _NUMBER - _BOX * max(len(sheet["boxes"]), 1) - 2.0
    steps = [_step(each, size, text) for each in sheet["steps"]]
    small = 6.0 * 1.15 * _POINT
    sources = sum(len(each) + 2 for each in sheet["sources"])
    return (
        _FIXED
        + line * (sum(rows) + sum(steps) + ceil(len(sheet["readings"]) / 2) + 1)
        + _ROW * len(steps)
        + _cards(sheet["cards"], line)
        + small * _lines("x" * sources, 6.0, _WIDE)
    )


def _lines(text: str, size: float, width: float) -> int:
    return max(1, ceil(len(text) * _CHARACTER * size / width))


def _paragraphs(sheet: Mapping[str, Any]) -> list[str]:
    notices = [each.text for each in (*sheet["notices"], *sheet["stops"], *sheet["stops"])]  # set larger
    parts = [
        " ".join([wheels, *(f"{word} {text}" for word, text in lines)]) for wheels, lines in sheet["parts"]
    ]
    renewals = [f"Renew, {wheels}: {text}" for wheels, text in sheet["renewals"]]
    gaps = [f"{text} ({wheels})" for text, wheels in sheet["gaps"]]
    tyres = [f"{wheels} {text}" for text, wheels in sheet["tyres"]]
    return [sheet["plan"].safety, *notices, *parts, *renewals, *gaps, *tyres]


def _step(step: Mapping[str, Any], size: float, width: float) -> float:
    cautions = f" CAUTION {'. '.join(step['cautions'])}." if step["cautions"] else ""
    values = " ".join(f"{each['wheels']} {each['value']}" for each in step["values"])
    text = f"{step['title']} {values * 2}{' '.join(step['details'])}{cautions}"  # values are set larger
    return _lines(text, size, width) + (0.3 if values else 0.0)


def _cards(cards: Sequence[tuple[str, Sequence[Mapping[str, Any]]]], line: float) -> float:
    """Return the height of the cards, seven values side by side."""
    if not cards:
        return 0.0
    count = sum(len(values) for _, values in cards)
    deepest = max(
        3.6 + len(f"{', '.join(each['also'])} {each['band']}") / 24 + len(each["note"]) / 24
        for _, values in cards
        for each in values
    )
    return ceil(count / 7) * (deepest * line + 3.0)
