"""How a record is declared, made and altered.

A record is a frozen attrs class whose fields carry a :class:`FieldSpec`. The
specification is the one source of unit, meaning, how a reading is taken and
its place on a walk round the vehicle; column names, the wire, the docs and
the rules all read it from here.

attrs writes the class, its equality, hash and the signature that type
checkers see. Construction is ours, so that all faults of one record are told
at once and only the fields given are looked at.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Any, TypeVar, cast

import attrs

from stemlore.errors import Fault, RecordError, StemloreError, near_misses
from stemlore.model._readers import faults_of, reader_of
from stemlore.model._spec import FIELDS, FieldSpec, Level, Quantity, field_spec, meaning, register
from stemlore.units import DIMENSIONLESS, HasUnits, unit

__all__ = [
    "FIELDS",
    "FieldSpec",
    "Level",
    "Quantity",
    "adopted",
    "change",
    "field_spec",
    "from_stored",
    "given_text",
    "meaning",
    "read_field",
    "record",
    "specs_of",
]

T = TypeVar("T")


def specs_of(cls: type[Any]) -> Mapping[str, FieldSpec]:
    """Return the fields of a record class by name, in order."""
    return cast(Mapping[str, FieldSpec], cls.__stemlore_specs__)


def read_field(cls: type[Any], name: str, value: Any) -> Any:
    """Read one value for one field of a record class, without making the record."""
    return cls.__stemlore_readers__[name](value)


def from_stored(cls: type[T], values: dict[str, Any], given: Mapping[str, Any] | None = None) -> T:
    """Make a record from values that are already as stored, without reading them again.

    Numbers that are not finite become missing. Derived fields are filled in,
    and what contradicts itself raises RecordError as in the constructor.

    Parameters
    ----------
    cls : type
        The record class.
    values : dict
        By field name, in stored units; fields left out take their default.
    given : mapping, optional
        What was given for these fields, for :func:`given_text`.
    """
    inside: dict[str, Any] = {**cls.__stemlore_defaults__, **values}  # type: ignore[attr-defined]
    for name in cls.__stemlore_numbers__:  # type: ignore[attr-defined]
        number = inside[name]
        if number is not None and not math.isfinite(number):
            inside[name] = None
    if faults := cls.__stemlore_derive__(inside):  # type: ignore[attr-defined]
        raise RecordError(cls.__name__, faults)
    if given:
        inside["_given"] = given
    return adopted(cls, inside)


def adopted(cls: type[T], inside: dict[str, Any]) -> T:
    """Make a record around all its stored and derived values; the mapping must not be used otherwise."""
    made = cls.__new__(cls)
    object.__setattr__(made, "__dict__", inside)  # past the freeze of attrs
    return made


def _take(cls: Any, given: Mapping[str, Any], inside: dict[str, Any]) -> list[Fault]:
    """Read what was given into the fields, and tell what is wrong with it."""
    readers = cls.__stemlore_readers__
    faults: list[Fault] = []
    for name, value in given.items():
        reader = readers.get(name)
        if reader is None:
            near = near_misses(name, readers)
            advice = f"did you mean {' or '.join(near)}?" if near else f"known are {', '.join(readers)}"
            faults.append(Fault(name, "unknown field", advice))
            continue
        try:
            inside[name] = cls.__stemlore_defaults__[name] if value is None else reader(value)
        except StemloreError as error:
            inside[name] = _FAULTY
            faults.extend(faults_of(name, error))
    for name in cls.__stemlore_needed__:
        if inside[name] is None:
            faults.append(Fault(name, "must be given"))
    if not faults:
        faults.extend(cls.__stemlore_derive__(inside))
    return faults


_FAULTY = object()


def nothing_derived(inside: dict[str, Any]) -> list[Fault]:
    """Derive nothing; for records whose fields do not follow from others."""
    return []


def _told(spec: FieldSpec, value: Any) -> str:
    if spec.kind == "number":
        return repr(f"{value!r} {spec.unit}")
    if spec.kind in ("date", "notation"):
        return repr(str(value))
    return repr(dict(value)) if spec.kind == "own" else repr(value)


def _repr(self: Any) -> str:
    cls = type(self)
    parts = [
        f"{name}={_told(spec, self.__dict__[name])}"
        for name, spec in cls.__stemlore_specs__.items()
        if self.__dict__[name] != cls.__stemlore_defaults__[name]
    ]
    return f"{cls.__name__}({', '.join(parts)})"


def _restore(cls: type[T], stored: dict[str, Any], given: dict[str, str]) -> T:
    made = cls.__new__(cls)
    inside = made.__dict__
    inside.update(cls.__stemlore_defaults__)  # type: ignore[attr-defined]
    for name, value in stored.items():
        inside[name] = MappingProxyType(value) if type(value) is dict else value
    if given:
        inside["_given"] = given
    return made


def _reduce(self: Any) -> tuple[Any, ...]:
    cls = type(self)
    defaults = cls.__stemlore_defaults__
    inside = self.__dict__
    stored = {
        name: dict(inside[name]) if spec.kind == "own" else inside[name]
        for name, spec in cls.__stemlore_specs__.items()
        if inside[name] is not defaults[name]
    }
    texts = {name: given_text(self, name) for name in inside.get("_given", ())}
    return _restore, (cls, stored, {name: text for name, text in texts.items() if text is not None})


def record(prefix: str, *, level: Level) -> Callable[[type[T]], type[T]]:
    """Make a frozen attrs class a record of the model.

    Parameters
    ----------
    prefix : str
        First part of the path of its fields; empty for records that only hold others.
    level : {'vehicle', 'axle', 'position', 'none'}
        Kind of subject whose record it is.

    Notes
    -----
    A static method ``_derive(inside)`` on the class, if there is one, fills in
    fields that follow from others and returns faults where they contradict.
    ``_derived`` says which fields follow from which.
    """

    def declare(cls: type[T]) -> type[T]:
        specs: dict[str, FieldSpec] = {}
        for attribute in attrs.fields(cast(Any, cls)):
            told = dict(attribute.metadata["stemlore"])
            symbol = told.pop("unit")
            told["unit"] = (unit(symbol) if symbol else DIMENSIONLESS) if told["kind"] == "number" else None
            path = f"{prefix}.{attribute.name}" if prefix else attribute.name
            specs[attribute.name] = spec = FieldSpec(path=path, level=level, **told)
            if prefix:
                register(spec)
        made = cast(Any, cls)
        made.__stemlore_specs__ = MappingProxyType(specs)
        made.__stemlore_readers__ = {name: reader_of(spec) for name, spec in specs.items()}
        made.__stemlore_numbers__ = tuple(name for name, spec in specs.items() if spec.kind == "number")
        made.__stemlore_needed__ = tuple(
            attribute.name for attribute in attrs.fields(made) if attribute.default is attrs.NOTHING
        )
        made.__stemlore_defaults__ = {
            attribute.name: None if attribute.default is attrs.NOTHING else attribute.default
            for attribute in attrs.fields(made)
        }
        made.__stemlore_derive__ = staticmethod(getattr(made, "_derive", nothing_derived))

        def construct(self: Any, /, **given: Any) -> None:
            inside = self.__dict__
            inside.update(made.__stemlore_defaults__)
            faults = _take(made, given, inside)
            if faults:
                raise RecordError(made.__name__, faults)
            inside["_given"] = given

        made.__init__ = construct
        made.__repr__ = _repr
        made.__reduce__ = _reduce
        made.__copy__ = made.__deepcopy__ = lambda self, memo=None: self  # nothing inside can change
        made.__replace__ = change
        return cls

    return declare


def change(of: T, /, **values: Any) -> T:
    """Return the record with some fields altered.

    Parameters
    ----------
    of : record
        Any record of the model.
    **values
        New values, as the constructor takes them; None takes a reading away.
        What follows from an altered field is derived anew.

    Raises
    ------
    RecordError
        With every fault, as from the constructor.
    """
    cls = cast(Any, type(of))
    before = of.__dict__
    made = cls.__new__(cls)
    inside = made.__dict__
    inside.update((name, before[name]) for name in cls.__stemlore_specs__)
    for source, targets in getattr(cls, "_derived", {}).items():
        if source in values:
            inside.update((name, cls.__stemlore_defaults__[name]) for name in targets)
    faults = _take(cls, values, inside)
    if faults:
        raise RecordError(cls.__name__, faults)
    inside["_given"] = {**before.get("_given", {}), **values}
    return cast(T, made)


def given_text(of: Any, name: str) -> str | None:
    """Return what was given for a field, for print; None where it was not text nor a quantity."""
    value = of.__dict__.get("_given", {}).get(name)
    if isinstance(value, str):
        return value
    return str(value) if isinstance(value, HasUnits) and not isinstance(value, (int, float)) else None
