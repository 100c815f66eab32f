"""Load of one tyre against its cold pressure, with the job's point."""

from __future__ import annotations

from functools import partial
from typing import Any

import attrs
from matplotlib.figure import Figure as Drawn

from stemlore.errors import Fault, OutOfRangeError, RecordError, near_misses
from stemlore.figures._figure import Figure
from stemlore.figures._style import (
    AIR,
    BLUE,
    GREY,
    INK,
    ORANGE,
    finish,
    listed,
    plotted,
    quantities,
    shown_unit,
    told,
)
from stemlore.formulas.families import FAMILIES, LoadFamily
from stemlore.units import Unit, convert, unit

__all__ = ["load_over_pressure"]

_POINTS = 60
_KPA, _KG = unit("kPa"), unit("kg")
_TITLE = "Load that one tyre may carry, by its cold pressure"


@attrs.frozen
class _Plot:
    family: LoadFamily
    given: dict[str, float]
    lowest: float
    reference: float
    load: float | None
    pressure: float | None
    carried: float | None
    needed: float | None
    pressure_in: Unit
    load_in: Unit
    notes: tuple[str, ...] = ()

    def p(self, value: float) -> float:
        return convert(value, _KPA, self.pressure_in)

    def m(self, value: float) -> float:
        return convert(value, _KG, self.load_in)

    def p_told(self, value: float) -> str:
        return told(value, _KPA, self.pressure_in)

    def m_told(self, value: float) -> str:
        return told(value, _KG, self.load_in)


def load_over_pressure(
    family: LoadFamily | str,
    *,
    rated_load: object,
    rated_pressure: object = None,
    load: object = None,
    pressure: object = None,
    pressure_unit: str = "kPa",
    load_unit: str = "kg",
) -> Figure:
    """Draw the load that a tyre may carry against its cold pressure.

    Parameters
    ----------
    family : LoadFamily or str
        Family of load tables, or its name, such as ``etrto_standard``.
    rated_load : str or quantity
        Rated load of the tyre, from its load index or sidewall.
    rated_pressure : str or quantity, optional
        Cold pressure at the rated load, for families that do not fix it.
    load : str or quantity, optional
        What this tyre must carry.
    pressure : str or quantity, optional
        Cold pressure set.
    pressure_unit, load_unit : str
        Units to show.

    Raises
    ------
    RecordError
        If the family is unknown, or a quantity cannot be read or is needed.
    OutOfRangeError
        If the family's table does not reach so far.
    """
    what = "figure of load over pressure"
    if isinstance(family, str):
        if family not in FAMILIES:
            near = near_misses(family, FAMILIES) or tuple(FAMILIES)
            raise RecordError(what, [Fault("family", f"{family!r} is not known", f"try {', '.join(near)}")])
        family = FAMILIES[family]
    read = quantities(
        what,
        rated_load=(rated_load, "kg"),
        rated_pressure=(rated_pressure, "kPa"),
        load=(load, "kg"),
        pressure=(pressure, "kPa"),
    )
    lowest, reference, given = _table(what, family, read)
    plot = _Plot(
        family=family,
        given=given,
        lowest=lowest,
        reference=reference,
        load=read["load"],
        pressure=read["pressure"],
        carried=_inside(family.printed_load, pressure=read["pressure"], **given),
        needed=_inside(family.printed_pressure, load=read["load"], **given),
        pressure_in=shown_unit(pressure_unit, "kPa"),
        load_in=shown_unit(load_unit, "kg"),
    )
    family.load(pressure=reference, **given)  # refuses a tyre that the table does not know
    missing = tuple(
        name
        for name, value in (("load on the tyre", plot.load), ("cold pressure set", plot.pressure))
        if value is None
    )
    said = _sentences(plot)
    notes = [
        f"{family.meaning}; misfit to what was published: {family.misfit}. "
        "The maker's or standard's own table governs."
    ]
    if missing:
        notes.append(f"Not told, so not drawn: {listed(missing)}.")
    plot = attrs.evolve(plot, notes=tuple(notes))
    return Figure(
        name="load_over_pressure",
        title=_TITLE,
        description=" ".join([f"{_TITLE}.", *said, *notes]),
        missing=missing,
        draw=partial(_drawn, plot),
    )


def _table(
    what: str, family: LoadFamily, read: dict[str, float | None]
) -> tuple[float, float, dict[str, float]]:
    """Return lowest and reference pressure of the table, and the arguments of its formulas."""
    own = any(each.name == "reference_pressure" for each in family.load.args)
    faults = []
    if read["rated_load"] is None:
        faults.append(Fault("rated_load", "is not told", "take it from the load index or the sidewall"))
    if own and read["rated_pressure"] is None:
        faults.append(Fault("rated_pressure", f"is needed for {family.meaning}", "take it from the sidewall"))
    if not own and read["rated_pressure"] is not None:
        faults.append(Fault("rated_pressure", f"is fixed for {family.meaning}", "leave it out"))
    if faults:
        raise RecordError(what, faults)
    constants = family.load.constants
    given = {"reference_load": read["rated_load"] or 0.0}
    if own:
        given["reference_pressure"] = read["rated_pressure"] or 0.0
        reference = given["reference_pressure"]
    else:
        reference = constants["reference_pressure"].value
    lowest = constants["lowest"]
    return convert(lowest.value, lowest.unit, _KPA), reference, given


