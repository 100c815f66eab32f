"""Checks that the designations share, for values made without reading text."""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Iterable
from typing import Any, TypeVar

import attrs

from stemlore.errors import Fault, RecordError

__all__ = [
    "Ordered",
    "as_code",
    "check_integer",
    "check_mark",
    "check_number",
    "maker_of",
    "refuse",
    "short",
    "whole_faults",
]

_DECIMALS = 3

_Value = TypeVar("_Value")


class Ordered:
    """Order by ``_sort_key``, among values of one class; equal keys only for equal values."""

    __slots__ = ()

    def _sort_key(self) -> Any:
        return str(self)

    def __lt__(self, other: Any) -> bool:
        return self._sort_key() < other._sort_key() if type(other) is type(self) else NotImplemented

    def __le__(self, other: Any) -> bool:
        return self._sort_key() <= other._sort_key() if type(other) is type(self) else NotImplemented

    def __gt__(self, other: Any) -> bool:
        return self._sort_key() > other._sort_key() if type(other) is type(self) else NotImplemented

    def __ge__(self, other: Any) -> bool:
        return self._sort_key() >= other._sort_key() if type(other) is type(self) else NotImplemented


def maker_of(cls: type[_Value]) -> Callable[..., _Value]:
    """Return a function that makes values from all fields in order, without checks.

    For what a pattern has checked already; everything else goes through the class.
    """
    setters = [cls.__dict__[field.name].__set__ for field in attrs.fields(cls)]  # type: ignore[arg-type]
    new = object.__new__

    def make(*values: Any) -> _Value:
        made = new(cls)
        for put, value in zip(setters, values, strict=True):
            put(made, value)
        return made

    return make


def as_code(value: float) -> float:
    """Return a whole number as float, so that 16 and 16.0 are one value; leave the rest to the check."""
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        return value
    try:
        return float(value) + 0.0  # minus zero becomes zero
    except OverflowError:
        return math.inf


def short(value: float) -> str:
    """Write a checked number without needless decimals: 16, 16.5."""
    return str(int(value)) if value.is_integer() else repr(value)


def check_integer(name: str, value: object, low: int, high: int) -> Iterable[Fault]:
    """Yield a fault unless the value is an integer from ``low`` to ``high``."""
    if isinstance(value, bool) or not isinstance(value, int):
        yield Fault(name, f"an integer is needed, not {value!r}")
    elif not low <= value <= high:
        yield Fault(name, f"{value if abs(value) < 10**9 else 'the figure'} is not from {low} to {high}")


def check_number(name: str, value: object, low: float, high: float) -> Iterable[Fault]:
    """Yield a fault unless the value is a number from ``low`` to ``high`` with few decimals."""
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        yield Fault(name, f"a number is needed, not {value!r}")
    elif not low <= value <= high:  # also refuses not-a-number
        yield Fault(name, f"{value:g} is not from {low:g} to {high:g}")
    elif round(value, _DECIMALS) != value:
        yield Fault(name, f"{value!r} has more than {_DECIMALS} decimals")


def whole_faults(name: str, value: object, low: float, high: float) -> Iterable[Fault]:
    """Yield a fault unless the value is a whole number from ``low`` to ``high``."""
    yield from check_number(name, value, low, high)
    if isinstance(value, float) and low <= value <= high and not value.is_integer():
        yield Fault(name, f"{value:g} is not a whole number")


def check_mark(name: str, value: object, known: Collection[str]) -> Iterable[Fault]:
    """Yield a fault unless the value is one of the known marks."""
    if not isinstance(value, str) or value not in known:
        listed = ", ".join(mark or "(none)" for mark in sorted(set(known)))
        yield Fault(name, f"{value!r} is not one of {listed}")


def refuse(what: str, faults: Iterable[Fault]) -> None:
    """Raise one error for all faults, if there are any."""
    found = tuple(faults)
    if found:
        raise RecordError(what, found)
