"""Findings of one batch of rows: outcomes, figures and missing fields of every rule."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from concurrent.futures import Executor
from datetime import date
from typing import Any

import attrs

from stemlore.audit._bodies import FAULTS, Bodies
from stemlore.audit._missing import Pattern
from stemlore.audit._polars import pl
from stemlore.audit._shown import FIGURES, figures
from stemlore.audit._staged import StagedReader
from stemlore.audit.columns import Columns, Reader
from stemlore.audit.outcomes import ColumnRule, prepared
from stemlore.errors import RuleError, near_misses
from stemlore.rules import Outcome

__all__ = ["CARRIED", "FINDINGS", "OUTCOMES", "Judging", "Tally", "codes_of", "subject_words"]

OUTCOMES = tuple(outcome.word for outcome in Outcome)
FINDINGS: Mapping[str, Any] = {
    "row": pl.Int64,
    "vehicle_id": pl.String,
    "position": pl.String,
    "rule": pl.String,
    "outcome": pl.String,
    "measured": pl.Float64,
    "measured_word": pl.String,
    "limit": pl.Float64,
    "limit_word": pl.String,
    "margin": pl.Float64,
    "unit": pl.String,
    "gravity": pl.String,
    "missing": pl.List(pl.String),
}
"""The columns of the table of findings; ``vehicle_id`` has the source's type."""
CARRIED = ("row", "vehicle")
"""Columns that a batch brings with it beside those that rules read."""
_AT, _ORDER, _LIST = "at", "order", "list"
_KINDS = ("vehicle", "axle", "pair", "position")


@attrs.define
class Tally:
    """What is counted as batches go by."""

    outcomes: dict[str, list[int]] = attrs.field(factory=dict)
    missing: Counter[tuple[str, tuple[str, ...]]] = attrs.field(factory=Counter)
    rows: int = 0
    unjudged: int = 0
    faults: pl.DataFrame = attrs.field(factory=lambda: pl.DataFrame(schema=FAULTS))

    def add(self, rule: str, counts: Sequence[int]) -> None:
        """Add the outcomes of a rule."""
        held = self.outcomes.setdefault(rule, [0] * len(OUTCOMES))
        for index, count in enumerate(counts):
            held[index] += count


class _Rule:
    """A rule with its expressions."""

    def __init__(self, number: int, told: ColumnRule, reader: Reader) -> None:
        self.number = number
        self.told = told
        self.id = told.name
        self.kind = told.subject
        self.code = pl.col(self.id)
        self._shown, self._sought = StagedReader(reader), StagedReader(reader)
        self.figures = figures(told.shows, self._shown, self.code)
        trees = [tree for tree in (told.when, told.check) if tree is not None]
        self.pattern = Pattern(self._sought, trees, told.reads)
        self.bits = self.pattern.columns()

    def shown(self, judged: pl.LazyFrame, *also: pl.Expr) -> pl.LazyFrame:
        """Return what findings show for some rows."""
        return self._shown.add(judged).select(*also, *self.figures)

    def sought(self, judged: pl.LazyFrame) -> pl.LazyFrame:
        """Return the bits that tell what is missing, for rows of which the outcome is unknown."""
        return self._sought.add(judged).select(*self.bits)


