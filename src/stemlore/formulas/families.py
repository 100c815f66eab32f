"""Load and inflation pressure by family of standards, exact and as their tables print it.

Standards print loads rounded; the ``printed`` procedures give what stands in
their tables. Where a maker's or a standard's own table is at hand, it governs.

Left out, as nothing better than memory was found: ETRTO C tyres, TRA
P-metric (0.5 gives 2195 lb where 2183 lb are printed), camber.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

import attrs

from stemlore.formulas._formula import Estimate, Formula, WorkedExample, define_formula
from stemlore.formulas._operators import Number, choose, positive
from stemlore.formulas.constants import Cited, constant
from stemlore.formulas.load import load_by_law, pressure_by_law
from stemlore.provenance import Grade
from stemlore.units import factor_between, unit

__all__ = ["FAMILIES", "LoadFamily"]

_TEXTBOOK = Cited("chassis-textbook", "p. 290, table of load and pressure", Grade.REPRODUCTION)
_MAKER = Cited("etrto-jatma-rows", "table", Grade.REPRODUCTION)
_WORKSHOP = Cited("jatma-workshop-table", "table", Grade.REPRODUCTION)
_ROW_94 = Cited("etrto-row-94", "row of load index 94", Grade.SECONDARY)
_CHART = Cited("lt-chart", "row of single tyres", Grade.SECONDARY)
_TRUCK = Cited("truck-row", "text", Grade.SECONDARY)

_PRESSURE = ("kPa", "cold gauge pressure")
_LOAD = ("kg", "load that one tyre must carry")
_REFERENCE_LOAD = ("kg", "rated load of the tyre, from its load index or sidewall")
_REFERENCE_PRESSURE = ("kPa", "cold gauge pressure at the rated load")
_MAY_CARRY = ("kg", "greatest load on one tyre")
_NEEDED = ("kPa", "least cold gauge pressure")


@attrs.frozen
class LoadFamily:
    """The four formulas of one family of load tables.

    Attributes
    ----------
    name : str
        Such as ``etrto_standard``.
    meaning : str
        Which tyres it is for.
    load, pressure : Formula
        Arithmetic: load at a pressure, pressure for a load, unrounded.
    printed_load, printed_pressure : Formula
        Procedures: as the tables print them.
    misfit : str
        What is known to differ, and how little was seen.
    """

    name: str
    meaning: str
    load: Formula
    pressure: Formula
    printed_load: Formula
    printed_pressure: Formula
    misfit: str


def _in_table(pressure: Number, reference_load: Number, reference_pressure: Number, lowest: Number) -> Number:
    """From the lowest pressure of the table seen up to the reference pressure."""
    return positive(reference_load) & (pressure >= lowest) & (pressure <= reference_pressure)


def _load_in_table(
    load: Number,
    reference_load: Number,
    reference_pressure: Number,
    lowest: Number,
    exponent: Number,
    load_step: Number,
    misfit_load: Number,
) -> Number:
    """From the load at the lowest pressure of the table seen, less a step, up to the rated load."""
    return (
        positive(load)
        & (load <= reference_load)
        & (
            load + load_step + misfit_load
            >= load_by_law(lowest, reference_load, reference_pressure, exponent)
        )
        & (lowest <= reference_pressure)
    )


def _load_up_to_rated(
    load: Number, reference_load: Number, reference_pressure: Number, lowest: Number
) -> Number:
    """At most the rated load; a reference pressure of the table seen."""
    return positive(load) & (load <= reference_load) & (lowest <= reference_pressure)


def _rounded(
    pressure: Number,
    reference_load: Number,
    reference_pressure: Number,
    exponent: Number,
    load_step: Number,
) -> Number:
    exact = load_by_law(pressure, reference_load, reference_pressure, exponent)
    # the rated load itself is printed as it is: 387 kg, not 385
    half_up = (exact / load_step + 0.5) // 1 * load_step
    return choose(pressure >= reference_pressure, reference_load, half_up)


def _estimate(value: Any, symbol: str, family: str, step: float = 0.0) -> Estimate:
    misfit = constant(f"load.{family}.misfit")
    within = misfit.value * factor_between(misfit.unit, unit("kg")) if symbol == "kg" else step
    return Estimate(value, unit(symbol), within, "comparison with the table seen", misfit.citation.grade)


def _step_up(
    load: Any,
    reference_load: Any,
    reference_pressure: Any,
    exponent: float,
    load_step: float,
    pressure_step: float,
    lowest: float,
) -> Any:
    """Return the lowest pressure of the table whose printed load is enough."""
    columns = [lowest]
    while _any(columns[-1] + 1.5 * pressure_step < reference_pressure):
        columns.append(columns[-1] + pressure_step)
    found = reference_pressure
    for column in reversed(columns):
        printed = _rounded(column, reference_load, reference_pressure, exponent, load_step)
        found = choose((load <= printed) & (column < reference_pressure), column, found)
    return found


def _any(condition: Any) -> bool:
    return bool(condition.any()) if hasattr(condition, "any") else bool(condition)


@attrs.frozen
class _Row:
    """A published cell: load at a pressure of a tyre, and how far the exact formula may be off."""

    cited: Cited
    load: str
    pressure: str
    rated: str
    at: str
    load_within: str
    pressure_within: str
    printed_within: str = "0 kg"

    def example(self, asked: str, within: str, own_reference: bool) -> WorkedExample:
        given = {asked: self.pressure if asked == "pressure" else self.load, "reference_load": self.rated}
        if own_reference:
            given["reference_pressure"] = self.at
        return WorkedExample(given, self.load if asked == "pressure" else self.pressure, within, self.cited)


def _family(
    name: str, meaning: str, *, own_reference: bool, sources: list[Cited], rows: list[_Row], misfit: str
) -> LoadFamily:
    """Make the four formulas of a family from what was published of it."""
    reference: dict[str, tuple[str, str]] = {"reference_load": _REFERENCE_LOAD}
    shared: dict[str, str | tuple[str, str]] = {
        "exponent": f"load.{name}.exponent",
        "lowest": (f"load.{name}.lowest_pressure", "kPa"),
        "load_step": (f"load.{name}.load_step", "kg"),
        "misfit_load": (f"load.{name}.misfit", "kg"),
        "pressure_step": (f"load.{name}.pressure_step", "kPa"),
    }
    if own_reference:
        reference["reference_pressure"] = _REFERENCE_PRESSURE
    else:
        shared["reference_pressure"] = f"load.{name}.reference_pressure"

    misfits = any(row.printed_within != "0 kg" for row in rows)

    def printed_load(
        pressure: Any, reference_load: Any, reference_pressure: Any, exponent: float, load_step: float
    ) -> Estimate:
        found = _rounded(pressure, reference_load, reference_pressure, exponent, load_step)
        return _estimate(found, "kg", name)

    def printed_pressure(
        load: Any,
        reference_load: Any,
        reference_pressure: Any,
        exponent: float,
        load_step: float,
        pressure_step: float,
        lowest: float,
    ) -> Estimate:
        found = _step_up(load, reference_load, reference_pressure, exponent, load_step, pressure_step, lowest)
        return _estimate(found, "kPa", name, pressure_step if misfits else 0.0)

    return LoadFamily(
        name,
        meaning,
        load=define_formula(
            subject="load",
            name=f"{name}_load",
            doc=f"Load at a pressure, {meaning}.",
            args={"pressure": _PRESSURE, **reference},
            returns=_MAY_CARRY,
            valid=_in_table,
            constants=shared,
            sources=sources,
            examples=[row.example("pressure", row.load_within, own_reference) for row in rows],
            misfit=misfit,
        )(load_by_law),
        pressure=define_formula(
            subject="load",
            name=f"{name}_pressure",
            doc=f"Pressure for a load, {meaning}.",
            args={"load": _LOAD, **reference},
            returns=_NEEDED,
            valid=_load_in_table,
            constants=shared,
            sources=sources,
            examples=[row.example("load", row.pressure_within, own_reference) for row in rows],
            misfit=misfit,
        )(pressure_by_law),
        printed_load=define_formula(
            subject="load",
            name=f"{name}_printed_load",
            doc=f"Load at a pressure as the tables print it, {meaning}.",
            kind="procedure",
            args={"pressure": _PRESSURE, **reference},
            returns=_MAY_CARRY,
            valid=_in_table,
            constants=shared,
            sources=sources,
            examples=[row.example("pressure", row.printed_within, own_reference) for row in rows],
            misfit=misfit,
        )(printed_load),
        printed_pressure=define_formula(
            subject="load",
            name=f"{name}_printed_pressure",
            doc=f"Lowest pressure of the tables whose printed load is enough, {meaning}.",
            kind="procedure",
            args={"load": _LOAD, **reference},
            returns=_NEEDED,
            valid=_load_up_to_rated,
            constants=shared,
            sources=sources,
            examples=[
                row.example("load", "0.001 kPa", own_reference)
                for row in rows
                if row.printed_within == "0 kg" or row.load == row.rated
            ],
            misfit=misfit,
        )(printed_pressure),
        misfit=misfit,
    )


def _metric(cited: Cited, rated: int, at: int, *cells: tuple[int, int]) -> list[_Row]:
    """Rows of kg at kPa; half a step of 5 kg is up to 4 kPa."""
    return [
        _Row(cited, f"{kg} kg", f"{kpa} kPa", f"{rated} kg", f"{at} kPa", "2.5 kg", "4 kPa")
        for kpa, kg in cells
    ]


def _american(cited: Cited, rated: int, at: int, printed: str, *cells: tuple[int, int]) -> list[_Row]:
    """Rows of lb at psi, with the greatest misfit that is known."""
    return [
        _Row(cited, f"{lb} lb", f"{psi} psi", f"{rated} lb", f"{at} psi", "16 lb", "0.6 psi", printed)
        for psi, lb in cells
    ]


_ETRTO_STANDARD = _family(
    "etrto_standard",
    "ETRTO passenger tyres, standard load",
    own_reference=False,
    sources=[_TEXTBOOK, _ROW_94],
    rows=[
        *_metric(_TEXTBOOK, 325, 250, (150, 215)),
        *_metric(_TEXTBOOK, 515, 250, (190, 415)),
        *_metric(_TEXTBOOK, 545, 250, (210, 475)),
        *_metric(_TEXTBOOK, 387, 250, (200, 325), (250, 387)),
        *_metric(_ROW_94, 670, 250, (180, 515), (190, 540), (200, 560), (210, 585), (220, 605), (230, 625)),
    ],
    misfit="none: every cell seen is met after rounding",
)
_ETRTO_EXTRA_LOAD = _family(
    "etrto_extra_load",
    "ETRTO passenger tyres, extra load or reinforced",
    own_reference=False,
    sources=[_MAKER],
    rows=_metric(
        _MAKER, 615, 290, (150, 365), (160, 380), (180, 420), (190, 440), (210, 475), (220, 495), (240, 530)
    ),
    misfit="none in the one row seen, whose columns were counted",
)
_JATMA = _family(
    "jatma",
    "JATMA passenger tyres, standard",
    own_reference=False,
    sources=[_MAKER, _WORKSHOP],
    rows=[
        *_metric(_MAKER, 545, 240, (180, 460), (190, 475), (200, 490), (210, 505), (220, 520), (230, 530)),
        *_metric(_WORKSHOP, 315, 240, (180, 265), (190, 275), (200, 285), (210, 290), (220, 300), (230, 305)),
        *_metric(_WORKSHOP, 325, 240, (180, 275), (190, 285), (200, 290), (210, 300), (220, 310), (230, 315)),
        *_metric(_WORKSHOP, 335, 240, (180, 285), (190, 290), (200, 300), (210, 310), (220, 320), (230, 325)),
        *_metric(_WORKSHOP, 345, 240, (180, 290), (190, 300), (200, 310), (210, 320)),
        *_metric(_WORKSHOP, 670, 240, (210, 620)),
        *_metric(_WORKSHOP, 615, 240, (210, 570)),
    ],
    misfit="none in five rows; another table for 240 kPa follows 0.65, up to 8 kg lower: mind the standard",
)
_TRA_LT = _family(
    "tra_lt",
    "TRA light truck (LT) tyres, single",
    own_reference=True,
    sources=[_CHART],
    rows=[
        *_american(
            _CHART, 3042, 80, "16 lb", (35, 1700), (45, 2030), (50, 2205), (55, 2335), (60, 2485), (70, 2765)
        ),
        *_american(_CHART, 3042, 80, "16 lb", (75, 2905)),
        *_american(_CHART, 3042, 80, "16 lb", (80, 3042)),
    ],
    misfit="up to 8 lb in one size, and 16 lb at 50 psi, where the rated load of a load range is printed: "
    "rated loads are entries of the tables, not of the formula",
)
_TRA_TRUCK = _family(
    "tra_truck",
    "TRA truck tyres, single, between the two points seen",
    own_reference=True,
    sources=[_TRUCK],
    rows=_american(_TRUCK, 6175, 110, "5 lb", (105, 5980), (110, 6175)),
    misfit="5 lb at 105 psi; two points of one size were seen, so nothing below 105 psi is answered",
)

FAMILIES: Mapping[str, LoadFamily] = MappingProxyType(
    {each.name: each for each in (_ETRTO_STANDARD, _ETRTO_EXTRA_LOAD, _JATMA, _TRA_LT, _TRA_TRUCK)}
)
"""Families by name."""
