"""Faults for invented vehicles, made of the cases that packs carry for their rules.

A case says in figures of the law that a rule fails. Its readings are put on a
vehicle of which nothing fails, and taken off again as far as the rule still
fails: what is left is the fault. What fails of such a vehicle is the counter's
word, never that of the audit of tables.
"""

from __future__ import annotations

import random
from collections.abc import Iterator, Mapping, Sequence
from datetime import date, timedelta
from functools import lru_cache
from typing import Any

import attrs

from stemlore.errors import StemloreError
from stemlore.model import field_spec
from stemlore.rules import Rulebook, discover
from stemlore.rules._layout import layout_of
from stemlore.rules._walker import View
from stemlore.testing._fleet_jobs import Row, failing, place_words
from stemlore.testing._fleet_models import OLDEST, Model, Models, filled, models_of
from stemlore.testing.cases import Case, read_cases

__all__ = ["Fault", "faults_of", "planted"]

_TOLD_BY_SIZE = (
    "tyre_load_index",
    "tyre_load_index_dual",
    "tyre_speed_symbol",
    "tyre_construction",
    "tyre_size_designation",
)
_ENOUGH = 3  # faults kept for each rule
_SKIPPED = ("maker.source", "maker.positions", "vehicle.axles", "axle.number")
Found = list[tuple[int, str, str]]


@attrs.frozen
class Change:
    """One reading to put on: for which wheels (empty = all, or the one chosen), level, column, value."""

    spot: str
    level: str
    column: str
    value: Any


@attrs.frozen(eq=False)
class Fault:
    """A fault that can be planted.

    Attributes
    ----------
    rule : str
        The rule that must find it.
    case : str
        The case of the pack that it is made of.
    model : Model or None
        The vehicles it fits; None = a vehicle of which only the case's readings are known.
    changes : tuple of Change
        What differs from a vehicle of which nothing fails.
    wheel : int or None
        Row of the wheel on which it is proven; None where it is no matter of one wheel.
    proven : list of dict
        The vehicle on which it is proven.
    """

    rule: str
    case: str
    model: Model | None
    changes: tuple[Change, ...]
    wheel: int | None
    proven: list[Row]


# --- readings of a case --------------------------------------------------------------------------


def _changes(case: Case, moved: timedelta, visit: date | None) -> list[Change]:
    """Return the readings of a case, its days moved."""
    out: list[Change] = []
    job = case.job
    members = layout_of(job).positions
    for key in case.given:
        spot, _, path = key.rpartition(":")
        spot, path = spot.strip(), path.strip()
        spec = field_spec(path)
        if path in _SKIPPED or spec.kind in ("record", "records", "own"):
            continue
        own = [other.rpartition(":")[0].strip() for other in case.given if other.endswith(f": {path}")]
        at = next(
            (
                each
                for each in members
                if _matches(str(each.subject), spot)
                and (spot or not any(_matches(str(each.subject), other) for other in own))
            ),
            None,
        )
        if at is None:
            continue  # other readings take the place of this one on every wheel
        value = View(job, case.on, at.axle, at).load(path)
        if value is None:
            continue
        if spec.kind == "date":
            value = value.earliest + moved
        elif spec.kind == "notation":
            value = str(value)
        out.append(Change(spot, spec.level, spec.column, value))
    if visit is not None and not any(each.column == "event_on" for each in out):
        out.append(Change("", "vehicle", "event_on", visit))
    # readings for one wheel come last, so that they win
    return sorted(out, key=lambda each: bool(each.spot))


def _matches(words: str, spot: str) -> bool:
    return not spot or words == spot or words.startswith(f"{spot} ")


def _variants(case: Case, on: date) -> Iterator[list[Change]]:
    """Yield the readings as they are, as old on the fleet's day, and as of a visit in the case's season."""
    yield _changes(case, timedelta(), None)
    yield _changes(case, on - case.on, None)
    for year in (on.year, on.year - 1):
        day = case.on.replace(year=year, day=min(case.on.day, 28))
        if day <= on:
            yield _changes(case, day - case.on, day)
            return


