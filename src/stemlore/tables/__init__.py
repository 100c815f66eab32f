"""Reference tables: small, sourced, shipped as one Frictionless data package.

Belongs here: figures that a standard, a maker or a trade body publishes, one
CSV a table, with the reader and lookups that return a value with its citation.
Does not: dated limits of the law (parameters of packs), what follows from a
formula, anything known from memory only.

Any tool reads ``data/datapackage.json`` or the CSV beside it; nothing of this
library is needed for that.

Examples
--------
>>> table("load_index").lookup(91).value
615.0
>>> found = table("tubeless_valves").lookup("TR413", column="max_cold_pressure_kpa")
>>> found.value, found.unit, found.row["max_cold_pressure_printed"]
(450.0, 'kPa', '65 psi; 450 kPa')
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import lru_cache
from types import MappingProxyType

from stemlore.errors import NotInTableError, near_misses
from stemlore.provenance import Source
from stemlore.tables._reader import Package, read_package
from stemlore.tables._table import Cell, Column, Found, Key, Row, Table

__all__ = ["Cell", "Column", "Found", "Key", "Row", "Table", "sources", "table", "table_names"]


@lru_cache(maxsize=1)
def _package() -> Package:
    from importlib.resources import files  # here, so that importing rooms that name tables costs nothing

    return read_package(files("stemlore.tables").joinpath("data"))


@lru_cache(maxsize=64)
def table(name: str, *, edition: str | None = None) -> Table:
    """Return a table by name, read and checked once.

    Parameters
    ----------
    name : str
        One of :func:`table_names`.
    edition : str, optional
        Keep only the rows of this edition, where the table knows editions.

    Raises
    ------
    UnknownTableError
        With the near names.
    NotInTableError
        The table has no rows of this edition.
    TableError
        The file has faults; all are listed with file and line.
    """
    if edition is not None:
        whole = table(name)
        known = whole.editions
        if edition not in known:
            nearest = near_misses(edition, known) or known
            raise NotInTableError(name, f"edition {edition!r}", nearest)
        return replace(whole, rows=tuple(row for row in whole.rows if row["edition"] == edition))
    return _package().read(name)


def table_names() -> tuple[str, ...]:
    """Return the names of all tables."""
    return _package().names


def sources() -> Mapping[str, Source]:
    """Return every source that a table cites, by id."""
    return MappingProxyType(_package().sources)
