"""Engineering formulas, each with units, range, sources and worked examples.

Belongs here: what follows from a law of nature, a standard's rule or a
published table by arithmetic, one subject a file. Does not: rows of tables
(tables), limits of the law (parameters of packs).

Arithmetic formulas take floats, arrays, columns, quantities and parts of
rules alike; procedures take floats and arrays and say how far to trust them.
May import errors, units, provenance, notation; NumPy and SciPy only where a
procedure or an array needs them.

Examples
--------
>>> value, unit = compute("cold_pressure", hot_pressure="2.8 bar", hot_temperature="45 degC",
...                       cold_temperature="20 degC", ambient="1013 hPa")
>>> round(value, 1), str(unit)
(250.0, 'kPa')
>>> FAMILIES["etrto_standard"].printed_load(210.0, 545.0).value
475.0
"""

from __future__ import annotations

from stemlore.formulas._formula import Argument, Estimate, Formula, WorkedExample, define_formula
from stemlore.formulas._operators import choose, exp, log
from stemlore.formulas._registry import compute, formula, formulas
from stemlore.formulas.constants import Cited, Constant, constant, constants
from stemlore.formulas.families import FAMILIES, LoadFamily
from stemlore.formulas.loss_estimate import LossEstimate, PressureReading, estimate_loss

__all__ = [
    "FAMILIES",
    "Argument",
    "Cited",
    "Constant",
    "Estimate",
    "Formula",
    "LoadFamily",
    "LossEstimate",
    "PressureReading",
    "WorkedExample",
    "choose",
    "compute",
    "constant",
    "constants",
    "define_formula",
    "estimate_loss",
    "exp",
    "formula",
    "formulas",
    "log",
]
