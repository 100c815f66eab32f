"""Strategies for designations: sizes, codes, dates and positions, valid by construction."""

from __future__ import annotations

from datetime import date, timedelta

from hypothesis import strategies as st

from stemlore.model import Position
from stemlore.notation import (
    SPEED_SYMBOLS,
    DateSpan,
    RimSize,
    ServiceDescription,
    TyreIdentificationNumber,
    TyreSize,
    ValveCode,
)

__all__ = [
    "date_spans",
    "load_indices",
    "positions",
    "rim_sizes",
    "service_descriptions",
    "speed_symbols",
    "tyre_numbers",
    "tyre_sizes",
    "valve_codes",
]

# a choice shrinks to its first member, so what is common stands first
_WIDTHS = (205, 195, 225, 185, 245, 315, *range(100, 1000))
_RATIOS = (55, 65, 45, 70, 80, None, None, None, *range(15, 106))
_MOST_WIDTH_WITHOUT_RATIO = 395
_COMMON_RIMS = (16.0, 15.0, 17.0, 18.0, 22.5)
_TYRE_RIMS = (*_COMMON_RIMS, *(twice / 2 for twice in range(8, 109)))
_RIMS_WITHOUT_RATIO = tuple(code for code in _TYRE_RIMS if code <= 24.5)
_RIM_DIAMETERS = (*_COMMON_RIMS, *(twice / 2 for twice in range(6, 127)))
_VALVE_NUMBERS = (413, 414, 418, 600, 416, 412, 415, 425, 500, 501, 570, 1, 99, 1000, 9999)
_HUMPS = ("", "H2", "H", "FH", "FH2", "CH", "EH2", "EH2+", "SL")
_FLANGES = ("J", "", "JJ", "JK", *"BDEFGHKLPRSTVW")
_LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
_FIRST_DAY, _LAST_DAY = date(1970, 1, 1), date(2049, 12, 31)


def load_indices(*, min_value: int = 0, max_value: int = 279) -> st.SearchStrategy[int]:
    """Return a strategy of load indices; 91 is the simplest where the bounds allow it."""
    whole = range(min_value, max_value + 1)
    return st.sampled_from((91, *whole) if 91 in whole else whole)


def speed_symbols() -> st.SearchStrategy[str]:
    """Return a strategy of speed symbols, A1 to Y."""
    return st.sampled_from(("V", "H", "T", *SPEED_SYMBOLS))


@st.composite
def service_descriptions(draw: st.DrawFn, *, dual: bool | None = None) -> ServiceDescription:
    """Return a strategy of service descriptions, such as ``91V`` and ``121/118R``.

    Parameters
    ----------
    dual : bool, optional
        Whether there is a second load index, for twin fitment; either when left out.
    """
    # what does not fit is drawn all the same: the shortest row of choices is taken for the simplest
    index, symbol, bracketed = draw(load_indices()), draw(speed_symbols()), draw(st.booleans())
    both = draw(st.booleans()) if dual is None else dual
    second = draw(load_indices()) if both else None
    return ServiceDescription(index, second, symbol, symbol == "Y" and bracketed)


@st.composite
def tyre_sizes(draw: st.DrawFn, *, service: bool | None = None) -> TyreSize:
    """Return a strategy of tyre sizes; ``205/55 R16`` is the simplest.

    Parameters
    ----------
    service : bool, optional
        Whether the service description follows the size; either when left out.
    """
    width, ratio = draw(st.sampled_from(_WIDTHS)), draw(st.sampled_from(_RATIOS))
    construction = draw(st.sampled_from(("radial", "diagonal", "bias_belted")))
    version = draw(st.sampled_from(("", "XL", "HL", "RF")))
    prefix = draw(st.sampled_from(("", "P", "LT", "ST", "T")))
    # behind LT and ST a C is the load range
    suffixes = ("", "CP", "LT") if prefix in ("LT", "ST") else ("", "C", "CP", "LT")
    mark = draw(st.sampled_from(("", "Z", "V", "H", "S")))
    serviced = draw(st.booleans()) if service is None else service
    return TyreSize(
        width=width if ratio else min(width, _MOST_WIDTH_WITHOUT_RATIO),
        aspect_ratio=ratio,
        rim_diameter_code=draw(st.sampled_from(_TYRE_RIMS if ratio else _RIMS_WITHOUT_RATIO)),
        construction=construction,
        prefix="" if version == "HL" else prefix,
        suffix=draw(st.sampled_from(suffixes)),
        speed_mark=mark if construction == "radial" else "",
        load_version=version,
        service=draw(service_descriptions()) if serviced else None,
    )


