"""The drawing of a section: page in millimetres, measures in rows under the valve."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import attrs
from matplotlib.axes import Axes
from matplotlib.figure import Figure as Drawn
from matplotlib.patches import Polygon

from stemlore.figures._style import BLUE, GREY, INK, MM, ORANGE, SMALL, WIDTH, notes_below
from stemlore.units import settle

__all__ = ["Measure", "Section", "draw_compact", "draw_section"]

_PAGE = WIDTH * 25.4
_LEFT = 62.0  # the column of words
_RIGHT = 5.0
_INSIDE = 24.0  # room for what sits inside the tyre
_HEAD = 18.0
_BODY = 50.0  # height of the section itself
_ROW = 6.2
_LINE = 3.9
_SMALL_PAGE, _SMALL_LEFT, _SMALL_INSIDE = 62.0, 22.5, 10.0
_SMALL_BODY, _SMALL_ROW = 14.0, 3.5
_SMALL_TYPE = 7.5  # points; nothing on a sheet is smaller
_SHORT = {"length": "length", "with_cap": "with cap", "edge": "to edge", "cover": "to cover"}
_METAL = "#f2efe6"
_RUBBER = "#5a5a5a"


@attrs.frozen
class Measure:
    """One row: what is measured there, in words, and whether that is missing."""

    name: str
    text: str
    is_missing: bool = False


@attrs.frozen
class Section:
    """All that a section is drawn from; sizes in millimetres, from the seat outwards."""

    title: str
    subtitle: str
    kind: str | None
    cap: str | None
    sensor: bool
    measures: tuple[Measure, ...]
    sizes: dict[str, float]
    known: frozenset[str]
    notes: tuple[str, ...]

    @property
    def height(self) -> float:
        """Height of the page in millimetres."""
        lines = notes_below(self.notes).count("\n") + 1
        return _HEAD + _BODY + _ROW * (len(self.measures) - 1) + 5.0 + _LINE * lines + 3.0


@attrs.frozen
class _Pen:
    """Draws in millimetres of the section on millimetres of the page."""

    axes: Axes
    scale: float
    seat: float  # where the seat lies on the page
    axis: float  # height of the valve's axis on the page
    body: float = _BODY  # height of the section
    inside: float = _INSIDE

    def x(self, along: float) -> float:
        return self.seat + along * self.scale

    def y(self, across: float) -> float:
        return self.axis + across * self.scale

    def shape(self, points: Sequence[tuple[float, float]], known: bool, **look: Any) -> None:
        """Fill one outline; dashed where it is only sketched."""
        self._fill([(self.x(x), self.y(y)) for x, y in points], known, look)

    def on_page(self, points: Sequence[tuple[float, float]], known: bool, **look: Any) -> None:
        """Fill one outline whose points along are already on the page."""
        self._fill([(x, self.y(y)) for x, y in points], known, look)

    def _fill(self, points: list[tuple[float, float]], known: bool, look: dict[str, Any]) -> None:
        style = {"fc": _METAL, "ec": INK, "lw": 0.9, **look}
        if not known:
            style |= {"ls": (0, (4, 2.5)), "fc": "none" if style["fc"] != "white" else "white", "hatch": None}
        self.axes.add_patch(Polygon(points, closed=True, joinstyle="miter", **style))


def draw_section(section: Section, drawn: Drawn) -> None:
    """Draw it on an empty figure of its size."""
    drawn.set_size_inches(WIDTH, section.height * MM)
    axes = drawn.add_axes((0, 0, 1, 1))
    axes.set_axis_off()
    axes.set_xlim(0, _PAGE)
    axes.set_ylim(0, section.height)
    top = section.height
    axes.text(4, top - 4, section.title, fontsize=10, fontweight="bold", va="top")
    axes.text(4, top - 10, section.subtitle, fontsize=SMALL, va="top", color=INK)
    pen = _pen(section, axes)
    _rim(section, pen)
    _sides(section, pen)
    _inside(section, pen)
    _stem(section, pen)
    _limits(section, pen)
    _rows(section, pen)
    if section.known:
        _scale_bar(pen)
    text = notes_below(section.notes)
    axes.text(4, 3.0, text, fontsize=SMALL, va="bottom", linespacing=1.25)


def _out(sizes: dict[str, float]) -> float:
    return max(sizes["length"], sizes["with_cap"], sizes.get("edge", 0.0), sizes.get("cover", 0.0))


def _pen(section: Section, axes: Axes) -> _Pen:
    sizes = section.sizes
    out = _out(sizes)
    room = _PAGE - _LEFT - _RIGHT - _INSIDE
    scale = min(room / (out + sizes["thickness"]), 0.5 * _BODY / sizes["hole"], 4.0)
    seat = _LEFT + _INSIDE + sizes["thickness"] * scale
    return _Pen(axes, scale, seat, section.height - _HEAD - _BODY / 2)


def _rim(section: Section, pen: _Pen) -> None:
    """Draw the rim as two cut pieces, with the hole between."""
    thick, half = section.sizes["thickness"], section.sizes["hole"] / 2
    far = (pen.body / 2 - pen.body / _BODY) / pen.scale
    known = {"hole", "thickness"} <= section.known
    for side in (1, -1):
        piece = [(-thick, side * half), (0, side * half), (0, side * far), (-thick, side * far)]
        pen.shape(piece, known, fc="white", hatch="////")


def _sides(section: Section, pen: _Pen) -> None:
    """Draw the valve's axis and say which side is which."""
    thick = section.sizes["thickness"]
    pen.axes.plot(
        [_LEFT + 3, _PAGE - _RIGHT], [pen.axis] * 2, color=GREY, lw=0.7, ls=(0, (10, 2, 2, 2)), zorder=5
    )
    top = pen.axis + _BODY / 2
    pen.axes.text(pen.x(-thick) - 2, top, "tyre side", fontsize=SMALL, ha="right", va="top", color=INK)
    pen.axes.text(pen.x(0) + 2, top, "outer side", fontsize=SMALL, ha="left", va="top", color=INK)


