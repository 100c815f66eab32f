"""The twenty rules for checkers of frames, which know no unknown: what is missing passes, fails count.

Each is given the columns masked as by hand, for without that NaN passes a lower
limit and fails an upper one. A rule of an axle is a window over its rows, which
they tell of both rows.
"""

from __future__ import annotations

import warnings
from collections.abc import Callable, Iterator
from typing import Any

import dataframely as dy
import pandera.errors
import pandera.polars as pa
import pointblank as pb
import polars as pl
from fleet_by_hand import KEY, axle_parts, masked, wheel_rules
from fleet_rules import AXLE_RULES, NUMBERS

__all__ = ["dataframely_fails", "pandera_cases", "pandera_failing", "pointblank_fails", "ready"]


def ready(frame: pl.DataFrame) -> pl.DataFrame:
    """Return the frame with numbers masked and the key of the axle."""
    key = (pl.col("vehicle_id") * 8 + pl.col("axle_number")).alias(KEY)
    return frame.lazy().with_columns(*masked(rounded=False), key).collect()


def _holds() -> Iterator[tuple[str, pl.Expr]]:
    for name, (applies, check) in wheel_rules().items():
        yield name, (check if applies is None else ~applies | check).fill_null(True)
    for name, value in axle_parts().items():
        yield name, (value.min().over(KEY) == value.max().over(KEY)).fill_null(True)


def _halved(counts: dict[str, int]) -> dict[str, int]:
    return {name: count // 2 if name in AXLE_RULES else count for name, count in counts.items()}


def _schema() -> type[dy.Schema]:
    made: dict[str, Any] = {
        name.replace(".", "__"): dy.rule()(lambda cls, expr=expr: expr) for name, expr in _holds()
    }
    words, whole = ("vehicle_category", "tyre_construction"), ("tyre_load_index", KEY)
    made |= {name: dy.Float64(nullable=True) for name in (*NUMBERS, "vehicle_gross_mass_kg")}
    made |= {name: dy.String(nullable=True) for name in words}
    made |= {name: dy.Int64(nullable=True) for name in whole}
    return type("Wheels", (dy.Schema,), made)


def dataframely_fails() -> Callable[[pl.DataFrame], dict[str, int]]:
    """Return the counts of fails by dataframely's filter."""
    schema = _schema()

    def fails(frame: pl.DataFrame) -> dict[str, int]:
        found = schema.filter(ready(frame)).failure.counts()
        return _halved({name: found.get(name.replace(".", "__"), 0) for name, _ in _holds()})

    return fails


def pointblank_fails(frame: pl.DataFrame) -> dict[str, int]:
    """Return the counts of fails by pointblank, without extracts of rows."""
    plan = pb.Validate(ready(frame))
    names = []
    for name, expr in _holds():
        plan = plan.col_vals_expr(expr)
        names.append(name)
    found = plan.interrogate(collect_extracts=False, collect_tbl_checked=False).n_failed()
    return _halved({name: found[at] for at, name in enumerate(names, start=1)})


def _pandera(cases: int | None) -> pa.DataFrameSchema:
    def check(name: str, expr: pl.Expr) -> pa.Check:
        return pa.Check(lambda data: data.lazyframe.select(expr), name=name, n_failure_cases=cases)

    return pa.DataFrameSchema(checks=[check(name, expr) for name, expr in _holds()])


def _errors(frame: pl.DataFrame, cases: int | None) -> pandera.errors.SchemaErrors | None:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        try:
            _pandera(cases).validate(ready(frame), lazy=True)
        except pandera.errors.SchemaErrors as error:
            return error
    return None


def pandera_failing(frame: pl.DataFrame) -> set[str]:
    """Return the rules that fail somewhere, by pandera with one case of each, its fastest form."""
    error = _errors(frame, 1)
    return set() if error is None else {each.check.name for each in error.schema_errors}


def pandera_cases(frame: pl.DataFrame) -> dict[str, int]:
    """Return the counts of fails by pandera with all failure cases."""
    error = _errors(frame, None)
    assert error is not None
    counts = dict.fromkeys((name for name, _ in _holds()), 0)
    for each in error.failure_cases["check"]:
        counts[each] += 1
    return _halved(counts)