class Judging:
    """The rules of a book, ready for batches of one schema.

    Parameters
    ----------
    schema : mapping
        Types by name of the columns, as they come out of the cells' cleaning.
    rules : sequence of ColumnRule
        The rules.
    day : date
        The day that ages count at.
    contiguous : bool
        Whether rows of a vehicle stand together.
    details : bool
        Whether figures and missing fields are asked for, or outcomes alone.
    stop : bool
        Whether a rule's Python body that raises stops the audit.
    pool : Executor or None
        Other processes for such bodies.
    """

    def __init__(
        self,
        schema: Mapping[str, Any],
        rules: Sequence[ColumnRule],
        day: date,
        *,
        contiguous: bool,
        details: bool = True,
        stop: bool = True,
        pool: Executor | None = None,
    ) -> None:
        columns = Columns(schema, day)
        readers = {kind: Reader(columns, kind) for kind in _KINDS}  # type: ignore[arg-type]
        self.rules: list[_Rule] = []
        if details:
            self.rules = [_Rule(number, each, readers[each.subject]) for number, each in enumerate(rules)]
        self.told = tuple(rules)
        self.names = [each.name for each in rules]
        self.kinds: Mapping[str, str] = {each.name: each.subject for each in rules}
        written = [
            (each.name, each.subject, each.spare, each.body) for each in rules if each.body is not None
        ]
        self._bodies = Bodies(written, day, stop, pool) if written else None
        self._stages = prepared(schema, list(rules), columns, contiguous=contiguous, also=CARRIED)
        self.faults = pl.DataFrame(schema=FAULTS)

    def judge(self, batch: pl.DataFrame) -> pl.DataFrame:
        """Return the rows with all that rules read, and a column of outcomes a rule.

        What raised is then in ``faults``.
        """
        lazy = batch.lazy().select(*self._stages[0])
        for stage in self._stages[1:]:
            lazy = lazy.with_columns(*stage)
        judged = lazy.collect().rechunk()
        if self._bodies is not None:
            judged, self.faults = self._bodies.add(judged, batch, subject_words)
        return judged

    def wide(self, judged: pl.DataFrame) -> pl.DataFrame:
        """Return the place of each row and its outcomes."""
        return judged.select(
            "row",
            pl.col("vehicle").alias("vehicle_id"),
            subject_words("position").alias("position"),
            *(pl.col(name).cast(pl.Int8) for name in self.names),
        )

    def counts(self, judged: pl.DataFrame) -> dict[str, tuple[int, ...]]:
        """Return how often each rule passes, fails, is unknown and does not apply."""
        sums = [
            (pl.col(name) == code).sum().alias(f"{code} {name}")
            for name in self.names
            for code in range(len(OUTCOMES))
        ]
        row = judged.select(sums).row(0) if sums else ()
        wide = len(OUTCOMES)
        return {name: row[at * wide : (at + 1) * wide] for at, name in enumerate(self.names)}

    def count_missing(self, judged: pl.DataFrame, counts: Mapping[str, Sequence[int]], tally: Tally) -> None:
        """Count which fields are missing where an outcome is unknown; no finding is made."""
        rules = [rule for rule in self.rules if counts[rule.id][Outcome.UNKNOWN]]
        made = [
            rule.sought(judged.lazy().filter(rule.code == Outcome.UNKNOWN)).group_by(pl.all()).len()
            for rule in rules
        ]
        for rule, counted in zip(rules, pl.collect_all(made), strict=True):
            for *bits, count in counted.iter_rows():
                tally.missing[rule.id, rule.pattern.lacking(bits)] += count

    def findings(
        self, judged: pl.DataFrame, counts: Mapping[str, Sequence[int]], wanted: Collection[int], tally: Tally
    ) -> pl.DataFrame:
        """Return the findings of some outcomes, row by row in the order of the rules."""
        rules = [rule for rule in self.rules if any(counts[rule.id][code] for code in wanted)]
        unsettled = [rule for rule in rules if Outcome.UNKNOWN in wanted and counts[rule.id][Outcome.UNKNOWN]]
        asked = [rule.sought(judged.lazy().filter(rule.code == Outcome.UNKNOWN)) for rule in unsettled]
        made_of = pl.collect_all([*(self._of(rule, judged, wanted) for rule in rules), *asked])
        found, silent = made_of[: len(rules)], dict(zip(unsettled, made_of[len(rules) :], strict=True))
        lists: dict[tuple[str, ...], int] = {}
        parts: dict[str, list[pl.DataFrame]] = {}
        for rule, frame in zip(rules, found, strict=True):
            column = pl.Series([None], dtype=pl.UInt32).new_from_index(0, frame.height)
            if rule in silent:
                column = column.scatter(
                    (frame["outcome"] == int(Outcome.UNKNOWN)).arg_true(),
                    self._lists(rule, silent[rule], lists, tally),
                )
            number = pl.lit(rule.number, dtype=pl.UInt16).alias("rule")
            parts.setdefault(rule.kind, []).append(frame.with_columns(column.alias(_LIST), number))
        if not parts:
            return pl.DataFrame(schema={**FINDINGS, "vehicle_id": judged.schema["vehicle"]})
        whole = []
        for kind, frames in parts.items():
            made = pl.concat(frames)
            words = judged.select(subject_words(kind).alias("position"))["position"]
            whole.append(made.with_columns(words.gather(made[_AT]).alias("position")))
        made = pl.concat(whole).sort(_ORDER)
        return self._named(made, judged, list(lists))

    def _of(self, rule: _Rule, judged: pl.DataFrame, wanted: Collection[int]) -> pl.LazyFrame:
        at = pl.int_range(pl.len(), dtype=pl.UInt32).alias(_AT)
        rows = judged.lazy().with_columns(at).filter(rule.code.is_in(list(wanted)))
        order = (pl.col(_AT).cast(pl.UInt64) * len(self.rules) + rule.number).alias(_ORDER)
        return rule.shown(rows, pl.col(_AT), order, rule.code.cast(pl.UInt8).alias("outcome"))

    def _lists(
        self, rule: _Rule, silent: pl.DataFrame, lists: dict[tuple[str, ...], int], tally: Tally
    ) -> pl.Series:
        """Return for each row that is not known the number of its list of fields, and count them."""
        numbers: dict[tuple[int, ...], int] = {}
        names = silent.columns
        counted = silent.group_by(names).len()
        for *bits, count in counted.iter_rows():
            paths = rule.pattern.lacking(bits)
            tally.missing[rule.id, paths] += count
            numbers[tuple(bits)] = lists.setdefault(paths, len(lists))
        known = counted.select(names).with_columns(
            pl.Series("list", [numbers[row] for row in counted.select(names).iter_rows()], dtype=pl.UInt32)
        )
        return silent.join(known, on=names, how="left", maintain_order="left")["list"]

    def _named(self, made: pl.DataFrame, judged: pl.DataFrame, lists: list[tuple[str, ...]]) -> pl.DataFrame:
        at, number = made[_AT], made["rule"]
        units = [_unit_of(rule.told) for rule in self.rules]
        words: dict[str, list[str | None]] = {
            "rule": [rule.id for rule in self.rules],
            "unit": units,
            "gravity": [rule.told.gravity for rule in self.rules],
        }
        named = {
            name: pl.Series(name, values, dtype=pl.String).gather(number) for name, values in words.items()
        }
        fields = pl.Series([list(paths) for paths in lists], dtype=pl.List(pl.String))
        missing = fields.gather(made[_LIST]) if lists else pl.Series([None] * made.height, dtype=fields.dtype)
        columns = {
            "row": judged["row"].gather(at),
            "vehicle_id": judged["vehicle"].gather(at),
            "position": made["position"],
            "outcome": pl.Series(OUTCOMES, dtype=pl.String).gather(made["outcome"]),
            "missing": missing,
            **named,
            **{name: made[name] for name in FIGURES},
        }
        return pl.DataFrame({name: columns[name] for name in FINDINGS})