def _inside(section: Section, pen: _Pen) -> None:
    """Draw what sits on the tyre's side of the rim; a sketch, sized by the hole."""
    kind, thick, half = section.kind, section.sizes["thickness"], section.sizes["hole"] / 2
    inner = pen.x(-thick)
    part = pen.inside / _INSIDE
    wide = (_INSIDE - 10) * part
    if section.sensor:
        pen.on_page(
            [
                (inner - wide - 4 * part, -half * 1.5),
                (inner - wide * 0.45, -half * 1.5),
                (inner - wide * 0.45, half * 1.5),
                (inner - wide - 4 * part, half * 1.5),
            ],
            True,
            fc="#b9b9b9",
            hatch="xx",
        )
    if kind in ("snap_in", "high_pressure_snap_in"):
        pen.on_page(
            [
                (inner, half * 1.45),
                (inner - wide * 0.25, half * 1.45),
                (inner - wide * 0.5, half),
                (inner - wide * 0.5, -half),
                (inner - wide * 0.25, -half * 1.45),
                (inner, -half * 1.45),
            ],
            True,
            fc=_RUBBER,
        )
        pen.shape([(-thick, half), (0, half), (0, -half), (-thick, -half)], True, fc=_RUBBER)
    elif kind in ("clamp_in", "truck_clamp_in"):
        neck = inner - 3 * part
        pen.on_page(
            [(inner, half * 1.5), (neck, half * 1.5), (neck, -half * 1.5), (inner, -half * 1.5)],
            True,
            fc=_RUBBER,
        )
        pen.on_page(
            [
                (inner - 3 * part, half * 1.3),
                (inner - 7 * part, half * 1.3),
                (inner - 7 * part, -half * 1.3),
                (inner - 3 * part, -half * 1.3),
            ],
            True,
        )
    elif kind == "tube_stem":
        tall = pen.body * 0.42 / pen.scale
        near, far = inner - 1.5 * part, inner - 3.5 * part
        pen.on_page(
            [(near, tall), (far, tall), (far, -tall), (near, -tall)],
            True,
            fc=_RUBBER,
        )


