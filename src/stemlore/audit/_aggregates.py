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

__all__ = ["FIRST", "MEMBER", "RUNNING", "TOLD", "Windows"]

MEMBER, RUNNING, TOLD, ROW = "is member", "is running", "is told", "row of batch"
COMPLETE, FIRST = "all members", "is first"
KEYS: Mapping[str, tuple[str, ...]] = {
    "vehicle": ("vehicle_id",),
    "axle": ("vehicle_id", "axle_number"),
    "pair": ("vehicle_id", "axle_number", "side"),
}
_RUNS: Mapping[str, tuple[str, ...]] = {subject: (f"run {subject}",) for subject in KEYS}
_EXPECTED = {"single": 2, "dual": 4, "centre": 1}
_IN_PAIR = 2
_SIDES = ("left", "centre", "right")


class Windows:
    """The aggregates that trees asked for, each once: what each row brings in, then what comes of it.

    Booleans and words are brought in as numbers, as Polars takes five to ten
    times as long over groups of them. Windows over the same groups stand in
    one stage, so that the groups are formed once.
    """

    def __init__(self) -> None:
        self._known: dict[tuple[Aggregate, str], pl.Expr] = {}
        self._brought: dict[str, pl.Expr] = {}
        self._over: dict[str, tuple[str, pl.Expr]] = {}
        self._subjects: dict[str, None] = {}

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
            self._subjects[subject] = None
            if of.how in ("every", "some"):
                made = self._condition(of.how, subject, member)
            else:
                made = self._values(of, subject, member)
            self._known[of, subject] = made
        return made

    def stages(self, kinds: Collection[str], *, contiguous: bool) -> list[list[pl.Expr]]:
        """Return the columns to add, stage by stage.

        Parameters
        ----------
        kinds : collection of str
            The kinds of subject whose first rows are asked for.
        contiguous : bool
            Whether all rows of a vehicle stand together.
        """
        if not self._over and not {"axle", "pair"} & set(kinds):
            return []
        keys = _RUNS if contiguous else KEYS
        first = [expr.alias(name) for name, expr in self._brought.items()]
        first.append(pl.int_range(pl.len(), dtype=pl.UInt32).alias(ROW))
        narrow, wide = _firsts(kinds, keys), []
        counted, whole = _completeness(self._subjects, keys)
        narrow += counted
        wide += whole
        for name, (subject, expr) in self._over.items():
            (wide if subject == "vehicle" else narrow).append(expr.over(keys[subject]).alias(name))
        stages = [*(_runs() if contiguous else ()), first, narrow, wide]
        return [stage for stage in stages if stage]

    def any_of(self, holds: pl.Expr, subject: str) -> pl.Expr:
        """Return whether something holds of any row of a subject; a row of which it is not known counts not.

        Parameters
        ----------
        holds : Expr
            What is asked of each row.
        subject : str
            Kind of subject.
        """
        own = self._bring(holds.fill_null(False).cast(pl.Int8))
        return self._window(own.max(), subject) == 1

    def complete(self, subject: str) -> pl.Expr:
        """Return whether a subject has a row for every wheel that its fitment demands."""
        self._subjects[subject] = None
        return _complete(subject)

    def _bring(self, expr: pl.Expr) -> pl.Expr:
        name = f"brought {len(self._brought)}"
        self._brought[name] = expr
        return pl.col(name)

    def _window(self, expr: pl.Expr, subject: str) -> pl.Expr:
        name = f"over {subject} {len(self._over)}"
        self._over[name] = (subject, expr)
        return pl.col(name)

    def _condition(self, how: str, subject: str, holds: pl.Expr) -> pl.Expr:
        every = how == "every"
        settling = ~holds if every else holds
        # 2 = this member settles it, 1 = not known of it, 0 = neither
        code = (settling.cast(pl.Int8) * 2).fill_null(1)
        own = self._bring(pl.when(pl.col(MEMBER)).then(code).otherwise(pl.lit(0, dtype=pl.Int8)))
        most = self._window(own.max(), subject)
        return pl.when(most == 2).then(not every).when((most == 0) & _complete(subject)).then(every)

    def _values(self, of: Aggregate, subject: str, value: pl.Expr) -> pl.Expr:
        member = pl.col(MEMBER)
        if of.of.kind == "word":
            value = value.cast(pl.Categorical).to_physical()
        elif of.of.kind == "flag":
            value = value.cast(pl.Int8)
        own = self._bring(pl.when(member).then(value))
        least, most = self._window(own.min(), subject), self._window(own.max(), subject)
        if of.how == "spread_low":
            return finite(most - least)
        silent = self._bring((member & value.is_null()).cast(pl.Int8))
        all_known = _complete(subject) & (self._window(silent.max(), subject) == 0)
        if of.how == "same":
            return pl.when(least != most).then(False).when(all_known & least.is_not_null()).then(True)
        return pl.when(all_known).then(finite(most - least))


