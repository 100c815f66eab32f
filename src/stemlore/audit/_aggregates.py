"""Aggregates over the wheels of a pair, an axle or a vehicle, as windows.

Carried spares and rows that stand for wheels not told of are no members. A
subject is complete where every wheel that its fitment demands has a row.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Any

from stemlore.audit._arithmetic import finite
from stemlore.audit._polars import pl
from stemlore.rules.nodes import Aggregate

__all__ = ["COMPLETE", "KEYS", "MEMBER", "Windows", "completeness"]

MEMBER = "is member"
COMPLETE = "all members"
KEYS: Mapping[str, tuple[str, ...]] = {
    "vehicle": ("vehicle_id",),
    "axle": ("vehicle_id", "axle_number"),
    "pair": ("vehicle_id", "axle_number", "side"),
}
_EXPECTED = {"single": 2, "dual": 4, "centre": 1}
_IN_PAIR = 2


class Windows:
    """The aggregates that trees asked for, each once: what each row brings in, then what comes of it."""

    def __init__(self) -> None:
        self._known: dict[tuple[Aggregate, str], pl.Expr] = {}
        self._brought: dict[str, pl.Expr] = {}
        self._over: dict[str, pl.Expr] = {}
        self.subjects: dict[str, None] = {}

    def column(self, of: Aggregate, subject: str, member: pl.Expr) -> pl.Expr:
        """Return what an aggregate comes to, asking for its windows.

        Parameters
        ----------
        of : Aggregate
            The node.
        subject : str
            Whose members it runs over.
        member : Expr
            What the node takes of each member.
        """
        made = self._known.get((of, subject))
        if made is None:
            self.subjects[subject] = None
            of_all = self._condition if of.how in ("every", "some") else self._values
            made = self._known[of, subject] = of_all(of.how, subject, member)
        return made

    def stages(self) -> list[list[pl.Expr]]:
        """Return the columns to add, stage by stage."""
        return [
            [expr.alias(name) for name, expr in stage.items()]
            for stage in (self._brought, self._over)
            if stage
        ]

    def _bring(self, expr: pl.Expr) -> pl.Expr:
        name = f"brought {len(self._brought)}"
        self._brought[name] = expr
        return pl.col(name)

    def _window(self, expr: pl.Expr, subject: str) -> pl.Expr:
        name = f"over {subject} {len(self._over)}"
        self._over[name] = expr.over(KEYS[subject])
        return pl.col(name)

    def _condition(self, how: str, subject: str, holds: pl.Expr) -> pl.Expr:
        every = how == "every"
        settling = ~holds if every else holds
        # 2 = this member settles it, 1 = not known of it, 0 = neither
        code = (settling.cast(pl.Int8) * 2).fill_null(1)
        own = self._bring(pl.when(pl.col(MEMBER)).then(code).otherwise(pl.lit(0, dtype=pl.Int8)))
        most = self._window(own.max(), subject)
        return pl.when(most == 2).then(not every).when((most == 0) & _complete(subject)).then(every)

    def _values(self, how: str, subject: str, value: pl.Expr) -> pl.Expr:
        member = pl.col(MEMBER)
        own = self._bring(pl.when(member).then(value))
        least, most = self._window(own.min(), subject), self._window(own.max(), subject)
        if how == "spread_low":
            return finite(most - least)
        silent = self._bring(member & value.is_null())
        all_known = _complete(subject) & ~self._window(silent.any(), subject)
        if how == "same":
            return pl.when(least != most).then(False).when(all_known & least.is_not_null()).then(True)
        return pl.when(all_known).then(finite(most - least))


def _complete(subject: str) -> pl.Expr:
    return pl.col(f"{COMPLETE} {subject}")


def completeness(subjects: Collection[str]) -> list[list[pl.Expr]]:
    """Return, stage by stage, the columns that say which subjects have all their wheels."""
    first: list[pl.Expr] = []
    if "pair" in subjects:
        first.append((_count("pair") == _IN_PAIR).alias(f"{COMPLETE} pair"))
    if "axle" in subjects or "vehicle" in subjects:
        expected = _by_fitment(_EXPECTED)
        first.append((_count("axle") == expected).fill_null(False).alias(f"{COMPLETE} axle"))
    if "vehicle" not in subjects:
        return [first] if first else []
    whole = pl.col(f"{COMPLETE} axle")
    # each axle weighs 4, shared out among its wheels, so that axles need not be told apart again
    share = pl.when(pl.col(MEMBER)).then(_by_fitment({word: 4 // count for word, count in _EXPECTED.items()}))
    told = share.sum().over(KEYS["vehicle"]) == 4 * pl.col("vehicle_axle_count").cast(pl.Int32)
    strays = (pl.col(MEMBER) & ~whole).any().over(KEYS["vehicle"])
    return [first, [(told & ~strays).fill_null(False).alias(f"{COMPLETE} vehicle")]]


def _by_fitment(numbers: Mapping[str, int]) -> pl.Expr:
    out: Any = pl
    for word, number in numbers.items():
        out = out.when(pl.col("axle_fitment") == word).then(pl.lit(number, dtype=pl.Int32))
    return out.otherwise(pl.lit(None, dtype=pl.Int32))  # type: ignore[no-any-return]


def _count(subject: str) -> pl.Expr:
    return pl.col(MEMBER).sum().cast(pl.Int32).over(KEYS[subject])
