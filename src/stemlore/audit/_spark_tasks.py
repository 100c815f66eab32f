"""What runs on the executors of a Spark cluster: rows of one partition cleaned, told apart and judged."""

from __future__ import annotations

import pickle
from collections.abc import Callable, Iterator, Mapping, Sequence
from datetime import date
from hashlib import sha256
from importlib.metadata import version
from itertools import chain, islice
from typing import Any

import attrs
import pyarrow as pa  # type: ignore[import-untyped]

from stemlore.audit import _sources as sources
from stemlore.audit._books import LOT, TIES, Placed, told_of_vehicles, with_unjudged
from stemlore.audit._groups import vehicles_of
from stemlore.audit._judging import OUTCOMES, Judging, Tally
from stemlore.audit._passes import Judged, Part
from stemlore.audit._polars import pl
from stemlore.audit._sources import ROW, at_vehicle_bounds
from stemlore.audit._spool import by_lot
from stemlore.audit._tables import QUALITY, UNREAD, TableReader
from stemlore.audit.columns import LAW_DAY
from stemlore.audit.outcomes import ColumnRule
from stemlore.errors import RuleError, SourceError
from stemlore.model import FieldSpec
from stemlore.model.own import declare_own
from stemlore.rules import Rulebooks
from stemlore.tables import table

__all__ = ["COUNTS", "KEY", "LAW_KEYS", "VERSION", "Covered", "Law", "Lots", "Plan", "Shipment", "Task"]

VERSION = version("stemlore")
KEY = "row of the frame"
"""The column that brings a row's number, or what stands for it."""
LAW_KEYS = (*TIES, LAW_DAY, UNREAD)
"""The columns that tell which book judges a vehicle."""
COUNTS: Mapping[str, Any] = {"rule": pl.String, **{word.replace(" ", "_"): pl.Int64 for word in OUTCOMES}}
_MOST = 256
"""Books that a process keeps ready for its next partitions."""
_NOTHING = pl.DataFrame(schema=QUALITY)


@attrs.frozen
class Law:
    """One book as it travels: its rules as data, with no pack.

    Attributes
    ----------
    fingerprint : str
        Of the book.
    complete : bool
        Whether each of its places is given and has a pack.
    tables : mapping of str to str
        Fingerprints of the tables that its rules read, which do not travel.
    rules : bytes
        A list of ColumnRule, pickled.
    """

    fingerprint: str
    complete: bool
    tables: Mapping[str, str]
    rules: bytes


@attrs.frozen(eq=False)
class Plan:
    """How rows are read.

    Attributes
    ----------
    reader : TableReader
        Reads the cells.
    schema : mapping
        Types of the columns once rows have their book.
    lots : Lots or None
        The book of each row; None where one book judges all.
    day : date
        The day that ages count at where a row tells none.
    stop : bool
        Whether a rule's Python body that raises stops the audit.
    own : sequence of FieldSpec
        Fields that packs have declared.
    """

    reader: TableReader
    schema: Mapping[str, Any]
    lots: Lots | None
    day: date
    stop: bool
    own: Sequence[FieldSpec]


class Lots(Placed):
    """Which book judges which places and days, found beforehand, without the books.

    Parameters
    ----------
    found : Placed
        That has seen all places and days of the fleet.
    """

    def __init__(self, found: Placed) -> None:
        super().__init__(Rulebooks(on=found.given.on))
        self._known = dict(found._known)
        self.refused = dict(found.refused)

    def _open(self, row: dict[str, Any]) -> int:
        told = ", ".join(f"{name} {value}" for name, value in row.items())
        raise SourceError(
            f"the frame changed while it was read: no row told {told} before",
            advice="persist the frame, or write it and read it again",
        )


@attrs.frozen
class Covered:
    """Stands for a rulebook where only its coverage is asked for."""

    complete: bool

    @property
    def coverage(self) -> Covered:
        """Itself."""
        return self


