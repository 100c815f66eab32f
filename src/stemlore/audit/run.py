"""Auditing a fleet: every rule on every wheel, axle and vehicle of a table, batch by batch."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from contextlib import ExitStack
from datetime import date
from functools import cached_property
from pathlib import Path
from typing import Any, Literal

import attrs
from polars.io.plugins import register_io_source

from stemlore.audit._groups import VEHICLES, grouped, vehicles_of
from stemlore.audit._jobs import jobs_of
from stemlore.audit._judging import FINDINGS, OUTCOMES, Tally, codes_of
from stemlore.audit._passes import Passes
from stemlore.audit._polars import pl
from stemlore.audit._sources import Source, open_source
from stemlore.audit._summaries import differences, needs_of, summary_of
from stemlore.audit._tables import KEPT, QUALITY
from stemlore.audit._vehicles import Joined, Tidied, key_of
from stemlore.audit._writing import Files
from stemlore.audit.mapping import FleetMapping, read_mapping
from stemlore.model import Job
from stemlore.rules import Coverage, Outcome, Rulebook, Rulebooks

__all__ = ["AuditRun", "audit_fleet"]

_ALL = tuple(range(len(OUTCOMES)))
_OPEN = (int(Outcome.FAIL), int(Outcome.UNKNOWN))
Progress = Callable[[int], None]
"""Is told how many rows have been judged."""


def audit_fleet(
    source: Any,
    books: Rulebook | Rulebooks,
    *,
    vehicles: Any = None,
    mapping: FleetMapping | Path | str | bytes | None = None,
    day: date | None = None,
    on_fault: Literal["stop", "list"] = "stop",
    workers: int = 1,
) -> AuditRun:
    """Judge a fleet by one rulebook or many; the findings are those of :func:`stemlore.check`.

    Parameters
    ----------
    source : path, frame or Arrow stream
        One row a wheel: Parquet, CSV, a folder of them, a Polars frame or lazy
        frame, or anything with the Arrow stream interface. Text is a path.
    books : Rulebook or Rulebooks
        The rules in force: one book for all rows, or, from
        :func:`stemlore.rulebooks`, the book of each row's place and day. The
        columns ``registered_in``, ``used_in``, ``workshop`` or ``law_place``
        (all three) tell the places, ``law_day`` or else the day of the visit the day.
    vehicles : path, frame or Arrow stream, optional
        One row a vehicle, where the table of wheels does not repeat it; the two
        are joined by the column that is mapped to ``vehicle_id``.
    mapping : FleetMapping, Path, str or bytes, optional
        What the columns are, where they are named otherwise than fields; see
        :func:`read_mapping`.
    day : date, optional
        With one rulebook, the day that ages count at where a row has no day of
        its visit; the rulebook's when left out.
    on_fault : {'stop', 'list'}
        Whether a rule's Python body that raises stops the audit, or is listed
        in :attr:`AuditRun.faults` and gives no outcome there.
    workers : int
        Processes for rules with a Python body; they must be functions of a
        module, and the calling script must be importable.

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
    """
    told = FleetMapping() if mapping is None else mapping
    if not isinstance(told, FleetMapping):
        told = read_mapping(told)
    opened = open_source(source)
    named = [each.name for each in told.columns if each.to == "vehicle_id"]
    if vehicles is None:
        key = next((name for name in (*named, "vehicle_id") if name in opened.schema), None)
        tidy: Source = Tidied(opened, key, told.missing)
    else:
        other = open_source(vehicles)
        key, of_vehicle = key_of(opened, named, "wheels"), key_of(other, named, "vehicles")
        both = [Tidied(each, name, told.missing) for each, name in ((opened, key), (other, of_vehicle))]
        tidy = Joined(both[0], both[1], key, of_vehicle)
        # of the two, the joined table has that of the wheels
        columns = tuple(each for each in told.columns if each.to != "vehicle_id" or each.name == key)
        told = attrs.evolve(told, columns=columns)
    return AuditRun(Passes(tidy, books, told, day, stop=on_fault == "stop", workers=workers))


class AuditRun:
    """A fleet and the rules it is judged by. Made by :func:`audit_fleet`.

    Each table is computed from the source when it is asked for, a batch at a
    time, so that memory does not grow with the rows. Where the rows of a
    vehicle do not stand together, or rows of several rulebooks do not, they
    are brought together on disk first, and findings stand in that order;
    ``notes`` says so.
    """

    def __init__(self, passes: Passes) -> None:
        self._passes = passes

    @property
    def books(self) -> tuple[Rulebook, ...]:
        """The rulebooks that rows are judged by, in the order in which rows call for them."""
        return tuple(self._passes.books)

    @property
    def coverage(self) -> tuple[Coverage, ...]:
        """Places and packs of each of the books."""
        return tuple(book.coverage for book in self.books)

    @property
    def notes(self) -> tuple[str, ...]:
        """What a reader should know of how the fleet was read, and of places without a pack."""
        return self._passes.notes

    @property
    def complete(self) -> bool:
        """Whether every row is judged by a book whose places are all given and have a pack."""
        return not self._passes.refused and all(each.complete for each in self.coverage)

    # --- tables ------------------------------------------------------------------------------

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
        wanted = codes_of(outcomes)
        return self._lazy(
            self._findings_schema,
            lambda: (judged.findings(wanted, Tally()) for judged in self._passes.judged()),
        )

    @property
    def _findings_schema(self) -> Mapping[str, Any]:
        return {**FINDINGS, "vehicle_id": self._passes.reader.schema["vehicle"]}

    @property
    def wide(self) -> pl.LazyFrame:
        """The rows of the source in order, and a column of outcomes a rule, lazily.

        0 pass, 1 fail, 2 unknown, 3 not applicable; null where the row is no
        subject of the rule, or the rule is not in its book: rules of a
        vehicle, axle or pair stand on its first row. Columns that the mapping
        keeps come before the outcomes.
        """
        schema = self._wide_schema
        return self._lazy(
            schema, lambda: (judged.wide(schema) for judged in self._passes.judged(details=False))
        )

    @property
    def _wide_schema(self) -> Mapping[str, Any]:
        reader = self._passes.reader
        head = {"row": pl.Int64, "vehicle_id": reader.schema["vehicle"], "position": pl.String}
        kept = {name: reader.schema[f"{KEPT}{name}"] for name in reader.kept}
        return {**head, **kept, **dict.fromkeys(self._passes.rules, pl.Int8)}

    @property
    def vehicles(self) -> pl.LazyFrame:
        """A row a vehicle, lazily: how many of its findings fail and are unknown, and what comes of it.

        ``outcome`` is ``clean`` as a counter's report is: nothing of gravity hold
        or remedy fails or is unknown, no rule raised, something passes, and each
        place has a pack. ``faults`` counts the rows on which a rule raised.
        """
        passes = self._passes
        return self._lazy(
            {**VEHICLES, "vehicle_id": passes.reader.schema["vehicle"]},
            lambda: (vehicles_of(judged, passes.books) for judged in passes.judged(details=False)),
        )

    def jobs(self) -> Iterator[tuple[Any, Job]]:
        """Yield each vehicle as a job, with its id as the table has it: what the counter would be given.

        Cells that are listed in :attr:`quality` are missing in it.
        """
        for rows, _ in self._passes.batches():
            ids = dict(zip(rows["vehicle_id"], rows["vehicle"], strict=True))
            for number, job in jobs_of(rows):
                yield ids[number], job

    @property
    def quality(self) -> pl.LazyFrame:
        """What is wrong with the table, lazily: row, column, value, kind, message.

        Cells that are listed count as missing. Rows count from 1. Rows that no
        book judges are listed too.
        """

        def frames() -> Iterator[pl.DataFrame]:
            yield self._passes.of_table()
            yield from (faults for _, faults in self._passes.batches())

        return self._lazy(QUALITY, frames)

    @cached_property
    def _tally(self) -> Tally:
        """What is counted over all rows; made once."""
        tally = Tally()
        for judged in self._passes.judged():
            judged.count(tally)
        return tally

    @property
    def rows(self) -> int:
        """How many rows the fleet has."""
        return self._tally.rows

    @property
    def summary(self) -> pl.DataFrame:
        """How often each rule passes, fails, is unknown and does not apply; gravest failures first.

        The four add up to ``subjects``, the wheels, axles, pairs or vehicles judged.
        """
        return summary_of(self._passes.rules, self._tally)

    @property
    def faults(self) -> pl.DataFrame:
        """The rules that raised, with row, subject and what they raised; see ``on_fault``."""
        return self._tally.faults

    def summary_by(self, *by: str) -> pl.DataFrame:
        """Count outcomes by place, gravity, model, age or what else the fleet tells.

        Parameters
        ----------
        *by : str
            ``rule``, ``gravity``, ``basis``; ``registered_in``, ``used_in``,
            ``workshop``; ``age``, in whole years from first registration, and
            ``tyre_age``; a column of a field, such as ``vehicle_category``; or
            one that the mapping keeps.

        Returns
        -------
        DataFrame
            A row a combination that occurs: ``subjects``, and of these
            ``pass``, ``fail``, ``unknown``, ``not_applicable``.

        Raises
        ------
        ColumnError
            If the fleet has no such column.
        """
        (made,) = grouped(self._passes, [by])
        return made

    def needs(self) -> pl.DataFrame:
        """Return which missing fields hide most verdicts, the one that settles most first.

        ``findings`` counts those that are unknown for lack of the field,
        ``alone`` those that lack nothing else, and ``settled`` how many could be
        settled by this field and those above it.
        """
        return needs_of(self._tally, self._passes.reader.schema)

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

        Raises
        ------
        DayError
            If a place's pack does not answer for that day.
        """
        passes = self._passes
        others = [book.at(day) for book in passes.books]
        ids = passes.reader.schema["vehicle"]
        schema = {"row": pl.Int64, "vehicle_id": ids, "position": pl.String, "rule": pl.String}
        schema |= {"before": pl.String, "after": pl.String}

        def frames() -> Iterator[pl.DataFrame]:
            for before, after in zip(passes.judged(), passes.judged(books=others), strict=True):
                yield differences(before, after).select(pl.col(n).cast(t) for n, t in schema.items())

        return self._lazy(schema, frames)

    def write(
        self,
        directory: Path | str,
        *,
        everything: bool = False,
        form: Literal["parquet", "csv"] = "parquet",
        progress: Progress | None = None,
    ) -> Path:
        """Write the tables into a directory, in one pass over the fleet.

        ``findings`` (what fails and what is unknown), ``wide``, ``vehicles``,
        ``quality``, ``summary`` and ``needs``. They are written under other
        names and take their own once all are whole; those that stood there
        before are replaced. ``run.json`` stands last, with the tables' rows and
        the fingerprints of the books: a directory without it is not whole.

        Parameters
        ----------
        directory : Path or str
            Made where it is not there.
        everything : bool
            Whether findings that pass or do not apply are written too.
        form : {'parquet', 'csv'}
            Kind of file; in CSV the missing fields of a finding are one text.
        progress : callable, optional
            Is told after each batch how many rows have been judged.

        Raises
        ------
        WriteError
            If there is no room, or no right to write; nothing half written is left.
        """
        wanted = _ALL if everything else _OPEN
        tally, passes = Tally(), self._passes
        wide = self._wide_schema
        with ExitStack() as stack:
            files = stack.enter_context(Files(Path(directory), form))
            files.add("quality", passes.of_table())
            files.add("findings", pl.DataFrame(schema=self._findings_schema))
            files.add("wide", pl.DataFrame(schema=wide))
            files.add("vehicles", pl.DataFrame(schema={**VEHICLES, "vehicle_id": wide["vehicle_id"]}))
            for judged in passes.judged():
                files.add("findings", judged.findings(wanted, tally))
                files.add("wide", judged.wide(wide))
                files.add("vehicles", vehicles_of(judged, passes.books))
                files.add("quality", judged.wrong)
                if progress is not None:
                    progress(tally.rows)
            files.add("summary", summary_of(passes.rules, tally))
            files.add("needs", needs_of(tally, passes.reader.schema))
            books = [{"on": str(each.on), "fingerprint": each.fingerprint} for each in passes.books]
            files.describe(rows=tally.rows, books=books, wide=dict(enumerate(OUTCOMES)))
        self.__dict__.setdefault("_tally", tally)
        return Path(directory)

    def __repr__(self) -> str:
        return f"<AuditRun of {self._passes.name}>"
