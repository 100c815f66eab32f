"""The twenty rules over a fleet as a good programmer would write them by hand: in Polars, and in SQL."""

from __future__ import annotations

from typing import Any

import duckdb
import polars as pl
from fleet_rules import AXLE_RULES, NUMBERS, WHEEL_RULES

__all__ = ["KEY", "axle_parts", "counts_by_hand", "duckdb_fails", "masked", "outcomes_by_hand", "wheel_rules"]

KEY = "axle_of_fleet"
Checks = dict[str, tuple[pl.Expr | None, pl.Expr]]
Frame = pl.DataFrame | pl.LazyFrame


def masked(*, rounded: bool = True) -> list[pl.Expr]:
    """Return the columns of numbers without NaN and infinity, held to the millionth as readings are."""
    columns = {name: pl.col(name) for name in (*NUMBERS, "vehicle_gross_mass_kg")}
    return [
        pl.when(column.is_finite()).then(column.round(6) if rounded else column).alias(name)
        for name, column in columns.items()
    ]


def wheel_rules() -> Checks:
    """Return where each rule of a wheel applies, and what it asks."""
    col = pl.col
    category = col("vehicle_category")
    light = (category == "M1") | (category == "N1")
    lorry = (category == "N2") | (category == "N3")
    heavy = col("vehicle_gross_mass_kg") > 3500.0
    car = light & (col("vehicle_gross_mass_kg") <= 3500.0)
    depth, pressure = col("tyre_tread_depth_main_grooves_mm"), col("tyre_pressure_kpa")
    index, hole = col("tyre_load_index"), col("wheel_valve_hole_mm")
    construction = col("tyre_construction")
    parts: list[tuple[pl.Expr | None, pl.Expr]] = [
        (car, depth >= 1.6),
        (lorry, depth >= 2.0),
        (light, depth >= 3.0),
        (light, col("tyre_tread_depth_whole_tread_mm") >= 1.0),
        (None, col("tyre_tread_depth_two_adjacent_grooves_mm") >= 1.6),
        (light, pressure >= 150.0),
        (heavy, pressure >= 500.0),
        (car, index >= 70),
        (lorry, index >= 120),
        (car, pressure <= 350.0),
        (None, pressure <= 1000.0),
        (light, depth <= 12.0),
        (None, col("valve_effective_length_mm") >= 25.0),
        (light, col("valve_rated_pressure_kpa") >= 450.0),
        (light, col("wheel_rated_load_kg") >= 450.0),
        (None, col("wheel_thickness_at_hole_mm") >= 1.8),
        (car, (hole >= 11.3) & (hole <= 11.7)),
        (light, (construction == "radial") | (construction == "bias_belted")),
    ]
    return dict(zip(WHEEL_RULES, parts, strict=True))


def axle_parts() -> dict[str, pl.Expr]:
    """Return what the rules of an axle compare, as numbers, which windows are fastest over."""
    values = (pl.col("tyre_construction").cast(pl.Categorical).to_physical(), pl.col("tyre_load_index"))
    return dict(zip(AXLE_RULES, values, strict=True))


def outcomes_by_hand(frame: Frame) -> pl.LazyFrame:
    """Return 0 pass, 1 fail, 2 unknown, 3 not applicable; an axle's on its first row, null on the others."""
    key = (pl.col("vehicle_id") * 8 + pl.col("axle_number")).alias(KEY)
    lazy = frame.lazy().with_columns(*masked(), key)
    lazy = lazy.with_columns(expr.alias(f"of {name}") for name, expr in axle_parts().items())
    codes = []
    for name, (applies, check) in wheel_rules().items():
        code = (~check).cast(pl.Int8).fill_null(2)
        if applies is not None:
            code = pl.when(applies).then(code).when(~applies).then(pl.lit(3, pl.Int8)).otherwise(2)
        codes.append(code.cast(pl.Int8).alias(name))
    first = pl.col(KEY) != pl.col(KEY).shift().fill_null(-1)
    for name in axle_parts():
        value = pl.col(f"of {name}")
        low, high = value.min().over(KEY), value.max().over(KEY)
        known = value.is_not_null().cast(pl.Int8).sum().over(KEY) == 2
        code = pl.when(low != high).then(1).when(known).then(0).otherwise(2)
        codes.append(pl.when(first).then(code).cast(pl.Int8).alias(name))
    return lazy.select("vehicle_id", "axle_number", "side", *codes)


