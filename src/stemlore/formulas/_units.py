"""Units put together from others, such as K/m, written for our table and for pint."""

from __future__ import annotations

import re
from functools import lru_cache

from stemlore.units import DIMENSIONLESS, Unit, unit, unit_symbols

__all__ = ["compound", "for_pint"]

_FACTOR = re.compile(r"([A-Za-z]+)([2-9]?)")


@lru_cache(maxsize=256)
def compound(symbol: str) -> Unit:
    """Return the unit of a symbol such as ``kPa``, ``mm3``, ``K/m``, ``m2/s2/K`` or ``mbar.L/s``."""
    if symbol in unit_symbols():
        return unit(symbol)
    upper, *lower = symbol.split("/")
    made = _product(upper)
    dimension, factor = made.dimension, made.factor
    for part in lower:
        under = _product(part)
        dimension, factor = dimension / under.dimension, factor / under.factor
    return Unit(symbol, dimension, factor)


def _product(text: str) -> Unit:
    first, *others = (_power(part) for part in text.split("."))
    dimension, factor = first.dimension, first.factor
    for other in others:
        dimension, factor = dimension * other.dimension, factor * other.factor
    return Unit(text, dimension, factor)


def _power(text: str) -> Unit:
    match = _FACTOR.fullmatch(text)
    if text == "1" or match is None:
        return unit(text)
    one = unit(match[1])
    power = int(match[2] or 1)
    return Unit(text, one.dimension**power, one.factor**power)


def for_pint(of: Unit) -> str:
    """Return the unit's symbol as pint reads it."""
    if of == DIMENSIONLESS:
        return ""
    return re.sub(r"([A-Za-z])([2-9])", r"\1**\2", of.symbol.replace(".", "*"))
