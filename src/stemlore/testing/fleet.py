"""Synthetic fleets: any size, any places and day, seeded, with faults planted by rule and with mess.

Numbers of a vehicle hang together: size of tyre, load index, masses, speed,
pressures, valves and sensors come from one kind of vehicle, its treads go with
age and distance. Planted faults are known by rule from the counter and the
cases of the packs, so that an audit can be held against them. All of it is
invented: it shows how a fleet may look, and says nothing of any real one.
"""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from datetime import date
from typing import Any

import attrs

from stemlore.audit._polars import pl
from stemlore.model import FIELDS
from stemlore.rules.places import place_code
from stemlore.testing._fleet_jobs import KEYS, LAW, Row, spec_of
from stemlore.testing._fleet_mess import MESS, MESS_COLUMNS, as_text, spoilt
from stemlore.testing._fleet_models import VARIED, Model, Models, models_of, varied
from stemlore.testing._fleet_plants import Fault, faults_of, planted

__all__ = ["MESS", "Fleet", "synthetic_fleet"]

_DAY = date(2026, 11, 25)
_BATCH = 20_000
"""Vehicles made at once."""
_TYPES: dict[str, Any] = {"number": pl.Float64, "integer": pl.Int64, "flag": pl.Boolean, "date": pl.Date}
_KEY_TYPES: dict[str, Any] = {
    "vehicle_id": pl.Int64,
    "axle_number": pl.Int64,
    "vehicle_axle_count": pl.Int64,
    "law_day": pl.Date,
}
_PLANTED: dict[str, Any] = {
    "row": pl.Int64,
    "vehicle_id": pl.Int64,
    "position": pl.String,
    "rule": pl.String,
    "meant": pl.Boolean,
}
_UNPLANTED: dict[str, Any] = {"place": pl.String, "rule": pl.String, "reason": pl.String}


@attrs.frozen(eq=False)
class Fleet:
    """A fleet and what is wrong with it.

    Attributes
    ----------
    wheels : DataFrame
        One row a wheel, columns named as fields. Where several places were
        asked for, ``law_place`` and ``law_day`` say by whose law a row is judged.
    planted : DataFrame
        ``row``, ``vehicle_id``, ``position`` and ``rule`` of each finding that
        must come of it, as the counter says; ``meant`` marks the rule for which
        the fault was planted. Findings of an axle, a pair or the vehicle stand
        at its first row. No mess is made of such vehicles.
    mess : DataFrame
        ``row``, ``column`` and ``kind`` of each cell that was spoilt, and as
        what it must be ``told`` in the audit's list of data quality; empty
        where it can be read or is missing.
    unplanted : DataFrame
        ``place``, ``rule`` and ``reason`` of rules for which no fault can be planted.
    """

    wheels: pl.DataFrame
    planted: pl.DataFrame
    mess: pl.DataFrame
    unplanted: pl.DataFrame


def synthetic_fleet(
    vehicles: int,
    *,
    place: str | Sequence[str] = "DE",
    on: date = _DAY,
    seed: int = 0,
    faults: float = 0.02,
    mess: float = 0.0,
) -> Fleet:
    """Return a fleet made by chance.

    Parameters
    ----------
    vehicles : int
        How many; a car has four rows, a truck six or more.
    place : str or sequence of str
        Where the vehicles stand, such as ``"US-TX"``; of several, each has one of them.
    on : date
        The day whose law holds, and at which ages count.
    seed : int
        The same seed gives the same fleet.
    faults : float
        Share of vehicles with a fault. The rules in force are dealt in turn,
        so that none comes twice before all have come.
    mess : float
        Share of the other rows with one piece of mess; with any, pressures,
        treads and days of making are text.

    Returns
    -------
    Fleet
        Nothing fails of it, by the law of its places on the day, but what is planted.

    Raises
    ------
    StemloreError
        As :func:`stemlore.rules.rulebook` does, for a place or a day.

    Examples
    --------
    >>> fleet = synthetic_fleet(100, seed=1)
    >>> fleet.wheels.height >= 200, fleet.planted.columns
    (True, ['row', 'vehicle_id', 'position', 'rule', 'meant'])
    """
    chance = random.Random(seed)
    places = (place,) if isinstance(place, str) else tuple(place)
    grounds = [_Ground(place_code(each), on, chance, planting=faults > 0) for each in places]
    columns = _schema(grounds, several=len(places) > 1)
    frames: list[pl.DataFrame] = []
    found: list[tuple[int, int, str, str, bool]] = []
    kept: set[int] = set()
    rows = 0
    for first in range(1, vehicles + 1, _BATCH):
        batch = _Batch(rows, columns)
        for number in range(first, min(first + _BATCH, vehicles + 1)):
            ground = grounds[0] if len(grounds) == 1 else grounds[int(chance.random() * len(grounds))]
            if chance.random() < faults:
                fault = ground.next()
                made, told = planted(fault, ground.models, on, chance)
                kept |= set(range(batch.height, batch.height + len(made)))
                found += [
                    (batch.height + at + 1, number, words, rule, rule == fault.rule)
                    for at, words, rule in told
                ]
                batch.add_rows(number, ground, made)
            else:
                model, age = ground.models.draw(chance, on)
                batch.add(number, ground, model, varied(model, on, age, chance))
        frames.append(batch.frame(grounds))
        rows = batch.height
    wheels = pl.concat(frames) if frames else pl.DataFrame(schema=columns)
    wheels = wheels.select(
        name for name in wheels.columns if name in KEYS or wheels[name].null_count() < wheels.height
    )
    record = pl.DataFrame(schema=MESS_COLUMNS)
    planting = pl.DataFrame(found, schema=_PLANTED, orient="row")
    if mess and wheels.height:
        wheels, record, order = spoilt(as_text(wheels), kept, chance, mess)
        now = {row + 1: at for at, row in enumerate(order, start=1)}
        planting = planting.with_columns(pl.col("row").replace_strict(now, return_dtype=pl.Int64))
    silent = [(each.place, rule, why) for each in grounds for rule, why in each.silent.items()]
    return Fleet(wheels, planting, record, pl.DataFrame(silent, schema=_UNPLANTED, orient="row"))