def _put(rows: Sequence[Row], changes: Sequence[Change], wheel: int | None) -> list[Row] | None:
    """Return the rows with the readings put on; None where they do not fit."""
    made = [dict(row) for row in rows]
    touched: list[set[str]] = [set() for _ in rows]
    for each in changes:
        hit = False
        for at, row in enumerate(made):
            if not each.spot and wheel is not None and not _about(each.level, row, rows[wheel]):
                continue
            words = place_words(row) if each.level == "position" else f"axle {row['axle_number']}"
            if each.level != "vehicle" and not _matches(words, each.spot):
                continue
            if each.column == "axle_fitment":  # what a vehicle is built like is no reading
                hit = hit or row[each.column] == each.value
                continue
            hit = True
            row[each.column] = each.value
            touched[at].add(each.column)
        if not hit:
            return None
    for row, columns in zip(made, touched, strict=True):
        if "tyre_size" in columns:
            gone: tuple[str, ...] = _TOLD_BY_SIZE
        elif columns & {"tyre_construction", "tyre_size_designation"}:
            gone = ("tyre_size",)
        else:
            gone = ()
        if "tyre_identification_number" in columns:
            gone += ("tyre_manufactured",)
        row |= {name: None for name in gone if name not in columns}
    return made


def _about(level: str, row: Row, chosen: Row) -> bool:
    """Return whether a reading of a level, taken at the chosen wheel, is one of this row."""
    same = row["axle_number"] == chosen["axle_number"]
    if level == "position":
        return same and place_words(row) == place_words(chosen)
    return same or level == "vehicle"


def _bare(case: Case, changes: Sequence[Change]) -> list[Row]:
    """Return a vehicle of which only the case's readings are known."""
    rows: list[Row] = []
    for at in layout_of(case.job).positions:
        position = at.subject.position
        if position is None or at.axle is None:
            continue
        rows.append(
            {
                "axle_number": position.axle, "side": position.side, "place": position.place,
                "vehicle_axle_count": len(case.job.vehicle.axles), "axle_fitment": at.axle.fitment,
            }
        )  # fmt: skip
    return _put(rows, changes, None) or []


# --- search ----------------------------------------------------------------------------------------


@lru_cache(maxsize=16)
def faults_of(place: str, on: date) -> tuple[Mapping[str, tuple[Fault, ...]], Mapping[str, str]]:
    """Return the faults of each rule in force, and why there is none of some rules."""
    models = models_of(place, on)
    book = models.book
    typical = _typical(models, on)
    folders = discover().packs
    cases: dict[str, list[Case]] = {}
    for pack in book.packs:
        for case in read_cases(folders[pack].folder.path) if pack in folders else ():
            if case.expect == "fail":
                cases.setdefault(case.rule, []).append(case)
    found: dict[str, tuple[Fault, ...]] = {}
    silent: dict[str, str] = {}
    for rule in book.rules:
        told = sorted(cases.get(rule, ()), key=lambda case: (case.place != place, abs(case.on - on)))
        if faults := _faults(rule, told, typical, book, on):
            found[rule] = faults
        else:
            silent[rule] = _why(rule, told, book)
    return found, silent


def _typical(models: Models, on: date) -> list[tuple[Model, list[Row]]]:
    """Return one vehicle of each model, the plainest first."""
    out = []
    order = ("inspection", "tyre_change")  # the others are as these, with less told
    for model in models.by_what.values():
        for age in (3.0, 0.2, 0.7 * OLDEST[model.kind.heavy], 0.98 * OLDEST[model.kind.heavy]):
            same, _ = models.of(model.kind, model.visit, winter=model.winter, on=on, age=age)
            if same is model and model.visit in order:
                out.append((model, filled(model, on, age, random.Random(1))))
                break
    return sorted(out, key=lambda each: (order.index(each[0].visit), -each[0].kind.share))


