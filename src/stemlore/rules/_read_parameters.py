"""Reading the dated parameters of a pack: one TOML file a subject, one table a parameter."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from datetime import date
from pathlib import Path
from typing import Any

import attrs

from stemlore.errors import Fault, StemloreError
from stemlore.model import FIELDS
from stemlore.provenance import Source
from stemlore.rules._reading import NAME, citation, is_day, line_of_table, unknown_keys
from stemlore.rules.parameters import DatedValue, ParameterHistory, Value
from stemlore.rules.seasons import Season, season_end
from stemlore.units import DIMENSIONLESS, Unit, convert, measure, unit

__all__ = ["read_parameters"]

_PARAMETER_KEYS = {"unit", "doc", "kind", "counts_from", "value", "bound"}
_VALUE_KEYS = {"from", "until", "seen_on", "is", "cite", "repealed"}


def read_parameters(
    pack: str, file: Path, table: Mapping[str, Any], sources: Mapping[str, Source], faults: list[Fault]
) -> Iterator[tuple[str, ParameterHistory]]:
    """Read one file of parameters, one table a parameter."""
    for key, entry in table.items():
        where = f"{file.name} [{key}]"
        before = len(faults)
        made = _parameter(f"{pack}.{file.stem}.{key}", key, entry, sources, where, faults)
        if len(faults) > before:
            spot = line_of_table(file, key)
            faults[before:] = [
                Fault(f.path, f.message, f.advice, f"parameters/{spot}") for f in faults[before:]
            ]
        if made is not None:
            yield made.name, made


def _parameter(
    name: str, key: str, entry: Any, sources: Mapping[str, Source], where: str, faults: list[Fault]
) -> ParameterHistory | None:
    if not isinstance(entry, Mapping):
        faults.append(Fault(key, "is not a table", where=where))
        return None
    before = len(faults)
    unknown_keys(entry, _PARAMETER_KEYS, where, faults)
    kind = entry.get("kind", "number")
    if kind not in ("number", "word", "flag", "season"):
        faults.append(Fault(f"{key}.kind", f"{kind!r} is not a kind", "number, word, flag, season", where))
    if re.fullmatch(NAME, key) is None:
        faults.append(Fault(key, "is no name of a parameter", "small letters, digits and underscores", where))
    if not isinstance(entry.get("doc"), str) or not entry["doc"].strip():
        faults.append(Fault(f"{key}.doc", "must say what the value is", where=where))
    stored: Unit | None = None
    if kind == "number":
        if "unit" not in entry:
            faults.append(Fault(f"{key}.unit", "a number must have a unit", "'1' for a plain number", where))
        else:
            try:
                stored = unit(str(entry["unit"]))
            except StemloreError as error:
                faults.append(Fault(f"{key}.unit", str(error), where=where))
    if entry.get("bound", "most") not in ("most", "least"):
        faults.append(Fault(f"{key}.bound", f"{entry['bound']!r} is not a bound", "most, least", where))
    counts_from = entry.get("counts_from", "")
    if counts_from and (
        not isinstance(counts_from, str) or counts_from not in FIELDS or FIELDS[counts_from].kind != "date"
    ):
        faults.append(Fault(f"{key}.counts_from", f"{counts_from!r} is not a date field", where=where))
    entries = entry.get("value")
    if not isinstance(entries, list) or not entries:
        faults.append(
            Fault(f"{key}.value", "has no dated value", "[[name.value]] with from, is, cite", where)
        )
    if len(faults) > before or not isinstance(entries, list):
        return None
    values = []
    for index, dated in enumerate(entries):
        value = _dated(
            f"{key}.value[{index}]",
            dated,
            kind,
            stored,
            entry.get("bound"),
            counts_from,
            sources,
            where,
            faults,
        )
        if value is not None:
            values.append(value)
    if len(faults) > before:
        return None
    values = _ordered(key, values, where, faults)
    return ParameterHistory(
        name=name,
        doc=entry["doc"],
        kind=kind,
        values=tuple(values),
        unit=stored,
        counts_from=counts_from,
        where=where,
    )


def _dated(
    path: str,
    entry: Any,
    kind: str,
    stored: Unit | None,
    bound: str | None,
    counts_from: str,
    sources: Mapping[str, Source],
    where: str,
    faults: list[Fault],
) -> DatedValue | None:
    if not isinstance(entry, Mapping):
        faults.append(Fault(path, "is not a table", where=where))
        return None
    before = len(faults)
    unknown_keys(entry, _VALUE_KEYS, where, faults)
    starts = entry.get("from")
    unseen = starts == "unseen"
    if unseen:
        starts = entry.get("seen_on")
        if not is_day(starts):
            faults.append(
                Fault(f"{path}.seen_on", "a start not seen needs the day it was seen in force", where=where)
            )
    elif starts is None and not counts_from:
        faults.append(
            Fault(f"{path}.from", "the first day must be given", 'a day, or "unseen" with seen_on', where)
        )
    elif starts is not None and not is_day(starts):
        faults.append(Fault(f"{path}.from", f"{starts!r} is not a day", where=where))
    ends = entry.get("until")
    if ends is not None and not is_day(ends):
        faults.append(Fault(f"{path}.until", f"{ends!r} is not a day", where=where))
    elif ends is not None and is_day(starts) and ends < starts:
        faults.append(Fault(f"{path}.until", f"{ends} lies before {starts}", where=where))
    cited = citation(entry.get("cite"), sources, path, where, faults)
    value: Value | None = None
    figures: tuple[str, ...] = ()
    if not isinstance(entry.get("repealed", False), bool):
        faults.append(
            Fault(f"{path}.repealed", f"{entry['repealed']!r} is neither true nor false", where=where)
        )
    if entry.get("seen_on") is not None and not unseen:
        faults.append(Fault(f"{path}.seen_on", 'stands only beside from = "unseen"', where=where))
    if entry.get("repealed"):
        if "is" in entry:
            faults.append(Fault(path, "is repealed and has a value", where=where))
    elif "is" not in entry:
        faults.append(Fault(f"{path}.is", "has no value", where=where))
    else:
        try:
            value, figures = _value(entry["is"], kind, stored, bound)
        except (StemloreError, ValueError, TypeError) as error:
            faults.append(Fault(f"{path}.is", str(error), where=where))
    if len(faults) > before or cited is None:
        return None
    return DatedValue(value=value, figures=figures, citation=cited, starts=starts, ends=ends, unseen=unseen)


def _value(given: Any, kind: str, stored: Unit | None, bound: str | None) -> tuple[Value, tuple[str, ...]]:
    if kind == "flag":
        if not isinstance(given, bool):
            raise ValueError(f"{given!r} is neither true nor false")
        return given, ()
    if kind == "word":
        if not isinstance(given, str):
            raise ValueError(f"{given!r} is not a word")
        return given, (given,)
    if kind == "season":
        return _season(given), ()
    wanted = stored or DIMENSIONLESS
    listed = given if isinstance(given, list) else [given]
    if not listed:
        raise ValueError("the list of figures is empty")
    numbers, figures = [], []
    for figure in listed:
        if isinstance(figure, bool):
            raise ValueError(f"{figure!r} is not a number")
        if isinstance(figure, (int, float)):
            number: float | None = convert(float(figure), wanted, wanted)
            figures.append(f"{figure} {wanted}" if wanted is not DIMENSIONLESS else str(figure))
        else:
            number = measure(figure, wanted)
            figures.append(str(figure))
        if number is None or number - number != 0:
            raise ValueError(f"{figure!r} is not a finite number")
        numbers.append(number)
    if len(set(numbers)) > 1 and bound not in ("most", "least"):
        raise ValueError('several figures need bound = "most" (an upper limit) or "least" (a lower one)')
    return (min(numbers) if bound == "least" else max(numbers)), tuple(figures)


def _season(given: Any) -> Season:
    if not isinstance(given, Mapping) or set(given) != {"from", "to"}:
        raise ValueError('a season is { from = "11-01", to = "04-15" }')
    return Season(season_end(str(given["from"])), season_end(str(given["to"])))


def _ordered(key: str, values: list[DatedValue], where: str, faults: list[Fault]) -> list[DatedValue]:
    values = sorted(values, key=lambda value: value.starts or date.min)
    closed: list[DatedValue] = []
    for index, value in enumerate(values):
        following = values[index + 1] if index + 1 < len(values) else None
        if following is not None and following.starts is None:
            faults.append(Fault(f"{key}.value", "two values have no first day", where=where))
        if following is not None and following.starts is not None:
            day_before = date.fromordinal(following.starts.toordinal() - 1)
            if value.ends is not None and value.ends > day_before:
                faults.append(Fault(f"{key}.value", f"two values hold on {following.starts}", where=where))
            elif value.ends is None and following.unseen:
                faults.append(
                    Fault(
                        f"{key}.value",
                        f"until when the value before that of {following.starts} held is not told",
                        "until = the last day on which it was seen in force",
                        where,
                    )
                )
            elif value.ends is not None and value.ends < day_before and not following.unseen:
                faults.append(
                    Fault(
                        f"{key}.value",
                        f"no value between {value.ends} and {following.starts}",
                        "mark the gap with repealed = true",
                        where,
                    )
                )
            elif value.starts == following.starts:
                faults.append(Fault(f"{key}.value", f"two values start on {value.starts}", where=where))
            elif value.ends is None:
                value = attrs.evolve(value, ends=day_before)
        closed.append(value)
    return closed
