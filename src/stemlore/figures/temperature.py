"""Cold pressure against temperature, with placard, warning and ratings."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial
from typing import Literal

import attrs
from matplotlib.figure import Figure as Drawn

from stemlore.errors import Fault, RecordError
from stemlore.figures._figure import Figure
from stemlore.figures._style import (
    BLUE,
    GREY,
    INK,
    LINES,
    ORANGE,
    PALE,
    finish,
    known,
    listed,
    plotted,
    quantities,
    shown_unit,
    told,
)
from stemlore.formulas.monitoring import warning_pressure_un, warning_pressure_us
from stemlore.formulas.pressure import cold_pressure, pressure_after
from stemlore.units import Unit, convert, unit

__all__ = ["pressure_over_temperature"]

_POINTS = 60
_KELVIN, _KPA = unit("K"), unit("kPa")


@attrs.frozen
class _Plot:
    placard: float
    cold: float
    ambient: float
    ends: tuple[float, float]
    warning: tuple[str, str, float] | None
    rated: tuple[tuple[str, float], ...]
    now: tuple[float, float] | None
    reading: tuple[float, float] | None
    read_cold: float | None
    pressure_in: Unit
    temperature_in: Unit
    notes: tuple[str, ...]

    def p(self, value: float) -> float:
        return convert(value, _KPA, self.pressure_in)

    def t(self, value: float) -> float:
        return convert(value, _KELVIN, self.temperature_in)

    def p_told(self, value: float) -> str:
        return told(value, _KPA, self.pressure_in)

    def t_told(self, value: float) -> str:
        return told(value, _KELVIN, self.temperature_in)

    def at(self, temperature: float) -> float:
        return pressure_after(self.placard, self.cold, temperature, self.ambient, self.ambient, 1.0)


def pressure_over_temperature(
    cold_pressure_set: object,
    *,
    cold_temperature: object,
    ambient: object,
    monitoring: Literal["us", "un"] | None = None,
    warning: object = None,
    rated: Mapping[str, object] | None = None,
    now: object = None,
    reading: tuple[object, object] | None = None,
    lowest: object = "-30 degC",
    highest: object = "80 degC",
    pressure_unit: str = "kPa",
    temperature_unit: str = "degC",
) -> Figure:
    """Draw how the pressure of a closed tyre goes with the temperature of its air.

    Quantities are text with units or pint quantities.

    Parameters
    ----------
    cold_pressure_set : str or quantity
        Cold gauge pressure by the placard or the maker.
    cold_temperature : str or quantity
        Temperature that it is told for.
    ambient : str or quantity
        Ambient pressure, absolute.
    monitoring : {'us', 'un'}, optional
        Law by which the monitoring system warns: a share below the placard, or below the warm pressure.
    warning : str or quantity, optional
        Pressure at which this very system warns, by its maker; instead of ``monitoring``.
    rated : mapping, optional
        What is rated (``tyre``, ``valve``, ``wheel``) to its pressure; None where it is not told.
    now : str or quantity, optional
        Temperature of the air in the tyre now, to tell what the gauge should read.
    reading : tuple, optional
        A reading of the gauge: pressure and temperature of the air in the tyre.
    lowest, highest : str or quantity
        Ends of the temperatures drawn.
    pressure_unit, temperature_unit : str
        Units to show.

    Raises
    ------
    RecordError
        If a quantity cannot be read or two contradict.
    OutOfRangeError
        Outside the range that the formulas hold in.
    """
    what = "figure of pressure over temperature"
    ratings = dict(rated or {})
    read_pressure, read_temperature = reading or (None, None)
    read = quantities(
        what,
        cold_pressure_set=(cold_pressure_set, "kPa"),
        cold_temperature=(cold_temperature, "K"),
        ambient=(ambient, "kPa"),
        warning=(warning, "kPa"),
        now=(now, "K"),
        reading_pressure=(read_pressure, "kPa"),
        reading_temperature=(read_temperature, "K"),
        lowest=(lowest, "K"),
        highest=(highest, "K"),
        **{f"rated_{name}": (value, "kPa") for name, value in ratings.items()},
    )
    faults = [
        Fault(name, "is not told", "nothing can be drawn without it")
        for name in ("cold_pressure_set", "cold_temperature", "ambient", "lowest", "highest")
        if read[name] is None
    ]
    if warning is not None and monitoring is not None:
        faults.append(Fault("warning", "stands beside a law of monitoring", "give one of both"))
    if not faults and known(read["lowest"]) >= known(read["highest"]):
        faults.append(Fault("lowest", "is not below the highest temperature", "give it the other way round"))
    if faults:
        raise RecordError(what, faults)
    plot = _Plot(
        placard=known(read["cold_pressure_set"]),
        cold=known(read["cold_temperature"]),
        ambient=known(read["ambient"]),
        ends=(known(read["lowest"]), known(read["highest"])),
        warning=None,
        rated=tuple((name, value) for name in ratings if (value := read[f"rated_{name}"]) is not None),
        now=None,
        reading=None,
        read_cold=None,
        pressure_in=shown_unit(pressure_unit, "kPa"),
        temperature_in=shown_unit(temperature_unit, "K"),
        notes=(),
    )
    plot = _with_points(plot, read)
    plot = attrs.evolve(plot, warning=_warning(plot, monitoring, read["warning"]))
    missing = tuple(f"rated pressure of the {name}" for name in ratings if read[f"rated_{name}"] is None)
    if reading is not None and plot.reading is None:
        missing += ("pressure or temperature of the reading",)
    sentences = _sentences(plot, missing)
    notes = _notes(plot, missing)
    plot = attrs.evolve(plot, notes=notes)
    return Figure(
        name="pressure_over_temperature",
        title=_TITLE,
        description=" ".join([f"{_TITLE}.", *sentences, *notes]),
        missing=missing,
        draw=partial(_drawn, plot),
    )


_TITLE = "Pressure of the tyre with the temperature of its air"
_RATING_NOTE = "Whether a rating is meant for the cold or the warm tyre, its maker tells."
_LAWS = {"us": "the American standard", "un": "the UN regulation, as it is told"}


def _with_points(plot: _Plot, read: Mapping[str, float | None]) -> _Plot:
    if (now := read["now"]) is not None:
        plot = attrs.evolve(plot, now=(now, plot.at(now)))
    pressure, temperature = read["reading_pressure"], read["reading_temperature"]
    if pressure is not None and temperature is not None:
        cold = cold_pressure(pressure, temperature, plot.cold, plot.ambient)
        plot = attrs.evolve(plot, reading=(temperature, pressure), read_cold=cold)
    return plot


def _warning(plot: _Plot, monitoring: str | None, given: float | None) -> tuple[str, str, float] | None:
    """Return whose warning it is, how it is told, and where it lies on the cold tyre."""
    if given is not None:
        return "", f"warning of the system at {plot.p_told(given)}", given
    if monitoring == "us":
        value = warning_pressure_us(plot.placard)
        return "us", f"warning by {_LAWS['us']} at {plot.p_told(value)} at the latest", value
    if monitoring == "un":
        value = warning_pressure_un(plot.placard)
        return (
            "un",
            f"warning by {_LAWS['un']}: {plot.p_told(value)} when cold, a share of the pressure in use",
            value,
        )
    return None


def _sentences(plot: _Plot, missing: tuple[str, ...]) -> list[str]:
    first, last = plot.ends
    said = [
        f"Set to {plot.p_told(plot.placard)} at {plot.t_told(plot.cold)}, a tyre reads "
        f"{plot.p_told(plot.at(first))} at {plot.t_told(first)} and {plot.p_told(plot.at(last))} at "
        f"{plot.t_told(last)}, at an ambient pressure of {plot.p_told(plot.ambient)}."
    ]
    if plot.now is not None:
        said.append(f"Now, at {plot.t_told(plot.now[0])}, the gauge should read {plot.p_told(plot.now[1])}.")
    if plot.reading is not None and plot.read_cold is not None:
        said.append(
            f"The gauge read {plot.p_told(plot.reading[1])} at {plot.t_told(plot.reading[0])}, which is "
            f"{plot.p_told(plot.read_cold)} at {plot.t_told(plot.cold)}, "
            f"{_beside(plot, plot.read_cold - plot.placard)}."
        )
    if plot.warning is not None:
        said.append(f"{plot.warning[1][0].upper()}{plot.warning[1][1:]}.")
    said += [f"Rated pressure of the {name}: {plot.p_told(value)}." for name, value in plot.rated]
    return said


def _beside(plot: _Plot, difference: float) -> str:
    shown = told(abs(difference), _KPA, plot.pressure_in)
    if shown.startswith("0 "):
        return "as set"
    return f"{shown} {'above' if difference > 0 else 'below'} what is set"


def _notes(plot: _Plot, missing: tuple[str, ...]) -> tuple[str, ...]:
    notes = [_RATING_NOTE] if plot.rated else []
    if plot.warning is None:
        notes.append("No warning of a monitoring system is told.")
    if missing:
        notes.append(f"Not told: {listed(missing)}.")
    return (" ".join(notes),) if notes else ()


def _drawn(plot: _Plot, drawn: Drawn) -> None:
    axes = plotted(drawn)
    first, last = plot.ends
    kelvins = [first + (last - first) * index / _POINTS for index in range(_POINTS + 1)]
    x = [plot.t(each) for each in kelvins]
    curve = [plot.at(each) for each in kelvins]
    lows = [warning_pressure_un(each) for each in curve] if _shares(plot) else None
    low = min([*curve, *([plot.warning[2]] if plot.warning else []), *(lows or [])])
    values = [*curve, plot.placard, *(value for _, value in plot.rated)]
    values += [plot.reading[1]] if plot.reading else []
    room = 0.08 * (max(values) - min(low, *values))
    bottom, top = min(low, *values) - room, max(values) + room
    axes.set_ylim(plot.p(bottom), plot.p(top))
    axes.set_xlim(x[0], x[-1])
    if plot.warning is not None:
        floor = lows or [plot.warning[2]] * len(x)
        axes.fill_between(
            x,
            [plot.p(bottom)] * len(x),
            [plot.p(each) for each in floor],
            facecolor="white",
            edgecolor=GREY,
            hatch="\\\\\\",
            linewidth=0,
            label="lamp on",
        )
        axes.plot(
            x,
            [plot.p(each) for each in floor],
            color=ORANGE,
            ls=(0, (4, 1.5)),
            lw=1.4,
            label=_short_warning(plot),
        )
    if plot.rated:
        least = min(value for _, value in plot.rated)
        axes.axhspan(
            plot.p(least),
            plot.p(top),
            facecolor=PALE,
            edgecolor=GREY,
            hatch="+++",
            linewidth=0,
            alpha=0.6,
            label="above a rating",
        )
    for index, (name, value) in enumerate(plot.rated):
        axes.axhline(
            plot.p(value),
            color=INK,
            ls=LINES[index % len(LINES)],
            lw=1.3,
            label=f"rating of the {name}, {plot.p_told(value)}",
        )
    axes.axhline(
        plot.p(plot.placard),
        color=GREY,
        ls=(0, (9, 3)),
        lw=1.1,
        label=f"set cold, {plot.p_told(plot.placard)} at {plot.t_told(plot.cold)}",
    )
    axes.plot(x, [plot.p(each) for each in curve], color=BLUE, lw=2.2, label="the same air, warmer or colder")
    axes.plot([plot.t(plot.cold)], [plot.p(plot.placard)], "o", color=BLUE, ms=5)
    if plot.now is not None:
        axes.plot(
            [plot.t(plot.now[0])],
            [plot.p(plot.now[1])],
            "D",
            mfc="white",
            mec=BLUE,
            mew=1.6,
            ms=7,
            label=f"should read now, {plot.p_told(plot.now[1])} at {plot.t_told(plot.now[0])}",
        )
    if plot.reading is not None:
        axes.plot(
            [plot.t(plot.reading[0])],
            [plot.p(plot.reading[1])],
            "X",
            color=INK,
            ms=8,
            label=f"gauge read {plot.p_told(plot.reading[1])} at {plot.t_told(plot.reading[0])}",
        )
    _labelled(plot, axes_of=drawn)


def _shares(plot: _Plot) -> bool:
    return plot.warning is not None and plot.warning[0] == "un"


def _short_warning(plot: _Plot) -> str:
    assert plot.warning is not None
    word = {"us": "lamp at the latest (US)", "un": "lamp at the latest (UN)", "": "lamp of the system"}
    cold = " cold" if _shares(plot) else ""
    return f"{word[plot.warning[0]]}, {plot.p_told(plot.warning[2])}{cold}"


def _labelled(plot: _Plot, axes_of: Drawn) -> None:
    axes = axes_of.axes[0]
    axes.set_xlabel(f"temperature of the air in the tyre [{told(0, plot.temperature_in).split()[-1]}]")
    axes.set_ylabel(f"gauge pressure [{plot.pressure_in.symbol}]")
    finish(axes_of, _TITLE, plot.notes)
