"""Dated readings of one tyre's pressure, the fitted loss and what it leads to."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date, datetime, timedelta
from functools import partial

import attrs
from matplotlib.figure import Figure as Drawn
from matplotlib.ticker import FuncFormatter, MaxNLocator

from stemlore.errors import Fault, RecordError
from stemlore.figures._figure import Figure
from stemlore.figures._style import (
    AIR,
    BLUE,
    GREY,
    INK,
    LINES,
    ORANGE,
    finish,
    known,
    listed,
    plotted,
    quantities,
    shown_unit,
    told,
)
from stemlore.formulas.loss_estimate import LossEstimate, PressureReading, estimate_loss
from stemlore.formulas.pressure import pressure_after
from stemlore.units import Unit, convert, unit

__all__ = ["pressure_history"]

_KPA = unit("kPa")
_TITLE = "Pressure of the tyre by date"


@attrs.frozen
class _Level:
    name: str
    pressure: float
    estimate: LossEstimate | None


@attrs.frozen
class _Plot:
    first: date
    read: tuple[tuple[float, float], ...]
    reduced: tuple[tuple[float, float], ...]
    fit: LossEstimate | None
    middle: float  # mean day of the readings that the fit rests on
    last: float  # day of the last of them
    spread: float
    end: float
    levels: tuple[_Level, ...]
    pressure_in: Unit
    notes: tuple[str, ...] = ()

    def p(self, value: float) -> float:
        return convert(value, _KPA, self.pressure_in)

    def p_told(self, value: float) -> str:
        return told(value, _KPA, self.pressure_in)

    def day_told(self, days: float) -> str:
        when = self.first + timedelta(days=days)
        return (
            when.strftime("%Y-%m-%d %H:%M")
            if isinstance(when, datetime) and self.end < 5
            else f"{when:%Y-%m-%d}"
        )


def pressure_history(
    readings: Iterable[PressureReading],
    fit: LossEstimate | None = None,
    *,
    at_temperature: object = None,
    at_ambient: object = None,
    uncertainty: object = None,
    levels: Mapping[str, object] | None = None,
    ahead: object = None,
    pressure_unit: str = "kPa",
) -> Figure:
    """Draw dated readings with the fitted loss and where it leads.

    Parameters
    ----------
    readings : iterable of PressureReading
        Of one tyre, in any order, without air added between them.
    fit : LossEstimate, optional
        Of these readings; made here where reference temperature and ambient pressure are given.
    at_temperature, at_ambient : str or quantity, optional
        Temperature and ambient pressure of the fit, to which readings are reduced.
    uncertainty : str or quantity, optional
        Standard uncertainty of one reading, for :func:`~stemlore.formulas.estimate_loss`.
    levels : mapping, optional
        Such as ``warning`` or ``minimum`` to its pressure; with the reference, the day of each is told.
    ahead : str or quantity, optional
        How far to look ahead of the last reading, such as ``30 d``.
    pressure_unit : str
        Unit to show.

    Raises
    ------
    RecordError
        If there is nothing to draw, a quantity cannot be read, or the fit is of other readings.
    """
    what = "figure of a pressure's history"
    wanted = dict(levels or {})
    taken = sorted(_of_one_kind(what, readings), key=lambda each: each.when)
    read = quantities(
        what,
        at_temperature=(at_temperature, "K"),
        at_ambient=(at_ambient, "kPa"),
        ahead=(ahead, "d"),
        **{f"levels_{name}": (value, "kPa") for name, value in wanted.items()},
    )
    seen = [each for each in taken if each.pressure is not None]
    if not seen:
        raise RecordError(what, [Fault("readings", "hold no pressure", "give one at least")])
    whole = [each for each in taken if not each.missing]
    reference = read["at_temperature"], read["at_ambient"]
    can_fit = reference[0] is not None and reference[1] is not None

    def estimated(threshold: object) -> LossEstimate:
        return estimate_loss(
            taken,
            at_temperature=at_temperature,
            at_ambient=at_ambient,
            uncertainty=uncertainty,
            threshold=threshold,
        )

    if fit is None and can_fit:
        fit = estimated(None)
    if fit is not None and fit.fall is not None and fit.used != len(whole):
        advice = "estimate it from the readings that are drawn"
        raise RecordError(
            what, [Fault("fit", f"rests on {fit.used} readings, here are {len(whole)}", advice)]
        )
    first = seen[0].when
    days = [_days(each.when, first) for each in whole]
    middle = sum(days) / len(days) if days else 0.0
    reached = tuple(
        _Level(name, value, estimated(wanted[name]) if can_fit else None)
        for name in wanted
        if (value := read[f"levels_{name}"]) is not None
    )
    last = days[-1] if days else 0.0
    plot = _Plot(
        first=first,
        read=tuple((_days(each.when, first), known(each.pressure)) for each in seen),
        reduced=tuple(
            (
                day,
                pressure_after(
                    known(each.pressure),
                    known(each.temperature),
                    known(reference[0]),
                    known(each.ambient_pressure),
                    known(reference[1]),
                    1.0,
                ),
            )
            for day, each in zip(days, whole, strict=True)
        )
        if can_fit
        else (),
        fit=fit if fit is not None and fit.fall is not None else None,
        middle=middle,
        last=last,
        spread=sum((day - middle) ** 2 for day in days),
        end=0.0,
        levels=reached,
        pressure_in=shown_unit(pressure_unit, "kPa"),
    )
    plot = attrs.evolve(plot, end=_end(plot, read["ahead"]))
    missing = _missing(taken, wanted, read, fit, can_fit)
    notes = _notes(plot, missing, fit)
    plot = attrs.evolve(plot, notes=notes)
    return Figure(
        name="pressure_history",
        title=_TITLE,
        description=" ".join([f"{_TITLE}.", *_sentences(plot, fit), *notes]),
        missing=missing,
        draw=partial(_drawn, plot),
    )


def _of_one_kind(what: str, readings: Iterable[PressureReading]) -> list[PressureReading]:
    taken = list(readings)
    kinds = {
        (isinstance(each.when, datetime), isinstance(each.when, datetime) and each.when.tzinfo is not None)
        for each in taken
    }
    if len(kinds) > 1:
        advice = "give all as dates, or all as times with or without a zone"
        raise RecordError(what, [Fault("readings", "mix dates and times", advice)])
    return taken


def _days(when: date, first: date) -> float:
    return (when - first).total_seconds() / 86400


def _end(plot: _Plot, ahead: float | None) -> float:
    """Return the last day drawn: as told, else when levels are reached, at most three spans ahead."""
    final = max(day for day, _ in plot.read)
    if ahead is not None:
        return final + max(ahead, 0.0)
    if plot.fit is None or known(plot.fit.fall) <= 0:  # what rises says nothing of what is to come
        return final
    reached = [
        each.estimate.days_latest or each.estimate.days or 0.0
        for each in plot.levels
        if each.estimate is not None
    ]
    span = plot.fit.span
    return max(final, plot.last + min(max([*(1.1 * each for each in reached), span / 2]), 3 * span))


def _missing(
    taken: list[PressureReading],
    wanted: Mapping[str, object],
    read: Mapping[str, float | None],
    fit: LossEstimate | None,
    can_fit: bool,
) -> tuple[str, ...]:
    found = [f"{' and '.join(each.missing)} of the reading of {each.when}" for each in taken if each.missing]
    found += [f"pressure of the level {name!r}" for name in wanted if read[f"levels_{name}"] is None]
    if not can_fit:
        found.append("temperature and ambient pressure to reduce readings to")
    if fit is not None and fit.fall is not None and fit.fall_low is None:
        found.append("uncertainty of a reading")
    return tuple(found)


def _sentences(plot: _Plot, fit: LossEstimate | None) -> list[str]:
    told_readings = "; ".join(f"{plot.day_told(day)} {plot.p_told(value)}" for day, value in plot.read)
    said = [f"Readings: {told_readings}."]
    if plot.reduced:
        reduced = "; ".join(plot.p_told(value) for _, value in plot.reduced)
        said.append(f"Reduced to one temperature and ambient pressure: {reduced}.")
    if fit is None:
        said.append("No loss is fitted.")
        return said
    if fit.fall is not None:
        said.append(f"Fitted: {_rate(plot, fit)}.")
    said += [f"{_reached(plot, each)}." for each in plot.levels]
    return said


def _rate(plot: _Plot, fit: LossEstimate) -> str:
    """Return fall or rise with the ends of its interval."""
    fall, ends = known(fit.fall), [fit.fall_low, fit.fall_high]
    sign = 1 if fall >= 0 else -1
    shown = [f"{plot.p(sign * each):.3g}" for each in ends if each is not None][::sign]
    between = f" ({' to '.join(shown)})" if shown else ", uncertainty not known"
    word = "fall" if fall >= 0 else "rise"
    return f"{word} {plot.p(sign * fall):.3g} {plot.pressure_in.symbol} a day{between}"


def _reached(plot: _Plot, level: _Level) -> str:
    head = f"{level.name[0].upper()}{level.name[1:]} {plot.p_told(level.pressure)}"
    found = level.estimate
    if found is None or found.fall is None:
        return f"{head}: day not told"
    if found.days is None:
        return f"{head}: not reached on this line"
    if found.days <= 0:
        return f"{head}: already passed"
    text = f"{head}: about {_date(plot, found.days)}"
    if found.days_earliest is None:
        return text
    latest = "open" if found.days_latest is None else _date(plot, found.days_latest)
    return f"{text} (earliest {_date(plot, found.days_earliest)}, latest {latest})"


def _date(plot: _Plot, days: float) -> str:
    try:
        return plot.day_told(plot.last + days)
    except OverflowError:
        return "far off"


def _notes(plot: _Plot, missing: tuple[str, ...], fit: LossEstimate | None) -> tuple[str, ...]:
    notes = []
    if fit is not None:
        notes.append(f"Verdict: {fit.verdict}, {fit.reason}.")
    if missing:
        notes.append(f"Missing: {listed(missing[:4])}{' and more' if len(missing) > 4 else ''}.")
    return tuple(notes)


def _drawn(plot: _Plot, drawn: Drawn) -> None:
    axes = plotted(drawn)
    if plot.fit is not None:
        _line(plot, drawn)
    axes.plot(
        [day for day, _ in plot.read],
        [plot.p(value) for _, value in plot.read],
        "x",
        color=GREY,
        mew=1.5,
        ms=6,
        label="as read",
    )
    if plot.reduced:
        axes.plot(
            [day for day, _ in plot.reduced],
            [plot.p(value) for _, value in plot.reduced],
            "o",
            color=BLUE,
            ms=5,
            label="reduced to one temperature",
        )
    for index, level in enumerate(plot.levels):
        axes.axhline(
            plot.p(level.pressure),
            color=ORANGE if index == 0 else INK,
            ls=LINES[index % len(LINES)],
            lw=1.5,
            label=_short(plot, level),
        )
    end = plot.end or 1.0
    axes.set_xlim(-0.03 * end, 1.03 * end)
    _bounded(plot, drawn)
    axes.xaxis.set_major_locator(MaxNLocator(nbins=5, integer=plot.end >= 5))
    axes.xaxis.set_major_formatter(FuncFormatter(lambda value, _: plot.day_told(value)))
    axes.set_xlabel("date")
    axes.set_ylabel(f"gauge pressure [{plot.pressure_in.symbol}]")
    finish(drawn, _TITLE, plot.notes)


def _short(plot: _Plot, level: _Level) -> str:
    found = level.estimate
    if found is None or found.days is None:
        return f"{level.name}, {plot.p_told(level.pressure)}"
    when = "passed" if found.days <= 0 else f"about {_date(plot, found.days)}"
    return f"{level.name}, {plot.p_told(level.pressure)}: {when}"


def _line(plot: _Plot, drawn: Drawn) -> None:
    """Draw the line through the readings, on to the end, with the doubt of level and fall."""
    axes, fit = drawn.axes[0], plot.fit
    if fit is None or fit.fall is None or fit.pressure is None:
        return
    at_middle = fit.pressure + fit.fall * (plot.last - plot.middle)
    days = [plot.end * index / 60 for index in range(61)]
    if fit.fall_low is not None and fit.fall_high is not None:
        half = (fit.fall_high - fit.fall_low) / 2
        doubt = half * (plot.spread / fit.used) ** 0.5
        width = [doubt + half * abs(day - plot.middle) for day in days]
        line = [at_middle - fit.fall * (day - plot.middle) for day in days]
        lower = [plot.p(max(value - each, 0.0)) for value, each in zip(line, width, strict=True)]
        upper = [plot.p(value + each) for value, each in zip(line, width, strict=True)]
        axes.fill_between(
            days,
            lower,
            upper,
            facecolor=AIR,
            edgecolor=BLUE,
            hatch="||||",
            linewidth=0.4,
            label="where the line may run",
        )

    def at(day: float) -> float:
        return plot.p(at_middle - known(fit.fall) * (day - plot.middle))

    started = min((day for day, _ in plot.reduced), default=0.0)
    axes.plot([started, plot.last], [at(started), at(plot.last)], color=BLUE, lw=2, label=_rate(plot, fit))
    if plot.end > plot.last:
        axes.plot(
            [plot.last, plot.end],
            [at(plot.last), at(plot.end)],
            color=BLUE,
            lw=1.6,
            ls="--",
            label="forecast",
        )


def _bounded(plot: _Plot, drawn: Drawn) -> None:
    """Keep readings, levels and the line in view; a band of doubt may run out of it."""
    values = [value for _, value in (*plot.read, *plot.reduced)] + [each.pressure for each in plot.levels]
    if plot.fit is not None and plot.fit.pressure is not None and plot.fit.fall is not None:
        values.append(max(plot.fit.pressure - plot.fit.fall * (plot.end - plot.last), 0.0))
    room = max(0.1 * (max(values) - min(values)), 5.0)
    drawn.axes[0].set_ylim(plot.p(min(values) - room), plot.p(max(values) + room))
