"""A batch of a fleet's table made into what rules read, and a list of what is wrong with it."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from copy import copy
from typing import Any

from stemlore.audit._cells import read_column
from stemlore.audit._derived import Wrong, derived, twins
from stemlore.audit._polars import pl
from stemlore.audit._sources import ROW
from stemlore.audit.mapping import KEYS, LAW, FleetMapping, recognised
from stemlore.errors import ColumnError, near_misses
from stemlore.model import FIELDS

__all__ = ["KEPT", "QUALITY", "UNREAD", "TableReader"]

_ALIKE = 0.8
"""How near a header must come to a name to be taken for a slip: those of a shop are its own words."""
QUALITY: Mapping[str, Any] = {
    "row": pl.Int64,
    "vehicle_id": pl.String,
    "column": pl.String,
    "value": pl.String,
    "kind": pl.String,
    "message": pl.String,
}
"""The columns of the table of data quality."""
_PLACE = ("vehicle_id", "axle_number", "side", "place", "spare")
KEPT = "kept "
"""What stands before the name of a column that is carried along."""
UNREAD = "law unread"
"""Whether a row tells a place or day of law that cannot be read, or that others of its vehicle contradict."""
_LAW = ("registered_in", "used_in", "workshop", "law_day")


class TableReader:
    """Reads the batches of one table.

    Parameters
    ----------
    schema : mapping
        Types by name of the table's columns.
    mapping : FleetMapping
        What the columns are.
    contiguous : bool
        Whether rows of a vehicle stand together.
    """

    def __init__(self, schema: Mapping[str, Any], mapping: FleetMapping, *, contiguous: bool) -> None:
        self.mapping = mapping
        self.contiguous = contiguous
        self.columns, self.others = mapping.of(schema)
        if not any(each.to not in (*KEYS, *LAW) for each in self.columns):
            raise ColumnError(
                "no column of the table is a field that rules read",
                advice="map its columns: stemlore audit inspect FILE proposes a mapping",
            )
        nested = [each.name for each in self.columns if schema[each.name].is_nested()]
        if nested:
            raise ColumnError(
                f"column {nested[0]!r} holds lists or records, no single values",
                advice="take it apart into columns of its own, or list it under ignore",
            )
        self._says_law = {each.to for each in self.columns} & set(LAW)
        if "law_day" not in self._says_law:  # the day of the visit is then the day of law
            self._says_law |= {each.to for each in self.columns} & {"event.on"}
        self.kept = tuple(name for name in mapping.keep if name in schema)
        named = [each.name for each in self.columns if each.to == "vehicle_id"]
        self.vehicle = named[0] if named else None
        empty = pl.DataFrame(schema={ROW: pl.Int64, **schema})
        self.schema: Mapping[str, Any] = self.read(empty)[0].schema

    def unknown_columns(self) -> pl.DataFrame:
        """Return the columns that are not known, as rows of the table of data quality."""
        known = [*KEYS, *LAW, *(spec.column for spec in FIELDS.values() if spec.level != "none")]
        rows = []
        for name in self.others:
            near = near_misses(name.lower().replace(" ", "_"), known, alike=_ALIKE)
            hint = f"did you mean {' or '.join(near)}?" if near else "map it, or list it under ignore"
            rows.append((None, None, name, None, "unknown column", f"not read; {hint}"))
        return pl.DataFrame(rows, schema=dict(QUALITY), orient="row")

    def narrowed(self, to: Collection[str]) -> TableReader:
        """Return a reader of some columns alone, by what they are."""
        made = copy(self)
        made.columns = tuple(each for each in self.columns if each.to in to)
        made.kept = ()
        return made

    @property
    def names(self) -> list[str]:
        """The table's columns that are read."""
        return [*(each.name for each in self.columns), *self.kept]

    def renumbered(self, frame: pl.DataFrame) -> pl.DataFrame:
        """Return rows of several batches with numbers of their vehicles that are no others'."""
        if self.vehicle is None:
            return frame
        return frame.with_columns(self._numbers(frame["vehicle"]).alias("vehicle_id"))

    def read(self, batch: pl.DataFrame) -> tuple[pl.DataFrame, pl.DataFrame]:
        """Return the rows as rules read them, and what is wrong with their cells."""
        made: dict[str, pl.Series] = {}
        wrong: list[pl.DataFrame] = []
        unread = pl.Series([False]).new_from_index(0, batch.height)
        ids = pl.Series("vehicle", [None] * batch.height, dtype=pl.String)
        if self.vehicle is not None:
            ids = batch[self.vehicle].alias("vehicle")
        for each in self.columns:
            values, faults = read_column(batch[each.name], each, self.mapping)
            for name, value in values.items():
                if name in made:  # a tie's own place before that of all three
                    pair = (made[name], value) if each.to == "law_place" else (value, made[name])
                    value = pair[0].zip_with(pair[0].is_not_null(), pair[1])
                made[name] = value
            if faults.height:
                wrong.append(self._told(batch, ids, faults, each.name))
                if each.to in self._says_law:
                    unread = unread.scatter(faults["at"], True)
        if self.vehicle is not None:
            made["vehicle_id"] = self._numbers(ids)
        kept = {f"{KEPT}{name}": batch[name] for name in self.kept}
        # in one piece: of texts in several, Polars panics in a choice of texts
        if self._says_law:
            made[UNREAD] = unread
        frame = pl.DataFrame({"row": batch[ROW], "vehicle": ids, **made, **kept}).rechunk()
        for step in (self._derived, self._no_vehicle, self._repeated, self._contradicting, self._twins):
            frame, faults = step(frame)
            if faults.height:
                wrong.append(faults)
        quality = pl.concat(wrong).sort("row", maintain_order=True) if wrong else pl.DataFrame(schema=QUALITY)
        return frame, quality

    def _told(self, batch: pl.DataFrame, ids: pl.Series, faults: pl.DataFrame, column: str) -> pl.DataFrame:
        at = faults["at"]
        return _quality(
            batch[ROW].gather(at),
            ids.gather(at),
            column,
            faults["value"],
            faults["kind"],
            faults["message"],
        )

    def _numbers(self, ids: pl.Series) -> pl.Series:
        """Return a number for each vehicle; rows of no vehicle get one each."""
        column = pl.col("vehicle")
        if self.contiguous:
            number = (column.ne_missing(column.shift()) | column.is_null()).cum_sum().cast(pl.Int64)
        else:
            apart = -pl.int_range(pl.len(), dtype=pl.Int64) - 1
            number = column.rank("dense").cast(pl.Int64).fill_null(apart)
        return ids.to_frame().select(number.alias("vehicle_id"))["vehicle_id"]

    def _derived(self, frame: pl.DataFrame) -> tuple[pl.DataFrame, pl.DataFrame]:
        return self._followed(frame, *derived(frame))

    def _twins(self, frame: pl.DataFrame) -> tuple[pl.DataFrame, pl.DataFrame]:
        return self._followed(frame, *twins(frame))

    @staticmethod
    def _followed(
        before: pl.DataFrame, frame: pl.DataFrame, wrong: Sequence[Wrong]
    ) -> tuple[pl.DataFrame, pl.DataFrame]:
        """Return the rows, and the cells that contradict what follows from others."""
        told = []
        for differ, column, why in wrong:
            bad = before.filter(differ)
            value = bad[column].cast(pl.String) if column in bad.columns else None
            told.append(_quality(bad["row"], bad["vehicle"], column, value, "contradiction", why))
        return frame, _joined(told)

    def _no_vehicle(self, frame: pl.DataFrame) -> tuple[pl.DataFrame, pl.DataFrame]:
        if self.vehicle is None or not frame["vehicle"].null_count():
            return frame, pl.DataFrame(schema=QUALITY)
        bad = frame.filter(pl.col("vehicle").is_null())
        message = "taken for a vehicle of its own"
        return frame, _quality(bad["row"], bad["vehicle"], self.vehicle, None, "no vehicle", message)

    @staticmethod
    def _repeated(frame: pl.DataFrame) -> tuple[pl.DataFrame, pl.DataFrame]:
        """Of a wheel that stands in several rows, take only readings that these agree on."""
        keys = [name for name in _PLACE if name in frame.columns]
        if "vehicle_id" not in keys or len(keys) < 2:
            return frame, pl.DataFrame(schema=QUALITY)
        told = pl.lit(False)
        if {"axle_number", "side"} <= set(keys):
            told = pl.col("axle_number").is_not_null() & pl.col("side").is_not_null()
        if "spare" in keys:
            told = told | pl.col("spare").fill_null(False)
        twice = frame.select(pl.struct(keys).is_duplicated() & told).to_series()
        if not twice.any():
            return frame, pl.DataFrame(schema=QUALITY)
        own = [
            name
            for name in frame.columns
            if name not in (*KEYS, "row", "vehicle") and _level(name) == "position"
        ]
        bad = frame.filter(twice)
        agreed = pl.struct(keys)
        frame = frame.with_columns(
            pl.when(~twice | (pl.col(name).n_unique().over(agreed) == 1)).then(pl.col(name)).alias(name)
            for name in own
        )
        message = "the same wheel in several rows; only readings that these agree on are taken"
        return frame, _quality(bad["row"], bad["vehicle"], "position", None, "duplicate", message)

    def _contradicting(self, frame: pl.DataFrame) -> tuple[pl.DataFrame, pl.DataFrame]:
        """Take no value of a vehicle or axle for which its rows say different things."""
        wrong: list[pl.DataFrame] = []
        if "vehicle_id" not in frame.columns:
            return frame, _joined(wrong)
        by = {"vehicle": ["vehicle_id"], "axle": ["vehicle_id", "axle_number"]}
        for level, keys in by.items():
            names = [
                name
                for name in frame.columns
                if name not in (*KEYS, "row", "vehicle") and _level(name) == level
            ]
            if level == "vehicle":
                names += [name for name in ("vehicle_axle_count", *_LAW) if name in frame.columns]
            if not names or not set(keys) <= set(frame.columns):
                continue
            if not (names := _varying(frame, names, keys)):
                continue
            spread = frame.group_by(keys).agg(pl.col(name).drop_nulls().n_unique() > 1 for name in names)
            for name in [each for each in names if spread[each].any()]:
                bad = spread.filter(pl.col(name)).select(keys).with_columns(pl.lit(True).alias("differs"))
                joined = frame.join(bad, on=keys, how="left", nulls_equal=True, maintain_order="left")
                differs = joined["differs"].fill_null(False)
                rows = frame.filter(differs)
                message = f"rows of one {level} say different things; none is taken"
                wrong.append(
                    _quality(
                        rows["row"],
                        rows["vehicle"],
                        name,
                        rows[name].cast(pl.String),
                        "contradiction",
                        message,
                    )
                )
                frame = frame.with_columns(pl.when(~differs).then(pl.col(name)).alias(name))
                if name in _LAW or (name == "event_on" and "event.on" in self._says_law):
                    frame = frame.with_columns((pl.col(UNREAD) | differs).alias(UNREAD))
        return frame, _joined(wrong)


