"""Life of a sensor's battery: what the trade quotes, and where this one stands."""

from __future__ import annotations

from functools import partial

import attrs
from matplotlib.figure import Figure as Drawn
from matplotlib.patches import Polygon

from stemlore.errors import Fault, RecordError
from stemlore.figures._figure import Figure
from stemlore.figures._style import (
    AIR,
    GREY,
    INK,
    ORANGE,
    PALE,
    finish,
    listed,
    plotted,
    quantities,
    shown_unit,
    told,
)
from stemlore.formulas.life import QUOTED_LIVES, QuotedLife
from stemlore.model import Sensor, specs_of
from stemlore.units import Unit, convert, unit

__all__ = ["sensor_life"]

_TITLE = "Battery of the pressure sensor: age and distance"
_PART = "battery of a pressure sensor"
_KM = unit("km")


@attrs.frozen
class _Plot:
    age: float | None
    distance: float | None
    more: tuple[float, float] | None
    ages: QuotedLife
    distances: QuotedLife
    distance_in: Unit
    notes: tuple[str, ...] = ()

    def d(self, value: float) -> float:
        return convert(value, _KM, self.distance_in)

    def d_told(self, value: float) -> str:
        return told(value, _KM, self.distance_in)


def sensor_life(
    sensor: Sensor,
    *,
    next_tyres: tuple[object, object] | None = None,
    distance_unit: str = "km",
) -> Figure:
    """Draw where a sensor's battery stands in the ranges of life that the trade quotes.

    Parameters
    ----------
    sensor : Sensor
        With age and distance of its battery, as far as they are known.
    next_tyres : tuple, optional
        Time and distance until these tyres are renewed, to see where the battery will stand then.
    distance_unit : str
        Unit to show distances in.

    Raises
    ------
    RecordError
        If a quantity cannot be read.
    """
    what = "figure of a sensor's life"
    time, way = next_tyres or (None, None)
    read = quantities(what, next_tyres_time=(time, "year"), next_tyres_distance=(way, "km"))
    ahead = (read["next_tyres_time"], read["next_tyres_distance"])
    for name, value in read.items():
        if value is not None and value < 0:
            raise RecordError(what, [Fault(name, "is below zero", "count from today on")])
    ages, distances = (
        next(each for each in QUOTED_LIVES if each.what == _PART and each.unit == symbol)
        for symbol in ("year", "km")
    )
    plot = _Plot(
        age=sensor.battery_age,
        distance=sensor.battery_distance,
        more=(ahead[0], ahead[1]) if ahead[0] is not None and ahead[1] is not None else None,
        ages=ages,
        distances=distances,
        distance_in=shown_unit(distance_unit, "km"),
    )
    specs = specs_of(Sensor)
    missing = tuple(
        specs[name].meaning for name in ("battery_age", "battery_distance") if getattr(sensor, name) is None
    )
    if next_tyres is not None and plot.more is None:
        missing += ("time or distance until the next tyres",)
    said = _sentences(plot)
    notes = [
        f"Ranges as the trade quotes them ({ages.grade.value}): no model. "
        "A battery may fail earlier or last longer."
    ]
    if missing:
        notes.append(f"Not known: {listed(missing)}.")
    plot = attrs.evolve(plot, notes=tuple(notes))
    return Figure(
        name="sensor_life",
        title=_TITLE,
        description=" ".join([f"{_TITLE}.", *said, *notes]),
        missing=missing,
        draw=partial(_drawn, plot),
    )


def _stands(value: float, of: QuotedLife) -> str:
    return "before" if value < of.low else "within" if value <= of.high else "beyond"


