"""Measured, limit and margin of findings: for one, and as Python text for all rules at once."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date
from typing import Any

from stemlore.rules._lower import lowered
from stemlore.rules._text import TAIL, SubjectKind, Writer
from stemlore.rules.nodes import Constant, Node, Span
from stemlore.rules.rule import Shown
from stemlore.units import settle

__all__ = ["Figures", "Measure", "compile_figures", "figures", "shown_nodes"]

Figures = tuple[Sequence[Any], Sequence[Any], Sequence[float | None]]
"""Measured, limit and margin of one subject, each with a value for every rule."""
Measure = Callable[[Any, Any, Any, Sequence[bytes]], list[Figures]]

_PASS, _FAIL = 0, 1


def shown_nodes(shows: Shown | None) -> tuple[Node | None, Node | None, Node | None, Node | None]:
    """Return measured low and high, limit and upper limit of what a rule shows, as trees to read."""
    if shows is None:
        return (None, None, None, None)
    low, high = _ends(shows.measured)
    limit = _ends(shows.limit)[0]
    return (low, high, limit, None if shows.upper is None else _ends(shows.upper)[1])


def _ends(of: Node) -> tuple[Node, Node]:
    return (lowered(of.low), lowered(of.high)) if isinstance(of, Span) else (lowered(of), lowered(of))


def figures(
    shows: Shown | None, values: tuple[Any, Any, Any, Any], code: int
) -> tuple[Any, Any, float | None]:
    """Return measured, limit and margin as the outcome wants them."""
    if shows is None:
        return None, None, None
    low, high, limit, upper = values
    decided = code in (_PASS, _FAIL)
    match shows.side:
        case "most":  # a pass rests on the greatest it can be, a fail on the least
            measured = high if code == _PASS else low
            margin = _less(limit, measured)
        case "least":
            measured = low if code == _PASS else high
            margin = _less(measured, limit)
        case "between":
            measured = low
            below, above = _less(measured, limit), _less(upper, measured)
            if below is None or above is None:
                margin = None
            else:
                margin = min(below, above)
                limit = limit if below <= above else upper
        case _:
            measured, margin = low, None
    return (measured if measured is not None else high), limit, margin if decided else None


def _less(a: Any, b: Any) -> float | None:
    if isinstance(a, date) or isinstance(b, date) or a is None or b is None or isinstance(a, str):
        return None
    return settle(float(a) - float(b))


def compile_figures(kind: SubjectKind, shown: Sequence[Shown | None]) -> Measure:
    """Return a function that gives the figures of all rules for each subject, from its codes."""
    writer = Writer(kind)
    writer.names["figures"] = figures
    # one unpacking is cheaper than an index for each rule
    codes = "".join(f"c{index}, " for index in range(len(shown)))
    columns = zip(*(_write(writer, shows, index) for index, shows in enumerate(shown)), strict=True)
    add = ", ".join(f"({', '.join(column)},)" for column in columns)
    made: Measure = writer.finish(f"measure_{kind}", "codes", f"{codes}= codes", f"({add})")
    return made


def _write(writer: Writer, shows: Shown | None, index: int) -> tuple[str, str, str]:
    """Write what :func:`figures` gives for one rule; names of measured, limit and margin."""
    if shows is None:
        return ("None", "None", "None")
    nodes = shown_nodes(shows)
    low, high, limit, upper = ("None" if node is None else writer.atom(node) for node in nodes)
    whole = low == high
    numbers = all(node is None or node.kind == "number" for node in nodes)
    if whole and (shows.side == "equal" or not numbers):
        if shows.side != "between":
            return (low, limit, "None")
    elif whole and shows.side != "between":
        gap = f"{limit} - {low}" if shows.side == "most" else f"{low} - {limit}"
        known = [name for node, name in zip(nodes[1:3], (low, limit), strict=True) if _may_lack(node)]
        writer.line(TAIL, f"if c{index} < 2{''.join(f' and {name} is not None' for name in known)}:")
        writer.line(TAIL, f"    g = {gap}; g{index} = {_settled('g')}")
        writer.line(TAIL, f"else: g{index} = None")
        return (low, limit, f"g{index}")
    elif whole and numbers:
        known = [name for node, name in zip(nodes[1:], (low, limit, upper), strict=True) if _may_lack(node)]
        lacking = " or ".join(f"{name} is None" for name in known)
        if lacking:
            writer.line(TAIL, f"if {lacking}: l{index} = {limit}; g{index} = None")
            writer.line(TAIL, "else:")
        pad = "    " if lacking else ""
        writer.line(TAIL, f"{pad}g = {low} - {limit}; g = {_settled('g')}")
        writer.line(TAIL, f"{pad}h = {upper} - {low}; h = {_settled('h')}")
        writer.line(TAIL, f"{pad}if g <= h: l{index} = {limit}; g{index} = g if c{index} < 2 else None")
        writer.line(TAIL, f"{pad}else: l{index} = {upper}; g{index} = h if c{index} < 2 else None")
        return (low, f"l{index}", f"g{index}")
    constant = writer.constant(shows)
    writer.line(
        TAIL, f"m{index}, l{index}, g{index} = figures({constant}, ({low}, {high}, {limit}, {upper}), c{index})"
    )
    return (f"m{index}", f"l{index}", f"g{index}")


def _may_lack(of: Node | None) -> bool:
    return not isinstance(of, Constant) or of.value is None


def _settled(name: str) -> str:
    """Return :func:`stemlore.units.settle` written out: a call for each rule would cost more than all the rest."""
    return f"({name} * 1e6 + 0.5) // 1.0 / 1e6 if -1e9 < {name} < 1e9 else float({name})"
