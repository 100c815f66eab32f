"""Outcomes of all rules of a rulebook for the rows of a frame."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date
from typing import Any, NamedTuple

from stemlore.audit._aggregates import FIRST, MEMBER, RUNNING, TOLD
from stemlore.audit._polars import pl
from stemlore.audit._staged import StagedReader
from stemlore.audit.columns import Columns, Reader, SubjectKind
from stemlore.errors import DocumentError, Fault, RuleError
from stemlore.rules import Outcome, Rulebook
from stemlore.rules.nodes import Constant, Node
from stemlore.rules.rule import Shown

__all__ = ["ColumnRule", "column_rules", "counts", "judged", "outcomes", "prepared"]

_PLACE = ("vehicle_id", "axle_number", "side", "place", "spare", "unstated")
_AROUND = ("axle_fitment", "vehicle_axle_count")
_STATED, _OF_SUBJECT = "is stated", "is subject"


class ColumnRule(NamedTuple):
    """A rule as columns are judged by: trees without spans and parameters, and nothing of its pack.

    It can be sent to another process. A rule with a Python body has that and
    the fields it reads; where its condition holds, the check says no more.
    """

    name: str
    subject: SubjectKind
    when: Node | None
    check: Node
    spare: bool = False
    shows: Shown | None = None
    title: str = ""
    gravity: str = ""
    body: Callable[[Any], bool | None] | None = None
    reads: tuple[str, ...] = ()


def outcomes(frame: pl.DataFrame | pl.LazyFrame, book: Rulebook, *, contiguous: bool = False) -> pl.LazyFrame:
    """Return the outcome of every rule for every row, to be computed when it is collected.

    Parameters
    ----------
    frame : DataFrame or LazyFrame
        One row a wheel; see :func:`stemlore.audit.frame_of` for the columns.
        A column that is not there is missing in every row.
    book : Rulebook
        The rules in force.
    contiguous : bool
        Whether all rows of a vehicle stand together, which is then relied on
        and makes rules of vehicles and axles faster.

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
    return judged(frame, _rules_of(book), book.on, contiguous=contiguous)


def counts(frame: pl.DataFrame | pl.LazyFrame, book: Rulebook, *, contiguous: bool = False) -> pl.DataFrame:
    """Return how often each rule passes, fails, is unknown, and is not applicable."""
    rules = _rules_of(book)
    words = [outcome.word.replace(" ", "_") for outcome in Outcome]
    made = judged(frame, rules, book.on, contiguous=contiguous)
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


def column_rules(book: Rulebook) -> list[ColumnRule]:
    """Return the rules of a book as columns are judged by."""
    out = []
    for each in book.rules.values():
        rule = each.rule
        body = None if each.reason else rule.body
        out.append(
            ColumnRule(
                rule.id,
                rule.subject,
                each.when,
                each.check if body is None else Constant(True, "flag"),
                rule.spare,
                each.shows,
                rule.title,
                rule.gravity.value,
                body,
                () if body is None else tuple(rule.reads),
            )
        )
    return out


def _rules_of(book: Rulebook) -> list[ColumnRule]:
    rules = column_rules(book)
    written = sorted(each.name for each in rules if each.body is not None)
    if written:
        raise RuleError(
            f"rules written in Python cannot be judged in columns: {', '.join(written)}",
            advice="audit_fleet runs them vehicle by vehicle",
        )
    return rules


def judged(
    frame: pl.DataFrame | pl.LazyFrame, rules: Iterable[ColumnRule], day: date, *, contiguous: bool = False
) -> pl.LazyFrame:
    """Return the outcome of some rules for every row; see :func:`outcomes`."""
    rules = list(rules)
    lazy = frame.lazy()
    schema = lazy.collect_schema()
    columns = Columns(schema, day)
    first, *stages = prepared(schema, rules, columns, contiguous=contiguous)
    lazy = lazy.select(*first)
    for stage in stages:
        lazy = lazy.with_columns(*stage)
    return lazy.select(*(name for name in _PLACE if name in schema), *(rule.name for rule in rules))


def prepared(
    schema: Mapping[str, Any],
    rules: list[ColumnRule],
    columns: Columns,
    *,
    contiguous: bool,
    also: Sequence[str] = (),
) -> list[list[pl.Expr]]:
    """Return what to select first, then what to add, stage by stage; the last are the rules' outcomes.

    To be asked for once all else is translated that is to be read: only then is it known what is.
    """
    _check_keys(schema, rules)
    kinds = tuple(dict.fromkeys(rule.subject for rule in rules))
    readers = {kind: StagedReader(Reader(columns, kind), choices_only=True) for kind in kinds}
    codes = [_outcome(rule, readers[rule.subject], schema).alias(rule.name) for rule in rules]
    stages = [
        [*(pl.col(name) for name in also), *_keys(schema), *columns.cleaned()],
        _marks(),
        *columns.windows.stages(kinds, contiguous=contiguous),
        _subjects(kinds, contiguous=contiguous),
        *(stage for reader in readers.values() for stage in reader.stages),
        codes,
    ]
    return [stage for stage in stages if stage]


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


def _marks() -> list[pl.Expr]:
    """Return the columns that say which rows are wheels told of that run on the road."""
    running, told = ~pl.col("spare").fill_null(False), ~pl.col("unstated").fill_null(False)
    return [running.alias(RUNNING), told.alias(TOLD), (running & told).alias(MEMBER)]


def _subjects(kinds: tuple[str, ...], *, contiguous: bool) -> list[pl.Expr]:
    """Return the columns that say which rows are subjects, and which may pass."""
    vehicle = pl.col("vehicle_id")
    firsts = {
        "position": pl.col(RUNNING),
        "vehicle": vehicle.ne_missing(vehicle.shift()) if contiguous else vehicle.is_first_distinct(),
    }
    out: list[pl.Expr] = []
    for kind in kinds:
        first = firsts[kind] if kind in firsts else pl.col(f"{FIRST} {kind}")
        # 0 or null: added to a code, it takes away what is no subject
        out.append(pl.when(first).then(pl.lit(0, dtype=pl.Int8)).alias(f"{_OF_SUBJECT} {kind}"))
        # true or null: joined to a check by 'and', it takes away a pass and leaves a fail
        stated = pl.col("axle_number").is_not_null() if kind == "axle" else pl.col(TOLD)
        out.append(pl.when(stated).then(True).alias(f"{_STATED} {kind}"))
    return out


def _outcome(rule: ColumnRule, reader: Reader, schema: Mapping[str, Any]) -> pl.Expr:
    check = reader.read(rule.check)
    if rule.subject == "axle" or (rule.subject != "vehicle" and "unstated" in schema):
        check = check & pl.col(f"{_STATED} {rule.subject}")
    code = (~check).cast(pl.Int8).fill_null(2)
    if rule.when is not None:
        when = reader.read(rule.when)
        code = pl.when(when).then(code).otherwise((when.cast(pl.Int8) + 3).fill_null(2))
    if rule.subject == "position" and (rule.spare or "spare" not in schema):
        return code
    return code + pl.col(f"{_OF_SUBJECT} {rule.subject}")
