"""A table of wheels and a table of vehicles read as one."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property
from typing import Any

from stemlore.audit._polars import pl
from stemlore.audit._sources import Source
from stemlore.errors import ColumnError, near_misses

__all__ = ["Joined", "Tidied", "key_of"]


class Tidied:
    """A source of which the column that tells the vehicle has no blanks around or instead of texts.

    Parameters
    ----------
    source : Source
        The rows.
    key : str or None
        The column.
    missing : sequence of str
        Words for what is not known.
    """

    def __init__(self, source: Source, key: str | None, missing: Sequence[str] = ()) -> None:
        self.name, self.schema = source.name, source.schema
        self._source, self._key = source, key
        self._missing = ["", *missing]
        self._texts = key is not None and source.schema.get(key) in (pl.String, pl.Categorical)

    def batches(self, columns: Sequence[str] | None = None) -> Iterator[pl.DataFrame]:
        """Yield the rows in order; some columns only, where they are named."""
        for frame in self._source.batches(columns):
            if self._texts and self._key in frame.columns:
                text = pl.col(self._key).cast(pl.String).str.strip_chars()
                told = pl.when(~text.is_in(self._missing)).then(text)
                frame = frame.with_columns(told.cast(self.schema[self._key]).alias(self._key))
            yield frame


class Joined:
    """Wheels, each with what its vehicle's row says; then a row for each vehicle without wheels.

    Vehicles are held in memory.

    Parameters
    ----------
    wheels, vehicles : Source
        The two tables.
    key, vehicle_key : str
        The column of each that tells the vehicle.
    """

    def __init__(self, wheels: Source, vehicles: Source, key: str, vehicle_key: str) -> None:
        self.name = f"{wheels.name} and {vehicles.name}"
        if wheels.schema[key] != vehicles.schema[vehicle_key]:  # 12 and A7 stand together only as texts
            wheels, vehicles = _AsText(wheels, key), _AsText(vehicles, vehicle_key)
        self._wheels, self._vehicles = wheels, vehicles
        self._key, self._vehicle_key = key, vehicle_key
        self._others = [name for name in vehicles.schema if name != vehicle_key]
        clash = [name for name in self._others if name in wheels.schema]
        if clash:
            raise ColumnError(
                f"both tables have a column {clash[0]!r}",
                advice="leave it out of one of them, or give it another name",
            )
        unstated = {} if "unstated" in wheels.schema else {"unstated": pl.Boolean}
        self.schema: Mapping[str, Any] = {
            **wheels.schema, **{name: vehicles.schema[name] for name in self._others}, **unstated,
        }  # fmt: skip

    @cached_property
    def _read(self) -> tuple[pl.DataFrame, pl.DataFrame]:
        """The vehicles, one row each, and those that stand in several rows."""
        frames = list(self._vehicles.batches())
        key = pl.col(self._vehicle_key)
        whole = pl.concat(frames) if frames else pl.DataFrame(schema=dict(self._vehicles.schema))
        whole = whole.with_row_index("row", offset=1).filter(key.is_not_null())
        twice = whole.filter(key.is_duplicated())
        if twice.height:
            told = [pl.col(name).drop_nulls() for name in self._others]
            one = [pl.when(each.n_unique() == 1).then(each.first()) for each in told]
            merged = twice.group_by(self._vehicle_key, maintain_order=True).agg(pl.col("row").first(), *one)
            whole = pl.concat([whole.filter(~key.is_duplicated()), merged.select(whole.columns)]).sort("row")
        return whole.drop("row").rename({self._vehicle_key: self._key}), twice

    @property
    def repeated(self) -> pl.DataFrame:
        """The rows of the vehicles' table of which several are of one vehicle: ``row`` and the id."""
        return self._read[1].select("row", pl.col(self._vehicle_key).cast(pl.String).alias("vehicle_id"))

    @cached_property
    def unmatched(self) -> list[str]:
        """The vehicles that only the table of wheels names."""
        known = self._read[0][self._key]
        names: dict[str, None] = {}
        for frame in self._wheels.batches([self._key]):
            ids = frame[self._key].drop_nulls().unique(maintain_order=True)
            names.update(dict.fromkeys(ids.filter(~ids.is_in(known.implode())).cast(pl.String)))
        return list(names)

    def batches(self, columns: Sequence[str] | None = None) -> Iterator[pl.DataFrame]:
        """Yield the rows in order; some columns only, where they are named."""
        wanted = list(self.schema) if columns is None else list(columns)
        own = [name for name in self._wheels.schema if name in wanted or name == self._key]
        others = [name for name in self._others if name in wanted]
        vehicles = self._read[0].select(self._key, *others)
        seen: list[pl.Series] = []
        added = "unstated" not in self._wheels.schema
        for frame in self._wheels.batches(own):
            seen.append(frame[self._key].unique())
            made = frame
            if others:
                made = frame.join(vehicles, on=self._key, how="left", maintain_order="left")
            if added:
                made = made.with_columns(pl.lit(False).alias("unstated"))
            yield made.select(wanted)
        known = pl.concat(seen).unique() if seen else pl.Series([], dtype=self.schema[self._key])
        alone = vehicles.filter(~pl.col(self._key).is_in(known.implode()))
        if alone.height:
            absent = [
                pl.lit(None, dtype=dtype).alias(name)
                for name, dtype in self.schema.items()
                if name not in alone.columns and name != "unstated"
            ]
            yield alone.with_columns(*absent, pl.lit(True).alias("unstated")).select(wanted)


class _AsText:
    """A source of which one column is text."""

    def __init__(self, source: Source, key: str) -> None:
        self.name, self._source, self._key = source.name, source, key
        self.schema: Mapping[str, Any] = {**source.schema, key: pl.String}

    def batches(self, columns: Sequence[str] | None = None) -> Iterator[pl.DataFrame]:
        for frame in self._source.batches(columns):
            if self._key in frame.columns:
                column = pl.col(self._key)
                text = column.cast(pl.String)
                if frame.schema[self._key].is_float():  # 12.0 is 12 where a blank made numbers of it
                    whole = column.cast(pl.Int64, strict=False)
                    text = pl.when(column == column.floor()).then(whole.cast(pl.String)).otherwise(text)
                frame = frame.with_columns(text.alias(self._key))
            yield frame


def key_of(source: Source, named: Sequence[str], what: str) -> str:
    """Return the column of a table that tells the vehicle.

    Parameters
    ----------
    source : Source
        The table.
    named : sequence of str
        The columns that the mapping says so of, of this table or the other.
    what : str
        What the table is called.

    Raises
    ------
    ColumnError
        If there is none.
    """
    found = next((name for name in (*named, "vehicle_id") if name in source.schema), None)
    if found is not None:
        return found
    near = near_misses(named[0] if named else "vehicle_id", source.schema)
    raise ColumnError(
        f"the table of {what} has no column that is mapped to vehicle_id, and none of that name",
        advice=f"map it, perhaps {near[0]!r}" if near else "map it",
    )