@st.composite
def rim_sizes(draw: st.DrawFn) -> RimSize:
    """Return a strategy of rim sizes; ``6Jx16`` is the simplest."""
    diameter = draw(st.sampled_from(_RIM_DIAMETERS))
    quarters = range(4, int(min(diameter, 60) * 4) + 1)
    return RimSize(
        width_code=draw(st.sampled_from((24, *quarters) if 24 in quarters else quarters)) / 4,
        diameter_code=diameter,
        flange=draw(st.sampled_from(_FLANGES)),
        pieces=draw(st.sampled_from(("one", "several"))),
        hump=draw(st.sampled_from(_HUMPS)),
        offset_mm=draw(st.none() | st.integers(-3000, 3000).map(lambda tenths: tenths / 10)),
    )


def valve_codes() -> st.SearchStrategy[ValveCode]:
    """Return a strategy of valve codes; ``TR413`` is the simplest."""
    return st.builds(
        ValveCode,
        number=st.sampled_from(_VALVE_NUMBERS),
        suffix=st.sampled_from(("", "HP", "CH", "A", "HPCH", "Z")),
    )


@st.composite
def date_spans(
    draw: st.DrawFn,
    *,
    min_value: date = _FIRST_DAY,
    max_value: date = _LAST_DAY,
    max_days: int = 3653,
) -> DateSpan:
    """Return a strategy of dates as far as they are known: days first, then weeks, months, years, spans.

    Parameters
    ----------
    min_value, max_value : date
        First and last day that may lie in it.
    max_days : int
        Length of the longest span; 1 for exact days alone.
    """
    first = draw(st.dates(min_value, max_value))
    if max_days <= 1:
        return DateSpan.day(first)
    length = draw(st.sampled_from((1, 7, 31, 366)) | st.integers(1, max_days))
    form = draw(st.sampled_from(("as it is", "whole period"))) if length > 1 else "as it is"
    last = min(max_value, first + timedelta(days=min(length, max_days) - 1))
    if form == "whole period":
        text = f"{first:%G-W%V}" if length <= 7 else f"{first:%Y-%m}" if length <= 31 else f"{first:%Y}"
        period = DateSpan.parse(text)
        within = min_value <= period.earliest and period.latest <= max_value
        if within and (period.latest - period.earliest).days < max_days:
            return period
    return DateSpan(first, last)


@st.composite
def tyre_numbers(
    draw: st.DrawFn, *, min_year: int = 2000, max_year: int = 2049, dated: bool | None = None
) -> TyreIdentificationNumber:
    """Return a strategy of tyre identification numbers, such as ``DOT U2LL LMLR 5107``.

    Parameters
    ----------
    min_year, max_year : int
        Years of the four figures, 2000 to 2099. Numbers with three figures
        are drawn only where the bounds are left as they are.
    dated : bool, optional
        Whether it ends with the date; either when left out.
    """
    code = draw(st.text(_LETTERS + "0123456789", max_size=9))
    forms = ("four", "three", "marked") if (min_year, max_year) == (2000, 2049) else ("four",)
    if not dated:
        forms = ("none",) if dated is False else (*forms, "none")
    form, week = draw(st.sampled_from(forms)), draw(st.integers(1, 52))
    year = draw(st.integers(min_year, max_year))
    if form == "none":
        return TyreIdentificationNumber(code=f"{code[:8]}X")
    if form == "four":
        return TyreIdentificationNumber(code=code, date_code=f"{week:02d}{year % 100:02d}")
    figures = f"{week:02d}{year % 10}"
    return TyreIdentificationNumber(code=code, date_code=figures, decade=1990 if form == "marked" else None)


@st.composite
def positions(draw: st.DrawFn, *, max_axle: int = 4, spare: bool = True) -> Position:
    """Return a strategy of positions; ``axle 1 left`` is the simplest.

    Parameters
    ----------
    max_axle : int
        Greatest number of an axle.
    spare : bool
        Whether it may be a carried spare.
    """
    number = draw(st.integers(1, max_axle))
    side, place = draw(st.sampled_from((*_PLACES, (None, "spare")) if spare else _PLACES))
    if side is None:
        return Position(spare=True)
    return Position.parse(f"axle {number} {side} {place}".removesuffix(" single"))


_PLACES: tuple[tuple[str | None, str], ...] = (
    ("left", "single"),
    ("right", "single"),
    ("left", "outer"),
    ("left", "inner"),
    ("right", "outer"),
    ("right", "inner"),
    ("centre", "single"),
)
