"""Outcomes of all rules of a rulebook for the rows of a frame."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any, NamedTuple

from stemlore.audit._aggregates import KEYS, MEMBER, completeness
from stemlore.audit._polars import pl
from stemlore.audit.columns import Columns, SubjectKind, translate
from stemlore.errors import DocumentError, Fault, RuleError
from stemlore.rules import Outcome, Rulebook
from stemlore.rules.nodes import Node

__all__ = ["ColumnRule", "counts", "judged", "outcomes"]

_PLACE = ("vehicle_id", "axle_number", "side", "place", "spare", "unstated")
_AROUND = ("axle_fitment", "vehicle_axle_count")
_STATED, _OF_SUBJECT = "is stated", "is subject"


class ColumnRule(NamedTuple):
    """A rule as columns are judged by: trees without spans and parameters."""

    name: str
    subject: SubjectKind
    when: Node | None
    check: Node
    spare: bool = False


def outcomes(frame: pl.DataFrame | pl.LazyFrame, book: Rulebook) -> pl.LazyFrame:
    """Return the outcome of every rule for every row, to be computed when it is collected.

    Parameters
    ----------
    frame : DataFrame or LazyFrame
        One row a wheel; see :func:`stemlore.audit.frame_of` for the columns.
        A column that is not there is missing in every row.
    book : Rulebook
        The rules in force.

    Returns
    -------
    LazyFrame
        What of vehicle, axle, side, place, spare there is, and a column a
        rule: 0 pass, 1 fail, 2 unknown, 3 not applicable. Null where the row
        is no subject of the rule: rules of a vehicle, axle or pair stand on
        its first row, and a spare is judged by rules for spares only.

    Raises
    ------
    RuleError
        If a rule's body is written in Python.
    DocumentError
        If a rule is about a vehicle or axle and no column tells which rows are one.
    """
    return judged(frame, _rules_of(book), book.on)


def counts(frame: pl.DataFrame | pl.LazyFrame, book: Rulebook) -> pl.DataFrame:
    """Return how often each rule passes, fails, is unknown, and is not applicable."""
    rules = _rules_of(book)
    words = [outcome.word.replace(" ", "_") for outcome in Outcome]
    made = judged(frame, rules, book.on)
    sums = [
        (pl.col(rule.name) == outcome.value).sum().alias(f"{outcome.value} {rule.name}")
        for rule in rules
        for outcome in Outcome
    ]
    if not sums:
        return pl.DataFrame(schema={"rule": pl.String, **dict.fromkeys(words, pl.Int64)})
    row = made.select(sums).collect().row(0)
    return pl.DataFrame(
        {
            "rule": [rule.name for rule in rules],
            **{word: row[index :: len(words)] for index, word in enumerate(words)},
        },
        schema={"rule": pl.String, **dict.fromkeys(words, pl.Int64)},
    )


def _rules_of(book: Rulebook) -> list[ColumnRule]:
    written = [each.rule.id for each in book.rules.values() if each.rule.body is not None and not each.reason]
    if written:
        raise RuleError(
            f"rules written in Python cannot be judged in columns: {', '.join(sorted(written))}",
            advice="check their jobs one by one",
        )
    return [
        ColumnRule(each.rule.id, each.rule.subject, each.when, each.check, each.rule.spare)
        for each in book.rules.values()
    ]


def judged(frame: pl.DataFrame | pl.LazyFrame, rules: Iterable[ColumnRule], day: date) -> pl.LazyFrame:
    """Return the outcome of some rules for every row; see :func:`outcomes`."""
    rules = list(rules)
    lazy = frame.lazy()
    schema = lazy.collect_schema()
    _check_keys(schema, rules)
    columns = Columns(schema, day)
    trees = [
        (
            rule,
            None if rule.when is None else translate(rule.when, columns, rule.subject),
            _check(rule, columns, schema),
        )
        for rule in rules
    ]
    subjects = columns.windows.subjects
    kinds = tuple(dict.fromkeys((*(rule.subject for rule in rules), *subjects)))
    lazy = lazy.select(*_keys(schema), *columns.cleaned())
    lazy = lazy.with_columns(*_marks(schema, kinds, bool(subjects)))
    for stage in (*completeness(subjects), *columns.windows.stages()):
        lazy = lazy.with_columns(*stage)
    kept = [pl.col(name) for name in _PLACE if name in schema]
    codes = [_outcome(when, check, rule, schema).alias(rule.name) for rule, when, check in trees]
    return lazy.select(*kept, *codes)


def _check_keys(schema: Mapping[str, Any], rules: list[ColumnRule]) -> None:
    grouped = [rule.name for rule in rules if rule.subject != "position"]
    if grouped and "vehicle_id" not in schema:
        fault = Fault(
            "vehicle_id", f"must be given, as {grouped[0]} is about more than one wheel", "add the column"
        )
        raise DocumentError("frame", [fault])


def _keys(schema: Mapping[str, Any]) -> list[pl.Expr]:
    names = (*_PLACE, *_AROUND)
    return [pl.col(name) if name in schema else _absent(name) for name in names]


def _absent(name: str) -> pl.Expr:
    if name in ("spare", "unstated"):
        return pl.lit(False).alias(name)
    return pl.lit(None, dtype=pl.Int64 if name in ("axle_number", "vehicle_axle_count") else pl.String).alias(
        name
    )


def _marks(schema: Mapping[str, Any], kinds: tuple[str, ...], windows: bool) -> list[pl.Expr]:
    """Return the columns that say which rows are subjects, and which may pass."""
    running = ~pl.col("spare").fill_null(False)
    told = ~pl.col("unstated").fill_null(False)
    out: list[pl.Expr] = []
    zero = pl.lit(0, dtype=pl.Int8)
    if windows:
        out.append((running & told).alias(MEMBER))
    for kind in kinds:
        match kind:
            case "position":
                first = running
            case "vehicle":
                first = pl.col("vehicle_id").is_first_distinct()
            case _:
                first = running & pl.struct(*KEYS[kind], running.alias("running")).is_first_distinct()
        if kind == "pair":
            first = first & _is_pair(told)
        # 0 or null: added to a code, it takes away what is no subject
        out.append(pl.when(first).then(zero).alias(f"{_OF_SUBJECT} {kind}"))
    # true or null: joined to a check by 'and', it takes away a pass and leaves a fail
    out += [pl.when(told).then(True).alias(f"{_STATED} {kind}") for kind in ("position", "pair")]
    out.append(pl.when(pl.col("axle_number").is_not_null()).then(True).alias(f"{_STATED} axle"))
    return out


def _is_pair(told: pl.Expr) -> pl.Expr:
    """Return whether a row has a twin, or stands for wheels that may have one."""
    twin = told & (pl.col("axle_fitment") == "dual").fill_null(False)
    alone = (told & (pl.col("place") == "single").fill_null(False)).any().over(KEYS["axle"])
    return twin | (~told & (pl.col("axle_number").is_null() | ~alone))


def _check(rule: ColumnRule, columns: Columns, schema: Mapping[str, Any]) -> pl.Expr:
    check = translate(rule.check, columns, rule.subject)
    if rule.subject == "axle" or (rule.subject in ("position", "pair") and "unstated" in schema):
        return check & pl.col(f"{_STATED} {rule.subject}")
    return check


def _outcome(when: pl.Expr | None, check: pl.Expr, rule: ColumnRule, schema: Mapping[str, Any]) -> pl.Expr:
    code = (~check).cast(pl.Int8).fill_null(2)
    if when is not None:
        code = pl.when(when).then(code).otherwise((when.cast(pl.Int8) + 3).fill_null(2))
    if rule.subject == "position" and (rule.spare or "spare" not in schema):
        return code
    return code + pl.col(f"{_OF_SUBJECT} {rule.subject}")