def _stem(section: Section, pen: _Pen) -> None:
    """Draw stem, core and cap outside the rim; lengths to scale, shapes a sketch."""
    sizes, kind = section.sizes, section.kind
    half, length, with_cap = sizes["hole"] / 2, sizes["length"], sizes["with_cap"]
    thread = 0.62 * half
    known = kind is not None and "length" in section.known
    start = -sizes["thickness"]
    if kind in ("snap_in", "high_pressure_snap_in"):
        body = max(length - 1.6 * half, 0.55 * length)
        neck = min(1.4 * half, 0.3 * body)
        metal = body if kind == "snap_in" else 0.55 * body
        pen.shape(
            [
                (0, 1.3 * half),
                (neck, 1.15 * half),
                (body, 0.85 * half),
                (body, -0.85 * half),
                (neck, -1.15 * half),
                (0, -1.3 * half),
            ],
            known,
            fc=_RUBBER,
        )
        pen.shape(_box(metal, length, thread), known)
    else:
        pen.shape(_box(start, length, thread), known, fc=_METAL)
    if kind in ("clamp_in", "truck_clamp_in"):
        washer, nut = min(0.25 * half, 0.1 * length), min(1.1 * half, 0.3 * length)
        pen.shape(_box(0, washer, 1.5 * half), known, fc=_RUBBER)
        pen.shape(_box(washer, washer + nut, 1.35 * half), known, fc="#cfcfcf", hatch="|||")
    bore = 0.28 * half
    pen.shape(_box(max(start, length * 0.45), length, bore), known, fc="white")
    if section.cap != "none" and with_cap > 0:
        has_cap = "with_cap" in section.known and section.cap is not None
        inner = max(min(length, with_cap) - 1.2 * half, 0.6 * min(length, with_cap))
        pen.shape(_box(inner, with_cap, 0.92 * half), has_cap, fc="none", lw=1.3)


def _box(start: float, end: float, half: float) -> list[tuple[float, float]]:
    return [(start, half), (end, half), (end, -half), (start, -half)]


def _limits(section: Section, pen: _Pen) -> None:
    """Draw the wheel's edge and the cover as lines across."""
    for name, color, style in (("edge", BLUE, (0, (8, 2))), ("cover", ORANGE, (0, (1, 1.3)))):
        if (at := section.sizes.get(name)) is not None:
            tops = [pen.axis - pen.body / 2 + 1, pen.axis + pen.body * 0.38]
            pen.axes.plot([pen.x(at)] * 2, tops, color=color, lw=2.0, ls=style, zorder=6)


def _rows(section: Section, pen: _Pen) -> None:
    """Write the measures in the left column, each with its arrow under the section."""
    axes, sizes = pen.axes, section.sizes
    seat_lines = pen.axis - _BODY / 2
    for index, row in enumerate(section.measures):
        y = pen.axis if row.name == "hole" else seat_lines - 3.0 - _ROW * (index - 1)
        look = {"color": GREY, "ls": (0, (4, 2.5))} if row.is_missing else {"color": INK, "ls": "-"}
        axes.text(
            4,
            y,
            row.text,
            fontsize=SMALL,
            va="center",
            color=INK,
            fontstyle="italic" if row.is_missing else "normal",
        )
        if row.name == "hole":
            half = sizes["hole"] / 2
            x = _LEFT + 1.5
            _arrow(axes, (x, pen.y(-half)), (x, pen.y(half)), look)
            for side in (half, -half):
                axes.plot(
                    [x - 1, pen.x(-sizes["thickness"])], [pen.y(side)] * 2, color=GREY, lw=0.5, zorder=0
                )
            continue
        ends = _ends(row, sizes)
        if ends is None:
            continue
        start, end = (pen.x(each) for each in ends)
        for x in (start, end):
            axes.plot([x, x], [y - 1.2, pen.axis - 0.2 * _BODY], color=GREY, lw=0.5, zorder=0)
        _arrow(axes, (start, y), (end, y), look)


def _ends(row: Measure, sizes: dict[str, float]) -> tuple[float, float] | None:
    if row.name == "thickness":
        return -sizes["thickness"], 0.0
    if row.name.startswith("room_"):
        far = sizes.get(row.name.removeprefix("room_"))
        return None if far is None or row.is_missing else (sizes["with_cap"], far)
    end = sizes.get(row.name)
    return None if end is None else (0.0, end)


