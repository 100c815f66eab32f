"""How all figures look: sizes for print, colours that also differ in grey, words and numbers."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable
from typing import Any

from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure as Drawn
from matplotlib.legend import Legend

from stemlore.errors import Fault, RecordError, StemloreError
from stemlore.units import Unit, convert, measure, unit

__all__ = [
    "AIR",
    "BLUE",
    "GREY",
    "INK",
    "LINES",
    "MM",
    "ORANGE",
    "PALE",
    "SETTINGS",
    "SMALL",
    "WIDTH",
    "finish",
    "known",
    "listed",
    "notes_below",
    "plotted",
    "quantities",
    "shown_unit",
    "told",
]

WIDTH = 6.4
"""Inches: 163 mm, the text of an A4 page."""
MM = 1 / 25.4
SMALL = 8.0
"""Points of the smallest text."""

# each hue is another grey in print; no line or area is told by its colour alone
INK = "#1a1a1a"
BLUE = "#0b5394"
ORANGE = "#c8590a"
GREY = "#6f6f6f"
PALE = "#d9d9d9"
AIR = "#dcebf7"
LINES: tuple[Any, ...] = ("-.", (0, (1, 1.4)), (0, (7, 2, 1, 2, 1, 2)), (0, (5, 1)))
"""Styles of limits, to be told apart in grey."""


SETTINGS: Any = {
    "font.family": ["DejaVu Sans"],
    "font.size": 9.0,
    "axes.labelsize": 9.0,
    "axes.titlesize": 10.0,
    "axes.edgecolor": INK,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.grid": True,
    "axes.axisbelow": True,
    "axes.formatter.useoffset": False,
    "grid.color": "#e3e3e3",
    "grid.linewidth": 0.6,
    "xtick.labelsize": 8.5,
    "ytick.labelsize": 8.5,
    "legend.fontsize": 8.5,
    "legend.frameon": False,
    "legend.handlelength": 3.4,
    "hatch.linewidth": 0.5,
    "figure.facecolor": "white",
    "svg.fonttype": "path",  # the same on every machine, with or without the font
    "svg.hashsalt": "stemlore",
    "text.parse_math": False,
}
"""What of Matplotlib's settings is ours; all others are its defaults."""


def plotted(drawn: Drawn) -> Axes:
    """Return axes on an empty figure; :func:`finish` gives them their place."""
    axes: Axes = drawn.add_axes((0.12, 0.2, 0.86, 0.7))
    return axes


_EDGE, _HEAD, _PLOT = 3.0, 9.0, 76.0  # millimetres of the page
_LINE = 4.0


def finish(drawn: Drawn, title: str, notes: Iterable[str]) -> None:
    """Set title, axes, legend and notes one under the other, and the page as high as they need."""
    axes = drawn.axes[0]
    page = WIDTH / MM
    text = notes_below(notes)
    foot = _EDGE + (_LINE * (text.count("\n") + 1) + 1.5 if text else 0.0)
    renderer = FigureCanvasAgg(drawn).get_renderer()  # type: ignore[no-untyped-call]
    per_mm = drawn.dpi * MM
    legend = _legend(drawn, (page - 2 * _EDGE) * per_mm, renderer)
    key = legend.get_window_extent(renderer).height / per_mm
    around = axes.get_tightbbox(renderer) or axes.get_window_extent(renderer)
    inner = axes.get_window_extent(renderer)
    left = (inner.x0 - around.x0) / per_mm + _EDGE
    right = max((around.x1 - inner.x1) / per_mm, 0.0) + _EDGE
    under = (inner.y0 - around.y0) / per_mm
    low = foot + key + 2.0 + under
    high = low + _PLOT + _HEAD
    drawn.set_size_inches(WIDTH, high * MM)
    axes.set_position((left / page, low / high, (page - left - right) / page, _PLOT / high))
    legend.set_bbox_to_anchor((_EDGE / page, foot / high), transform=drawn.transFigure)
    drawn.text(_EDGE / page, 1 - 2.5 / high, title, fontsize=10, fontweight="bold", va="top")
    if text:
        drawn.text(_EDGE / page, _EDGE / high, text, fontsize=SMALL, va="bottom", linespacing=1.25)


def _legend(drawn: Drawn, room: float, renderer: Any) -> Legend:
    """Return a legend in as many columns as fit."""
    handles, labels = drawn.axes[0].get_legend_handles_labels()
    wrapped = ["\n".join(textwrap.wrap(label, 80)) for label in labels]
    for columns in (2, 1):
        legend = drawn.legend(
            handles,
            wrapped,
            loc="lower left",
            bbox_to_anchor=(0, 0),
            ncols=columns,
            columnspacing=1.6,
            borderpad=0,
            borderaxespad=0,
        )
        if columns == 1 or legend.get_window_extent(renderer).width <= room:
            break
        legend.remove()
    return legend


def notes_below(notes: Iterable[str], width: int = 100) -> str:
    """Return notes as lines that fit the page's width."""
    return "\n".join(line for note in notes for line in textwrap.wrap(note, width))


_DECIMALS = {"kPa": 0, "bar": 2, "psi": 1, "kg": 0, "lb": 0, "degC": 1, "degF": 0, "km": 0, "mi": 0, "mm": 2}
_SYMBOLS = {"degC": "°C", "degF": "°F", "year": "years"}


def told(value: float, given: Unit | str, wanted: Unit | str | None = None) -> str:
    """Return a value as people write it, in another unit where one is wanted."""
    of = unit(given) if isinstance(given, str) else given
    to = of if wanted is None else unit(wanted) if isinstance(wanted, str) else wanted
    number = convert(value, of, to)
    text = f"{number:.{_DECIMALS.get(to.symbol, 2)}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    whole, dot, rest = text.partition(".")
    whole = "0" if whole == "-0" and not rest else whole
    if len(whole.lstrip("-")) > 4:
        whole = f"{int(whole):,}".replace(",", "\u00a0")
    return f"{whole}{dot}{rest} {_SYMBOLS.get(to.symbol, to.symbol)}"


def listed(words: Iterable[str]) -> str:
    """Return words as a list in a sentence."""
    many = list(words)
    return many[0] if len(many) == 1 else f"{', '.join(many[:-1])} and {many[-1]}"


def quantities(what: str, **given: tuple[object, str]) -> dict[str, float | None]:
    """Read quantities as floats in the unit beside each; None stays None, all faults are told at once."""
    faults, read = [], {}
    for name, (value, symbol) in given.items():
        try:
            read[name] = None if value is None else measure(value, unit(symbol))
        except StemloreError as error:
            faults.append(Fault(name, str(error)))
    if faults:
        raise RecordError(what, faults)
    return read


def shown_unit(symbol: str, like: str) -> Unit:
    """Return the unit that values are shown in, of the same dimension as another."""
    wanted = unit(symbol)
    convert(0.0, unit(like), wanted)  # names the dimensions where they differ
    return wanted


def known(value: float | None) -> float:
    """Return a value that was looked at before."""
    assert value is not None
    return value
