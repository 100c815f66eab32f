"""All formulas by name."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from types import MappingProxyType
from typing import Any

from stemlore.errors import UnknownFormulaError
from stemlore.formulas import (
    atmosphere,
    balance,
    conformity,
    families,
    fitment,
    fitting,
    flow,
    geometry,
    life,
    life_fit,
    load,
    load_factors,
    loss,
    loss_estimate,
    measurement,
    monitoring,
    pressure,
    replacement,
    rotation,
    torque,
)
from stemlore.formulas._formula import Formula
from stemlore.units import Unit

__all__ = ["compute", "formula", "formulas"]

_SUBJECTS = (
    atmosphere,
    pressure,
    loss,
    loss_estimate,
    flow,
    monitoring,
    load,
    families,
    load_factors,
    fitting,
    geometry,
    fitment,
    rotation,
    balance,
    torque,
    life,
    life_fit,
    replacement,
    measurement,
    conformity,
)


@lru_cache(maxsize=1)
def formulas() -> Mapping[str, Formula]:
    """Return all formulas by name, subject by subject."""
    found: list[Formula] = []
    for subject in _SUBJECTS:
        found += [value for value in vars(subject).values() if isinstance(value, Formula)]
    for family in families.FAMILIES.values():
        found += [family.load, family.pressure, family.printed_load, family.printed_pressure]
    return MappingProxyType({each.name: each for each in found})


def formula(name: str) -> Formula:
    """Return a formula by name.

    Raises
    ------
    UnknownFormulaError
        If there is none; names the nearest.
    """
    found = formulas().get(name)
    if found is None:
        raise UnknownFormulaError(name, formulas())
    return found


def compute(name: str, /, **given: Any) -> tuple[Any, Unit]:
    """Compute a formula by name from text with units; see :meth:`Formula.quantity`."""
    return formula(name).quantity(**given)
