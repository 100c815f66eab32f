"""A fleet's outcomes by vehicle, place, model, age."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Any

from stemlore.audit._books import TIES
from stemlore.audit._judging import OUTCOMES
from stemlore.audit._passes import Judged, Part, Passes
from stemlore.audit._polars import pl
from stemlore.audit._tables import KEPT
from stemlore.audit.columns import LAW_DAY
from stemlore.errors import ColumnError, near_misses
from stemlore.rules import Gravity, Outcome, Rulebook

__all__ = ["VEHICLES", "grouped", "vehicles_of"]

_GRAVITIES = tuple(each.value for each in Gravity)
VEHICLES: Mapping[str, Any] = {
    "row": pl.Int64,
    "vehicle_id": pl.String,
    "rows": pl.Int64,
    **{f"fail_{each}": pl.Int64 for each in _GRAVITIES},
    **{f"unknown_{each}": pl.Int64 for each in _GRAVITIES},
    "pass": pl.Int64,
    "faults": pl.Int64,
    "covered": pl.Boolean,
    "outcome": pl.String,
}
"""The columns of the table of vehicles; ``row`` is its first, ``vehicle_id`` has the source's type."""
_COUNTS = [name for name in VEHICLES if name.startswith(("fail", "unknown", "pass", "faults"))]
_OF_RULE = ("rule", "gravity")
_AGES = {"age": "vehicle_first_registration", "tyre_age": "tyre_manufactured"}


def vehicles_of(judged: Judged, books: Sequence[Rulebook]) -> pl.DataFrame:
    """Return a row a vehicle of a batch."""
    made = [_vehicles(part, books[part.lot].coverage.complete) for part in judged.parts]
    if judged.unjudged.height:
        lost = judged.unjudged.group_by("vehicle_id", maintain_order=True).agg(
            pl.col("row").first(), pl.col("vehicle").first().alias("id"), pl.len().alias("rows")
        )
        counts = [
            name for name, dtype in VEHICLES.items() if dtype == pl.Int64 and name not in ("row", "rows")
        ]
        zeros = [pl.lit(0, dtype=pl.Int64).alias(name) for name in counts]
        told = lost.select(
            "row", pl.col("id").alias("vehicle_id"), pl.col("rows").cast(pl.Int64), *zeros,
            covered=pl.lit(False), outcome=pl.lit("not judged"),
        )  # fmt: skip
        made.append(told.select(list(VEHICLES)))
    if not made:
        ids = judged.unjudged.schema["vehicle"]
        return pl.DataFrame(schema={**VEHICLES, "vehicle_id": ids})
    return made[0] if len(made) == 1 else pl.concat(made).sort("row", maintain_order=True)


def _vehicles(part: Part, covered: bool) -> pl.DataFrame:
    names: dict[str, list[str]] = {each: [] for each in _GRAVITIES}
    for rule in part.judging.told:
        names[rule.gravity].append(rule.name)

    def count(rules: Sequence[str], code: int) -> pl.Expr:
        held = [(pl.col(name) == code).cast(pl.Int64) for name in rules]
        return pl.sum_horizontal(held) if held else pl.lit(0, dtype=pl.Int64)

    rows = part.judged.select(
        "row",
        "vehicle",
        *(count(names[each], Outcome.FAIL).alias(f"fail_{each}") for each in _GRAVITIES),
        *(count(names[each], Outcome.UNKNOWN).alias(f"unknown_{each}") for each in _GRAVITIES),
        count(part.judging.names, Outcome.PASS).alias("pass"),
        pl.col("row").is_in(part.judging.faults["row"].implode()).cast(pl.Int64).alias("faults"),
        key=pl.col("vehicle_id") if "vehicle_id" in part.judged.columns else pl.col("row"),
    )
    made = rows.group_by("key", maintain_order=True).agg(
        pl.col("row").first(),
        pl.col("vehicle").first().alias("vehicle_id"),
        pl.len().cast(pl.Int64).alias("rows"),
        *(pl.col(name).sum().fill_null(0) for name in _COUNTS),
    )
    binding = [each for each in _GRAVITIES if each != Gravity.ADVISE.value]
    fails = pl.sum_horizontal(f"fail_{each}" for each in binding) > 0
    unknown = pl.sum_horizontal(f"unknown_{each}" for each in binding) > 0
    settled = ~unknown & (pl.col("pass") > 0) & (pl.col("faults") == 0) & covered
    outcome = pl.when(fails).then(pl.lit("fails")).when(settled).then(pl.lit("clean"))
    return made.with_columns(
        covered=pl.lit(covered), outcome=outcome.otherwise(pl.lit("not settled"))
    ).select(list(VEHICLES))


