"""Whose rulebook each row is judged by: one for all, or one for each place and span of law."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any

from stemlore.audit._polars import pl
from stemlore.audit._tables import QUALITY, UNREAD
from stemlore.audit.columns import LAW_DAY
from stemlore.audit.outcomes import ColumnRule
from stemlore.errors import ColumnError, DayError, UnknownPlaceError, near_misses
from stemlore.rules import Rulebook, Rulebooks

__all__ = ["LOT", "TIES", "Placed", "Single", "check_vehicle", "told_of_vehicles", "with_unjudged"]

TIES = ("registered_in", "used_in", "workshop")
LOT = "lot of law"
"""The column that says which of the books a row is judged by; negative where by none."""
_VISIT = "event_on"


class Single:
    """One rulebook for all rows."""

    def __init__(self, book: Rulebook, day: date | None) -> None:
        self.books = [book]
        self.day = book.on if day is None else day
        self.refused: dict[int, str] = {}

    def label(self, rows: pl.DataFrame) -> pl.DataFrame:
        """Return the rows with the number of their book."""
        return rows.with_columns(pl.lit(0, dtype=pl.Int32).alias(LOT))


class Placed:
    """A rulebook for each place and span of law that rows tell of.

    Attributes
    ----------
    books : list of Rulebook
        Those found so far.
    refused : dict
        Why rows of a lot are judged by none, by its negative number.
    """

    def __init__(self, books: Rulebooks) -> None:
        self.given = books
        self.day = books.on or date.min
        self.books: list[Rulebook] = []
        self.refused: dict[int, str] = {}
        self._known: dict[tuple[Any, ...], int] = {}
        self._numbers: dict[Any, int] = {}

    def label(self, rows: pl.DataFrame) -> pl.DataFrame:
        """Return the rows with their day of law and the number of their book."""
        rows = told_of_vehicles(rows)
        rows = rows.with_columns(pl.col(LAW_DAY).fill_null(pl.lit(self.given.on, dtype=pl.Date)))
        keys = [name for name in (*TIES, LAW_DAY, UNREAD) if name in rows.columns]
        combinations = rows.select(keys).unique(maintain_order=True)
        lots = [self._lot(row) for row in combinations.iter_rows(named=True)]
        known = combinations.with_columns(pl.Series(LOT, lots, dtype=pl.Int32))
        return rows.join(known, on=keys, how="left", nulls_equal=True, maintain_order="left")

    def _lot(self, row: dict[str, Any]) -> int:
        key = (*(row.get(tie) for tie in TIES), row[LAW_DAY], row.get(UNREAD))
        if key not in self._known:
            self._known[key] = self._open(row)
        return self._known[key]

    def _open(self, row: dict[str, Any]) -> int:
        day = row[LAW_DAY]
        if row.get(UNREAD):
            return self._refuse("the place or day that tells the law cannot be read")
        if day is None:
            return self._refuse("no day tells which law holds")
        try:
            book = self.given.at(on=day, **{tie: row.get(tie) for tie in TIES})
        except (DayError, UnknownPlaceError) as error:
            return self._refuse(str(error))
        same = (tuple(each.place for each in book.coverage.ties), book.epoch)
        if same not in self._numbers:
            self._numbers[same] = len(self.books)
            self.books.append(book)
        return self._numbers[same]

    def _refuse(self, why: str) -> int:
        for lot, other in self.refused.items():
            if other == why:
                return lot
        lot = -1 - len(self.refused)
        self.refused[lot] = why
        return lot


def told_of_vehicles(rows: pl.DataFrame) -> pl.DataFrame:
    """Return the rows with places and day of law that are the same in all rows of a vehicle.

    What one of them says holds for all, as a vehicle is judged by one book;
    where one cannot be read, none tells it.
    """
    days = [pl.col(name).cast(pl.Date) for name in (LAW_DAY, _VISIT) if name in rows.columns]
    rows = rows.with_columns(pl.coalesce(*days, pl.lit(None, dtype=pl.Date)).alias(LAW_DAY))
    if "vehicle_id" not in rows.columns:
        return rows
    names = [name for name in (*TIES, LAW_DAY) if name in rows.columns]
    told = [pl.coalesce(name, pl.col(name).drop_nulls().first().over("vehicle_id")) for name in names]
    if UNREAD in rows.columns:
        told.append(pl.col(UNREAD).any().over("vehicle_id"))
    return rows.with_columns(told)


def check_vehicle(rules: Iterable[ColumnRule], vehicle: str | None, names: Iterable[str]) -> None:
    """Raise where a rule is about more than one wheel and no column tells which rows are one vehicle.

    Raises
    ------
    ColumnError
        With the column that may be meant.
    """
    grouped = next((rule.name for rule in rules if rule.subject != "position"), None)
    if vehicle is None and grouped is not None:
        near = near_misses("vehicle_id", names)
        raise ColumnError(
            f"no column tells which rows are one vehicle, and {grouped} is about more than one wheel",
            advice=f"map it to vehicle_id{f', perhaps {near[0]!r}' if near else ''}",
        )


def with_unjudged(wrong: pl.DataFrame, rows: pl.DataFrame, refused: Mapping[int, str]) -> pl.DataFrame:
    """Return what is wrong with rows, with those that no book judges."""
    lost = rows.filter(pl.col(LOT) < 0)
    if not lost.height:
        return wrong
    nothing = pl.lit(None, dtype=pl.String)
    told = lost.select(
        "row",
        pl.col("vehicle").cast(pl.String).alias("vehicle_id"),
        column=nothing,
        value=nothing,
        kind=pl.lit("not judged"),
        message=pl.col(LOT).replace_strict(refused, return_dtype=pl.String),
    )
    return pl.concat([wrong, told.select(list(QUALITY))])
