"""What a field of a record is: unit, meaning, how a reading is taken."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any, Literal, Protocol

import attrs

from stemlore.errors import UnknownFieldError
from stemlore.units import DIMENSIONLESS, HasUnits, Unit

__all__ = [
    "FIELDS",
    "FieldSpec",
    "Kind",
    "Level",
    "Notation",
    "Quantity",
    "field_spec",
    "meaning",
    "register",
    "unit_suffix",
]

Kind = Literal["number", "integer", "word", "flag", "text", "date", "notation", "record", "records", "own"]
Level = Literal["vehicle", "axle", "position", "none"]
Quantity = str | HasUnits
"""What a field with a unit takes: text with a unit, or a pint quantity."""


class Notation(Protocol):
    """A designation of the trade that can be read from text."""

    @classmethod
    def parse(cls, text: str, /) -> Any:
        """Read it."""


@attrs.frozen(kw_only=True)
class FieldSpec:
    """What a field is.

    Attributes
    ----------
    path : str
        ``tyre.tread_depth_main_grooves``.
    level : {'vehicle', 'axle', 'position', 'none'}
        The kind of subject that has it.
    kind : str
        ``number`` (has a unit), ``integer``, ``word`` (one of ``words``),
        ``flag``, ``text``, ``date``, ``notation``, or nested records.
    unit : Unit or None
        Unit in which a number is stored.
    meaning : str
        Noun phrase for people: "tread depth in the main grooves".
    how : str
        How the reading is taken.
    walk : int
        Place on a walk round the vehicle: papers first, wheel off last.
    words : tuple of str
        Words allowed.
    least : float or None
        Below this a number is impossible.
    holds : type or None
        Class of the notation or of the nested records.
    """

    path: str
    level: Level
    kind: Kind
    meaning: str
    how: str = ""
    walk: int = 0
    unit: Unit | None = None
    words: tuple[str, ...] = ()
    least: float | None = None
    holds: type[Any] | None = attrs.field(default=None, eq=False)

    @property
    def name(self) -> str:
        """The last part of the path."""
        return self.path.rpartition(".")[2]

    @property
    def column(self) -> str:
        """The name of the column: path with underscores, then the unit."""
        suffix = unit_suffix(self.unit) if self.kind == "number" else ""
        base = self.path.replace(".", "_")
        return f"{base}_{suffix}" if suffix else base

    @property
    def wire_number(self) -> str:
        """The name under which a plain number in the stored unit may be given; empty for other kinds."""
        suffix = unit_suffix(self.unit) if self.kind == "number" else ""
        return f"{self.name}_{suffix}" if suffix else ""


def unit_suffix(of: Unit | None) -> str:
    """Write a unit as the end of a column or field name: ``km_h``, ``nm``."""
    if of is None or of is DIMENSIONLESS:
        return ""
    return {"N.m": "nm", "degC": "deg_c", "year": "years"}.get(
        of.symbol, of.symbol.lower().replace("/", "_").replace(".", "")
    )


def meaning(
    text: str,
    *,
    kind: Kind = "number",
    unit: str = "",
    how: str = "",
    walk: int = 0,
    words: tuple[str, ...] = (),
    least: float | None = 0.0,
    holds: type[Any] | None = None,
) -> dict[str, Any]:
    """Return attrs metadata for one field; see :class:`FieldSpec`."""
    return {
        "stemlore": {
            "meaning": text,
            "kind": kind,
            "unit": unit,
            "how": how,
            "walk": walk,
            "words": words,
            "least": least if kind in ("number", "integer") else None,
            "holds": holds,
        }
    }


_FIELDS: dict[str, FieldSpec] = {}
FIELDS: Mapping[str, FieldSpec] = MappingProxyType(_FIELDS)
"""Every field of every record by its path."""


def register(spec: FieldSpec) -> None:
    """Add a field to :data:`FIELDS`; only the class decorator does so, at import."""
    _FIELDS[spec.path] = spec


def field_spec(path: str) -> FieldSpec:
    """Return the specification of a field.

    Raises
    ------
    UnknownFieldError
        With the nearest names.
    """
    try:
        return _FIELDS[path]
    except KeyError:
        raise UnknownFieldError(path, _FIELDS) from None