class _Ground:
    """A place on a day: its models, and its faults in turn."""

    def __init__(self, place: str, on: date, chance: random.Random, *, planting: bool) -> None:
        self.place, self.on = place, on
        self.models: Models = models_of(place, on)
        self.faults, self.silent = faults_of(place, on) if planting else ({}, {})
        self._chance = chance
        self._turn: list[str] = []
        self.start: dict[int, int] = {}
        rows = [row for model in self.models.by_what.values() for row in model.rows]
        at = 0
        for model in self.models.by_what.values():
            self.start[id(model)] = at
            at += len(model.rows)
        self.rows = rows

    def next(self) -> Fault:
        """Return a fault of the rule whose turn it is."""
        if not self._turn:
            self._turn = sorted(self.faults)
            self._chance.shuffle(self._turn)
        return self._chance.choice(self.faults[self._turn.pop()])


def _schema(grounds: Sequence[_Ground], *, several: bool) -> dict[str, Any]:
    """Return the columns of a fleet: keys, then fields in the order of the records."""
    named = {name for ground in grounds for row in ground.rows for name in row}
    named |= {
        name
        for ground in grounds
        for faults in ground.faults.values()
        for fault in faults
        for row in fault.proven
        for name in row
    }
    named |= {
        change.column
        for each in grounds
        for some in each.faults.values()
        for f in some
        for change in f.changes
    }
    named |= {FIELDS[path].column for path in VARIED.values()}
    order = {spec.column: at for at, spec in enumerate(FIELDS.values())}
    fields = sorted(named - set(KEYS), key=lambda name: order[name])
    keys = (KEYS[0], *(LAW if several else ()), *KEYS[1:])
    types = {name: _KEY_TYPES.get(name, pl.String) for name in keys}
    return {**types, **{name: _TYPES.get(spec_of(name).kind, pl.String) for name in fields}}


class _Batch:
    """Rows of some vehicles: those of a model by column, those with a fault one by one."""

    def __init__(self, height: int, columns: dict[str, Any]) -> None:
        self.first = self.height = height
        self._columns = columns
        self._at: list[int] = []
        self._static: list[int] = []
        self._ids: list[int] = []
        self._ground: list[_Ground] = []
        self._values: list[tuple[Any, ...]] = []
        self._odd: list[Row] = []

    def add(self, number: int, ground: _Ground, model: Model, values: Iterator[tuple[Any, ...]]) -> None:
        """Add a vehicle of which nothing fails."""
        start = ground.start[id(model)]
        for offset, told in enumerate(values):
            self._at.append(self.height)
            self._static.append(start + offset)
            self._ids.append(number)
            self._ground.append(ground)
            self._values.append(told)
            self.height += 1

    def add_rows(self, number: int, ground: _Ground, rows: list[Row]) -> None:
        """Add a vehicle row by row."""
        for row in rows:
            law = {"law_place": ground.place, "law_day": ground.on}
            self._odd.append({**row, **law, "vehicle_id": number, "_at": self.height})
            self.height += 1

    def frame(self, grounds: Sequence[_Ground]) -> pl.DataFrame:
        """Return the rows in order."""
        columns = {"_at": pl.Int64, **self._columns}
        starts: dict[int, int] = {}
        rows: list[Row] = []
        for ground in grounds:
            starts[id(ground)] = len(rows)
            law = {"law_place": ground.place, "law_day": ground.on}
            rows += [{**row, **law} for row in ground.rows]
        whole = pl.DataFrame(
            {name: [row.get(name) for row in rows] for name in self._columns}, schema=self._columns
        )
        index = [starts[id(g)] + at for g, at in zip(self._ground, self._static, strict=True)]
        told = list(zip(*self._values, strict=True)) or [()] * len(VARIED)
        names = [FIELDS[path].column for path in VARIED.values()]
        varied = [
            pl.Series(name, list(v), dtype=self._columns[name]) for name, v in zip(names, told, strict=True)
        ]
        plain = whole[index].with_columns(
            pl.Series("vehicle_id", self._ids, dtype=pl.Int64),
            pl.Series("_at", self._at, dtype=pl.Int64),
            *varied,
        )
        odd = pl.DataFrame({name: [row.get(name) for row in self._odd] for name in columns}, schema=columns)
        return pl.concat([plain.select(list(columns)), odd]).sort("_at").drop("_at")
