"""How the body of a formula is run on floats, arrays, columns, quantities and trees."""

from __future__ import annotations

import inspect
import math
import sys
from collections.abc import Callable, Mapping
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from stemlore.errors import BareNumberError, RuleError, UnitError
from stemlore.formulas._operators import Number, is_column, is_quantity, is_tree
from stemlore.formulas._units import for_pint
from stemlore.units import DIMENSIONLESS, RESOLUTION, factor_between, measure, settle

if TYPE_CHECKING:
    from stemlore.formulas._formula import Argument, Formula

__all__ = ["as_array", "as_column", "as_float", "as_quantity", "as_tree"]


def _fixed(of: Formula) -> dict[str, Any]:
    return {name: each.value for name, each in of.constants.items()}


def _holds(of: Formula, values: Mapping[str, Any], fixed: Mapping[str, Any]) -> Number:
    """Return the condition of the formula's range; body and condition take those values that they name."""
    if of.condition is None:
        return True
    return _call(of.condition, {**values, **fixed})


def _rounded(values: Mapping[str, Any]) -> dict[str, Any]:
    """Round as readings and limits are, so that a value exactly at a bound is inside."""
    scale = round(1 / RESOLUTION)
    # Polars multiplies by the reciprocal of a single divisor, which errs in the last bit: one for each row
    return {name: (value * scale + 0.5) // 1 / (value * 0 + scale) for name, value in values.items()}


def _call(function: Callable[..., Number], values: Mapping[str, Any]) -> Number:
    return function(**{name: values[name] for name in _names(function)})


@lru_cache(maxsize=512)
def _names(function: Callable[..., Number]) -> tuple[str, ...]:
    return tuple(inspect.signature(function).parameters)


def as_float(of: Formula, values: Mapping[str, Any]) -> Any:
    """Run on floats; outside the range an error."""
    for argument in of.args:
        value = values[argument.name]
        if isinstance(value, bool) or not isinstance(value, (int, float)):
            raise UnitError(
                f"{argument.name} of {of.name} cannot be {value!r}",
                advice=f"give a plain number in {argument.unit}, or use .quantity() for text with units",
            )
        if not math.isfinite(value):
            raise of.refuse(values, f"{argument.name} is missing")
    fixed = _fixed(of)
    try:
        if not _holds(of, {name: settle(value) for name, value in values.items()}, fixed):
            raise of.refuse(values)
        result = _call(of.body, {**values, **fixed})
    except (ZeroDivisionError, OverflowError):
        raise of.refuse(values, "the result is not a finite number") from None
    if of.kind == "procedure":
        return result
    if isinstance(result, complex) or not math.isfinite(result):
        raise of.refuse(values, "the result is not a finite number")
    return result * factor_between(of.gives, of.returns)


def as_array(of: Formula, values: Mapping[str, Any]) -> Any:
    """Run on arrays; NaN where a value is missing or out of range; a procedure refuses instead."""
    from stemlore.formulas._science import numpy

    np = numpy(of.name)
    arrays = {name: np.asarray(value, dtype=float) for name, value in values.items()}
    fixed = _fixed(of)
    with np.errstate(all="ignore"):
        known = _holds(of, _rounded(arrays), fixed)
        for value in arrays.values():
            finite = np.isfinite(value)
            # the arguments of a procedure may differ in length
            known = known & (np.all(finite) if of.kind == "procedure" else finite)
        if of.kind == "procedure":
            if not np.all(known):
                raise of.refuse(values)
            return _call(of.body, {**arrays, **fixed})
        result = _call(of.body, {**arrays, **fixed}) * factor_between(of.gives, of.returns)
        return np.where(known & np.isfinite(result), result, np.nan)


def as_column(of: Formula, values: Mapping[str, Any]) -> Any:
    """Run on Polars expressions; null where a value is missing or out of range."""
    pl = sys.modules["polars"]
    columns = {
        name: (value if is_column(value) else pl.lit(value)).cast(pl.Float64)
        for name, value in values.items()
    }
    fixed = _fixed(of)
    known = pl.lit(True)
    for column in columns.values():
        known = known & column.is_finite()
    known = known & _holds(of, _rounded(columns), fixed)
    result = _call(of.body, {**columns, **fixed}) * factor_between(of.gives, of.returns)
    return pl.when(known & result.is_finite()).then(result)


def as_quantity(of: Formula, values: Mapping[str, Any]) -> Any:
    """Run on quantities, so that a wrong dimension fails; outside the range an error."""
    maker = type(next(value for value in values.values() if is_quantity(value)))
    given: dict[str, Any] = {}
    for argument in of.args:
        value = values[argument.name]
        if is_quantity(value):
            given[argument.name] = value.to(for_pint(argument.unit))
        elif argument.unit == DIMENSIONLESS:
            given[argument.name] = maker(value, "")
        else:
            raise BareNumberError(
                f"{argument.name} of {of.name} has no unit", advice=f"give a quantity in {argument.unit}"
            )
    numbers = {name: value.magnitude for name, value in given.items()}
    holds = _holds(of, _rounded(numbers), _fixed(of))
    if not (holds.all() if hasattr(holds, "all") else holds):
        raise of.refuse(numbers)
    fixed = {name: maker(each.value, for_pint(each.unit)) for name, each in of.constants.items()}
    result = _call(of.body, {**given, **fixed})
    return (result if is_quantity(result) else maker(result, "")).to(for_pint(of.returns))


def as_tree(of: Formula, values: Mapping[str, Any]) -> Any:
    """Build a part of a rule's tree; unknown where out of range."""
    part = next(value for value in values.values() if is_tree(value))
    given: dict[str, Any] = {}
    for argument in of.args:
        value = values[argument.name]
        if is_tree(value):
            if value.unit is None and argument.unit.dimension.temperature:
                # a scale with another zero cannot be turned into kelvin later on
                raise RuleError(
                    f"{argument.name} of {of.name} cannot be a value whose unit is known later only",
                    advice="give a field or a temperature such as '20 degC'",
                )
            given[argument.name] = value.in_unit(argument.unit)
        else:
            given[argument.name] = part.number(_plain(of, argument, value), argument.unit)
    fixed = {name: part.number(each.value, each.unit) for name, each in of.constants.items()}
    holds = _holds(of, given, fixed)
    result = _call(of.body, {**given, **fixed}).in_unit(of.returns)
    return result if holds is True else holds.chosen(result, part.number(None, of.returns))


def _plain(of: Formula, argument: Argument, value: object) -> float:
    number = measure(value, argument.unit) if isinstance(value, str) else value
    if isinstance(number, bool) or not isinstance(number, (int, float)) or not math.isfinite(number):
        raise UnitError(
            f"{argument.name} of {of.name} cannot be {value!r}",
            advice=f"give a part of a rule, text with a unit or a number in {argument.unit}",
        )
    return float(number)
