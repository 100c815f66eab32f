"""The law of load and inflation pressure, both ways.

Load rises with a power of the cold gauge pressure, up to a reference
pressure and no further.
"""

from __future__ import annotations

from stemlore.formulas._formula import WorkedExample, define_formula
from stemlore.formulas._operators import Number, positive
from stemlore.formulas.constants import Cited
from stemlore.provenance import Grade

__all__ = ["load_at_pressure", "load_by_law", "pressure_by_law", "pressure_for_load"]

_TEXTBOOK = Cited("chassis-textbook", "p. 290, table of load and pressure", Grade.REPRODUCTION)
_CHART = Cited("lt-chart", "row of single tyres", Grade.SECONDARY)

_PRESSURE = ("kPa", "cold gauge pressure")
_LOAD = ("kg", "load that one tyre must carry")
_REFERENCE_LOAD = ("kg", "rated load of the tyre, from its load index or sidewall")
_REFERENCE_PRESSURE = ("kPa", "cold gauge pressure at the rated load")
_MAY_CARRY = ("kg", "greatest load on one tyre")
_NEEDED = ("kPa", "least cold gauge pressure")


def load_by_law(
    pressure: Number, reference_load: Number, reference_pressure: Number, exponent: Number
) -> Number:
    """Return the load at a pressure."""
    return reference_load * (pressure / reference_pressure) ** exponent


def pressure_by_law(
    load: Number, reference_load: Number, reference_pressure: Number, exponent: Number
) -> Number:
    """Return the pressure for a load."""
    return reference_pressure * (load / reference_load) ** (1 / exponent)


def _no_credit(
    pressure: Number, reference_load: Number, reference_pressure: Number, exponent: Number
) -> Number:
    """Above zero and at most at the reference pressure: there is no credit for more."""
    return (
        positive(pressure) & positive(reference_load) & positive(exponent) & (pressure <= reference_pressure)
    )


def _can_be_carried(
    load: Number, reference_load: Number, reference_pressure: Number, exponent: Number
) -> Number:
    """The load is above zero and at most the rated load."""
    return positive(load) & positive(reference_pressure) & positive(exponent) & (load <= reference_load)


@define_formula(
    args={
        "pressure": _PRESSURE,
        "reference_load": _REFERENCE_LOAD,
        "reference_pressure": _REFERENCE_PRESSURE,
        "exponent": ("1", "exponent of the family"),
    },
    returns=_MAY_CARRY,
    valid=_no_credit,
    sources=[_TEXTBOOK, _CHART],
    examples=[
        WorkedExample(
            {
                "pressure": "200 kPa",
                "reference_load": "387 kg",
                "reference_pressure": "250 kPa",
                "exponent": "0.8 1",
            },
            "325 kg",
            "2.5 kg",
            _TEXTBOOK,
        )
    ],
)
def load_at_pressure(
    pressure: Number, reference_load: Number, reference_pressure: Number, exponent: Number
) -> Number:
    """Load that a tyre may carry at a pressure, with the exponent of its maker's own table."""
    return load_by_law(pressure, reference_load, reference_pressure, exponent)


@define_formula(
    args={
        "load": _LOAD,
        "reference_load": _REFERENCE_LOAD,
        "reference_pressure": _REFERENCE_PRESSURE,
        "exponent": ("1", "exponent of the family"),
    },
    returns=_NEEDED,
    valid=_can_be_carried,
    sources=[_TEXTBOOK, _CHART],
    examples=[
        WorkedExample(
            {
                "load": "2905 lb",
                "reference_load": "3042 lb",
                "reference_pressure": "80 psi",
                "exponent": "0.7 1",
            },
            "75 psi",
            "0.2 psi",
            _CHART,
            "0.2 psi are 5 lb, the step of the chart",
        )
    ],
)
def pressure_for_load(
    load: Number, reference_load: Number, reference_pressure: Number, exponent: Number
) -> Number:
    """Pressure that a load needs, with the exponent of the maker's own table."""
    return pressure_by_law(load, reference_load, reference_pressure, exponent)