def grouped(passes: Passes, wanted: Sequence[Sequence[str]]) -> list[pl.DataFrame]:
    """Return for each list of names how often rules pass, fail, are unknown and do not apply, in one pass.

    Raises
    ------
    ColumnError
        If the fleet has no such column.
    """
    for by in wanted:
        for name in by:
            _known(name, passes)
    tallies: list[Counter[tuple[Any, ...]]] = [Counter() for _ in wanted]
    types: dict[str, Any] = {}
    for judged in passes.judged(details=False):
        for part in judged.parts:
            for by, tally in zip(wanted, tallies, strict=True):
                _count(part, by, passes, tally, types)
    return [_table(by, tally, types) for by, tally in zip(wanted, tallies, strict=True)]


def _known(name: str, passes: Passes) -> None:
    fields = [each for each in passes.reader.schema if each not in ("row", "vehicle", "vehicle_id")]
    known = [*_OF_RULE, *TIES, *_AGES, *(each.removeprefix(KEPT) for each in fields)]
    if name not in known:
        near = near_misses(name, known)
        raise ColumnError(
            f"nothing of the fleet is called {name!r}",
            advice=f"did you mean {near[0]!r}?" if near else "name it under keep in the mapping",
        )
    needed = _AGES.get(name)
    if needed and f"{needed}_earliest" not in fields:
        raise ColumnError(f"{name} is counted from {needed}, which the fleet does not tell", advice="map it")


def _key(name: str, part: Part, passes: Passes) -> pl.Expr:
    if name in TIES:
        places = {each.tie.value: each.place for each in passes.books[part.lot].coverage.ties}
        return pl.lit(places[name], dtype=pl.String).alias(name)
    if name in _AGES:
        known = [pl.col(each) for each in ("event_on", LAW_DAY) if each in part.rows.columns]
        today = pl.coalesce(*known, pl.lit(passes.day, dtype=pl.Date))
        start = pl.col(f"{_AGES[name]}_earliest")
        before = today.dt.strftime("%m%d") < start.dt.strftime("%m%d")
        return (today.dt.year() - start.dt.year() - before.cast(pl.Int32)).cast(pl.Int64).alias(name)
    kept = f"{KEPT}{name}"
    return pl.col(kept).alias(name) if kept in part.rows.columns else pl.col(name)


def _count(
    part: Part, by: Sequence[str], passes: Passes, tally: Counter[tuple[Any, ...]], types: dict[str, Any]
) -> None:
    own = [name for name in by if name not in _OF_RULE]
    rules = part.judging.told
    made_keys = [*(_key(name, part, passes) for name in own), pl.lit(0).alias("no key")]
    keys = part.rows.with_columns(made_keys).select(*own, "no key")
    types.update(keys.schema)
    codes = part.judged.select(part.judging.names)
    sums = [
        (pl.col(rule.name) == code).sum().alias(f"{code} {rule.name}")
        for rule in rules
        for code in range(len(OUTCOMES))
    ]
    made = keys.hstack(codes).group_by([*own, "no key"], maintain_order=True).agg(sums)
    for row in made.iter_rows(named=True):
        for rule in rules:
            values = {"rule": rule.name, "gravity": rule.gravity}
            group = tuple(values[name] if name in _OF_RULE else row[name] for name in by)
            for code in range(len(OUTCOMES)):
                tally[(*group, code)] += row[f"{code} {rule.name}"]


def _table(by: Sequence[str], tally: Counter[tuple[Any, ...]], types: Mapping[str, Any]) -> pl.DataFrame:
    words = [word.replace(" ", "_") for word in OUTCOMES]
    counts: dict[tuple[Any, ...], list[int]] = {}
    for (*group, code), count in tally.items():
        counts.setdefault(tuple(group), [0] * len(OUTCOMES))[code] += count
    rows = [(*group, sum(each), *each) for group, each in counts.items() if sum(each)]
    schema = {name: types.get(name, pl.String) for name in by}
    schema |= dict.fromkeys(("subjects", *words), pl.Int64)
    made = pl.DataFrame(rows, schema=schema, orient="row")
    return made.sort(list(by), nulls_last=True, maintain_order=True) if by else made
