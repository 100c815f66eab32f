"""Whose column is what: names, units, designations and words of a fleet's table, as a TOML file."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Mapping
from functools import lru_cache
from pathlib import Path
from types import MappingProxyType
from typing import Any

import attrs

from stemlore.errors import ColumnError, DocumentError, Fault, StemloreError, near_misses
from stemlore.model import FIELDS, FieldSpec
from stemlore.model._spec import unit_suffix
from stemlore.rules import discover, pack
from stemlore.units import Unit, unit, unit_symbols

__all__ = ["KEYS", "LAW", "SPLITS", "ColumnMap", "FleetMapping", "read_mapping", "recognised"]

KEYS = (
    "vehicle_id", "position", "axle_number", "side", "place", "spare", "unstated", "vehicle_axle_count",
)  # fmt: skip
"""Columns that say which wheel a row is."""
LAW = ("registered_in", "used_in", "workshop", "law_place", "law_day")
"""Columns that say which law a row is judged by; ``law_place`` is all three places at once."""
SPLITS: Mapping[str, str] = MappingProxyType(
    {"size": "tyre.size", "service": "tyre.load_index", "date code": "tyre.identification_number"}
)
"""Designations that are taken apart: what each is called in a mapping, and the first field it gives."""
_NONE: Mapping[str, Any] = MappingProxyType({})
_LISTS = ("ignore", "missing", "keep")
_CHOICES: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {"decimal": (",", "."), "dates": ("day first", "month first")}
)
"""What a mapping says of the whole table: the mark before decimals, and what dates begin with."""
_PARTS = ("to", "unit", "split", "words")


@attrs.frozen
class ColumnMap:
    """What one column of a table is.

    Attributes
    ----------
    name : str
        As the table calls it.
    to : str
        A field's path, or one of :data:`KEYS` or :data:`LAW`.
    unit : Unit or None
        Unit of its plain numbers; None where each cell brings its own.
    split : str
        One of :data:`SPLITS`, or empty.
    words : mapping
        What the table's words mean.
    end : str
        ``earliest`` or ``latest`` where the column is one end of a span of days; else empty.
    """

    name: str
    to: str
    unit: Unit | None = None
    split: str = ""
    words: Mapping[str, Any] = _NONE
    end: str = ""

    @property
    def spec(self) -> FieldSpec | None:
        """The field; None for a key."""
        return FIELDS.get(self.to)


@attrs.frozen
class FleetMapping:
    """What the columns of a table are.

    Attributes
    ----------
    columns : tuple of ColumnMap
        Those that are named otherwise than fields.
    ignore : tuple of str
        Columns that are left out on purpose.
    missing : tuple of str
        Words for what is not known, such as ``n/a``.
    keep : tuple of str
        Columns that rules do not read, carried along as they stand to sum up by, such as the model.
    decimal : str
        ``,`` or ``.``: the mark before decimals in the whole table; the other parts thousands. Empty where
        it is not said: then a mark with three figures behind it is not read where it may be either.
    dates : str
        ``day first`` or ``month first``, of dates whose year comes last. Empty where it is not said: then
        they are not read.
    """

    columns: tuple[ColumnMap, ...] = ()
    ignore: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()
    keep: tuple[str, ...] = ()
    decimal: str = ""
    dates: str = ""

    def of(self, names: Iterable[str]) -> tuple[tuple[ColumnMap, ...], tuple[str, ...]]:
        """Return what the columns of a table are, and those that are not known.

        Raises
        ------
        ColumnError
            If the mapping names a column that the table lacks.
        DocumentError
            If two columns give the same field.
        """
        names = list(names)
        told = {each.name: each for each in self.columns}
        for name in (*told, *self.keep):
            if name not in names:
                near = near_misses(name, names)
                hint = f"did you mean {near[0]!r}?" if near else f"it has {', '.join(names[:12])}"
                raise ColumnError(f"the mapping names a column {name!r}, which the table lacks", advice=hint)
        known: list[ColumnMap] = []
        others: list[str] = []
        for name in names:
            found = told.get(name) or (None if name in self.ignore else recognised(name))
            if found is not None:
                known.append(found)
            elif name not in self.ignore and name not in self.keep:
                others.append(name)
        first: dict[tuple[str, str], str] = {}
        faults = [
            Fault(each.name, f"gives {each.to}, as {first[each.to, each.end]!r} does", "map or ignore one")
            for each in known
            if first.setdefault((each.to, each.end), each.name) != each.name
        ]
        if faults:
            raise DocumentError("columns of the fleet", faults)
        return tuple(known), tuple(others)


@lru_cache(maxsize=1)
def _names() -> dict[str, ColumnMap]:
    out: dict[str, ColumnMap] = {name: ColumnMap(name, name) for name in (*KEYS, *LAW)}
    for spec in list(FIELDS.values()):
        if spec.level == "none" or spec.kind in ("record", "records", "own"):
            continue
        base = spec.path.replace(".", "_")
        if spec.kind == "date":
            for end in ("earliest", "latest"):
                out.setdefault(f"{base}_{end}", ColumnMap(f"{base}_{end}", spec.path, end=end))
        if spec.kind != "number" or spec.unit is None:
            out.setdefault(base, ColumnMap(base, spec.path))
            continue
        out.setdefault(spec.column, ColumnMap(spec.column, spec.path, spec.unit))
        for symbol in unit_symbols():
            given = unit(symbol)
            if given.dimension == spec.unit.dimension and unit_suffix(given):
                name = f"{base}_{unit_suffix(given)}"
                out.setdefault(name, ColumnMap(name, spec.path, given))
        out.setdefault(base, ColumnMap(base, spec.path))
    return out


def recognised(name: str) -> ColumnMap | None:
    """Return what a column is whose name is a field's with its unit; None for others."""
    found = _names().get(name)
    if found is None and name.startswith("own_"):
        _open_packs(name.removeprefix("own_"))
        found = _names().get(name)
    return found


