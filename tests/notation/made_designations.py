"""Strategies for every designation, on all its fields."""

from __future__ import annotations

from datetime import date
from typing import Any

from hypothesis import strategies as st

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
)

SYMBOLS = [*(f"A{step}" for step in range(1, 9)), *"BCDEFGJKLMNPQRSTUHVWY"]
LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
LOAD_RANGES = ["", *"ABCDEFGHJLMN"]
HALVES = st.integers(8, 108).map(lambda twice: twice / 2) | st.sampled_from([15.3, 16.1])
MARKS = ["", "S", "H", "V"]

plain_services = st.builds(
    ServiceDescription, st.integers(0, 279), st.none() | st.integers(0, 279), st.sampled_from(SYMBOLS)
)
services = plain_services | st.builds(
    ServiceDescription,
    st.integers(0, 279),
    st.none() | st.integers(0, 279),
    st.sampled_from("WY"),
    st.just(True),
)
commercial = st.builds(
    ServiceDescription, st.integers(0, 279), st.integers(0, 279), st.sampled_from(SYMBOLS[:-2])
)


def marks(draw: st.DrawFn, *suffixes: str) -> dict[str, Any]:
    """Draw what may stand behind every size."""
    second = draw(st.booleans())
    return {
        "suffix": draw(st.sampled_from(suffixes)),
        "load_range": draw(st.sampled_from(LOAD_RANGES)),
        "ply_rating": draw(st.none() | st.integers(2, 76)),
        "tube": draw(st.sampled_from(["", "TL", "TT"])),
        "mud_snow": draw(st.booleans()),
        "service": draw(commercial if second else st.none() | services),
        "second_service": draw(commercial) if second else None,
    }


def inside(draw: st.DrawFn) -> dict[str, Any]:
    """Draw what may stand between width and rim."""
    construction = draw(st.sampled_from(["radial", "diagonal", "bias_belted"]))
    return {
        "construction": construction,
        "speed_mark": draw(st.sampled_from([*MARKS, "Z"] if construction == "radial" else MARKS)),
        "run_flat": construction == "radial" and draw(st.booleans()),
    }


@st.composite
def tyre_sizes(draw: st.DrawFn) -> TyreSize:
    ratio = draw(st.none() | st.integers(15, 105))
    version = draw(st.sampled_from(["", "XL", "HL", "RF", "SL", "LL"]))
    prefix = "" if version == "HL" else draw(st.sampled_from(["", "P", "LT", "ST", "S", "T", "IF", "VF"]))
    suffixes = ["", "CP", "LT", "ST", "M/C", "IMP", "CFO", "CHO", "NRO"]
    return TyreSize(
        width=draw(st.integers(100, 395 if ratio is None else 999)),
        aspect_ratio=ratio,
        rim_diameter_code=draw(HALVES if ratio is not None else HALVES.filter(lambda code: code <= 24.5)),
        prefix=prefix,
        load_version=version,
        **inside(draw),
        **marks(draw, *suffixes, *([] if prefix in ("LT", "ST") else ["C"])),
    )


@st.composite
def numeric_sizes(draw: st.DrawFn) -> TyreSize:
    width = draw(st.integers(100, 7000)) / 100
    return TyreSize(
        system="numeric",
        width=width,
        whole_width=width.is_integer() and draw(st.booleans()),
        low_section=draw(st.booleans()),
        aspect_ratio=draw(st.none() | st.integers(15, 105)),
        rim_diameter_code=draw(HALVES),
        prefix=draw(st.sampled_from(["", "LT", "IF"])),
        **inside(draw),
        **marks(draw, "", "LT", "NHS", "MH"),
    )


@st.composite
def flotation_sizes(draw: st.DrawFn) -> TyreSize:
    rim = draw(st.integers(8, 60)) / 2
    return TyreSize(
        system="flotation",
        overall_diameter_code=draw(st.integers(int(rim * 2) + 10, 180)) / 2,
        width=draw(st.integers(100, 6000)) / 100,
        rim_diameter_code=rim,
        prefix=draw(st.sampled_from(["", "LT", "P"])),
        **inside(draw),
        **marks(draw, "", "LT", "NHS"),
    )


@st.composite
def lettered_sizes(draw: st.DrawFn) -> TyreSize:
    letter = draw(st.sampled_from([*"ABCDEFGHJKLN", *(f"M{width}" for width in "HJLMNPRTUV")]))
    return TyreSize(
        system="alpha_numeric",
        size_letter=letter,
        aspect_ratio=draw(st.integers(80 if letter[0] == "M" else 15, 99)),
        rim_diameter_code=draw(HALVES),
        **inside(draw),
        **marks(draw, "", "LT", "ST", "M/C"),
    )


@st.composite
def rim_sizes(draw: st.DrawFn) -> RimSize:
    diameter = draw(st.integers(6, 126).map(lambda twice: twice / 2) | st.sampled_from([15.3, 16.1]))
    return RimSize(
        width_code=draw(st.integers(100, int(min(diameter, 60) * 100))) / 100,
        diameter_code=diameter,
        flange=draw(st.sampled_from(["", "JJ", "JK", *"BDEFGHJKLPRSTVW"])),
        pieces=draw(st.sampled_from(["one", "several"])),
        hump=draw(st.sampled_from(["", "H", "H2", "FH", "FH2", "CH", "EH2", "EH2+", "SL"])),
        offset_mm=draw(st.none() | st.integers(-3000, 3000).map(lambda tenths: tenths / 10)),
        prefix=draw(st.sampled_from(["", "MT", "W", "DW"])),
        contour=draw(st.sampled_from(["", "SDC", "DT"])),
        marked_seat_angle_deg=draw(st.sampled_from([None, 5, 15])),
    )


valve_codes = st.builds(ValveCode, number=st.integers(1, 9999), suffix=st.text(LETTERS, max_size=4))
valve_designations = (
    st.builds("V{}.{:02d}.{}".format, st.integers(1, 9), st.integers(0, 99), st.integers(1, 99)).map(
        lambda name: ValveDesignation(scheme="ETRTO", name=name)
    )
    | st.builds(
        "{} {} {}".format,
        st.integers(10, 999),
        st.text(LETTERS, min_size=1, max_size=3),
        st.sampled_from(["11.5", "16", "8.3"]),
    ).map(lambda name: ValveDesignation(scheme="national", name=name))
    | st.builds("{} {:02d}".format, st.text(LETTERS, min_size=2, max_size=2), st.integers(0, 99))
    .filter(lambda name: not name.startswith("TR"))
    .map(lambda name: ValveDesignation(scheme="ISO", name=name))
)
threads = (
    st.builds("{}V{}".format, st.integers(5, 29), st.integers(1, 9)).map(
        lambda name: ThreadName(scheme="ISO", name=name)
    )
    | st.integers(5, 12).map(lambda size: ThreadName(scheme="DIN", name=f"Vg {size}"))
    | st.builds("CTV{}-{}".format, st.integers(1, 99), st.integers(10, 99)).map(
        lambda name: ThreadName(scheme="JIS", name=name)
    )
)

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


sizes = tyre_sizes() | numeric_sizes() | flotation_sizes() | lettered_sizes()
VALUES: st.SearchStrategy[Any] = st.one_of(
    sizes,
    date_spans,
    rim_sizes(),
    services,
    identification_numbers(),
    valve_codes,
    valve_designations,
    threads,
    st.builds(CoreChamber, st.integers(1, 4)),
    st.builds(Grommet, st.integers(1, 99)),
)