def _complete(subject: str) -> pl.Expr:
    return pl.col(f"{COMPLETE} {subject}")


def _runs() -> list[list[pl.Expr]]:
    """Return one number for each vehicle, axle and pair, of rows that stand together by vehicle."""
    vehicle = pl.col("vehicle_id")
    changes = vehicle.ne_missing(vehicle.shift())
    run = changes.cast(pl.Int64).cum_sum().set_sorted()
    side = pl.col("side").replace_strict(
        list(_SIDES), range(len(_SIDES)), default=len(_SIDES), return_dtype=pl.Int64
    )
    axle = pl.col("run vehicle") * 1000 + pl.col("axle_number").cast(pl.Int64).fill_null(0)
    return [
        [run.alias("run vehicle")],
        [axle.alias("run axle")],
        [(pl.col("run axle") * 4 + side).alias("run pair")],
    ]


def _firsts(kinds: Collection[str], keys: Mapping[str, tuple[str, ...]]) -> list[pl.Expr]:
    """Return the columns that say which row is the first of an axle or pair."""
    row, told = pl.col(ROW), pl.col(TOLD)
    out = []
    for kind in ("axle", "pair"):
        if kind not in kinds:
            continue
        least = pl.when(pl.col(RUNNING)).then(row).min().over(keys[kind])
        first = (row == least).fill_null(False)
        if kind == "pair":  # a row that has a twin, or stands for wheels that may have one
            twin = told & (pl.col("axle_fitment") == "dual").fill_null(False)
            single = told & (pl.col("place") == "single").fill_null(False)
            alone = single.cast(pl.Int8).max().over(keys["axle"]) == 1
            first = first & (twin | (~told & (pl.col("axle_number").is_null() | ~alone)))
        out.append(first.alias(f"{FIRST} {kind}"))
    return out


def _completeness(
    subjects: Collection[str], keys: Mapping[str, tuple[str, ...]]
) -> tuple[list[pl.Expr], list[pl.Expr]]:
    """Return the columns that say which pairs and axles, then which vehicles, have all their wheels."""
    count = pl.col(MEMBER).cast(pl.Int32).sum()
    narrow: list[pl.Expr] = []
    if "pair" in subjects:
        narrow.append((count.over(keys["pair"]) == _IN_PAIR).alias(f"{COMPLETE} pair"))
    if "axle" in subjects or "vehicle" in subjects:
        expected = _by_fitment(_EXPECTED)
        narrow.append((count.over(keys["axle"]) == expected).fill_null(False).alias(f"{COMPLETE} axle"))
    if "vehicle" not in subjects:
        return narrow, []
    # each axle weighs 4, shared out among its wheels, so that axles need not be told apart again
    share = _by_fitment({word: 4 // count for word, count in _EXPECTED.items()})
    weight = pl.when(pl.col(MEMBER)).then(share).sum().over(keys["vehicle"])
    stray = (pl.col(MEMBER) & ~_complete("axle")).cast(pl.Int8).max().over(keys["vehicle"])
    told = (weight == 4 * pl.col("vehicle_axle_count").cast(pl.Int32)) & (stray == 0)
    return narrow, [told.fill_null(False).alias(f"{COMPLETE} vehicle")]


def _by_fitment(numbers: Mapping[str, int]) -> pl.Expr:
    out: Any = pl
    for word, number in numbers.items():
        out = out.when(pl.col("axle_fitment") == word).then(pl.lit(number, dtype=pl.Int32))
    return out.otherwise(pl.lit(None, dtype=pl.Int32))  # type: ignore[no-any-return]
