"""A first mapping for a table that is not known yet, and what of it could not be mapped."""

from __future__ import annotations

import re
from collections.abc import Mapping
from itertools import islice
from typing import Any

import attrs

from stemlore.audit._cells import read_column
from stemlore.audit._polars import pl
from stemlore.audit._sources import open_source
from stemlore.audit.mapping import KEYS, ColumnMap, FleetMapping, recognised
from stemlore.errors import StemloreError, near_misses
from stemlore.model import FIELDS, FieldSpec
from stemlore.units import Unit, unit

__all__ = ["Inspection", "inspect_source"]

_ROWS = 10_000
_MOST_EXAMPLES = 5
# words that name a field in tables of the trade
_ALIASES: Mapping[str, str] = {
    "vehicle": "vehicle_id", "vin": "vehicle_id", "plate": "vehicle_id", "registration": "vehicle_id",
    "reg": "vehicle_id", "fleet no": "vehicle_id", "pos": "position", "wheel position": "position",
    "axle": "axle_number", "tread": "tyre.tread_depth_main_grooves",
    "tread depth": "tyre.tread_depth_main_grooves", "pressure": "tyre.pressure", "tyre": "tyre.size",
    "tire": "tyre.size", "size": "tyre.size", "tyre size": "tyre.size", "tire size": "tyre.size",
    "dot": "tyre.identification_number", "date code": "tyre.identification_number",
    "category": "vehicle.category", "class": "vehicle.category", "gross mass": "vehicle.gross_mass",
    "gvw": "vehicle.gross_mass", "load index": "tyre.load_index", "speed index": "tyre.speed_symbol",
    "speed symbol": "tyre.speed_symbol", "first registration": "vehicle.first_registration",
    "date of visit": "event.on",
}  # fmt: skip


@attrs.frozen
class Inspection:
    """What was found in a table.

    Attributes
    ----------
    mapping : FleetMapping
        The proposal.
    unmapped : mapping
        Columns that could not be mapped, each with the fields named most like it.
    unread : mapping
        Mapped columns with words that could not be read, each with examples.
    rows : int
        How many rows were looked at.
    """

    mapping: FleetMapping
    unmapped: Mapping[str, tuple[str, ...]]
    unread: Mapping[str, tuple[str, ...]]
    rows: int

    def to_toml(self) -> str:
        """Return the proposal as the text of a mapping file."""
        lines = ["# A proposal: look through it before it is used.", "", "[columns]"]
        for each in self.mapping.columns:
            parts = [f"to = {_quoted(each.to)}"]
            if each.unit is not None:
                parts.append(f"unit = {_quoted(each.unit.symbol)}")
            if each.split:
                parts = [f"split = {_quoted(each.split)}"]
            if examples := self.unread.get(each.name):
                lines.append(f"# not read: {', '.join(map(repr, examples))}")
            lines.append(f"{_quoted(each.name)} = {{ {', '.join(parts)} }}")
        if self.unmapped:
            lines += ["", "# Not mapped:"]
        for name, near in self.unmapped.items():
            lines.append(f"# {_quoted(name)}{f' = {_quoted(near[0])}' if near else ''}")
        return "\n".join(lines) + "\n"


def inspect_source(source: Any) -> Inspection:
    """Propose a mapping for a table from its names and the first rows.

    Parameters
    ----------
    source : path, frame or Arrow stream
        As for :func:`audit_fleet`.

    Raises
    ------
    SourceError
        If the source cannot be read.
    """
    opened = open_source(source)
    frames = list(islice(opened.batches(), 1))
    sample = frames[0].head(_ROWS) if frames else pl.DataFrame(schema=dict(opened.schema))
    columns: list[ColumnMap] = []
    unmapped: dict[str, tuple[str, ...]] = {}
    unread: dict[str, tuple[str, ...]] = {}
    taken: set[str] = set()
    known = [*KEYS, *(spec.path for spec in FIELDS.values() if spec.level != "none")]
    for name in opened.schema:
        own = recognised(name)
        found = own or _proposed(name, sample[name])
        if found is None or (found.to in taken and not found.end):
            unmapped[name] = near_misses(_plain(name).replace(" ", "_"), known)
            continue
        taken.add(found.to)
        if own is None:
            columns.append(found)
        if examples := _unread(sample[name], found):
            unread[name] = examples
    return Inspection(FleetMapping(tuple(columns)), unmapped, unread, sample.height)


def _plain(name: str) -> str:
    words = re.sub(r"[^a-z0-9/]+", " ", re.sub(r"(?<=[a-z])(?=[A-Z])", " ", name).lower())
    return words.strip()


def _proposed(name: str, column: pl.Series) -> ColumnMap | None:
    """Return what a column may be, from its words and a unit at its end."""
    plain = _plain(name)
    given: Unit | None = None
    if " " in plain:
        head, _, tail = plain.rpartition(" ")
        try:
            given = unit(tail)
        except StemloreError:
            given = None
        if given is not None:
            plain = head
    to = _ALIASES.get(plain) or next(
        (p for p in FIELDS if p.replace(".", " ").replace("_", " ") == plain), None
    )
    if to is None:
        to = _by_contents(column)
    if to is None:
        return None
    spec: FieldSpec | None = FIELDS.get(to)
    if spec is None or spec.kind != "number":
        return ColumnMap(name, to)
    fits = given is not None and spec.unit is not None and given.dimension == spec.unit.dimension
    return ColumnMap(name, to, given if fits else None)


def _by_contents(column: pl.Series) -> str | None:
    """Return the designation that nearly all cells of a column are."""
    if column.dtype != pl.String:
        return None
    texts = column.drop_nulls().str.strip_chars().unique().head(200)
    texts = texts.filter(texts != "")
    for to in ("position", "tyre.size"):
        if len(texts) and len(_wrong(texts, ColumnMap("", to))) <= len(texts) * 0.1:
            return to
    return None


def _wrong(column: pl.Series, told: ColumnMap) -> list[str]:
    return read_column(column, told, FleetMapping())[1]["value"].unique(maintain_order=True).to_list()


def _unread(column: pl.Series, told: ColumnMap) -> tuple[str, ...]:
    return tuple(_wrong(column, told)[:_MOST_EXAMPLES])


def _quoted(text: str) -> str:
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'
