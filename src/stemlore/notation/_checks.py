"""Checks that the designations share, for values made without reading text."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable

from stemlore.errors import Fault, RecordError

__all__ = ["as_code", "check_integer", "check_mark", "check_number", "refuse", "short"]

_DECIMALS = 3


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