def _inside(of: Any, **given: float | None) -> float | None:
    """Return what a procedure gives; None where something is missing or outside the table."""
    if None in given.values():
        return None
    try:
        return float(of(**given).value)
    except OutOfRangeError:
        return None


def _sentences(plot: _Plot) -> list[str]:
    rated = plot.given["reference_load"]
    least = plot.family.load(pressure=plot.lowest, **plot.given)
    said = [
        f"From {plot.m_told(least)} at {plot.p_told(plot.lowest)} to the rated {plot.m_told(rated)} at "
        f"{plot.p_told(plot.reference)}; more pressure carries no more."
    ]
    if plot.pressure is not None:
        if plot.carried is not None:
            said.append(f"At {plot.p_told(plot.pressure)} the tables print {plot.m_told(plot.carried)}.")
        else:
            said.append(
                f"{plot.p_told(plot.pressure)} lies outside the table: the load there cannot be told."
            )
    if plot.load is not None:
        if plot.needed is not None:
            said.append(f"A load of {plot.m_told(plot.load)} needs {plot.p_told(plot.needed)} by the tables.")
        else:
            said.append(f"A load of {plot.m_told(plot.load)} lies outside the table.")
    if plot.carried is not None and plot.load is not None:
        left = plot.carried - plot.load
        said.append(
            f"The job's point lies {plot.m_told(left)} inside."
            if left >= 0
            else f"The job's point is overloaded by {plot.m_told(-left)}."
        )
    return said


def _drawn(plot: _Plot, drawn: Drawn) -> None:
    axes = plotted(drawn)
    steps = [plot.lowest + (plot.reference - plot.lowest) * index / _POINTS for index in range(_POINTS)]
    steps.append(plot.reference)
    curve = [plot.family.load(pressure=each, **plot.given) for each in steps]
    x, y = [plot.p(each) for each in steps], [plot.m(each) for each in curve]
    pressures = [*steps, *([plot.pressure] if plot.pressure is not None else [])]
    loads = [*curve, *([plot.load] if plot.load is not None else [])]
    wide = 0.08 * (max(pressures) - min(pressures))
    high = 0.14 * (max(loads) - min(loads))
    left, right = plot.p(min(pressures) - wide), plot.p(max(pressures) + wide)
    bottom, top = plot.m(min(loads) - high), plot.m(max(loads) + high)
    axes.set_xlim(left, right)
    axes.set_ylim(bottom, top)
    axes.fill_between(x, [bottom] * len(x), y, facecolor=AIR, edgecolor="none", label="carried")
    axes.fill_between(
        x, y, [top] * len(x), facecolor="white", edgecolor=GREY, hatch="///", linewidth=0, label="overloaded"
    )
    axes.plot(x, y, color=BLUE, lw=2.2, label="law of load and pressure")
    rows = _printed(plot)
    axes.plot(
        [plot.p(each) for each, _ in rows],
        [plot.m(each) for _, each in rows],
        "o",
        mfc="white",
        mec=BLUE,
        ms=4.5,
        label="as the tables print it",
    )
    rated = plot.given["reference_load"]
    axes.plot(
        [plot.p(plot.reference), right],
        [plot.m(rated)] * 2,
        color=INK,
        ls=(0, (1, 1.4)),
        lw=1.6,
        label=f"rated load {plot.m_told(rated)}: no more for more air",
    )
    _job(plot, drawn)
    axes.set_xlabel(f"cold gauge pressure [{plot.pressure_in.symbol}]")
    axes.set_ylabel(f"load on one tyre [{plot.load_in.symbol}]")
    finish(drawn, _TITLE, plot.notes)


def _job(plot: _Plot, drawn: Drawn) -> None:
    axes = drawn.axes[0]
    if plot.load is not None and plot.pressure is not None:
        axes.plot(
            [plot.p(plot.pressure)],
            [plot.m(plot.load)],
            "X",
            color=ORANGE,
            mec=INK,
            ms=10,
            label=f"this job, {plot.m_told(plot.load)} at {plot.p_told(plot.pressure)}",
        )
    elif plot.load is not None:
        axes.axhline(
            plot.m(plot.load),
            color=ORANGE,
            ls="--",
            lw=1.5,
            label=f"this job, {plot.m_told(plot.load)}, pressure not told",
        )
    elif plot.pressure is not None:
        axes.axvline(
            plot.p(plot.pressure),
            color=ORANGE,
            ls="--",
            lw=1.5,
            label=f"this job, {plot.p_told(plot.pressure)}, load not told",
        )
    if plot.needed is not None and plot.load is not None:
        axes.plot(
            [plot.p(plot.needed)],
            [plot.m(plot.load)],
            "D",
            mfc="white",
            mec=ORANGE,
            mew=1.6,
            ms=7,
            label=f"pressure needed, {plot.p_told(plot.needed)}",
        )


def _printed(plot: _Plot) -> list[tuple[float, float]]:
    """Return the columns of the table: pressure and printed load."""
    step = plot.family.printed_load.constants["pressure_step"]
    wide = convert(step.value, step.unit, _KPA)
    rows, pressure = [], plot.lowest
    while pressure < plot.reference - wide / 2:
        printed = _inside(plot.family.printed_load, pressure=pressure, **plot.given)
        rows += [] if printed is None else [(pressure, printed)]
        pressure += wide
    return [*rows, (plot.reference, plot.given["reference_load"])]
