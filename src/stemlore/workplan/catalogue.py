"""What a workshop may fit: our table of valves, or the shop's own list."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Mapping
from functools import lru_cache
from pathlib import Path
from types import MappingProxyType
from typing import Any

import attrs

from stemlore.errors import Fault, FaultyError, RecordError, StemloreError
from stemlore.model import Sensor, Valve, change, specs_of
from stemlore.tables import table

__all__ = ["CatalogueItem", "read_catalogue", "table_catalogue"]

_KINDS = {
    **{kind: kind for kind in ("snap_in", "high_pressure_snap_in", "clamp_in", "truck_clamp_in")},
    "inner_tube": "tube_stem",
}
"""Families of the table by the kind of valve that they are."""


@attrs.frozen(kw_only=True)
class CatalogueItem:
    """A valve, or a sensor with its valve, that may be fitted.

    Attributes
    ----------
    code : str
        How the shop names it.
    valve : Valve
        What it is.
    sensor : Sensor or None
        The sensor that it carries, if any.
    carried : mapping of str to str
        Stock, price and whatever else the shop's list says; carried along and not interpreted.
    """

    code: str
    valve: Valve
    sensor: Sensor | None = None
    carried: Mapping[str, str] = attrs.field(factory=dict)


@lru_cache(maxsize=1)
def table_catalogue() -> tuple[CatalogueItem, ...]:
    """Return the valves of the table ``tubeless_valves``, numbers and kinds, each once."""
    found: dict[str, CatalogueItem] = {}
    for row in table("tubeless_valves").rows:
        code, kind = str(row["designation"]), str(row["family"])
        is_kind = (
            row["scheme"] == "generic"
        )  # a kind of valve, not a number; without a rating it tells nothing
        if kind not in _KINDS or code in found or (is_kind and row["max_cold_pressure_kpa"] is None):
            continue
        valve = Valve(table_code=code, kind=_KINDS[kind], extension=False)
        length = row["effective_length_mm"]
        if isinstance(length, float):
            valve = change(valve, effective_length=f"{length} mm")
        found[code] = CatalogueItem(code=code, valve=valve)
    return tuple(found.values())


def read_catalogue(source: Path | Iterable[Mapping[str, Any]]) -> tuple[CatalogueItem, ...]:
    """Read the shop's own list.

    Parameters
    ----------
    source : Path, or iterable of mappings
        A CSV file, or records, such as ``frame.iter_rows(named=True)``. A
        column ``code`` must be there; columns named like fields of a valve
        or sensor (``kind``, ``table_code``, ``rated_pressure``,
        ``sensor.frequency``) are read, texts with a unit ("65 psi"); others
        are carried along.

    Raises
    ------
    RecordError
        With every row that cannot be read, and two rows of one code; with
        the file and the reason where it cannot be read at all.
    """
    rows: list[Mapping[str, Any]] = _rows(source) if isinstance(source, Path) else list(source)
    faults: list[Fault] = []
    items: dict[str, CatalogueItem] = {}
    for number, row in enumerate(rows, 1):
        item = _item(row, f"row {number}", faults)
        if item is not None and item.code in items:
            faults.append(Fault(f"row {number}.code", f"{item.code!r} is there twice"))
        elif item is not None:
            items[item.code] = item
    if not rows:
        faults.append(Fault("", "has no rows", "a catalogue needs at least one part"))
    if faults:
        raise RecordError("catalogue", faults)
    return tuple(items.values())


def _rows(file: Path) -> list[Mapping[str, Any]]:
    """Read the rows of a CSV file, or say why that cannot be."""
    try:
        with file.open(encoding="utf-8-sig", newline="") as opened:
            return list(csv.DictReader(opened))
    except (OSError, UnicodeError, csv.Error) as error:
        advice = "look at path and rights" if isinstance(error, OSError) else "save it anew as CSV in UTF-8"
        why = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        fault = Fault("", f"cannot be read as CSV in UTF-8: {why}", advice, str(file))
        raise RecordError("catalogue", [fault]) from error


def _item(row: Mapping[str, Any], where: str, faults: list[Fault]) -> CatalogueItem | None:
    given: dict[type[Any], dict[str, Any]] = {Valve: {}, Sensor: {}}
    carried: dict[str, str] = {}
    code = ""
    for name, value in row.items():
        if name is None:
            faults.append(Fault(where, "has more cells than the head has names"))
            return None
        if value is None or (isinstance(value, str) and not value.strip()):
            continue
        if name == "code":
            code = str(value).strip()
        elif name.startswith("sensor.") and name[7:] in specs_of(Sensor):
            given[Sensor][name[7:]] = _typed(Sensor, name[7:], value)
        elif name in specs_of(Valve) and name != "code":
            given[Valve][name] = _typed(Valve, name, value)
        else:
            carried[name] = str(value)
    if not code:
        faults.append(Fault(f"{where}.code", "must be given", "how the shop names the part"))
        return None
    before = len(faults)
    made: dict[type[Any], Any] = {}
    for kind, values in given.items():
        try:
            made[kind] = kind(**values)
        except StemloreError as error:
            told = error.faults if isinstance(error, FaultyError) else [Fault("", str(error))]
            faults += [fault.under(where) for fault in told]
    if len(faults) > before:
        return None
    sensor = made[Sensor] if given[Sensor] else None
    return CatalogueItem(code=code, valve=made[Valve], sensor=sensor, carried=MappingProxyType(carried))


_FLAGS = {"yes": True, "true": True, "1": True, "no": False, "false": False, "0": False}


def _typed(record: type[Any], name: str, value: Any) -> Any:
    """Return a cell as the constructor takes it: flags are words in a CSV."""
    if specs_of(record)[name].kind == "flag" and isinstance(value, str):
        return _FLAGS.get(value.strip().lower(), value)
    return value.strip() if isinstance(value, str) else value
