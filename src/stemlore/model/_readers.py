"""Reading one given value for one field."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping
from datetime import date, datetime
from functools import lru_cache
from types import MappingProxyType
from typing import Any, cast

from stemlore.errors import Fault, FaultyError, RecordError, StemloreError, near_misses
from stemlore.model._spec import FieldSpec
from stemlore.notation import DateSpan
from stemlore.units import DIMENSIONLESS, measure, settle, show

__all__ = ["NO_OWN", "OWN_NAME", "faults_of", "reader_of", "stored_reader_of"]

OWN_NAME = r"^[a-z][a-z0-9_-]*(\.[a-z][a-z0-9_]*)+$"
"""What a field of a pack is called: the pack, then the field, in small letters."""
_OWN_NAME = re.compile(OWN_NAME)

NO_OWN: Mapping[str, Any] = MappingProxyType({})
"""No fields of packs."""


@lru_cache(maxsize=8192)
def _parsed(holds: Any, text: str) -> Any:
    return holds.parse(text)


def _told(message: str, advice: str = "") -> RecordError:
    return RecordError("value", [Fault("", message, advice)])


def faults_of(name: str, error: StemloreError) -> list[Fault]:
    """Return what an error tells, as faults at ``name``."""
    if isinstance(error, FaultyError):
        return [fault.under(name) for fault in error.faults]
    message = getattr(error, "message", str(error))
    return [Fault(name, message, getattr(error, "advice", ""))]


def _below(value: object, spec: FieldSpec) -> RecordError:
    least = show(cast(float, spec.least), spec.unit or DIMENSIONLESS)
    return _told(f"{value} is impossible: below {least}", "check the reading and its unit")


def _read_number(spec: FieldSpec) -> Callable[[Any], float | None]:
    wanted = spec.unit or DIMENSIONLESS
    least = spec.least

    def read(value: Any) -> float | None:
        number = measure(value, wanted)
        if number is None:
            return None
        if not math.isfinite(number):
            raise _told(f"{value} is too great a number", "check the reading and its unit")
        if least is not None and number < least:
            raise _below(value, spec)
        return number

    return read


def stored_reader_of(spec: FieldSpec) -> Callable[[Any], float]:
    """Return the function that reads plain numbers in the stored unit, as documents and columns give them."""
    least = -math.inf if spec.least is None else spec.least
    finite = math.isfinite

    def read(value: Any) -> float:
        if type(value) is not float:
            value = _as_float(spec, value)
        if not finite(value):
            raise _told(f"{value} is not a finite number", "leave the field out if it is not known")
        number = settle(value)
        if number < least:
            raise _below(f"{value:g} {spec.unit}", spec)
        return number

    return read


def _as_float(spec: FieldSpec, value: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        raise _told(
            f"{value!r} is not a number",
            f"give a plain number in {spec.unit} here, or {spec.name} with its unit",
        )
    try:
        return float(value)
    except OverflowError:
        return math.inf


def _read_integer(spec: FieldSpec) -> Callable[[Any], int]:
    least = spec.least

    def read(value: Any) -> int:
        if isinstance(value, bool) or not isinstance(value, int):
            raise _told(f"{value!r} is not a whole number", "write it without quotes or unit")
        if least is not None and value < least:
            raise _told(f"{value} is impossible: below {least:g}")
        if value > 2**53:
            raise _told(f"{value:.6g} is too great a number")
        return int(value)

    return read


def _loosened(word: str) -> str:
    return word.strip().lower().replace("-", "_").replace(" ", "_")


def _read_word(spec: FieldSpec) -> Callable[[Any], str]:
    exact = {word: word for word in spec.words}
    loose = {_loosened(word): word for word in spec.words}

    def read(value: Any) -> str:
        if not isinstance(value, str):
            raise _told(f"{value!r} is not a word", f"one of {', '.join(spec.words)}")
        found = exact.get(value) or loose.get(_loosened(value))
        if found is None:
            near = near_misses(_loosened(value), loose)
            hint = f"did you mean {loose[near[0]]}? " if near else ""
            raise _told(f"{value[:60]!r} is not known here", f"{hint}one of {', '.join(spec.words)}")
        return found

    return read


def _read_flag(spec: FieldSpec) -> Callable[[Any], bool]:
    def read(value: Any) -> bool:
        if value is True or value is False:
            return value
        raise _told(f"{value!r} is neither true nor false", "write true or false without quotes")

    return read


def _encodes(text: str) -> bool:
    try:
        text.encode()
    except UnicodeEncodeError:  # a lone surrogate: it could be neither written nor hashed
        return False
    return True


def _read_text(spec: FieldSpec) -> Callable[[Any], str]:
    def read(value: Any) -> str:
        if not isinstance(value, str) or not value.strip():
            raise _told(f"{value!r} is not text", "write text, or leave the field out")
        if not _encodes(value):
            raise _told(f"{value!r} holds half a character", "write it again as Unicode text")
        return value.strip()

    return read


def _read_date(spec: FieldSpec) -> Callable[[Any], DateSpan]:
    def read(value: Any) -> DateSpan:
        if isinstance(value, DateSpan):
            return value
        if isinstance(value, datetime):
            raise _told(f"{value} has a time of day", "give a date")
        if isinstance(value, date):
            return DateSpan.day(value)
        if isinstance(value, str):
            return cast(DateSpan, _parsed(DateSpan, str(value)))
        raise _told(f"{value!r} is not a date", "write it as 2018-06-04, 2018-W23, 2018-06 or 2018")

    return read


def _read_notation(spec: FieldSpec) -> Callable[[Any], Any]:
    holds = cast(Any, spec.holds)

    def read(value: Any) -> Any:
        if isinstance(value, holds):
            return value
        if isinstance(value, str):
            return _parsed(holds, str(value))
        raise _told(f"{value!r} is not a {holds.__name__}", "write it as text")

    return read


def _read_record(spec: FieldSpec) -> Callable[[Any], Any]:
    holds = cast(type[Any], spec.holds)

    def read(value: Any) -> Any:
        if isinstance(value, holds):
            return value
        raise _told(f"a {type(value).__name__} is not a {holds.__name__}", f"give a {holds.__name__}(...)")

    return read


def _read_records(spec: FieldSpec) -> Callable[[Any], tuple[Any, ...]]:
    holds = cast(Any, spec.holds)
    parses = hasattr(holds, "parse")

    def read(value: Any) -> tuple[Any, ...]:
        if isinstance(value, (str, bytes, Mapping)) or not hasattr(value, "__iter__"):
            raise _told(f"{value!r} is not a list of {holds.__name__}", "give a list, even for one")
        out = []
        faults = []
        for index, item in enumerate(value):
            if isinstance(item, holds):
                out.append(item)
            elif parses and isinstance(item, str):
                try:
                    out.append(_parsed(holds, str(item)))
                except StemloreError as error:
                    faults.extend(faults_of(f"[{index}]", error))
            else:
                faults.append(Fault(f"[{index}]", f"a {type(item).__name__} is not a {holds.__name__}"))
        if faults:
            raise RecordError("list", faults)
        return tuple(out)

    return read


def _own_fault(key: Any, item: Any) -> Fault | None:
    if not isinstance(key, str) or not _OWN_NAME.fullmatch(key):
        return Fault(
            f"[{key!r}]", "does not name its pack", "write own fields as 'pack.field', in small letters"
        )
    if not isinstance(item, (str, bool, int, float)):
        return Fault(
            f"[{key!r}]", f"a {type(item).__name__} is no value of a field", "give text, number or flag"
        )
    if isinstance(item, str) and not _encodes(item):
        return Fault(f"[{key!r}]", f"{item!r} holds half a character", "write it again as Unicode text")
    return None


def _read_own(spec: FieldSpec) -> Callable[[Any], Mapping[str, Any]]:
    def read(value: Any) -> Mapping[str, Any]:
        if not isinstance(value, Mapping):
            raise _told(f"{value!r} is not a mapping", "write the packs' own fields by name")
        kept: dict[str, Any] = {}
        faults: list[Fault] = []
        for key, item in value.items():
            missing = item is None or (isinstance(item, float) and not math.isfinite(item))
            if (fault := _own_fault(key, "" if missing else item)) is not None:
                faults.append(fault)
            elif not missing:
                kept[key] = item
        if faults:
            raise RecordError("own", faults)
        return MappingProxyType(kept) if kept else NO_OWN

    return read


_READERS: Mapping[str, Callable[[FieldSpec], Callable[[Any], Any]]] = {
    "number": _read_number,
    "integer": _read_integer,
    "word": _read_word,
    "flag": _read_flag,
    "text": _read_text,
    "date": _read_date,
    "notation": _read_notation,
    "record": _read_record,
    "records": _read_records,
    "own": _read_own,
}


def reader_of(spec: FieldSpec) -> Callable[[Any], Any]:
    """Return the function that reads given values for this field."""
    return _READERS[spec.kind](spec)
