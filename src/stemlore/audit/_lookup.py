"""Reference tables read in columns."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

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
    rows = _Rows(keys, values)
    read = rows.stepped if of.how == "stepped" else rows.interpolated
    return key.map_batches(read, return_dtype=pl.Float64, is_elementwise=True)


class _Rows:
    """Keys in order with their values, as series."""

    def __init__(self, keys: Sequence[float], values: Sequence[float]) -> None:
        self.keys = pl.Series(keys, dtype=pl.Float64)
        self.values = pl.Series(values, dtype=pl.Float64)
        # from each row to the next; beyond the last there is nothing to share out
        self.rise = pl.Series([b - a for a, b in pairwise(values)] + [0.0], dtype=pl.Float64)
        self.run = pl.Series([b - a for a, b in pairwise(keys)] + [1.0], dtype=pl.Float64)

    def stepped(self, at: pl.Series) -> pl.Series:
        """Return the value of the greatest key not above."""
        return self.values.gather(self._row(at)).alias(at.name)

    def interpolated(self, at: pl.Series) -> pl.Series:
        """Return the value between two rows in proportion."""
        row = self._row(at)
        more = (at - self.keys.gather(row)) * self.rise.gather(row) / self.run.gather(row)
        made = self.values.gather(row) + more
        return made.set(~made.is_finite(), None).alias(at.name)

    def _row(self, at: pl.Series) -> pl.Series:
        """Return the row of the greatest key not above; null outside the table."""
        row = self.keys.search_sorted(at, side="right").cast(pl.Int64) - 1
        outside = at.is_null() | (row < 0) | (at > self.keys.max())
        return row.set(outside, None)


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
    values = pl.Series(
        [float(value) for value in rows.values()] if of.kind == "number" else list(rows.values()), dtype=dtype
    )
    return key.replace_strict(pl.Series(list(rows)), values, default=None, return_dtype=dtype)
