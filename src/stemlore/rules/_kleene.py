"""Three-valued logic and the few functions that walked and generated rules share.

True, False and None (unknown). A number that is not finite is None.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Iterable, Sequence
from datetime import date
from functools import lru_cache
from typing import Any

from stemlore.units import settle

__all__ = [
    "all_true",
    "any_true",
    "calendar_years",
    "choose",
    "combine",
    "exponential",
    "finite",
    "in_days",
    "interpolated",
    "logarithm",
    "month_day",
    "power",
    "quotient",
    "same",
    "settled",
    "spread",
    "step",
    "stepped",
]


def finite(value: float) -> float | None:
    """Return the value, or None if it is not a finite number."""
    # the difference is NaN for infinities and NaN; cheaper than math.isfinite
    return value if value - value == 0 else None


def combine(operator: str, a: float | None, b: float | None) -> float | None:
    """Return a sum, difference or product."""
    if a is None or b is None:
        return None
    a = float(a)  # whole numbers too are computed with as floats, as generated text and columns do
    return finite(a + b if operator == "+" else a - b if operator == "-" else a * b)


def quotient(a: float | None, b: float | None) -> float | None:
    """Return a / b; None where b is zero."""
    if a is None or b is None or b == 0:
        return None
    return finite(a / b)


def power(a: float | None, b: float | None) -> float | None:
    """Return a ** b; None outside the real numbers."""
    if a is None or b is None:
        return None
    try:
        return finite(math.pow(a, b))
    except (OverflowError, ValueError):
        return None


def exponential(a: float | None) -> float | None:
    """Return e ** a."""
    if a is None:
        return None
    try:
        return math.exp(a)
    except OverflowError:
        return None


def logarithm(a: float | None) -> float | None:
    """Return the natural logarithm; None at zero and below."""
    return None if a is None or a <= 0 else math.log(a)


def settled(a: float | None) -> float | None:
    """Round as readings are rounded."""
    return None if a is None else settle(a)


def all_true(values: Iterable[bool | None]) -> bool | None:
    """Return Kleene's and."""
    seen: bool | None = True
    for value in values:
        if value is False:
            return False
        if value is None:
            seen = None
    return seen


def any_true(values: Iterable[bool | None]) -> bool | None:
    """Return Kleene's or."""
    seen: bool | None = False
    for value in values:
        if value:
            return True
        if value is None:
            seen = None
    return seen


def choose(condition: bool | None, then: Any, otherwise: Any) -> Any:
    """Return one of two values; where the condition is unknown, what both agree on."""
    if condition is None:
        return then if then == otherwise else None
    return then if condition else otherwise


@lru_cache(maxsize=65536)
def calendar_years(start: date | None, today: date, clamp: bool = False) -> float | None:
    """Return years from ``start`` to ``today`` by the calendar; None for a day to come."""
    if start is None:
        return None
    if start > today:
        return 0.0 if clamp else None
    whole = today.year - start.year
    last = _anniversary(start, today.year)
    if last > today:
        whole -= 1
        last = _anniversary(start, today.year - 1)
    following = _anniversary(start, last.year + 1)
    return settle(whole + (today - last).days / (following - last).days)


def _anniversary(start: date, year: int) -> date:
    try:
        return start.replace(year=year)
    except ValueError:  # 29 February in a year without one
        return date(year, 2, 28)


def month_day(today: date) -> float:
    """Return month times 100 plus day."""
    return float(today.month * 100 + today.day)


def in_days(edges: Sequence[date], today: date) -> bool | None:
    """Return whether a day lies in a run; the edges are first days and days after the last, in turn."""
    passed = bisect_right(edges, today)
    return passed % 2 == 1 if 0 < passed < len(edges) else None


def step(starts: Sequence[date], values: Sequence[Any], low: date | None, high: date | None) -> Any:
    """Return the value in force between two days, or None where it is not one."""
    if low is None or high is None:
        return None
    first, last = bisect_right(starts, low), bisect_right(starts, high)
    if not first:
        return None
    found = values[first - 1]
    return found if all(values[index] == found for index in range(first, last)) else None


def stepped(keys: Sequence[float], values: Sequence[float], at: float | None) -> float | None:
    """Return the value of the greatest key not above ``at``, within the table."""
    if at is None or not keys or at < keys[0] or at > keys[-1]:
        return None
    return values[bisect_right(keys, at) - 1]


def interpolated(keys: Sequence[float], values: Sequence[float], at: float | None) -> float | None:
    """Return the value between two rows in proportion, within the table."""
    if at is None or not keys or at < keys[0] or at > keys[-1]:
        return None
    upper = bisect_right(keys, at)
    if upper == len(keys):
        return values[-1]
    low, high = keys[upper - 1], keys[upper]
    return finite(values[upper - 1] + (at - low) * (values[upper] - values[upper - 1]) / (high - low))


def same(values: Sequence[Any], complete: bool) -> bool | None:
    """Return whether all members have one value."""
    known = [value for value in values if value is not None]
    if any(value != known[0] for value in known[1:]):
        return False
    return True if complete and known and len(known) == len(values) else None


def spread(values: Sequence[float | None], complete: bool, *, low: bool) -> float | None:
    """Return greatest less least: of the known members (low), or of all (None until all are known)."""
    known = [value for value in values if value is not None]
    if not known or (not low and not (complete and len(known) == len(values))):
        return None
    return finite(float(max(known)) - min(known))
