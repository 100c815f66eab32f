"""Mess in an invented fleet: what people and programs do to tables, each cell of it on record."""

from __future__ import annotations

import random
from collections.abc import Collection
from typing import Any

from stemlore.audit._polars import pl

__all__ = ["MESS", "MESS_COLUMNS", "as_text", "spoilt"]

MESS = ("missing", "typo", "unit", "date", "whole text", "contradiction", "duplicate")
"""Kinds of mess: a reading left out; a word misspelt; a reading in another unit, with the unit written; a
day written otherwise; a size with its service description; one that contradicts the load index beside it;
a wheel in two rows."""
MESS_COLUMNS = {"row": pl.Int64, "column": pl.String, "kind": pl.String, "told": pl.String}
_PRESSURE, _DEPTH, _MADE = "tyre_pressure", "tyre_tread_depth_main_grooves", "tyre_manufactured"
_WORDS = ("tyre_construction", "valve_kind", "wheel_rim_pieces")


def as_text(wheels: pl.DataFrame) -> pl.DataFrame:
    """Return the fleet with the columns as text that mess is made in."""
    return wheels.with_columns(
        pl.format("{} kPa", pl.col(f"{_PRESSURE}_kpa")).alias(f"{_PRESSURE}_kpa"),
        pl.format("{} mm", pl.col(f"{_DEPTH}_mm")).alias(f"{_DEPTH}_mm"),
        pl.col(_MADE).dt.to_string("%Y-%m-%d"),
    ).rename({f"{_PRESSURE}_kpa": _PRESSURE, f"{_DEPTH}_mm": _DEPTH})


def spoilt(
    wheels: pl.DataFrame, kept: Collection[int], chance: random.Random, share: float
) -> tuple[pl.DataFrame, pl.DataFrame, list[int]]:
    """Spoil cells of a fleet that is :func:`as_text`.

    Parameters
    ----------
    wheels : DataFrame
        The fleet.
    kept : collection of int
        Rows, from 0, that must stay as they are.
    chance : Random
        Where chance comes from.
    share : float
        Share of the other rows with one kind of mess each.

    Returns
    -------
    tuple
        The fleet, what was spoilt, and the row from 0 that each row was before.
    """
    cells: dict[str, dict[int, str | None]] = {}
    told: list[tuple[int, str, str, str]] = []
    twice: set[int] = set()
    read = {name: wheels[name] for name in (_PRESSURE, _DEPTH, _MADE, "tyre_size", *_WORDS)}
    service = [wheels[f"tyre_{name}"] for name in ("load_index", "load_index_dual", "speed_symbol")]
    for row in range(wheels.height):
        if chance.random() >= share or row in kept:
            continue
        kind = MESS[int(chance.random() * len(MESS))]
        column, value, found = "position", None, "duplicate"
        if kind == "duplicate":
            twice.add(row)
        else:
            column, value, found = _cell(kind, row, read, service, chance)
            cells.setdefault(column, {})[row] = value
        told.append((row, column, kind, found))
    for name, values in cells.items():
        wheels = wheels.with_columns(wheels[name].scatter(list(values), list(values.values())))
    order = [row for row in range(wheels.height) for _ in range(2 if row in twice else 1)]
    now: dict[int, list[int]] = {}
    for at, row in enumerate(order, start=1):
        now.setdefault(row, []).append(at)
    record = [(at, *rest) for row, *rest in told for at in now[row]]
    return wheels[order], pl.DataFrame(record, schema=MESS_COLUMNS, orient="row"), order


def _cell(
    kind: str, row: int, read: dict[str, pl.Series], service: list[pl.Series], chance: random.Random
) -> tuple[str, str | None, str]:
    """Return the column of a mess, what stands there then, and as what it must be told."""
    if kind == "missing":
        return _DEPTH, None, ""
    if kind == "typo":
        column = _WORDS[int(chance.random() * len(_WORDS))]
        word: str = read[column][row]
        at = 1 + int(chance.random() * (len(word) - 3))
        if word[at] == word[at + 1]:
            return column, word[:at] + word[at + 1 :], "unreadable"
        return column, word[:at] + word[at + 1] + word[at] + word[at + 2 :], "unreadable"
    if kind == "unit":
        if chance.random() < 0.5:
            kpa = float(read[_PRESSURE][row].split()[0])
            bar = f"{kpa / 100:.2f} bar", f"{kpa / 100:.2f} bar".replace(".", ",")
            return _PRESSURE, (*bar, f"{kpa / 6.894757:.2f} psi")[int(chance.random() * 3)], ""
        depth = float(read[_DEPTH][row].split()[0])
        # to the next thirty-second above, as a gauge of that scale may read
        return _DEPTH, f"{-int(-depth * 32 // 25.4)}/32 in", ""
    if kind == "date":
        year, month, day = read[_MADE][row].split("-")
        written: Any = (f"{day}.{month}.{year}", f"{month}/{day}/{year[2:]}", f"{year}-{month}")
        at = int(chance.random() * 3)
        return _MADE, written[at], "" if at == 2 else "unreadable"
    index, dual, symbol = (each[row] for each in service)
    index += 1 if kind == "contradiction" else 0
    described = f"{index}{'' if dual is None else f'/{dual}'}{symbol}"
    return "tyre_size", f"{read['tyre_size'][row]} {described}", "contradiction" if kind[0] == "c" else ""
