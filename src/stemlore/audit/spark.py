"""Audits of Spark frames: the same rules on the executors, a partition at a time."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from datetime import date
from functools import cached_property
from pathlib import Path
from typing import Any, Literal

import pyarrow as pa  # type: ignore[import-untyped]

from stemlore.audit._bodies import FAULTS
from stemlore.audit._books import LOT, TIES, Placed, Single, check_vehicle, told_of_vehicles
from stemlore.audit._groups import VEHICLES
from stemlore.audit._judging import FINDINGS, OUTCOMES, codes_of
from stemlore.audit._polars import pl
from stemlore.audit._sources import ROW
from stemlore.audit._spark_tasks import COUNTS, KEY, LAW_KEYS, VERSION, Law, Lots, Plan, Shipment, Task
from stemlore.audit._tables import KEPT, QUALITY, TableReader
from stemlore.audit.columns import LAW_DAY
from stemlore.audit.mapping import FleetMapping, read_mapping
from stemlore.audit.outcomes import ColumnRule, column_rules
from stemlore.errors import ColumnError, MissingExtraError, near_misses
from stemlore.model import FIELDS
from stemlore.rules import Coverage, Gravity, Rulebook, Rulebooks
from stemlore.rules.nodes import Lookup, walk
from stemlore.tables import table

try:
    from pyspark import cloudpickle
    from pyspark.sql import Column, DataFrame
    from pyspark.sql import functions as F  # noqa: N812 - as everyone calls it
    from pyspark.sql import types as T  # noqa: N812
    from pyspark.sql.pandas.types import to_arrow_type
except ImportError as error:
    raise MissingExtraError("auditing a Spark frame", extra="spark") from error

__all__ = ["FrameAudit", "audit_frame"]

_TYPES: Mapping[Any, T.DataType] = {
    pl.Int64: T.LongType(),
    pl.Int8: T.ByteType(),
    pl.Float64: T.DoubleType(),
    pl.String: T.StringType(),
    pl.Boolean: T.BooleanType(),
    pl.Date: T.DateType(),
    pl.List(pl.String): T.ArrayType(T.StringType()),
}


def audit_frame(
    frame: DataFrame,
    books: Rulebook | Rulebooks,
    *,
    mapping: FleetMapping | Path | str | bytes | None = None,
    day: date | None = None,
    row: str | None = None,
    together: bool = False,
    on_fault: Literal["stop", "list"] = "stop",
) -> FrameAudit:
    """Judge a Spark frame on its executors; the findings are those of :func:`stemlore.audit.audit_fleet`.

    Parameters
    ----------
    frame : pyspark.sql.DataFrame
        One row a wheel.
    books, mapping, day, on_fault
        As for :func:`stemlore.audit.audit_fleet`.
    row : str, optional
        A column that numbers the rows. Findings carry its numbers, and the
        first row of a vehicle is the one of the least. Without it, findings
        carry what Spark's ``monotonically_increasing_id`` gives: it grows
        with the frame's order, but counts no rows, and is the same for two
        tables only where the frame is read the same way twice.
    together : bool
        Whether all rows of a vehicle stand together in one partition already,
        which saves bringing them together.

    Returns
    -------
    FrameAudit
        Nothing is judged before Spark is asked for rows of its tables.

    Raises
    ------
    ColumnError
        If a column that is needed is not there.
    """
    told = FleetMapping() if mapping is None else mapping
    if not isinstance(told, FleetMapping):
        told = read_mapping(told)
    return FrameAudit(frame, books, told, day, row, together=together, stop=on_fault == "stop")


class FrameAudit:
    """A Spark frame and the rules it is judged by. Made by :func:`audit_frame`.

    Each table is a Spark frame, computed on the executors whenever rows of it
    are wanted. It has no order of rows. With books by place and day, the
    places and days that occur are counted first, by one Spark job: of these
    alone something comes to the driver.
    """

    def __init__(
        self,
        frame: DataFrame,
        books: Rulebook | Rulebooks,
        mapping: FleetMapping,
        day: date | None,
        row: str | None,
        *,
        together: bool,
        stop: bool,
    ) -> None:
        self._frame, self._stop, self._together = frame, stop, together
        self._books = Single(books, day) if isinstance(books, Rulebook) else Placed(books)
        names = frame.columns
        twice = [name for name in names if names.count(name) > 1]
        if twice:
            raise ColumnError(f"the frame has two columns {twice[0]!r}", advice="give each a name of its own")
        self._row = row
        self._check_row()
        own = [name for name in names if name != row or name in mapping.keep]
        known, _ = mapping.of(own)
        read = {each.name for each in known} | set(mapping.keep)
        self._reader = TableReader(
            {name: self._polars_type(name) if name in read else pl.Null() for name in own},
            mapping,
            contiguous=True,
        )
        if isinstance(self._books, Single):
            check_vehicle(self._rules.values(), self._reader.vehicle, self._frame.columns)

    def _check_row(self) -> None:
        if self._row is None:
            return
        if self._row not in self._frame.columns:
            near = near_misses(self._row, self._frame.columns)
            raise ColumnError(
                f"the frame has no column {self._row!r} that numbers its rows",
                advice=f"did you mean {near[0]!r}?" if near else "leave out row",
            )
        if not isinstance(self._frame.schema[self._row].dataType, T.IntegralType):
            raise ColumnError(f"{self._row!r} holds no whole numbers", advice="leave out row, or cast it")

    def _polars_type(self, name: str) -> Any:
        empty = pa.table({name: pa.array([], to_arrow_type(self._frame.schema[name].dataType))})
        return pl.DataFrame(pl.from_arrow(empty)).schema[name]

    # --- which books -------------------------------------------------------------------------

    @cached_property
    def _found(self) -> Single | Placed:
        """The books, once it is known which places and days occur."""
        if isinstance(self._books, Single):
            return self._books
        keys = self._reader.narrowed(("vehicle_id", *TIES, "law_place", "law_day", "event.on"))
        empty = keys.read(pl.DataFrame(schema={ROW: pl.Int64, **self._given(keys)}))[0]
        told = told_of_vehicles(empty).schema
        types = {name: told[name] for name in LAW_KEYS if name in told}
        if not {*TIES, LAW_DAY, "event_on"} & set(empty.columns):
            self._books.label(pl.DataFrame({"row": [0]}))
        else:
            plan = Plan(keys, empty.schema, None, self._books.day, self._stop, ())
            task = Task(Shipment(VERSION, _pickled(plan), ()), "keys", tuple(types))
            found = self._mapped(task, self._fields(types), keys).distinct().collect()
            rows = [tuple(each) for each in found]
            self._books.label(pl.DataFrame(rows, schema=types, orient="row").sort(list(types)))
        check_vehicle(self._rules.values(), self._reader.vehicle, self._frame.columns)
        return self._books

    def _given(self, reader: TableReader) -> dict[str, Any]:
        return {name: self._polars_type(name) for name in reader.names}

    @property
    def books(self) -> tuple[Rulebook, ...]:
        """The rulebooks that rows are judged by."""
        return tuple(self._found.books)

    @property
    def fingerprints(self) -> tuple[str, ...]:
        """Fingerprints of the books, under which their rules travel to the executors."""
        return tuple(law.fingerprint for law in self._shipment.laws)

    @property
    def coverage(self) -> tuple[Coverage, ...]:
        """Places and packs of each of the books."""
        return tuple(book.coverage for book in self.books)

    @property
    def complete(self) -> bool:
        """Whether every row is judged by a book whose places are all given and have a pack."""
        return not self._found.refused and all(each.complete for each in self.coverage)

    @property
    def _rules(self) -> Mapping[str, ColumnRule]:
        return {rule.name: rule for book in self._books.books for rule in column_rules(book)}

    @cached_property
    def _shipment(self) -> Shipment:
        found = self._found
        schema = found.label(pl.DataFrame(schema=self._reader.schema)).drop(LOT).schema
        own = tuple(spec for path, spec in FIELDS.items() if path.startswith("own."))
        lots = Lots(found) if isinstance(found, Placed) else None
        plan = Plan(self._reader, schema, lots, found.day, self._stop, own)
        return Shipment(VERSION, _pickled(plan), tuple(_law(book) for book in found.books))

    # --- tables ------------------------------------------------------------------------------

    @property
    def findings(self) -> DataFrame:
        """Every rule on every subject: see :meth:`findings_of` for some outcomes."""
        return self.findings_of(*OUTCOMES)

    def findings_of(self, *outcomes: str) -> DataFrame:
        """Return the findings of some outcomes.

        Parameters
        ----------
        *outcomes : str
            Of ``pass``, ``fail``, ``unknown``, ``not applicable``.

        Raises
        ------
        RuleError
            If an outcome is none of these.
        """
        task = Task(self._shipment, "findings", tuple(FINDINGS), codes_of(outcomes))
        return self._mapped(task, self._fields(FINDINGS))

    @property
    def wide(self) -> DataFrame:
        """The rows with what the mapping keeps, and a column of outcomes a rule.

        0 pass, 1 fail, 2 unknown, 3 not applicable; null where the row is no
        subject of the rule, or the rule is not in its book. A rule's id has
        dots: quote it in backticks where Spark reads names.
        """
        self._found  # noqa: B018 - the rules are those of its books
        reader = self._reader
        kept = {name: reader.schema[f"{KEPT}{name}"] for name in reader.kept}
        ids = reader.schema["vehicle"]
        schema = {"row": pl.Int64, "vehicle_id": ids, "position": pl.String, **kept}
        schema |= dict.fromkeys(self._rules, pl.Int8)
        return self._mapped(
            Task(self._shipment, "wide", tuple(schema), wide=schema), self._fields(schema, reader.kept)
        )

    @property
    def vehicles(self) -> DataFrame:
        """A row a vehicle: how many of its findings fail and are unknown, and what comes of it."""
        return self._mapped(Task(self._shipment, "vehicles", tuple(VEHICLES)), self._fields(VEHICLES))

    @property
    def quality(self) -> DataFrame:
        """What is wrong with the table: row, column, value, kind, message."""
        fields = self._fields(QUALITY, ids=T.StringType())
        made = self._mapped(Task(self._shipment, "quality", tuple(QUALITY)), fields)
        whole = self._reader.unknown_columns().rows()
        return (
            made if not whole else made.unionByName(self._frame.sparkSession.createDataFrame(whole, fields))
        )

    @property
    def faults(self) -> DataFrame:
        """The rules with a Python body that raised, where ``on_fault`` is ``list``."""
        fields = self._fields(FAULTS, ids=T.StringType())
        return self._mapped(Task(self._shipment, "faults", tuple(FAULTS)), fields)

    @property
    def summary(self) -> DataFrame:
        """How often each rule passes, fails, is unknown and does not apply; gravest failures first.

        The four add up to ``subjects``, the wheels, axles, pairs or vehicles judged.
        """
        self._found  # noqa: B018
        words = [name for name in COUNTS if name != "rule"]
        made = self._mapped(Task(self._shipment, "counts", tuple(COUNTS)), self._fields(COUNTS))
        counts = made.groupBy("rule").agg(*(F.sum(each).alias(each) for each in words))
        order = [each.value for each in Gravity]
        rules = [
            (rule.name, rule.title, rule.subject, rule.gravity, order.index(rule.gravity))
            for rule in self._rules.values()
        ]
        told = self._frame.sparkSession.createDataFrame(
            rules, "rule string, title string, subject string, gravity string, grave int"
        )
        zeroed = [F.coalesce(F.col(each), F.lit(0)).alias(each) for each in words]
        joined = told.join(counts, "rule", "left").select(
            "rule", "title", "subject", "gravity", "grave", *zeroed
        )
        total = sum((F.col(each) for each in words), F.lit(0)).cast("bigint").alias("subjects")
        ordered = joined.orderBy("grave", F.col("fail").desc(), "rule")
        return ordered.select("rule", "title", "subject", "gravity", total, *words)

    # --- Spark -------------------------------------------------------------------------------

    def _fields(
        self, schema: Mapping[str, Any], kept: Collection[str] = (), ids: T.DataType | None = None
    ) -> T.StructType:
        given = self._frame.schema
        vehicle = self._reader.vehicle
        own: dict[str, T.DataType] = {name: given[name].dataType for name in kept}
        own["vehicle_id"] = ids or (T.StringType() if vehicle is None else given[vehicle].dataType)
        return T.StructType([T.StructField(name, own.get(name) or _TYPES[schema[name]]) for name in schema])

    def _mapped(self, task: Task, fields: T.StructType, reader: TableReader | None = None) -> DataFrame:
        # a function of this module would be sought on the executors by its name, with all of this module
        def run(batches: Iterator[Any]) -> Iterator[Any]:
            yield from task(batches)

        return self._arranged(reader or self._reader).mapInArrow(run, fields)

    def _arranged(self, reader: TableReader) -> DataFrame:
        """Return the columns that are read, all rows of a vehicle in one partition, side by side."""
        number = (
            F.monotonically_increasing_id() + 1 if self._row is None else _column(self._row).cast("bigint")
        )
        names = dict.fromkeys(reader.names)  # what is read may be kept too
        made = self._frame.select(*(_column(name) for name in names), number.alias(KEY))
        if reader.vehicle is None or self._together:
            return made
        vehicle = _column(reader.vehicle)
        # rows of no vehicle are spread, as each stands for itself
        apart = F.when(vehicle.isNull(), _column(KEY))
        return made.repartition(vehicle, apart).sortWithinPartitions(vehicle, _column(KEY))

    def __repr__(self) -> str:
        return f"<FrameAudit of {len(self._frame.columns)} columns>"


def _column(name: str) -> Column:
    return F.col("`" + name.replace("`", "``") + "`")


def _pickled(of: object) -> bytes:
    made: bytes = cloudpickle.dumps(of)  # type: ignore[no-untyped-call]
    return made


def _law(book: Rulebook) -> Law:
    rules = column_rules(book)
    trees = [tree for rule in rules for tree in (rule.when, rule.check) if tree is not None]
    names = {part.table for tree in trees for part in walk(tree) if isinstance(part, Lookup)}
    tables = {name: table(name).fingerprint for name in sorted(names)}
    return Law(book.fingerprint, book.coverage.complete, tables, _pickled(rules))