def _varying(frame: pl.DataFrame, names: Sequence[str], keys: Sequence[str]) -> list[str]:
    """Return the columns that may say different things of one vehicle or axle.

    Where the rows of each stand together, one that never changes from row to
    row within them says one thing, which is told faster than by grouping.
    """
    before = [pl.col(key).shift() for key in keys]
    same = pl.all_horizontal(pl.col(key).eq_missing(each) for key, each in zip(keys, before, strict=True))
    first, last = pl.col(keys[0]), pl.col(keys[-1])
    back = (last < before[-1]).fill_null(False) | (before[-1].is_null() & last.is_not_null())
    steps = ((first < before[0]) | ((first == before[0]) & back)).slice(1)
    changes = [(same & pl.col(name).ne_missing(pl.col(name).shift())).any().alias(name) for name in names]
    apart, *found = frame.select(steps.any().alias("apart"), *changes).row(0)
    return list(names) if apart else [name for name, changed in zip(names, found, strict=True) if changed]


def _joined(parts: Sequence[pl.DataFrame]) -> pl.DataFrame:
    return pl.concat(parts) if parts else pl.DataFrame(schema=QUALITY)


def _level(name: str) -> str:
    found = recognised(name)
    spec = None if found is None else found.spec
    return "" if spec is None else spec.level


def _quality(
    row: pl.Series, vehicle: pl.Series, column: str, value: Any, kind: Any, message: Any
) -> pl.DataFrame:
    def whole(of: Any) -> Any:
        return of if isinstance(of, pl.Series) else pl.lit(of, dtype=pl.String)

    told = {"vehicle_id": vehicle.cast(pl.String), "value": whole(value), "kind": whole(kind)}
    return (
        pl.DataFrame({"row": row})
        .with_columns(column=pl.lit(column), message=whole(message), **told)
        .select(list(QUALITY))
    )
