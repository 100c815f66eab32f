"""Measured, limit and margin in columns: the same doubles as :mod:`stemlore.rules._figures` gives."""

from __future__ import annotations

from typing import Any

from stemlore.audit._arithmetic import quotient
from stemlore.audit._polars import pl
from stemlore.audit.columns import Reader
from stemlore.rules._figures import _ROUGH, _WHOLE, shown_nodes
from stemlore.rules.nodes import Node
from stemlore.rules.rule import Outcome, Shown

__all__ = ["FIGURES", "figures"]

FIGURES = ("measured", "measured_word", "limit", "limit_word", "margin")
_NUMBER, _WORD = pl.lit(None, dtype=pl.Float64), pl.lit(None, dtype=pl.String)


def figures(shows: Shown | None, reader: Reader, code: pl.Expr) -> list[pl.Expr]:
    """Return the columns :data:`FIGURES` of one rule.

    Parameters
    ----------
    shows : Shown or None
        What its findings show.
    reader : Reader
        Reads trees for its kind of subject.
    code : Expr
        Its outcomes.
    """
    if shows is None:
        return _named(_NUMBER, _WORD, _NUMBER, _WORD, _NUMBER)
    nodes = shown_nodes(shows)
    columns: list[Any] = [None if node is None else reader.read(node) for node in nodes]
    low, high, limit, upper = columns
    passes = code == Outcome.PASS
    margin = _NUMBER
    match shows.side:
        case "most":
            measured = low if low is high else pl.when(passes).then(high).otherwise(low)
            if _numbers(*nodes[:3]):
                margin = _less(limit, measured)
        case "least":
            measured = low if low is high else pl.when(passes).then(low).otherwise(high)
            if _numbers(*nodes[:3]):
                margin = _less(measured, limit)
        case "between":
            measured = low
            if upper is not None and _numbers(*nodes):
                below, above = _less(measured, limit), _less(upper, measured)
                margin = pl.when(below <= above).then(below).when(below > above).then(above)
                limit = pl.when((below > above).fill_null(False)).then(upper).otherwise(limit)
        case _:
            measured = low
    if shows.apart:
        against = pl.when(passes).then(margin < 0).otherwise(margin > 0)
        margin = pl.when(~against).then(margin)
    margin = pl.when(code <= Outcome.FAIL).then(margin)
    if low is not high:
        measured = pl.coalesce(measured, high)
    return _named(*_typed(measured, nodes[0]), *_typed(limit, nodes[2]), margin)


def _named(*columns: pl.Expr) -> list[pl.Expr]:
    return [column.alias(name) for column, name in zip(columns, FIGURES, strict=True)]


def _numbers(*nodes: Node | None) -> bool:
    return all(node is not None and node.kind == "number" for node in nodes)


def _typed(value: pl.Expr, node: Node | None) -> tuple[pl.Expr, pl.Expr]:
    """Return a value as a number and as a word, one of which is null."""
    if node is None or node.kind == "number":
        return value, _WORD
    return _NUMBER, value.cast(pl.String)


def _less(a: pl.Expr, b: pl.Expr) -> pl.Expr:
    """Return a - b, to the millionth that both are held to."""
    fine: Any = (a.abs() < _ROUGH) & (b.abs() < _ROUGH)
    # what each row brings keeps Polars from folding the two roundings into one
    steps = (a * 1e6 + _WHOLE - _WHOLE) - (b * 1e6 + _WHOLE - _WHOLE)
    return pl.when(fine).then(quotient(steps, pl.lit(1e6))).otherwise(a - b)