def counts_by_hand(frame: Frame) -> dict[str, tuple[int, ...]]:
    """Return how often each rule passes, fails, is unknown and does not apply."""
    names = (*WHEEL_RULES, *AXLE_RULES)
    sums = [(pl.col(name) == code).sum().alias(f"{code} {name}") for name in names for code in range(4)]
    row = outcomes_by_hand(frame).select(sums).collect().row(0)
    return {name: row[at * 4 : at * 4 + 4] for at, name in enumerate(names)}


# --- SQL ---------------------------------------------------------------------------------------

_LIGHT = "vehicle_category IN ('M1', 'N1')"
_LORRY = "vehicle_category IN ('N2', 'N3')"
_CAR = f"{_LIGHT} AND mass <= 3500"
_SQL = (
    (_CAR, "depth < 1.6"),
    (_LORRY, "depth < 2.0"),
    (_LIGHT, "depth < 3.0"),
    (_LIGHT, "whole < 1.0"),
    ("true", "adjacent < 1.6"),
    (_LIGHT, "pressure < 150"),
    ("mass > 3500", "pressure < 500"),
    (_CAR, "tyre_load_index < 70"),
    (_LORRY, "tyre_load_index < 120"),
    (_CAR, "pressure > 350"),
    ("true", "pressure > 1000"),
    (_LIGHT, "depth > 12"),
    ("true", "length < 25"),
    (_LIGHT, "rated < 450"),
    (_LIGHT, "load < 450"),
    ("true", "thickness < 1.8"),
    (_CAR, "NOT (hole BETWEEN 11.3 AND 11.7)"),
    (_LIGHT, "tyre_construction NOT IN ('radial', 'bias_belted')"),
)
_NAMES = {
    "tyre_tread_depth_main_grooves_mm": "depth",
    "tyre_tread_depth_whole_tread_mm": "whole",
    "tyre_tread_depth_two_adjacent_grooves_mm": "adjacent",
    "tyre_pressure_kpa": "pressure",
    "valve_effective_length_mm": "length",
    "valve_rated_pressure_kpa": "rated",
    "wheel_rated_load_kg": "load",
    "wheel_thickness_at_hole_mm": "thickness",
    "wheel_valve_hole_mm": "hole",
    "vehicle_gross_mass_kg": "mass",
}


def duckdb_fails(table: Any) -> dict[str, int]:
    """Return how often each rule fails, of an Arrow table, by one query for wheels and one for axles."""
    finite = ", ".join(
        f"CASE WHEN isfinite({name}) THEN {name} END AS {short}" for name, short in _NAMES.items()
    )
    sums = ", ".join(f"count(*) FILTER (WHERE {when} AND {fails})" for when, fails in _SQL)
    with duckdb.connect() as base:
        base.register("wheels", table)
        (row,) = base.sql(
            f"SELECT {sums} FROM (SELECT {finite}, vehicle_category, tyre_load_index, tyre_construction"
            " FROM wheels)"
        ).fetchall()
        (axles,) = base.sql(
            "SELECT count(*) FILTER (WHERE a != b), count(*) FILTER (WHERE c != d) FROM ("
            "SELECT min(tyre_construction) a, max(tyre_construction) b, min(tyre_load_index) c,"
            " max(tyre_load_index) d FROM wheels GROUP BY vehicle_id, axle_number)"
        ).fetchall()
    return dict(zip((*WHEEL_RULES, *AXLE_RULES), (*row, *axles), strict=True))
