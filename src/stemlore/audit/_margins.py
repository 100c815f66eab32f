"""Margins of a rule over a fleet, counted in bins as findings go by."""

from __future__ import annotations

from collections import Counter

import attrs

from stemlore.audit._polars import pl
from stemlore.rules.rule import Shown

__all__ = ["Bin", "Margins", "has_margin"]

_FINE = 1e6
"""Margins are held to the millionth of their unit, as readings are."""
_MOST_BINS = 4096
_FARTHEST = 4e18
_MOST_COLUMNS = 22
_TAIL = 0.01


@attrs.frozen
class Bin:
    """Margins from one value up to below another; at either end of all it may be open."""

    low: float | None
    high: float | None
    fails: int
    passes: int


@attrs.define
class Margins:
    """Margins of one rule, counted in bins as they come.

    The bins begin as narrow as margins are told apart. Where more than some
    thousand are filled, neighbours are put together, so that the counts stay
    exact and the memory bounded; which bins there are does not hang on the order.

    Attributes
    ----------
    rule, unit : str
        Id of the rule; symbol of the margins' unit, None for a plain number.
    step : int
        Width of a bin in millionths of the unit: 1, 2, 10, 20, 100 and so on.
    fails, passes : Counter
        How many margins lie in the bin of each number; that of number 0 begins at the limit.
    """

    rule: str
    unit: str | None = None
    step: int = 1
    fails: Counter[int] = attrs.field(factory=Counter)
    passes: Counter[int] = attrs.field(factory=Counter)

    def add(self, margins: pl.DataFrame) -> None:
        """Count the margins of a batch of findings."""
        fine = (pl.col("margin") * _FINE).round().clip(-_FARTHEST, _FARTHEST).cast(pl.Int64)
        made = margins.group_by("outcome", (fine // self.step).alias("bin")).len()
        for outcome, number, count in made.iter_rows():
            (self.fails if outcome == "fail" else self.passes)[number] += count
        while len(self.fails.keys() | self.passes.keys()) > _MOST_BINS:
            times = 2 if str(self.step).startswith("1") else 5
            self.step *= times
            self.fails, self.passes = _coarser(self.fails, times), _coarser(self.passes, times)

    def in_bins(self, width: int) -> tuple[Counter[int], Counter[int]]:
        """Return the counts in wider bins, a whole multiple of those there are."""
        times, rest = divmod(width, self.step)
        assert not rest, "bins of this width would cut others in two"
        return _coarser(self.fails, times), _coarser(self.passes, times)

    def columns(self) -> tuple[list[Bin], float]:
        """Return some twenty bins with the limit at an edge, and how wide they are; far ends are open."""
        low, high = _middle(self.fails + self.passes, self.step)
        if self.fails:
            # few as they are, they are what is looked for; but one typed wrong must not flatten the rest
            low = min(low, max(min(self.fails) * self.step, -2 * max(high, -low)))
        width = _width_for(min(low, 0), max(high, 0), self.step)
        fails, passes = self.in_bins(width)
        first, last = min(low, 0) // width, max(high, 0) // width
        edges = {at: at * width / _FINE for at in range(first, last + 2)}
        bins = [Bin(edges[at], edges[at + 1], fails[at], passes[at]) for at in range(first, last + 1)]
        below = [sum(n for at, n in of.items() if at < first) for of in (fails, passes)]
        above = [sum(n for at, n in of.items() if at > last) for of in (fails, passes)]
        if any(below):
            bins.insert(0, Bin(None, edges[first], *below))
        if any(above):
            bins.append(Bin(edges[last + 1], None, *above))
        return bins, width / _FINE


def _coarser(counts: Counter[int], times: int) -> Counter[int]:
    out: Counter[int] = Counter()
    for number, count in counts.items():
        out[number // times] += count
    return out


def has_margin(shows: Shown | None) -> bool:
    """Tell whether a rule's findings have margins that are numbers."""
    if shows is None or shows.side == "equal":
        return False
    nodes = (shows.measured, shows.limit, *(() if shows.upper is None else (shows.upper,)))
    return all(each.kind == "number" for each in nodes)


def _width_for(low: int, high: int, step: int, most: int = _MOST_COLUMNS) -> int:
    """Return the narrowest width of 1, 2 or 5 times a power of ten, made of whole steps, with few bins."""
    power = 1
    while True:
        for first in (1, 2, 5):
            width = first * power
            if width % step == 0 and high // width - low // width < most:
                return width
        power *= 10


def _middle(counts: Counter[int], step: int) -> tuple[int, int]:
    """Return between which values all but the far ends lie, in millionths."""
    whole = sum(counts.values())
    low = high = None
    seen = 0
    for number in sorted(counts):
        seen += counts[number]
        if low is None and seen > _TAIL * whole:
            low = number
        if high is None and seen >= (1 - _TAIL) * whole:
            high = number
    assert low is not None
    assert high is not None
    return low * step, high * step
