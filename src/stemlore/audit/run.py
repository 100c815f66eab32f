"""Auditing a fleet: every rule on every wheel, axle and vehicle of a table, batch by batch."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from datetime import date
from functools import cached_property
from pathlib import Path
from typing import Any

from polars.io.plugins import register_io_source

from stemlore.audit._judging import FINDINGS, OUTCOMES, Judging, Tally
from stemlore.audit._polars import pl
from stemlore.audit._sources import Source, at_vehicle_bounds, gathered, open_source, stands_together
from stemlore.audit._summaries import differences, needs_of, summary_of
from stemlore.audit._tables import QUALITY, TableReader
from stemlore.audit._writing import Files
from stemlore.audit.mapping import FleetMapping, read_mapping
from stemlore.audit.outcomes import _rules_of
from stemlore.errors import ColumnError, RuleError, near_misses
from stemlore.rules import Outcome, Rulebook

__all__ = ["AuditRun", "audit_fleet"]

_ALL = tuple(range(len(OUTCOMES)))
_OPEN = (int(Outcome.FAIL), int(Outcome.UNKNOWN))
Batches = Iterator[tuple[pl.DataFrame, pl.DataFrame]]


def audit_fleet(
    source: Any,
    book: Rulebook,
    *,
    mapping: FleetMapping | Path | str | bytes | None = None,
    day: date | None = None,
) -> AuditRun:
    """Judge a fleet by a rulebook; the same findings as :func:`stemlore.check` gives for each vehicle.

    Parameters
    ----------
    source : path, frame or Arrow stream
        One row a wheel, vehicle columns repeated: Parquet, CSV, a folder of
        them, a Polars frame or lazy frame, or anything with the Arrow stream
        interface. Text is a path.
    book : Rulebook
        The rules in force.
    mapping : FleetMapping, Path, str or bytes, optional
        What the columns are, where they are named otherwise than fields; see
        :func:`read_mapping`.
    day : date, optional
        The day that ages count at where a row has no day of its visit; the
        rulebook's when left out.

    Returns
    -------
    AuditRun
        Nothing is judged before one of its tables is asked for.

    Raises
    ------
    SourceError
        If the source cannot be read.
    ColumnError
        If a column that is needed is not there.
    RuleError
        If a rule's body is written in Python.
    """
    told = (
        mapping if isinstance(mapping, FleetMapping) else None if mapping is None else read_mapping(mapping)
    )
    return AuditRun(open_source(source), book, told or FleetMapping(), book.on if day is None else day)


class AuditRun:
    """A fleet and the rules it is judged by. Made by :func:`audit_fleet`.

    Each table is computed from the source when it is asked for, a batch at a
    time, so that memory does not grow with the rows. Where the rows of a
    vehicle do not stand together they are brought together on disk first, and
    findings stand in that order; ``notes`` says so.

    Attributes
    ----------
    book : Rulebook
        The rules.
    day : date
        The day that ages count at.
    notes : tuple of str
        What a reader should know of how the fleet was read.
    """

    def __init__(self, source: Source, book: Rulebook, mapping: FleetMapping, day: date) -> None:
        _rules_of(book)  # refuses those that no column can be judged by
        self._source = source
        self.book = book
        self.day = day
        vehicle = TableReader(source.schema, mapping, contiguous=True).vehicle
        grouped = [each.rule.id for each in book.rules.values() if each.rule.subject != "position"]
        if vehicle is None and grouped:
            near = near_misses("vehicle_id", source.schema)
            raise ColumnError(
                f"no column tells which rows are one vehicle, and {grouped[0]} is about more than one wheel",
                advice=f"map it to vehicle_id{f', perhaps {near[0]!r}' if near else ''}",
            )
        self._contiguous, self._rows = (True, 0) if vehicle is None else stands_together(source, vehicle)
        self._reader = TableReader(source.schema, mapping, contiguous=self._contiguous)
        notes = []
        if not self._contiguous:
            notes.append("rows of one vehicle stand apart: they were brought together, and findings stand so")
        gaps = [
            f"{each.tie.words} {each.place or 'a place not given'}: {each.note}"
            for each in book.coverage.gaps
        ]
        self.notes = (*notes, *gaps)

    # --- batches -----------------------------------------------------------------------------

    def _batches(self) -> Batches:
        """Yield the rows as rules read them, with what is wrong with them."""
        vehicle = self._reader.vehicle
        if self._contiguous or vehicle is None:
            raw = at_vehicle_bounds(self._source, vehicle)
        else:
            raw = gathered(self._source, vehicle, self._rows)
        for batch in raw:
            yield self._reader.read(batch)

    def _judging(self, *, book: Rulebook | None = None, details: bool = True) -> Judging:
        return Judging(
            self._reader.schema, book or self.book, self.day, contiguous=self._contiguous, details=details
        )

    def _lazy(self, schema: Mapping[str, Any], frames: Callable[[], Iterator[pl.DataFrame]]) -> pl.LazyFrame:
        """Return a lazy frame of what batches give; rows and columns not asked for go early."""

        def read(
            columns: list[str] | None, predicate: pl.Expr | None, most: int | None, size: int | None
        ) -> Iterator[pl.DataFrame]:
            left = most
            for frame in frames():
                if predicate is not None:
                    frame = frame.filter(predicate)
                if left is not None:
                    frame = frame.head(left)
                    left -= frame.height
                yield frame if columns is None else frame.select(columns)
                if left == 0:
                    return

        return register_io_source(read, schema=pl.Schema(schema))

    # --- tables ------------------------------------------------------------------------------

    @property
    def findings(self) -> pl.LazyFrame:
        """Every rule on every subject, lazily: see :meth:`findings_of` for some outcomes."""
        return self.findings_of(*OUTCOMES)

    def findings_of(self, *outcomes: str) -> pl.LazyFrame:
        """Return the findings of some outcomes, lazily, row by row in the order of the rules.

        Parameters
        ----------
        *outcomes : str
            Of ``pass``, ``fail``, ``unknown``, ``not applicable``.

        Raises
        ------
        RuleError
            If an outcome is none of these.
        """
        wanted = _codes(outcomes)
        judging = self._judging()

        def frames() -> Iterator[pl.DataFrame]:
            for rows, _ in self._batches():
                judged = judging.judge(rows)
                yield judging.findings(judged, judging.counts(judged), wanted, Tally())

        return self._lazy(self._findings_schema, frames)

    @property
    def _findings_schema(self) -> Mapping[str, Any]:
        return {**FINDINGS, "vehicle_id": self._reader.schema["vehicle"]}

    @property
    def wide(self) -> pl.LazyFrame:
        """The rows of the source in order, and a column of outcomes a rule, lazily.

        0 pass, 1 fail, 2 unknown, 3 not applicable; null where the row is no
        subject of the rule: rules of a vehicle, axle or pair stand on its
        first row.
        """
        judging = self._judging(details=False)
        return self._lazy(
            self._wide_schema, lambda: (judging.wide(judging.judge(rows)) for rows, _ in self._batches())
        )

    @property
    def _wide_schema(self) -> Mapping[str, Any]:
        head = {"row": pl.Int64, "vehicle_id": self._reader.schema["vehicle"], "position": pl.String}
        return {**head, **dict.fromkeys(self.book.rules, pl.Int8)}

    @property
    def quality(self) -> pl.LazyFrame:
        """What is wrong with the table, lazily: row, column, value, kind, message.

        Cells that are listed count as missing. Rows count from 1.
        """

        def frames() -> Iterator[pl.DataFrame]:
            yield self._reader.unknown_columns()
            yield from (faults for _, faults in self._batches())

        return self._lazy(QUALITY, frames)

    @cached_property
    def _tally(self) -> Tally:
        """What is counted over all rows; made once."""
        tally, judging = Tally(), self._judging()
        for rows, _ in self._batches():
            self._count(judging, rows, tally, (int(Outcome.UNKNOWN),))
        return tally

    @staticmethod
    def _count(
        judging: Judging, rows: pl.DataFrame, tally: Tally, wanted: tuple[int, ...]
    ) -> tuple[pl.DataFrame, pl.DataFrame]:
        judged = judging.judge(rows)
        counts = judging.counts(judged)
        for rule, each in counts.items():
            tally.add(rule, each)
        tally.rows += rows.height
        return judged, judging.findings(judged, counts, wanted, tally)

    @property
    def rows(self) -> int:
        """How many rows the fleet has."""
        return self._tally.rows

    @property
    def summary(self) -> pl.DataFrame:
        """How often each rule passes, fails, is unknown and does not apply; gravest failures first.

        The four add up to ``subjects``, the wheels, axles, pairs or vehicles judged.
        """
        return summary_of(self.book, self._tally)

    def needs(self) -> pl.DataFrame:
        """Return which missing fields hide most verdicts, the one that settles most first.

        ``findings`` counts those that are unknown for lack of the field,
        ``alone`` those that lack nothing else, and ``settled`` how many could be
        settled by this field and those above it.
        """
        return needs_of(self._tally, self._reader.schema)

    def compare(self, day: date | str) -> pl.LazyFrame:
        """Return whom a change of law touches: the findings that differ under the law of another day.

        Ages are counted at this run's day under both laws, so that nothing
        but the law makes the difference.

        Parameters
        ----------
        day : date or str
            The other day.

        Returns
        -------
        LazyFrame
            ``before`` and ``after`` are outcomes; null where the rule is not in force.
        """
        other = self.book.at(day)
        _rules_of(other)
        names = tuple(dict.fromkeys((*self.book.rules, *other.rules)))
        ids = self._reader.schema["vehicle"]
        schema = {"row": pl.Int64, "vehicle_id": ids, "position": pl.String, "rule": pl.String}
        schema |= {"before": pl.String, "after": pl.String}
        both = [self._judging(book=each, details=True) for each in (self.book, other)]

        def frames() -> Iterator[pl.DataFrame]:
            for rows, _ in self._batches():
                yield differences(both, rows, names).select(pl.col(n).cast(t) for n, t in schema.items())

        return self._lazy(schema, frames)

    def write(self, directory: Path | str, *, everything: bool = False) -> Path:
        """Write the tables as Parquet files into a directory, in one pass over the fleet.

        ``findings`` (what fails and what is unknown), ``wide``, ``quality``,
        ``summary`` and ``needs``. They are written under other names and take
        their own once all are whole; those that stood there before are replaced.

        Parameters
        ----------
        directory : Path or str
            Made where it is not there.
        everything : bool
            Whether findings that pass or do not apply are written too.

        Raises
        ------
        WriteError
            If there is no room, or no right to write; nothing half written is left.
        """
        wanted = _ALL if everything else _OPEN
        tally, judging = Tally(), self._judging()
        with Files(Path(directory)) as files:
            files.add("quality", self._reader.unknown_columns())
            files.add("findings", pl.DataFrame(schema=self._findings_schema))
            files.add("wide", pl.DataFrame(schema=self._wide_schema))
            for rows, faults in self._batches():
                judged, found = self._count(judging, rows, tally, wanted)
                files.add("findings", found)
                files.add("wide", judging.wide(judged))
                files.add("quality", faults)
            files.add("summary", summary_of(self.book, tally))
            files.add("needs", needs_of(tally, self._reader.schema))
        self.__dict__.setdefault("_tally", tally)
        return Path(directory)

    def __repr__(self) -> str:
        return f"<AuditRun of {self._source.name}: {len(self.book.rules)} rules, law of {self.book.on}>"


def _codes(outcomes: tuple[str, ...]) -> tuple[int, ...]:
    for word in outcomes:
        if word not in OUTCOMES:
            near = near_misses(word, OUTCOMES)
            raise RuleError(
                f"{word!r} is no outcome",
                advice=f"did you mean {near[0]!r}?" if near else f"one of {', '.join(OUTCOMES)}",
            )
    return tuple(OUTCOMES.index(word) for word in outcomes)