@attrs.frozen
class Shipment:
    """All that an executor needs, checked against what is installed there."""

    version: str
    plan: bytes
    laws: tuple[Law, ...]

    def opened(self) -> Plan:
        """Return how rows are read.

        Raises
        ------
        RuleError
            If another version is installed here.
        """
        if self.version != VERSION:
            raise RuleError(
                f"the driver has stemlore {self.version}, this executor {VERSION}",
                advice="ship the same environment to all executors",
            )
        made = _kept(sha256(self.plan).digest(), lambda: pickle.loads(self.plan))
        assert isinstance(made, Plan)
        for spec in made.own:
            declare_own(spec)
        return made

    def judging(self, lot: int, plan: Plan, *, details: bool) -> Judging:
        """Return the rules of a book, ready; kept for the next partition.

        Raises
        ------
        RuleError
            If a table that its rules read differs here.
        """
        law = self.laws[lot]

        def made() -> Judging:
            for name, fingerprint in law.tables.items():
                if table(name).fingerprint != fingerprint:
                    raise RuleError(
                        f"the table {name} differs between driver and executor",
                        advice="ship the same environment to all executors",
                    )
            rules: list[ColumnRule] = pickle.loads(law.rules)
            return Judging(plan.schema, rules, plan.day, contiguous=True, details=details, stop=plan.stop)

        # packs changed in memory keep their fingerprint, so the rules themselves count too
        key = law.fingerprint, sha256(law.rules).digest(), sha256(self.plan).digest(), details
        judging = _kept(key, made)
        assert isinstance(judging, Judging)
        return judging


_ready: dict[Any, Any] = {}


def _kept(key: Any, make: Callable[[], Any]) -> Any:
    if key not in _ready:
        made = make()
        if len(_ready) >= _MOST:
            _ready.clear()
        _ready[key] = made
    return _ready[key]


class _Stream:
    """Batches of one partition as a source, which can be read once."""

    name = "the partition"

    def __init__(self, batches: Iterator[pa.RecordBatch], first: pa.RecordBatch) -> None:
        self._given, self._first = batches, first
        self.schema: Mapping[str, Any] = _frame(first).schema

    def batches(self, columns: Sequence[str] | None = None) -> Iterator[pl.DataFrame]:
        yield _frame(self._first)
        for batch in self._given:
            yield _frame(batch)


def _frame(batch: pa.RecordBatch) -> pl.DataFrame:
    return pl.DataFrame(pl.from_arrow(pa.Table.from_batches([batch])))


@attrs.frozen
class Task:
    """One pass over a partition: what :meth:`DataFrame.mapInArrow` calls.

    Attributes
    ----------
    shipment : Shipment
        What is judged by what.
    what : str
        ``findings``, ``wide``, ``vehicles``, ``quality``, ``faults``, ``counts`` or ``keys``.
    names : tuple of str
        Columns to give, in order.
    wanted : tuple of int
        Outcomes wanted, for findings.
    wide : mapping
        Types of the columns, for wide.
    """

    shipment: Shipment
    what: str
    names: tuple[str, ...]
    wanted: tuple[int, ...] = ()
    wide: Mapping[str, Any] = attrs.field(factory=dict)

    def __call__(self, batches: Iterator[pa.RecordBatch]) -> Iterator[pa.RecordBatch]:
        """Yield what comes of the rows of a partition."""
        first = next(batches, None)
        if first is None:
            return
        plan = self.shipment.opened()
        given = {field.name: field.type for field in first.schema}
        vehicle = plan.reader.vehicle
        types = {**given, "vehicle_id": pa.string() if vehicle is None else given[vehicle]}
        if self.what in ("quality", "faults"):
            types["vehicle_id"] = pa.string()
        for made in self._made(plan, _Stream(batches, first)):
            if not made.height:
                continue
            yield from _shown(made.select(self.names), types if self.what != "keys" else {})

    def _made(self, plan: Plan, stream: _Stream) -> Iterator[pl.DataFrame]:
        if self.what == "keys":
            yield from _keys(plan, stream)
            return
        pairs = _rows(plan, stream)
        if self.what == "quality":
            yield from (wrong for _, wrong in pairs)
            return
        tally = Tally()
        details = self.what in ("findings", "faults")
        covered: list[Any] = [Covered(law.complete) for law in self.shipment.laws]
        for judged in self._judged(plan, pairs, details):
            match self.what:
                case "findings":
                    yield judged.findings(self.wanted, Tally())
                case "wide":
                    yield judged.wide(self.wide)
                case "vehicles":
                    yield vehicles_of(judged, covered)
                case "faults":
                    yield from (part.judging.faults for part in judged.parts)
                case _:
                    for part in judged.parts:
                        for rule, counts in part.judging.counts(part.judged).items():
                            tally.add(rule, counts)
        if self.what == "counts":
            rows = [(rule, *counts) for rule, counts in tally.outcomes.items()]
            yield pl.DataFrame(rows, schema=dict(COUNTS), orient="row")

    def _judged(
        self, plan: Plan, pairs: Iterator[tuple[pl.DataFrame, pl.DataFrame]], details: bool
    ) -> Iterator[Judged]:
        if len(self.shipment.laws) > 1:
            pairs = _by_book(pairs, plan.reader)
        for rows, wrong in pairs:
            parts = []
            lots = rows[LOT].unique(maintain_order=True).to_list()
            for lot in (each for each in lots if each >= 0):
                judging = self.shipment.judging(lot, plan, details=details)
                own = rows if len(lots) == 1 else rows.filter(pl.col(LOT) == lot)
                parts.append(Part(lot, judging, own, judging.judge(own)))
            yield Judged(parts, rows.filter(pl.col(LOT) < 0), wrong)


