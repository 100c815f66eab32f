"""Measured, limit and margin of findings: for one, and as Python text for all rules at once."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date
from typing import Any

from stemlore.rules._lower import lowered
from stemlore.rules._text import TAIL, SubjectKind, Writer
from stemlore.rules.nodes import Constant, Node, Span
from stemlore.rules.rule import Shown

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
    if margin is not None and shows.apart and (margin < 0 if code == _PASS else margin > 0):
        margin = None  # what decided is not what is shown
    return (measured if measured is not None else high), limit, margin if decided else None


def _less(a: Any, b: Any) -> float | None:
    """Return a - b, to the millionth that both are held to."""
    if isinstance(a, date) or isinstance(b, date) or a is None or b is None or isinstance(a, str):
        return None
    if -_ROUGH < a < _ROUGH and -_ROUGH < b < _ROUGH:
        return (_millionths(a) - _millionths(b)) / 1e6
    return float(a) - float(b)


# adding and taking away 1.5 * 2**52 rounds a double below 2**51 to a whole number, faster than a call
_WHOLE = 6755399441055744.0
_ROUGH = 1e9


def _millionths(value: float) -> float:
    return value * 1e6 + _WHOLE - _WHOLE


def compile_figures(kind: SubjectKind, shown: Sequence[Shown | None]) -> Measure:
    """Return a function that gives the figures of all rules for each subject, from its codes.

    It raises OverflowError where a value lies beyond 1e9, for which
    :func:`figures` must be asked.
    """
    writer = _FigureWriter(kind)
    measured = "".join(f"{writer.figures(shows, index)}, " for index, shows in enumerate(shown))
    limits = writer.constant([writer.fixed.get(index) for index in range(len(shown))])
    nothing = writer.constant([None] * len(shown))
    # one unpacking is cheaper than an index for each rule, a copy than putting together what seldom changes
    codes = "".join(f"c{index}, " for index in range(len(shown)))
    begin = f"{codes}= codes; limits = {limits}[:]; margins = {nothing}[:]"
    made: Measure = writer.finish(f"measure_{kind}", "codes", begin, f"(({measured}), limits, margins)")
    return made


class _FigureWriter(Writer):
    """Writes out what :func:`figures` gives: a call for each rule would cost more than all the rest."""

    def __init__(self, kind: SubjectKind) -> None:
        super().__init__(kind)
        self.names["figures"] = figures
        self.counted: dict[str, str] = {}
        self.fixed: dict[int, Any] = {}

    def figures(self, shows: Shown | None, index: int) -> str:
        """Write the lines that fill in limit and margin of one rule; the name of what is measured."""
        if shows is None:
            return "None"
        nodes = shown_nodes(shows)
        names = tuple("None" if node is None else self.atom(node) for node in nodes)
        low, high, limit, upper = names
        numbers = all(node is None or node.kind == "number" for node in nodes)
        between = shows.side == "between"
        if low != high or shows.apart or (between and not numbers):
            of = f"{self.constant(shows)}, ({', '.join(names)}), c{index}"
            self.line(TAIL, f"m{index}, limits[{index}], margins[{index}] = figures({of})")
            return f"m{index}"
        if isinstance(nodes[2], Constant):
            self.fixed[index] = nodes[2].value
        else:
            self.line(TAIL, f"limits[{index}] = {limit}")
        if shows.side == "equal" or not numbers:
            return low
        counted = [self.millionths(nodes[at], names[at]) for at in ((0, 2, 3) if between else (0, 2))]
        if "None" in counted:
            return low
        known = [f"{name} is not None" for name in counted if name.startswith("n")]
        x, a = counted[:2]
        if not between:
            gap = f"{a} - {x}" if shows.side == "most" else f"{x} - {a}"
            self.line(TAIL, f"if {' and '.join([f'c{index} < 2', *known])}: margins[{index}] = ({gap}) / 1e6")
            return low
        # of two bounds the nearer
        self.line(TAIL, f"if {' and '.join(known) or 'True'}:")
        self.line(TAIL, f"    g = {x} - {a}; h = {counted[2]} - {x}")
        self.line(TAIL, f"    if g > h: g = h; limits[{index}] = {upper}")
        self.line(TAIL, f"    if c{index} < 2: margins[{index}] = g / 1e6")
        return low

    def millionths(self, of: Node | None, name: str) -> str:
        """Return a name for a number in millionths; None where it is missing."""
        if of is None or name == "None":
            return "None"
        counted = self.counted.get(name)
        if counted is None:
            value = of.value if isinstance(of, Constant) else None
            if isinstance(value, (int, float)) and -_ROUGH < value < _ROUGH:
                counted = self.constant(_millionths(value))
            else:
                counted = f"n{len(self.counted)}"
                self.line(TAIL, f"if {name} is None: {counted} = None")
                self.line(
                    TAIL,
                    f"elif -1e9 < {name} < 1e9: {counted} = {name} * 1e6 + {_WHOLE!r} - {_WHOLE!r}",
                )
                self.line(TAIL, "else: raise OverflowError")
            self.counted[name] = counted
        return counted