def _sentences(plot: _Plot) -> list[str]:
    ages = f"{told(plot.ages.low, 'year').split()[0]} to {told(plot.ages.high, 'year')}"
    ways = f"{plot.d_told(plot.distances.low).rpartition(' ')[0]} to {plot.d_told(plot.distances.high)}"
    said = [f"Quoted are {ages}, and {ways}."]
    if plot.age is not None:
        said.append(
            f"This battery is {_years(plot.age)} old, {_stands(plot.age, plot.ages)} the quoted range."
        )
    if plot.distance is not None:
        place = _stands(plot.distance, plot.distances)
        said.append(f"It has run {plot.d_told(plot.distance)}, {place} the quoted range.")
    if plot.more is not None and plot.age is not None and plot.distance is not None:
        age, way = plot.age + plot.more[0], plot.distance + plot.more[1]
        said.append(
            f"When these tyres are renewed it will be {_years(age)} old ({_stands(age, plot.ages)}) "
            f"and have run {plot.d_told(way)} ({_stands(way, plot.distances)})."
        )
    return said


def _years(value: float) -> str:
    text = told(value, "year")
    return "1 year" if text == "1 years" else text


def _drawn(plot: _Plot, drawn: Drawn) -> None:
    axes = plotted(drawn)
    ages, ways = plot.ages, plot.distances
    end_age, end_way = (plot.age or 0), (plot.distance or 0)
    if plot.more is not None:
        end_age, end_way = end_age + plot.more[0], end_way + plot.more[1]
    right, top = max(ages.high * 1.3, end_age * 1.1), plot.d(max(ways.high * 1.3, end_way * 1.1))
    low, high = plot.d(ways.low), plot.d(ways.high)
    axes.set_xlim(0, right)
    axes.set_ylim(0, top)
    axes.add_patch(
        Polygon(
            [(0, 0), (ages.low, 0), (ages.low, low), (0, low)], fc=AIR, ec="none", label="before both ranges"
        )
    )
    within = [(ages.low, 0), (ages.high, 0), (ages.high, high), (0, high), (0, low), (ages.low, low)]
    axes.add_patch(
        Polygon(
            within,
            fc="white",
            ec=GREY,
            hatch="///",
            lw=0.8,
            label=f"within: {told(ages.low, 'year').split()[0]} to {told(ages.high, 'year')}, or "
            f"{plot.d_told(ways.low).rpartition(' ')[0]} to {plot.d_told(ways.high)}",
        )
    )
    beyond = [(ages.high, 0), (right, 0), (right, top), (0, top), (0, high), (ages.high, high)]
    axes.add_patch(Polygon(beyond, fc=PALE, ec=GREY, hatch="xxx", lw=0.8, label="beyond one of the ranges"))
    _battery(plot, drawn, right, top)
    axes.grid(visible=False)
    axes.set_xlabel("age of the battery [years]")
    axes.set_ylabel(f"distance driven [{plot.distance_in.symbol}]")
    axes.yaxis.set_major_formatter(lambda value, _: told(value, plot.distance_in).rpartition(" ")[0])
    finish(drawn, _TITLE, plot.notes)


def _battery(plot: _Plot, drawn: Drawn, right: float, top: float) -> None:
    axes = drawn.axes[0]
    if plot.age is not None and plot.distance is not None:
        here = (plot.age, plot.d(plot.distance))
        if plot.more is not None:
            then = (plot.age + plot.more[0], plot.d(plot.distance + plot.more[1]))
            axes.plot(*zip(here, then, strict=True), color=INK, ls="--", lw=1.4)
            axes.plot(
                *([each] for each in then),
                "D",
                mfc="white",
                mec=INK,
                mew=1.6,
                ms=8,
                label=f"at the next tyres, {_years(then[0])}, {told(then[1], plot.distance_in)}",
            )
        axes.plot(
            *([each] for each in here),
            "X",
            color=ORANGE,
            mec=INK,
            ms=11,
            zorder=5,
            label=f"this battery, {_years(plot.age)}, {plot.d_told(plot.distance)}",
        )
    elif plot.age is not None:
        axes.axvline(
            plot.age,
            color=ORANGE,
            ls="--",
            lw=2.2,
            label=f"this battery, {_years(plot.age)}, distance not known",
        )
    elif plot.distance is not None:
        axes.axhline(
            plot.d(plot.distance),
            color=ORANGE,
            ls="--",
            lw=2.2,
            label=f"this battery, {plot.d_told(plot.distance)}, age not known",
        )