def _faults(
    rule: str, cases: Sequence[Case], typical: Sequence[tuple[Model, list[Row]]], book: Rulebook, on: date
) -> tuple[Fault, ...]:
    kept: list[tuple[int, Fault]] = []
    bare: Fault | None = None
    for case, changes in [(each, told) for each in cases[:20] for told in _variants(each, on)]:
        alone = _bare(case, changes)
        if not alone or not _holds(rule, _failing(alone, book)):
            continue  # the case does not show it by this place's law on this day
        bare = bare or Fault(rule, str(case), None, (), None, alone)
        had = len(kept)
        kinds: set[str] = set()
        for model, rows in _fitting(typical, changes):
            if model.kind.name in kinds:
                continue
            made = _least(rule, case, changes, model, rows, book)
            if made is not None:
                kinds.add(model.kind.name)
                kept.append(made)
            if len(kinds) == _ENOUGH:
                break
        if had or any(failures == 1 for failures, _ in kept):  # no more than one case for a better one
            break
    if not kept:
        return () if bare is None else (bare,)
    kept.sort(key=lambda each: each[0])
    return tuple(fault for failures, fault in kept[:_ENOUGH] if failures <= kept[0][0] + 1)


def _fitting(
    typical: Sequence[tuple[Model, list[Row]]], changes: Sequence[Change]
) -> Iterator[tuple[Model, list[Row]]]:
    """Yield models of the case's category; where there is none, or it tells none, of every kind a few."""
    wanted = {each.value for each in changes if each.column == "vehicle_category"}
    same = [each for each in typical if each[0].kind.category in wanted]
    yield from same or typical


def _failing(rows: Sequence[Row], book: Rulebook) -> Found:
    try:
        return failing(rows, book)
    except StemloreError:  # readings that contradict each other
        return []


def _holds(rule: str, found: Found) -> bool:
    return any(each[2] == rule for each in found)


def _least(
    rule: str, case: Case, changes: Sequence[Change], model: Model, rows: list[Row], book: Rulebook
) -> tuple[int, Fault] | None:
    """Return the fault with as few readings as do, and how many findings fail of it."""
    wheels: list[int | None] = [len(rows) - 1, 0, None]
    for wheel in wheels:
        made = _put(rows, changes, wheel)
        found = [] if made is None else _failing(made, book)
        if made is None or not _holds(rule, found):
            continue
        left = list(changes)
        for each in changes:
            fewer = [other for other in left if other is not each]
            less = _put(rows, fewer, wheel)
            told = [] if less is None else _failing(less, book)
            if less is not None and _holds(rule, told) and len(told) <= len(found):
                left, made, found = fewer, less, told
        one = any(each.level == "position" and not each.spot for each in left)
        return len(found), Fault(rule, str(case), model, tuple(left), wheel if one else None, made)
    return None


def _why(rule: str, cases: Sequence[Case], book: Rulebook) -> str:
    ahead = sorted(each.rule.id for each in book.rules.values() if rule in each.rule.supersedes)
    if ahead:
        return f"gives way to {', '.join(ahead)} wherever it would fail"
    if not cases:
        return "no pack of the rulebook has a case of which it fails"
    return "it fails of none of its cases' readings on this day"


# --- planting ----------------------------------------------------------------------------------------


def planted(
    fault: Fault, models: Models, on: date, chance: random.Random
) -> tuple[list[Row], list[tuple[int, str, str]]]:
    """Return the rows of a vehicle with the fault, and all that the counter says fails of it."""
    model = fault.model
    if model is not None:
        for _ in range(4):
            _, age = models.draw(chance, on)
            same, _ = models.of(model.kind, model.visit, winter=model.winter, on=on, age=age)
            if same is not model:
                continue
            rows = filled(model, on, age, chance)
            wheel = None if fault.wheel is None else int(chance.random() * len(rows))
            made = _put(rows, fault.changes, wheel)
            found = [] if made is None else _failing(made, models.book)
            if made is not None and _holds(fault.rule, found):
                return made, found
    rows = [dict(row) for row in fault.proven]
    return rows, failing(rows, models.book)
