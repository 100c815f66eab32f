"""What follows from other fields, and what contradicts them."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from stemlore.errors import Fault

__all__ = ["check_pair", "follow", "repeated"]


def follow(inside: dict[str, Any], name: str, value: Any, source: str) -> list[Fault]:
    """Fill in a field that follows from another; a fault where what was given says otherwise."""
    if value is None:
        return []
    given = inside[name]
    if given is None:
        inside[name] = value
        return []
    if given == value:
        return []
    return [
        Fault(
            name,
            f"{_said(given)} contradicts {source}, which says {_said(value)}",
            f"check both readings, or leave {name} out",
        )
    ]


def _said(value: Any) -> str:
    return {True: "true", False: "false"}[value] if isinstance(value, bool) else str(value)


def check_pair(inside: dict[str, Any], least: str, most: str, unit: str) -> list[Fault]:
    """Tell whether a lower and an upper bound stand together and in order."""
    low, high = inside[least], inside[most]
    if low is None and high is None:
        return []
    if low is None or high is None:
        absent, present = (least, most) if low is None else (most, least)
        return [
            Fault(absent, f"must be given with {present}", "give the same value twice if there is only one")
        ]
    if low > high:
        return [Fault(least, f"{low:g} {unit} is above {most}, {high:g} {unit}", "exchange the two")]
    return []


def repeated(values: Iterable[Any]) -> list[tuple[int, int]]:
    """Return the index of each repeated value with the index where it stood first."""
    first: dict[Any, int] = {}
    return [
        (index, first[value]) for index, value in enumerate(values) if first.setdefault(value, index) != index
    ]