def _open_packs(name: str) -> None:
    """Open the packs that a field of its own may be of, as they declare their fields only then."""
    for each in discover().packs:
        if re.split("[._]", name)[: each.count("_") + 1] == each.split("_"):
            pack(each)
    _names.cache_clear()


def read_mapping(document: Path | str | bytes) -> FleetMapping:
    """Read a mapping.

    Parameters
    ----------
    document : Path, str or bytes
        A file, or the TOML text itself.

    Raises
    ------
    DocumentError
        With all that is wrong in it.

    Examples
    --------
    >>> from stemlore.audit import read_mapping
    >>> made = read_mapping('columns = { Reg = "vehicle_id", Tyre = { split = "size" } }')
    >>> [(each.name, each.to) for each in made.columns]
    [('Reg', 'vehicle_id'), ('Tyre', 'tyre.size')]
    """
    what = str(document) if isinstance(document, Path) else "mapping"
    try:
        text = document.read_bytes() if isinstance(document, Path) else document
        data = tomllib.loads(text.decode() if isinstance(text, bytes) else text)
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise DocumentError(what, [Fault("", f"cannot be read: {error}")]) from error
    faults: list[Fault] = []
    for key in data:
        if key not in ("columns", *_LISTS, *_CHOICES):
            faults.append(Fault(key, "is not known here", f"columns, {', '.join((*_LISTS, *_CHOICES))}"))
    given = data.get("columns", {})
    columns: list[ColumnMap] = []
    if not isinstance(given, dict):
        faults.append(Fault("columns", "must be a table of columns"))
        given = {}
    for name, told in given.items():
        try:
            columns.append(_column(name, {"to": told} if isinstance(told, str) else told))
        except DocumentError as error:
            faults += [fault.under(f"columns.{name}") for fault in error.faults]
    lists: dict[str, tuple[str, ...]] = {}
    for key in _LISTS:
        value = data.get(key, [])
        if isinstance(value, list) and all(isinstance(each, str) for each in value):
            lists[key] = tuple(value)
        else:
            faults.append(Fault(key, "must be a list of words"))
    choices = {key: data[key] for key in _CHOICES if key in data}
    for key, value in choices.items():
        if value not in _CHOICES[key]:
            faults.append(Fault(key, f"{value!r} is not known", f"one of {_either(_CHOICES[key])}"))
    if faults:
        raise DocumentError(what, faults)
    rest: dict[str, Any] = {**lists, **choices}
    return FleetMapping(tuple(columns), **rest)


def _either(words: Iterable[str]) -> str:
    return " and ".join(f'"{word}"' for word in words)


def _column(name: str, told: Any) -> ColumnMap:
    faults: list[Fault] = []
    if not isinstance(told, dict):
        raise DocumentError("column", [Fault("", f"{told!r} is no field", 'write "tyre.size"')])
    for key in told:
        if key not in _PARTS:
            faults.append(Fault(key, "is not known here", f"one of {', '.join(_PARTS)}"))
    split = str(told.get("split", ""))
    if split and split not in SPLITS:
        faults.append(Fault("split", f"{split!r} is no designation", f"one of {', '.join(SPLITS)}"))
    to = str(told.get("to", SPLITS.get(split, "")))
    if to.startswith("own.") and to not in FIELDS:
        _open_packs(to.removeprefix("own."))
    known = to in KEYS or to in LAW or to in FIELDS
    if not known:
        near = near_misses(to, [*KEYS, *LAW, *FIELDS])
        faults.append(Fault("to", f"{to!r} is no field", f"did you mean {near[0]}?" if near else ""))
    words = told.get("words", {})
    if not isinstance(words, dict):
        faults.append(Fault("words", "must be a table of words"))
    given: Unit | None = None
    spec = FIELDS.get(to)
    if "unit" in told and known:  # of a field that there is not, no unit is wrong
        try:
            given = unit(str(told["unit"]))
        except StemloreError as error:
            faults.append(Fault("unit", str(error)))
        if given is not None and (spec is None or spec.kind != "number"):
            faults.append(Fault("unit", f"{to} has no unit", "leave it out"))
        elif given is not None and spec is not None and given.dimension != (spec.unit or given).dimension:
            faults.append(Fault("unit", f"{given} is no unit of {to}", f"such as {spec.unit}"))
    if faults:
        raise DocumentError("column", faults)
    return ColumnMap(name, to, given, split, MappingProxyType(dict(words)))
