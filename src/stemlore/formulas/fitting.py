"""The exponent of a load table that no family covers, from the table itself."""

from __future__ import annotations

from typing import Any

from stemlore.formulas._formula import Estimate, WorkedExample, define_formula
from stemlore.formulas._science import numpy, optimize
from stemlore.formulas.constants import Cited
from stemlore.provenance import Grade
from stemlore.units import DIMENSIONLESS

__all__ = ["fit_load_exponent"]

_CHART = Cited("lt-chart", "row of single tyres", Grade.SECONDARY)
_TEXTBOOK = Cited("chassis-textbook", "p. 290, row of load index 69", Grade.REPRODUCTION)


def _is_a_table(pressures: Any, loads: Any, reference_pressure: Any, reference_load: Any) -> Any:
    """All values above zero, no pressure above the reference pressure, as many loads as pressures."""
    return (
        (pressures > 0)
        & (pressures <= reference_pressure)
        & (loads > 0)
        & (reference_load > 0)
        & (pressures.shape == loads.shape)
        & (pressures.size > 1)
    )


@define_formula(
    kind="procedure",
    args={
        "pressures": ("kPa", "cold gauge pressures of a row, at most the reference pressure"),
        "loads": ("kg", "loads printed at these pressures"),
        "reference_pressure": ("kPa", "cold gauge pressure at the rated load"),
        "reference_load": ("kg", "rated load of the tyre"),
    },
    returns=("1", "exponent of load over pressure"),
    valid=_is_a_table,
    sources=[_TEXTBOOK, _CHART],
    misfit="the standard error does not know that printed loads are rounded",
    examples=[
        WorkedExample(
            {
                "pressures": tuple(f"{kpa} kPa" for kpa in range(150, 250, 10)),
                "loads": tuple(f"{kg} kg" for kg in (215, 225, 240, 250, 260, 270, 285, 295, 305, 315)),
                "reference_pressure": "250 kPa",
                "reference_load": "325 kg",
            },
            "0.8 1",
            "0.02 1",
            _TEXTBOOK,
            "the exponent of the family; the row is rounded to 5 kg",
        ),
        WorkedExample(
            {
                "pressures": tuple(f"{psi} psi" for psi in range(35, 80, 5)),
                "loads": tuple(f"{lb} lb" for lb in (1700, 1870, 2030, 2205, 2335, 2485, 2623, 2765, 2905)),
                "reference_pressure": "80 psi",
                "reference_load": "3042 lb",
            },
            "0.7 1",
            "0.01 1",
            _CHART,
            "the exponent of the family",
        ),
    ],
)
def fit_load_exponent(pressures: Any, loads: Any, reference_pressure: Any, reference_load: Any) -> Estimate:
    """Exponent of load over pressure from a row of a maker's table, by least squares."""
    np = numpy("fit_load_exponent")

    def residuals(exponent: Any) -> Any:
        return reference_load * (pressures / reference_pressure) ** exponent[0] - loads

    found = optimize("fit_load_exponent").least_squares(residuals, np.array([1.0]))
    spread = float(np.sum(found.fun**2)) / (loads.size - 1)
    error = float(np.sqrt(spread / np.sum(found.jac**2)))
    return Estimate(
        float(found.x[0]), DIMENSIONLESS, error, f"standard error over {loads.size} cells", Grade.SECONDARY
    )
