"""Timing ways side by side: alternating rounds in one process, medians, never a verdict on time alone."""

from __future__ import annotations

import gc
from collections.abc import Callable, Mapping, Sequence
from statistics import median
from time import perf_counter

import attrs

__all__ = ["Row", "compared", "markdown", "plain", "side_by_side"]


@attrs.frozen
class Row:
    """One line of the table: what was timed, against what, and what was asked for.

    ``most`` is the greatest ratio of time to the reference that meets the
    budget; None where there is none.
    """

    what: str
    seconds: float
    against: str = ""
    ratio: float | None = None
    most: float | None = None

    @property
    def verdict(self) -> str:
        """Whether the budget is met."""
        if self.most is None or self.ratio is None:
            return ""
        return "met" if self.ratio <= self.most else "NOT met"


def side_by_side(
    ways: Mapping[str, Callable[[], object]], *, rounds: int = 21, each: float = 0.004
) -> dict[str, float]:
    """Return the median seconds a call of each way.

    Parameters
    ----------
    ways : mapping of str to callable
        What to time.
    rounds : int
        How often each way has its turn; odd rounds run backwards.
    each : float
        Seconds that a turn should last.
    """
    turns: dict[str, int] = {}
    for name, way in ways.items():
        way()
        start = perf_counter()
        way()
        once = perf_counter() - start
        turns[name] = max(1, int(each / once) if once else 1000)
    taken: dict[str, list[float]] = {name: [] for name in ways}
    names = list(ways)
    gc.collect()
    gc.freeze()  # what the process holds already is not part of what is timed
    try:
        for number in range(rounds):
            for name in names if number % 2 == 0 else reversed(names):
                way, count = ways[name], range(turns[name])
                start = perf_counter()
                for _ in count:
                    way()
                taken[name].append((perf_counter() - start) / len(count))
    finally:
        gc.unfreeze()
    return {name: median(times) for name, times in taken.items()}


def compared(
    what: str, times: Mapping[str, float], against: str, *, most: float | None = None, of: str = ""
) -> Row:
    """Return the row of one way against another of the same run."""
    return Row(what, times[of or what], against, times[of or what] / times[against], most)


def _cells(row: Row) -> tuple[str, str, str, str, str]:
    ratio = "" if row.ratio is None else _times(row.ratio)
    budget = "" if row.most is None else _times(row.most)
    return (row.what, f"{row.seconds * 1e6:,.1f}", row.against, ratio, f"{budget} {row.verdict}".strip())


def _times(ratio: float) -> str:
    return f"{ratio:.2f}x" if ratio >= 0.3 else f"1/{1 / ratio:.1f}"


_HEAD = ("what", "µs", "against", "ratio", "budget")


def markdown(rows: Sequence[Row]) -> str:
    """Return the table as Markdown, for the docs."""
    lines = ["| " + " | ".join(_HEAD) + " |", "|---|---:|---|---:|---|"]
    lines += ["| " + " | ".join(_cells(row)) + " |" for row in rows]
    return "\n".join(lines) + "\n"


def plain(rows: Sequence[Row]) -> str:
    """Return the table for a terminal."""
    cells = [_HEAD, *(_cells(row) for row in rows)]
    widths = [max(len(line[column]) for line in cells) for column in range(5)]
    out = []
    for line in cells:
        parts = [
            text.rjust(width) if column in (1, 3) else text.ljust(width)
            for column, (text, width) in enumerate(zip(line, widths, strict=True))
        ]
        out.append("  ".join(parts).rstrip())
    return "\n".join(out) + "\n"
