"""Passes over a fleet: rows read, told apart by rulebook, and judged, a batch at a time."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from concurrent.futures import Executor, ProcessPoolExecutor
from contextlib import ExitStack
from datetime import date
from functools import cached_property
from multiprocessing import get_context
from typing import Any

import attrs

from stemlore.audit import _sources as sources
from stemlore.audit._books import LOT, TIES, Placed, Single, check_vehicle, with_unjudged
from stemlore.audit._judging import Judging, Tally
from stemlore.audit._polars import pl
from stemlore.audit._sources import Source, at_vehicle_bounds, gathered, stands_together
from stemlore.audit._spool import by_lot
from stemlore.audit._tables import KEPT, QUALITY, TableReader
from stemlore.audit._vehicles import Joined
from stemlore.audit.mapping import FleetMapping
from stemlore.audit.outcomes import ColumnRule, column_rules
from stemlore.rules import Rulebook, Rulebooks

__all__ = ["Judged", "Part", "Passes"]

Batches = Iterator[tuple[pl.DataFrame, pl.DataFrame]]


@attrs.frozen(eq=False)
class Part:
    """The rows of a batch that one book judges, as they were read and judged."""

    lot: int
    judging: Judging
    rows: pl.DataFrame
    judged: pl.DataFrame


@attrs.frozen(eq=False)
class Judged:
    """A batch: its parts by book, rows that no book judges, and what is wrong with its cells."""

    parts: Sequence[Part]
    unjudged: pl.DataFrame
    wrong: pl.DataFrame

    def count(self, tally: Tally) -> None:
        """Count outcomes, and what is missing where they are unknown."""
        for part, counts in self._counted(tally):
            part.judging.count_missing(part.judged, counts, tally)

    def _counted(self, tally: Tally) -> Iterator[tuple[Part, Mapping[str, Sequence[int]]]]:
        tally.rows += self.unjudged.height
        tally.unjudged += self.unjudged.height
        for part in self.parts:
            counts = part.judging.counts(part.judged)
            for rule, each in counts.items():
                tally.add(rule, each)
            tally.rows += part.rows.height
            tally.faults = pl.concat([tally.faults, part.judging.faults])
            yield part, counts

    def findings(self, wanted: tuple[int, ...], tally: Tally) -> pl.DataFrame:
        """Return the findings of some outcomes in the order of rows, and count all."""
        made = [
            part.judging.findings(part.judged, counts, wanted, tally) for part, counts in self._counted(tally)
        ]
        if len(made) == 1:
            return made[0]
        return pl.concat(made).sort("row", maintain_order=True) if made else pl.DataFrame()

    def wide(self, schema: Mapping[str, Any]) -> pl.DataFrame:
        """Return the place of each row and its outcomes, in the order of rows."""
        made = []
        for part in self.parts:
            kept = part.rows.select(pl.col(f"^{KEPT}.*$").name.map(lambda name: name.removeprefix(KEPT)))
            made.append(_filled(part.judging.wide(part.judged).hstack(kept), schema))
        if self.unjudged.height:
            own = self.unjudged.select(
                "row",
                pl.col("vehicle").alias("vehicle_id"),
                pl.col(f"^{KEPT}.*$").name.map(lambda name: name.removeprefix(KEPT)),
            )
            made.append(_filled(own, schema))
        if not made:
            return pl.DataFrame(schema=dict(schema))
        return made[0] if len(made) == 1 else pl.concat(made).sort("row", maintain_order=True)


def _filled(frame: pl.DataFrame, schema: Mapping[str, Any]) -> pl.DataFrame:
    return frame.select(
        pl.col(name).cast(dtype) if name in frame.columns else pl.lit(None, dtype=dtype).alias(name)
        for name, dtype in schema.items()
    )


def _flaws(rows: pl.DataFrame, kind: str, message: str) -> pl.DataFrame:
    """Return a row of the table of data quality for each row or vehicle."""
    nothing = pl.lit(None, dtype=pl.String)
    ids = "vehicle" if "vehicle" in rows.columns else "vehicle_id"
    told = rows.select(
        pl.col("row").cast(pl.Int64),
        pl.col(ids).cast(pl.String).alias("vehicle_id"),
        column=nothing,
        value=nothing,
        kind=pl.lit(kind),
        message=pl.lit(message),
    )
    return told.select(list(QUALITY))


class Passes:
    """A fleet's rows and the books they are judged by, to be gone through as often as it is asked for.

    Parameters
    ----------
    source : Source
        The rows.
    books : Rulebook or Rulebooks
        One book, or one for each place and day.
    mapping : FleetMapping
        What the columns are.
    day : date or None
        The day that ages count at, with one book.
    stop : bool
        Whether a rule's Python body that raises stops the audit.
    workers : int
        Processes for such bodies.
    """

    def __init__(
        self,
        source: Source,
        books: Rulebook | Rulebooks,
        mapping: FleetMapping,
        day: date | None,
        *,
        stop: bool = True,
        workers: int = 1,
    ) -> None:
        law = f"law of {books.on}" if isinstance(books, Rulebook) else "law of each row"
        self.name = f"{source.name}, {law}"
        self._source, self._stop, self._workers = source, stop, workers
        self._books = Single(books, day) if isinstance(books, Rulebook) else Placed(books)
        vehicle = TableReader(source.schema, mapping, contiguous=True).vehicle
        if isinstance(self._books, Single):
            self._check_vehicle(vehicle)
        self._contiguous, self._rows = (True, 0) if vehicle is None else stands_together(source, vehicle)
        self.reader = TableReader(source.schema, mapping, contiguous=self._contiguous)
        self._schema = self._books.label(pl.DataFrame(schema=self.reader.schema)).drop(LOT).schema

    def _check_vehicle(self, vehicle: str | None) -> None:
        rules = (rule for book in self._books.books for rule in column_rules(book))
        check_vehicle(rules, vehicle, self._source.schema)

    # --- which books -------------------------------------------------------------------------

    @cached_property
    def _lots(self) -> Counter[int]:
        """How many rows each book judges, and each reason leaves without one."""
        counted: Counter[int] = Counter()
        if isinstance(self._books, Single):
            counted[0] = self._rows
            return counted
        keys = self.reader.narrowed(("vehicle_id", *TIES, "law_place", "law_day", "event.on"))
        for batch in self._raw(keys.names):
            rows, _ = keys.read(batch)
            for lot, count in self._books.label(rows)[LOT].value_counts().iter_rows():
                counted[lot] += count
        self._check_vehicle(self.reader.vehicle)
        return counted

    @property
    def books(self) -> list[Rulebook]:
        """The books that rows are judged by."""
        _ = self._lots
        return self._books.books

    @property
    def day(self) -> date:
        """The day that ages count at where a row tells none."""
        return self._books.day

    @property
    def refused(self) -> Mapping[int, str]:
        """Why rows are judged by no book."""
        _ = self._lots
        return self._books.refused

    @cached_property
    def rules(self) -> Mapping[str, ColumnRule]:
        """The rules of all books by id."""
        return {rule.name: rule for book in self.books for rule in column_rules(book)}

    @cached_property
    def notes(self) -> tuple[str, ...]:
        """What a reader should know of how the fleet was read."""
        notes = []
        if not self._contiguous:
            notes.append("rows of one vehicle stand apart: they were brought together, and findings stand so")
        if self._apart:
            notes.append(f"{len(self.books)} rulebooks: findings stand book by book")
        many = isinstance(self._books, Placed)
        gaps: Counter[str] = Counter()
        for lot, book in enumerate(self.books):
            for each in book.coverage.gaps:
                gaps[f"{each.tie.words} {each.place or 'a place not given'}: {each.note}"] += self._lots[lot]
        notes += [f"{gap} ({count} rows)" if many else gap for gap, count in gaps.items()]
        notes += [f"{why}: {self._lots[lot]} rows are not judged" for lot, why in self.refused.items()]
        written = [name for name, rule in self.rules.items() if rule.body is not None]
        if written:
            notes.append(f"rules in Python, run vehicle by vehicle: {', '.join(written)}")
        return tuple(notes)

    @property
    def _apart(self) -> bool:
        """Whether rows are brought together by book first, as each book would see few of each batch."""
        return len(self.books) > 1 and sum(self._lots.values()) > sources.BATCH

    @property
    def _most(self) -> int:
        """How many rows to judge at once."""
        single = isinstance(self._books, Single)
        return sources.rows_at_once(len(self._books.books[0].rules)) if single else sources.BATCH

    # --- rows --------------------------------------------------------------------------------

    def _raw(self, names: Sequence[str] | None = None) -> Iterator[pl.DataFrame]:
        vehicle = self.reader.vehicle
        source: Source = self._source if names is None else _Narrow(self._source, names)
        if self._contiguous or vehicle is None:
            return at_vehicle_bounds(source, vehicle, self._most)
        return gathered(source, vehicle, self._rows)

    def _read(self) -> Batches:
        for batch in self._raw():
            rows, wrong = self.reader.read(batch)
            rows = self._books.label(rows)
            wrong = with_unjudged(wrong, rows, self._books.refused)
            if isinstance(self._source, Joined):
                seats = [pl.col(name).is_null() for name in ("axle_number", "side") if name in rows.columns]
                bare = rows.filter(pl.col("unstated"), *seats)
                message = "the table of wheels has no row of it; judged with wheels that nobody told of"
                wrong = pl.concat([wrong, _flaws(bare, "no wheels", message)])
            yield rows, wrong

    def batches(self) -> Batches:
        """Yield the rows as rules read them, with what is wrong with them; no vehicle is cut in two."""
        if not self._apart:
            yield from self._read()
            return
        nothing = pl.DataFrame(schema=QUALITY)
        for rows, wrong in by_lot(self._read(), self._most, self.reader.renumbered):
            yield rows, wrong if wrong.width else nothing

    def of_table(self) -> pl.DataFrame:
        """Return what is wrong with the table as a whole, as rows of the table of data quality."""
        made = self.reader.unknown_columns()
        if not isinstance(self._source, Joined):
            return made
        twice = self._source.repeated
        message = "row of the table of vehicles; of what several say, only the same is taken"
        alone = pl.DataFrame({"row": None, "vehicle_id": self._source.unmatched}, schema=twice.schema)
        why = "the table of vehicles has no row of it"
        return pl.concat(
            [
                made,
                _flaws(twice, "duplicate", message),
                _flaws(alone, "no row of the vehicle", why),
            ]
        )

    def judged(self, *, details: bool = True, books: Sequence[Rulebook] | None = None) -> Iterator[Judged]:
        """Yield the batches with the outcomes of all rules.

        Parameters
        ----------
        details : bool
            Whether findings are wanted, or outcomes alone.
        books : sequence of Rulebook, optional
            Others to judge by, one for each of :attr:`books`.
        """
        used = self.books if books is None else books
        judgings: dict[int, Judging] = {}
        with ExitStack() as stack:
            pool = self._pool(stack)
            for rows, wrong in self.batches():
                parts = []
                lots = rows[LOT].unique(maintain_order=True).to_list()
                for lot in (each for each in lots if each >= 0):
                    if lot not in judgings:
                        judgings[lot] = Judging(
                            self._schema,
                            column_rules(used[lot]),
                            self._books.day,
                            contiguous=self._contiguous,
                            details=details,
                            stop=self._stop,
                            pool=pool,
                        )
                    own = rows if len(lots) == 1 else rows.filter(pl.col(LOT) == lot)
                    parts.append(Part(lot, judgings[lot], own, judgings[lot].judge(own)))
                yield Judged(parts, rows.filter(pl.col(LOT) < 0), wrong)

    def _pool(self, stack: ExitStack) -> Executor | None:
        if self._workers < 2 or not any(rule.body for rule in self.rules.values()):
            return None
        # a fork would copy the locks of Polars' threads
        return stack.enter_context(ProcessPoolExecutor(self._workers, mp_context=get_context("spawn")))


class _Narrow:
    """Some columns of a source."""

    def __init__(self, source: Source, names: Sequence[str]) -> None:
        self.name = source.name
        self._source = source
        self.schema: Mapping[str, Any] = {name: source.schema[name] for name in names}

    def batches(self, columns: Sequence[str] | None = None) -> Iterator[pl.DataFrame]:
        return self._source.batches(list(self.schema) if columns is None else columns)
