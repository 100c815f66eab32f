"""The same formulas as parts of rules."""

from __future__ import annotations

import pytest

from stemlore.errors import DimensionError
from stemlore.formulas import Formula, formula, formulas
from stemlore.rules import field
from stemlore.rules._walker import evaluate
from stemlore.rules.nodes import Constant, Node

pytestmark = pytest.mark.skipif(
    not hasattr(Node, "chosen"), reason="nodes do not offer what formulas need yet"
)

ARITHMETIC = [each for each in formulas().values() if each.kind == "arithmetic"]


class View:
    """Just enough of a view for fields."""

    def __init__(self, **values: float) -> None:
        self.values = values

    def load(self, path: str) -> float | None:
        return self.values.get(path.partition(".")[2])


@pytest.mark.parametrize("each", ARITHMETIC, ids=lambda each: each.name)
def test_a_tree_gives_what_floats_give(each: Formula) -> None:
    for example in each.examples:
        values = each._read(example.given)
        tree = each(**{one.name: Constant(values[one.name], "number", one.unit) for one in each.args})
        assert tree.kind == "number"
        assert evaluate(tree, View()) == pytest.approx(each(**values), rel=1e-12, abs=1e-9)


def test_units_of_fields_missing_fields_and_range() -> None:
    cold = formula("cold_pressure")
    tree = cold(field("tyre.pressure"), field("tyre.tyre_temperature"), "20 degC", "1013 hPa")
    wanted = cold(280.0, 318.15, 293.15, 101.3)
    assert evaluate(tree, View(pressure=280.0, tyre_temperature=45.0)) == pytest.approx(wanted)
    assert evaluate(tree, View(pressure=280.0)) is None
    assert evaluate(tree, View(pressure=1280.0, tyre_temperature=45.0)) is None
    with pytest.raises(DimensionError):
        cold(field("tyre.pressure"), field("tyre.pressure"), "20 degC", "1013 hPa")
