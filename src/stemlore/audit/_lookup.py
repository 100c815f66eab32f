"""Reference tables read in columns."""

from __future__ import annotations

from stemlore.audit._arithmetic import finite
from stemlore.audit._polars import pl
from stemlore.rules._walker import lookup_table
from stemlore.rules.nodes import Lookup

__all__ = ["looked_up"]


def looked_up(of: Lookup, key: pl.Expr) -> pl.Expr:
    """Return a column of a table at each key; null where the table has no such row."""
    if of.how == "exact":
        return _exact(of, key)
    keys, values = lookup_table(of)
    if not keys:
        return pl.lit(None, dtype=pl.Float64)
    inside = (key >= keys[0]) & (key <= keys[-1])
    # the row of the greatest key not above; a null key lands somewhere and is made null below
    row = pl.lit(pl.Series(keys, dtype=pl.Float64)).search_sorted(key, side="right").cast(pl.Int64) - 1
    row = row.clip(0, len(keys) - 1)
    if of.how == "stepped":
        return pl.when(inside).then(_at(values, row))
    after = row.clip(0, max(len(keys) - 2, 0))
    last = len(keys) - 1
    rise = [b - a for a, b in zip(values, values[1:], strict=False)] or [0.0]
    run = [b - a for a, b in zip(keys, keys[1:], strict=False)] or [1.0]
    between = _at(values, row) + (key - _at(keys, row)) * _at(rise, after) / _at(run, after)
    return finite(pl.when(inside & (row == last)).then(pl.lit(values[-1])).when(inside).then(between))


def _at(values: list[float] | tuple[float, ...], row: pl.Expr) -> pl.Expr:
    return pl.lit(pl.Series(values, dtype=pl.Float64)).gather(row)


def _exact(of: Lookup, key: pl.Expr) -> pl.Expr:
    numbers = of.key.kind == "number"
    rows = {
        float(at) if numbers else at: value
        for at, value in lookup_table(of).items()
        if isinstance(at, (int, float) if numbers else str)
    }
    dtype = pl.Float64 if of.kind == "number" else pl.String
    if not rows:
        return pl.lit(None, dtype=dtype)
    values = pl.Series([float(value) for value in rows.values()] if of.kind == "number" else list(rows.values()), dtype=dtype)
    return key.replace_strict(pl.Series(list(rows)), values, default=None, return_dtype=dtype)
