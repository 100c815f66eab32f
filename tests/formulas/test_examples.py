"""Every formula: published examples, dimensions, and one answer whatever it is asked with."""

from __future__ import annotations

import ast
import inspect
from pathlib import Path
from typing import Any

import numpy as np
import pint
import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import stemlore.formulas
from stemlore.errors import OutOfRangeError, UnknownFormulaError
from stemlore.formulas import Estimate, Formula, WorkedExample, compute, formula, formulas
from stemlore.formulas._units import for_pint
from stemlore.formulas.constants import constants, sources
from stemlore.formulas.loss_estimate import BANDS
from stemlore.provenance import Grade

ALL = list(formulas().values())
ARITHMETIC = [each for each in ALL if each.kind == "arithmetic"]
EXAMPLES = [(each, example) for each in ALL for example in each.examples]
ROOM = Path(stemlore.formulas.__file__).parent


def named(value: object) -> str:
    return value.name if isinstance(value, Formula) else ""


def value_of(result: Any) -> Any:
    return result.value if isinstance(result, Estimate) else result


def floats_of(each: Formula, example: WorkedExample) -> dict[str, Any]:
    return each._read(example.given)


# each example names its source: see `example.citation`
@pytest.mark.parametrize("each, example", EXAMPLES, ids=named)
def test_published_example_is_met(each: Formula, example: WorkedExample) -> None:
    wanted, tolerance = each.expected(example)
    found, unit = each.quantity(**example.given)
    assert unit == each.returns
    assert abs(value_of(found) - wanted) <= tolerance + 1e-6, str(example.citation)


@pytest.mark.parametrize("each", ALL, ids=named)
def test_formula_is_told_completely(each: Formula) -> None:
    assert each.examples
    assert each.sources
    assert all(example.citation.source is not None for example in each.examples)
    assert all(source.source is not None and source.at for source in each.sources)
    assert each.grade.strength >= Grade.SECONDARY.strength
    assert each.summary.endswith(".")
    assert each.valid.endswith(".")
    assert each.meaning
    assert each.subject in {
        "atmosphere",
        "pressure",
        "loss",
        "loss_estimate",
        "flow",
        "monitoring",
        "load",
        "load_factors",
        "fitting",
        "geometry",
        "fitment",
        "rotation",
        "balance",
        "torque",
        "life",
        "life_fit",
        "replacement",
        "measurement",
        "conformity",
    }
    assert all(argument.meaning for argument in each.args)
    body = inspect.signature(each.body).parameters
    assert set(body) <= {argument.name for argument in each.args} | set(each.constants)


def test_nothing_stands_in_the_data_that_no_formula_uses() -> None:
    used = {key for each in ALL for _, key, _ in each._constants} | set(BANDS)
    assert {name for name in constants() if not name.endswith(".misfit")} <= used
    cited = {place.source for each in ALL for place in each.cited}
    cited |= {example.cited.source for _, example in EXAMPLES}
    cited |= {each.citation.source.id for each in constants().values() if each.citation.source}
    assert cited == set(sources())
    for source in sources().values():
        assert source.grade is not Grade.MEMORY


def test_no_physical_constant_stands_in_a_body() -> None:
    """Halves and wholes only: every other number is a constant with a source."""
    for path in ROOM.glob("*.py"):
        for function in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(function, ast.FunctionDef):
                # a decorator holds the examples
                for node in (inner for part in function.body for inner in ast.walk(part)):
                    if isinstance(node, ast.Constant) and isinstance(node.value, (int, float)):
                        assert node.value in (0, 1, 2, 3, 0.5, 1.5, 256), f"{path.name}:{node.lineno}"


@pytest.mark.parametrize("each", ARITHMETIC, ids=named)
def test_dimensions_are_right(each: Formula) -> None:
    """Run with quantities, so that a wrong unit fails."""
    registry = pint.get_application_registry()
    for example in each.examples[:2]:
        values = floats_of(each, example)
        quantities = {
            argument.name: registry.Quantity(values[argument.name], for_pint(argument.unit))
            for argument in each.args
        }
        found = each(**quantities)
        assert found.magnitude == pytest.approx(each(**values), rel=1e-12, abs=1e-12)
        assert found.check(registry.Quantity(1, for_pint(each.returns)).dimensionality)


@pytest.mark.parametrize("each", ARITHMETIC, ids=named)
@settings(max_examples=15, deadline=None)
@given(data=st.data())
def test_floats_arrays_and_columns_agree(each: Formula, data: st.DataObject) -> None:
    values = floats_of(each, each.examples[0])
    stretch = st.floats(0.6, 1.6)
    names = [argument.name for argument in each.args]
    rows = [{name: values[name] * data.draw(stretch) for name in names} for _ in range(4)]
    rows.append({**rows[0], names[0]: float("nan")})
    rows.append({**rows[0], names[-1]: float("inf")})
    wanted = [_float_or_none(each, row) for row in rows]
    array = each(**{name: np.array([row[name] for row in rows]) for name in names})
    frame = pl.DataFrame({name: [row[name] for row in rows] for name in names})
    column = frame.select(found=each(**{name: pl.col(name) for name in names}))["found"].to_list()
    for number, of_array, of_column in zip(wanted, array.tolist(), column, strict=True):
        if number is None:
            assert np.isnan(of_array)
            assert of_column is None
        else:
            # the three libraries' powers differ in the last digit
            assert of_array == pytest.approx(number, rel=1e-13, abs=1e-12)
            assert of_column == pytest.approx(number, rel=1e-13, abs=1e-12)


def _float_or_none(each: Formula, row: dict[str, float]) -> float | None:
    try:
        return each(**row)
    except OutOfRangeError:
        return None


def test_formulas_are_found_by_name() -> None:
    assert formula("cold_pressure") is formulas()["cold_pressure"]
    with pytest.raises(UnknownFormulaError) as caught:
        formula("cold_presure")
    assert caught.value.near[0] == "cold_pressure"
    value, unit = compute("rim_width", code="6 1")
    assert (value, str(unit)) == (152.4, "mm")