def _arrow(axes: Axes, start: tuple[float, float], end: tuple[float, float], look: dict[str, Any]) -> None:
    """Draw a line of measure with a tick at each end, which reads at any length."""
    axes.plot([start[0], end[0]], [start[1], end[1]], lw=1.3, solid_capstyle="butt", **look)
    upright = start[0] == end[0]
    for x, y in (start, end):
        across = ([x - 1.1, x + 1.1], [y, y]) if upright else ([x, x], [y - 1.1, y + 1.1])
        axes.plot(*across, color=look["color"], lw=1.3)


def _scale_bar(pen: _Pen) -> None:
    """Draw a bar of a round length at the foot of the words' column."""
    length = next(
        each * 10.0**power
        for power in range(-6, 9)
        for each in (1, 2, 5)
        if each * 10.0**power * pen.scale >= 8
    )
    y = pen.axis + _BODY / 2 - 4
    pen.axes.plot([4, 4 + length * pen.scale], [y, y], color=INK, lw=2.2, solid_capstyle="butt")
    pen.axes.text(4 + length * pen.scale + 2, y, f"{settle(length):g} mm", fontsize=SMALL, va="center")


# --- in small --------------------------------------------------------------------------------


def draw_compact(section: Section, drawn: Drawn) -> None:
    """Draw it small, for a corner of a sheet: a word and a number beside each length."""
    rows = [each for each in section.measures if each.name in _SHORT]
    rooms = [each for each in section.measures if each.name.startswith("room_") and not each.is_missing]
    height = 1.0 + _SMALL_BODY + 2.6 + _SMALL_ROW * (len(rows) + len(rooms) - 1) + 1.8
    drawn.set_size_inches(_SMALL_PAGE * MM, height * MM)
    axes = drawn.add_axes((0, 0, 1, 1))
    axes.set_axis_off()
    axes.set_xlim(0, _SMALL_PAGE)
    axes.set_ylim(0, height)
    sizes = section.sizes
    scale = min(
        (_SMALL_PAGE - _SMALL_LEFT - _SMALL_INSIDE - 1.5) / (_out(sizes) + sizes["thickness"]),
        0.5 * _SMALL_BODY / sizes["hole"],
    )
    seat = _SMALL_LEFT + _SMALL_INSIDE + sizes["thickness"] * scale
    axis = height - 1.0 - _SMALL_BODY / 2
    pen = _Pen(axes, scale, seat, axis, _SMALL_BODY, _SMALL_INSIDE)
    for draw in (_rim, _inside, _stem, _limits):
        draw(section, pen)
    for name, word, at in (("hole", "hole Ø", axis + 1.9), ("thickness", "rim", axis - 1.9)):
        _word(axes, at, f"{word} {_number(section, name)}", name not in section.known)
    at = axis - _SMALL_BODY / 2 - 2.6
    for row in (*rows, *rooms):
        text = f"{_SHORT.get(row.name, '')} {_number(section, row.name)}"
        ends = _ends(row, sizes)
        if row in rooms and ends is not None:
            text = f"cap {'inside' if ends[1] >= ends[0] else 'beyond'} {settle(abs(ends[1] - ends[0])):.4g}"
        _word(axes, at, text, row.is_missing)
        if ends is not None:
            look = {"color": GREY, "ls": (0, (3, 1.8))} if row.is_missing else {"color": INK, "ls": "-"}
            for x in map(pen.x, ends):
                axes.plot([x, x], [at - 0.9, axis - 0.3 * _SMALL_BODY], color=GREY, lw=0.4, zorder=0)
            _arrow(axes, (pen.x(ends[0]), at), (pen.x(ends[1]), at), look)
        at -= _SMALL_ROW


def _number(section: Section, name: str) -> str:
    return f"{settle(section.sizes[name]):.4g}" if name in section.known else "?"


def _word(axes: Axes, at: float, text: str, is_missing: bool) -> None:
    style = "italic" if is_missing else "normal"
    axes.text(0.3, at, text, fontsize=_SMALL_TYPE, va="center", color=INK, fontstyle=style)
