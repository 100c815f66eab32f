"""A table of wheels and a table of vehicles read as one."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property
from typing import Any

from stemlore.audit._polars import pl
from stemlore.audit._sources import Source
from stemlore.errors import ColumnError, near_misses

__all__ = ["Joined", "key_of"]


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
        if whole.schema[self._vehicle_key] != self.schema[self._key]:
            whole = whole.with_columns(key.cast(self.schema[self._key], strict=False))
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


def key_of(source: Source, wanted: str | None, what: str) -> str:
    """Return the column of a table that tells the vehicle.

    Raises
    ------
    ColumnError
        If there is none.
    """
    if wanted is not None and wanted in source.schema:
        return wanted
    if "vehicle_id" in source.schema:
        return "vehicle_id"
    near = near_misses(wanted or "vehicle_id", source.schema)
    raise ColumnError(
        f"the table of {what} has no column {wanted or 'vehicle_id'!r}, which tells the vehicle",
        advice=f"did you mean {near[0]!r}?" if near else "name the column so in both tables",
    )
