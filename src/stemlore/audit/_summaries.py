"""Small tables made of what was counted over a fleet."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from typing import Any

from stemlore.audit._judging import OUTCOMES, Judging, Tally, subject_words
from stemlore.audit._passes import Judged
from stemlore.audit._polars import pl
from stemlore.audit.outcomes import ColumnRule
from stemlore.model import FIELDS
from stemlore.rules import Gravity

__all__ = ["differences", "needs_of", "summary_of"]

_SUMMARY: Mapping[str, Any] = {
    "rule": pl.String,
    "title": pl.String,
    "subject": pl.String,
    "gravity": pl.String,
    "subjects": pl.Int64,
    **{word.replace(" ", "_"): pl.Int64 for word in OUTCOMES},
}
_NEEDS: Mapping[str, Any] = {
    "field": pl.String,
    "column": pl.String,
    "meaning": pl.String,
    "how": pl.String,
    "in_source": pl.Boolean,
    "findings": pl.Int64,
    "alone": pl.Int64,
    "settled": pl.Int64,
}

_COLUMNS = {"vehicle.axles": "vehicle_axle_count"}


def summary_of(rules: Mapping[str, ColumnRule], tally: Tally) -> pl.DataFrame:
    """Return a row a rule, the gravest first, then those that fail most."""
    order = [each.value for each in Gravity]
    rows: list[tuple[Any, ...]] = []
    for name, rule in rules.items():
        counts = tally.outcomes.get(name, [0] * len(OUTCOMES))
        rows.append((name, rule.title, rule.subject, rule.gravity, sum(counts), *counts))
    fail = list(_SUMMARY).index("fail")
    rows.sort(key=lambda row: (order.index(row[3]), -row[fail], row[0]))
    return pl.DataFrame(rows, schema=dict(_SUMMARY), orient="row")


def needs_of(tally: Tally, schema: Mapping[str, Any]) -> pl.DataFrame:
    """Return the missing fields in the order in which to get them."""
    sets: Counter[tuple[str, ...]] = Counter()
    for (_, paths), count in tally.missing.items():
        if paths:  # else no reading settles it
            sets[paths] += count
    total: Counter[str] = Counter()
    for paths, count in sets.items():
        for path in paths:
            total[path] += count
    rows: list[tuple[Any, ...]] = []
    chosen: set[str] = set()
    settled = 0
    left = dict(sets)
    while total.keys() - chosen:
        gains = _gains(left, chosen)
        best = min(total.keys() - chosen, key=lambda path: (-gains[path], -total[path], path))
        chosen.add(best)
        settled += gains[best]
        left = {paths: count for paths, count in left.items() if not set(paths) <= chosen}
        spec = FIELDS[best]
        column = _COLUMNS.get(best, spec.column)
        there = column in schema or any(f"{spec.column}_{end}" in schema for end in ("earliest", "latest"))
        alone = sets[(best,)]
        rows.append((best, column, spec.meaning, spec.how, there, total[best], alone, settled))
    return pl.DataFrame(rows, schema=dict(_NEEDS), orient="row")


def _gains(left: Mapping[tuple[str, ...], int], chosen: set[str]) -> Counter[str]:
    """Return how many findings each field would settle, beside those that are chosen."""
    gains: Counter[str] = Counter()
    for paths, count in left.items():
        lacking = [path for path in paths if path not in chosen]
        if len(lacking) == 1:
            gains[lacking[0]] += count
    return gains


def differences(before: Judged, after: Judged) -> pl.DataFrame:
    """Return where the outcomes of a batch under two laws differ, row by row."""
    made = [
        _differences(old.judging, old.judged, new.judging, new.judged)
        for old, new in zip(before.parts, after.parts, strict=True)
    ]
    made = [each for each in made if each.height]
    if not made:
        return pl.DataFrame(schema=_DIFFERENCES)
    return made[0] if len(made) == 1 else pl.concat(made).sort("row", maintain_order=True)


_DIFFERENCES = {"row": pl.Int64, "vehicle_id": pl.String} | dict.fromkeys(
    ("position", "rule", "before", "after"), pl.String
)


def _differences(first: Judging, before: pl.DataFrame, second: Judging, after: pl.DataFrame) -> pl.DataFrame:
    kinds = {**first.kinds, **second.kinds}
    words = pl.Series([*OUTCOMES], dtype=pl.String)
    out = []
    places = {
        kind: before.select(subject_words(kind).alias("position"))["position"] for kind in set(kinds.values())
    }
    nothing = pl.Series([None], dtype=pl.UInt8).new_from_index(0, before.height)
    for number, name in enumerate(kinds):
        old, new = (
            each[name].cast(pl.UInt8) if name in each.columns else nothing for each in (before, after)
        )
        at = old.ne_missing(new).arg_true()
        if not len(at):
            continue
        out.append(
            pl.DataFrame(
                {
                    "row": before["row"].gather(at),
                    "vehicle_id": before["vehicle"].gather(at),
                    "position": places[kinds[name]].gather(at),
                    "before": words.gather(old.gather(at)),
                    "after": words.gather(new.gather(at)),
                }
            ).with_columns(pl.lit(name).alias("rule"), pl.lit(number).alias("number"))
        )
    return pl.concat(out).sort("row", "number") if out else pl.DataFrame(schema=_DIFFERENCES)
