"""A first mapping for a table that is not known yet, and what of it could not be mapped."""

from __future__ import annotations

import difflib
import re
from collections.abc import Mapping
from itertools import islice
from typing import Any

import attrs

from stemlore.audit._cells import read_column
from stemlore.audit._polars import pl
from stemlore.audit._sources import open_source
from stemlore.audit._trade_words import ALIASES, plain_words, wheel_meant
from stemlore.audit.mapping import KEYS, ColumnMap, FleetMapping, recognised
from stemlore.errors import StemloreError
from stemlore.model import FIELDS
from stemlore.units import Unit, unit

__all__ = ["Inspection", "inspect_source"]

_ROWS = 10_000
_MOST_EXAMPLES = 5
_ALIKE = 0.8
"""How much a name must look like a field's to be told as that."""
_MOST_KEPT = 50
"""Different texts of a column by which a fleet is summed up, at most."""
_WHEELS = "front taken for axle 1, rear for axle 2: right of vehicles with two axles only"
_NO_VEHICLE = (
    "No column was found that tells vehicles apart: map one to vehicle_id, else each row stands alone."
)


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
    vehicle : bool
        Whether a column tells vehicles apart.
    advice : tuple of str
        What to say of the table as a whole in the mapping.
    """

    mapping: FleetMapping
    unmapped: Mapping[str, tuple[str, ...]]
    unread: Mapping[str, tuple[str, ...]]
    rows: int
    vehicle: bool = True
    advice: tuple[str, ...] = ()

    def to_toml(self) -> str:
        """Return the proposal as the text of a mapping file."""
        lines = ["# A proposal: look through it before it is used."]
        if not self.vehicle:
            lines.append(f"# {_NO_VEHICLE}")
        lines += [f"# {line}" for line in self.advice]
        if self.mapping.keep:
            lines += ["", "# Few different texts, to sum up by:"]
            lines.append(f"keep = [{', '.join(map(_quoted, self.mapping.keep))}]")
        lines += ["", "[columns]"]
        for each in self.mapping.columns:
            parts = [f"to = {_quoted(each.to)}"]
            if each.unit is not None:
                parts.append(f"unit = {_quoted(each.unit.symbol)}")
            if each.split:
                parts = [f"split = {_quoted(each.split)}"]
            if each.words:
                lines.append(f"# {_WHEELS}")
                words = (f"{_quoted(word)} = {_quoted(meant)}" for word, meant in each.words.items())
                parts.append(f"words = {{ {', '.join(words)} }}")
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
    keep: list[str] = []
    messages: set[str] = set()
    own = {name: found for name in opened.schema if (found := recognised(name)) is not None}
    # what is named as a field comes before what only may be one
    taken = {found.to for found in own.values()}
    for name in opened.schema:
        found = own.get(name) or _proposed(name, sample[name])
        if found is None or (name not in own and found.to in taken):
            near = _near(name)
            if not near and _sums_up(sample[name]):
                keep.append(name)
            else:
                unmapped[name] = near
            continue
        taken.add(found.to)
        if name not in own:
            columns.append(found)
        faults = read_column(sample[name], found, FleetMapping())[1]
        if examples := faults["value"].unique(maintain_order=True).to_list():
            unread[name] = tuple(examples[:_MOST_EXAMPLES])
            messages.update(faults["message"])
    return Inspection(
        FleetMapping(tuple(columns), keep=tuple(keep)),
        unmapped,
        unread,
        sample.height,
        vehicle="vehicle_id" in taken,
        advice=_advice(messages),
    )


def _near(name: str) -> tuple[str, ...]:
    known = [*KEYS, *(spec.path for spec in FIELDS.values() if spec.level != "none")]
    plain = plain_words(name).replace(" ", "_")
    return tuple(difflib.get_close_matches(plain, known, cutoff=_ALIKE))


def _advice(messages: set[str]) -> tuple[str, ...]:
    """Return the keys of a mapping that would settle what could not be read."""
    keys = {"decimal": 'decimal = "," or "."', "dates = ": 'dates = "day first" or "month first"'}
    return tuple(
        f"Say {key} above [columns]: else some cells are not read."
        for word, key in keys.items()
        if any(word in each for each in messages)
    )


def _sums_up(column: pl.Series) -> bool:
    """Return whether a column holds few different texts, each for several rows."""
    if column.dtype != pl.String:
        return False
    texts = column.str.strip_chars()
    texts = texts.filter((texts != "").fill_null(False))
    different = texts.n_unique()
    if texts.str.contains(r"^[\d.,/ -]+$").all():  # numbers are no words to sum up by
        return False
    return 1 < different <= min(_MOST_KEPT, len(texts) // 2)


def _proposed(name: str, column: pl.Series) -> ColumnMap | None:
    """Return what a column may be, from its words and a unit at its end."""
    plain = plain_words(name)
    given: Unit | None = None
    to = _named(plain)
    if to is None:  # the whole name first: "mass" is no unit of "gross"
        head, _, tail = plain.rpartition(" ")
        given = _unit_of(head, tail)
        to = _named(head) if given is not None else _by_contents(column)
    if to is None:
        return None
    if to == "position":
        return ColumnMap(name, to, words=_wheels(column))
    return ColumnMap(name, to, given)


def _unit_of(head: str, tail: str) -> Unit | None:
    """Return the unit at the end of a name, where what stands before it names a field in such units."""
    spec = FIELDS.get(_named(head) or "")
    if spec is None or spec.kind != "number" or spec.unit is None:
        return None
    try:
        given = unit(tail)
    except StemloreError:
        return None
    return given if given.dimension == spec.unit.dimension else None


def _named(plain: str) -> str | None:
    """Return the field or key that words name."""
    names = (path for path in (*KEYS, *FIELDS) if re.sub(r"[._]", " ", path) == plain)
    return ALIASES.get(plain) or next(names, None)


def _wheels(column: pl.Series) -> Mapping[str, str]:
    """Return the words of a column that mean wheels by front and rear, with what they mean."""
    if column.dtype != pl.String:
        return {}
    texts = column.drop_nulls().str.strip_chars().unique(maintain_order=True)
    return {text: meant for text in texts if (meant := wheel_meant(text)) is not None}


def _by_contents(column: pl.Series) -> str | None:
    """Return the designation that nearly all cells of a column are."""
    if column.dtype != pl.String:
        return None
    texts = column.drop_nulls().str.strip_chars().unique().head(200)
    texts = texts.filter(texts != "")
    for to in ("position", "tyre.size"):
        words = _wheels(texts) if to == "position" else {}
        if len(texts) and len(_wrong(texts, ColumnMap("", to, words=words))) <= len(texts) * 0.1:
            return to
    return None


def _wrong(column: pl.Series, told: ColumnMap) -> list[str]:
    return read_column(column, told, FleetMapping())[1]["value"].unique(maintain_order=True).to_list()


def _quoted(text: str) -> str:
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'
