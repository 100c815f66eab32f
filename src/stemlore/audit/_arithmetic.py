"""Numbers in columns: the same doubles as :mod:`stemlore.rules._kleene` gives for one wheel."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from typing import Any

from stemlore.audit._polars import pl
from stemlore.rules import _kleene as kleene
from stemlore.units import _ROUGH, _SCALE

__all__ = ["age", "finite", "power", "quotient", "settled"]


def finite(of: pl.Expr) -> pl.Expr:
    """Return a number, null where it is not finite."""
    return pl.when(of.is_finite()).then(of)


def settled(of: pl.Expr, *, known_finite: bool = False) -> pl.Expr:
    """Return a number rounded as readings are; null where it is not finite.

    Parameters
    ----------
    of : Expr
        The number.
    known_finite : bool
        Whether it has no NaN or infinity in it, so that this need not be looked at.
    """
    # NaN and infinity are not below the bound, so the first test keeps them out as well
    rounded = pl.when(of.abs() < _ROUGH).then(_exact((of * _SCALE + 0.5).floor(), _SCALE, of))
    return rounded.otherwise(of) if known_finite else rounded.when(of.is_finite()).then(of)


def quotient(above: pl.Expr, below: pl.Expr) -> pl.Expr:
    """Return a quotient; null where ``below`` is zero, not finite where ``above`` is not."""
    return _exact(above, pl.when(below != 0.0).then(below), above)


def power(base: pl.Expr, exponent: pl.Expr) -> pl.Expr:
    """Return a power as the C library computes it; not finite outside the real numbers."""
    # for a single whole exponent Polars multiplies instead, which rounds otherwise
    return pl.map_batches([base, exponent], _powers, return_dtype=pl.Float64, is_elementwise=True)


def _powers(columns: Sequence[pl.Series]) -> pl.Series:
    base, exponent = columns
    rows = max(len(base), len(exponent))
    if rows == 1:
        return pl.Series(base.name, [kleene.power(base.item(), exponent.item())], dtype=pl.Float64)
    if len(exponent) == 1:
        exponent = exponent.new_from_index(0, rows)
    return base.pow(exponent)


def _exact(above: pl.Expr, below: pl.Expr | float, full: pl.Expr) -> pl.Expr:
    # Polars multiplies by the reciprocal where the divisor is one value, which errs in the last bit;
    # 0.0 of each row makes the divisor a value a row
    return above / (full * 0.0 + below)


def age(start: pl.Expr, today: pl.Expr, *, clamp: bool) -> pl.Expr:
    """Return calendar years from a day to today; of a day to come null, or zero if clamped."""
    # written out as one expression, each part would be planned several times over for every batch
    return pl.map_batches(
        [start, today], partial(_ages, clamp=clamp), return_dtype=pl.Float64, is_elementwise=True
    )


def _ages(columns: Sequence[pl.Series], *, clamp: bool) -> pl.Series:
    start, today = columns
    rows = 0 if 0 in (len(start), len(today)) else max(len(start), len(today))
    frame = pl.DataFrame(
        {
            name: column if len(column) == rows else column.new_from_index(0, rows)
            for name, column in (("start", start.cast(pl.Date)), ("today", today.cast(pl.Date)))
        }
    )
    first, day = pl.col("start"), pl.col("today")
    frame = frame.with_columns(day.dt.year().alias("year"))
    frame = frame.with_columns(_anniversary(first, pl.col("year") + by).alias(f"{by}") for by in (-1, 0, 1))
    frame = frame.with_columns((pl.col("0") <= day).alias("passed"))
    passed = pl.col("passed")
    frame = frame.with_columns(
        pl.when(passed).then(pl.col("0")).otherwise(pl.col("-1")).alias("last"),
        pl.when(passed).then(pl.col("1")).otherwise(pl.col("0")).alias("next"),
        (pl.col("year") - first.dt.year() - (~passed).cast(pl.Int32)).cast(pl.Float64).alias("whole"),
    )
    part = _days(day, pl.col("last")) / _days(pl.col("next"), pl.col("last"))
    frame = frame.with_columns((pl.col("whole") + part).alias("years"))
    # the day itself is missing where today or the start is
    known: Any = pl.when(first <= day).then(settled(pl.col("years"), known_finite=True))
    made = known.when(first > day).then(0.0) if clamp else known
    return frame.select(made.alias(start.name)).to_series()


def _days(later: pl.Expr, earlier: pl.Expr) -> pl.Expr:
    return (later.cast(pl.Int32) - earlier.cast(pl.Int32)).cast(pl.Float64)


def _anniversary(start: pl.Expr, year: pl.Expr) -> pl.Expr:
    month, day = start.dt.month(), start.dt.day()
    leap = (year % 4 == 0) & ((year % 100 != 0) | (year % 400 == 0))
    moved = pl.when((month == 2) & (day == 29) & ~leap).then(pl.lit(28, dtype=pl.Int8)).otherwise(day)
    return pl.date(year, month, moved)