def _raw(plan: Plan, stream: _Stream) -> Iterator[pl.DataFrame]:
    """Yield the rows, no vehicle cut in two, with the frame's own numbers.

    Raises
    ------
    SourceError
        At the end, if rows of a vehicle stood apart; keeps 8 bytes a vehicle.
    """
    vehicle = plan.reader.vehicle
    starts: list[pl.Series] = []
    for batch in at_vehicle_bounds(stream, vehicle):
        if vehicle is not None:
            column = batch[vehicle]
            starts.append(column.filter(column.ne_missing(column.shift()) & column.is_not_null()).hash(1))
        yield batch.with_columns(pl.col(KEY).alias(ROW)).drop(KEY)
    if starts:
        found = pl.concat(starts)
        if found.n_unique() < len(found):
            raise SourceError(
                "rows of one vehicle stand apart in a partition", advice="leave out together=True"
            )


def _rows(plan: Plan, stream: _Stream) -> Iterator[tuple[pl.DataFrame, pl.DataFrame]]:
    """Yield the rows as rules read them, with the number of their book, and what is wrong with them."""
    for batch in _raw(plan, stream):
        rows, wrong = plan.reader.read(batch)
        if plan.lots is None:
            yield rows.with_columns(pl.lit(0, dtype=pl.Int32).alias(LOT)), wrong
            continue
        rows = plan.lots.label(rows)
        wrong = with_unjudged(wrong, rows, plan.lots.refused)
        yield rows, wrong


def _by_book(
    pairs: Iterator[tuple[pl.DataFrame, pl.DataFrame]], reader: TableReader
) -> Iterator[tuple[pl.DataFrame, pl.DataFrame]]:
    """Yield rows of one book at once, by way of the disk, where they are more than a batch."""
    begun = list(islice(pairs, 2))
    if len(begun) < 2:
        yield from begun
        return
    for rows, _ in by_lot(chain(begun, pairs), sources.BATCH, reader.renumbered):
        yield rows, _NOTHING


def _keys(plan: Plan, stream: _Stream) -> Iterator[pl.DataFrame]:
    """Yield the places and days that rows tell, each once a batch."""
    for batch in _raw(plan, stream):
        rows, _ = plan.reader.read(batch)
        rows = told_of_vehicles(rows)
        yield rows.select(name for name in LAW_KEYS if name in rows.columns).unique()


def _shown(frame: pl.DataFrame, given: Mapping[str, pa.DataType]) -> Iterator[pa.RecordBatch]:
    """Yield Arrow batches whose types Spark reads: no large strings, columns of the frame as they came."""
    made = frame.to_arrow()
    fields = [pa.field(field.name, given.get(field.name, _plain(field.type))) for field in made.schema]
    yield from made.cast(pa.schema(fields)).to_batches()


def _plain(dtype: pa.DataType) -> pa.DataType:
    if pa.types.is_large_string(dtype) or pa.types.is_string_view(dtype):
        return pa.string()
    if pa.types.is_large_list(dtype):
        return pa.list_(_plain(dtype.value_type))
    return dtype