def _unit_of(told: ColumnRule) -> str | None:
    unit = None if told.shows is None else told.shows.measured.unit
    return None if unit is None else unit.symbol


def subject_words(kind: str) -> pl.Expr:
    """Return the subject of each row in words, as a finding of the counter prints it."""
    number = pl.col("axle_number")
    axle = pl.format("axle {}", number)
    untold: Any = pl.when(number.is_not_null()).then(pl.format("axle {}, wheels not stated", number))
    untold = untold.otherwise(pl.lit("wheels not stated"))
    if kind == "vehicle":
        # of one value a row, which a literal alone is not
        return pl.when(number.is_null()).then(pl.lit("vehicle")).otherwise(pl.lit("vehicle"))
    if kind == "axle":
        return pl.when(number.is_not_null()).then(axle).otherwise(pl.lit("wheels not stated"))
    told = ~pl.col("unstated").fill_null(False)
    if kind == "pair":
        return pl.when(told).then(pl.format("axle {} {}, pair", number, pl.col("side"))).otherwise(untold)
    twin = pl.col("place").is_in(["inner", "outer"])
    plain = pl.format("axle {} {}", number, pl.col("side"))
    place: Any = pl.when(twin).then(pl.format("axle {} {} {}", number, pl.col("side"), pl.col("place")))
    place = place.otherwise(plain)
    spare = pl.col("spare").fill_null(False)
    return pl.when(spare).then(pl.lit("spare")).when(told).then(place).otherwise(untold)


def codes_of(outcomes: tuple[str, ...]) -> tuple[int, ...]:
    """Return the codes of outcomes in words.

    Raises
    ------
    RuleError
        If an outcome is none.
    """
    for word in outcomes:
        if word not in OUTCOMES:
            near = near_misses(word, OUTCOMES)
            raise RuleError(
                f"{word!r} is no outcome",
                advice=f"did you mean {near[0]!r}?" if near else f"one of {', '.join(OUTCOMES)}",
            )
    return tuple(OUTCOMES.index(word) for word in outcomes)
