"""Where bars and columns stand in the charts of a fleet's report.

Across, all is in percent of the chart's width and text is set in the page's own
size, so that a chart on a narrow screen is narrower and not smaller.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence
from math import sqrt
from typing import Any

__all__ = ["bars", "columns", "share", "stacked", "thousands"]

_LINE, _BAR, _GAP = 17.0, 16.0, 10.0  # pixels
_LETTERS = 42  # of a line of text that fits a narrow screen
_MOST_LINES = 3
_NARROW, _LETTER = 320.0, 8.6  # pixels: a narrow screen, and a figure of the number right of the bar
_HEIGHT = 150.0
_SPACE = "\u00a0"

Bins = Sequence[Any]
"""As :class:`stemlore.audit._margins.Bin`."""


def thousands(count: int) -> str:
    """Write a count with a space between thousands."""
    return f"{count:,}".replace(",", _SPACE)


def share(part: int, whole: int) -> str:
    """Write a share in percent; what is not nothing or not all never looks so."""
    if not whole:
        return "\u2013"
    percent = 100 * part / whole
    if part and percent < 0.1:
        return f"<{_SPACE}0.1{_SPACE}%"
    if part < whole and percent > 99.9:
        return f">{_SPACE}99.9{_SPACE}%"
    text = f"{percent:.1f}".removesuffix(".0")
    return f"{text}{_SPACE}%"


def stacked(parts: Sequence[tuple[str, int]]) -> dict[str, Any]:
    """Return one bar over the whole width, of parts by class.

    Each part that is not nothing is seen, however small.
    """
    whole = sum(count for _, count in parts)
    some = [(name, count) for name, count in parts if count]
    least = 1.0
    wide = {name: max(100 * count / whole, least) for name, count in some}
    scale = 100 / sum(wide.values()) if wide else 1.0
    rects, x = [], 0.0
    for name, _ in some:
        rects.append({"x": round(x, 3), "w": round(wide[name] * scale, 3), "name": name})
        x += wide[name] * scale
    return {"height": 34, "rects": rects}


def bars(items: Iterable[tuple[str, Sequence[tuple[str, int]], str]]) -> dict[str, Any]:
    """Return bars one under the other, each with its text above.

    Parameters
    ----------
    items : iterable
        Text, parts of the bar by class, and what stands at its end. Bars are as long as their parts say.
    """
    listed = [(text, [each for each in parts if each[1]], end) for text, parts, end in items]
    longest = max((sum(count for _, count in parts) for _, parts, _ in listed), default=0) or 1
    ends = max((len(end) for *_, end in listed), default=0)
    room = max(100 * (1 - (ends * _LETTER + 8) / _NARROW), 20.0)
    rows, y = [], 0.0
    for text, parts, end in listed:
        lines = textwrap.wrap(text, _LETTERS, max_lines=_MOST_LINES, placeholder=" \u2026") or [""]
        texts = [{"y": y + _LINE * (number + 0.8), "text": line} for number, line in enumerate(lines)]
        top = y + _LINE * len(lines) + 2
        rects, x = [], 0.0
        for name, count in parts:
            wide = max(room * count / longest, 0.5)
            rects.append({"x": round(x, 3), "w": round(wide, 3), "name": name})
            x += wide
        rows.append({"texts": texts, "rects": rects, "y": top, "end": end, "end_x": round(x, 3)})
        y = top + _BAR + _GAP
    return {"height": y, "bar": _BAR, "rows": rows}


# --- margins -----------------------------------------------------------------------------------


def columns(bins: Bins) -> dict[str, Any]:
    """Place the columns of a histogram of margins.

    Heights go with the root of the count, so that few beside many are seen.
    """
    tallest = max(sqrt(each.fails + each.passes) for each in bins) or 1.0
    wide = 100 / len(bins)
    rects: list[dict[str, Any]] = []
    at = 0.0
    for number, each in enumerate(bins):
        x = number * wide
        whole = each.fails + each.passes
        if each.low == 0:
            at = x
        if not whole:
            continue
        height = max(_HEIGHT * sqrt(whole) / tallest, 3.0)
        # within a column the parts go by count
        dark = 0.0 if not each.fails else max(height * each.fails / whole, 3.0)
        dark = height if not each.passes else min(dark, height)
        for name, part, top in (
            ("fail", dark, _HEIGHT - dark),
            ("clean", height - dark, _HEIGHT - height),
        ):
            if part > 0:
                rects.append(
                    {
                        "x": round(x + 0.06 * wide, 3),
                        "w": round(0.88 * wide, 3),
                        "y": round(top, 2),
                        "h": round(part, 2),
                        "name": name,
                    }
                )
    return {"rects": rects, "limit": round(at, 3), "height": _HEIGHT, "ticks": _ticks(bins, wide)}


def _ticks(bins: Bins, wide: float) -> list[dict[str, Any]]:
    """Return the numbers below: at both ends, and at the limit where there is room."""
    edges = [(number * wide, each.low) for number, each in enumerate(bins) if each.low is not None]
    if bins[-1].high is not None:
        edges.append((100.0, bins[-1].high))
    chosen = [edges[0], edges[-1]]
    zero = next((each for each in edges if each[1] == 0), None)
    if zero is not None and zero not in chosen:
        chosen = [each for each in chosen if abs(each[0] - zero[0]) > 16] + [zero]
    out = []
    for x, value in sorted(chosen):
        anchor = "start" if x < 8 else "end" if x > 92 else "middle"
        out.append({"x": round(x, 3), "value": value, "anchor": anchor})
    return out
