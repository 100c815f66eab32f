"""What fails in a fleet, and by how much: two charts of an audit."""

from __future__ import annotations

import textwrap
from functools import partial
from math import sqrt
from typing import TYPE_CHECKING, Any

import attrs
from matplotlib.figure import Figure as Drawn
from matplotlib.ticker import MaxNLocator

from stemlore.errors import Fault, RecordError, UnknownRuleError
from stemlore.figures._figure import Figure
from stemlore.figures._style import AIR, BLUE, INK, ORANGE, finish, plotted

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from stemlore.audit import AuditRun
    from stemlore.audit._margins import Bin

__all__ = ["margins", "outcomes_by_rule"]

_TITLE = "Findings that fail, by rule"
_LETTERS = 40
_MOST_TICKS = 7
_LETTER, _PLOT_WIDTH = 1.65, 90.0  # millimetres of the page


def outcomes_by_rule(run: AuditRun, *, most: int = 8) -> Figure:
    """Draw the rules that fail most in a fleet, with how many of their findings are settled and unknown.

    Parameters
    ----------
    run : AuditRun
        What :func:`stemlore.audit.audit_fleet` gave.
    most : int
        How many rules; more than ten are hard to read in print.
    """
    rows = [row for row in run.summary.iter_rows(named=True) if row["fail"]]
    rows.sort(key=lambda row: -row["fail"])
    unknown = sum(run.summary["unknown"])
    shown = rows[: max(most, 1)]
    notes = []
    if len(rows) > len(shown):
        notes.append(f"{len(rows) - len(shown)} more rules fail, each no more often than these.")
    if not rows:
        notes.append("No finding fails. That says nothing of what is unknown.")
    missing = (f"readings for {_many(unknown)} findings of all rules, which are unknown",) if unknown else ()
    notes += [f"Not known: {each}." for each in missing]
    said = [
        f"{row['title']} ({row['rule']}, {row['gravity']}): {_many(row['fail'])} fail, "
        f"{_many(row['pass'])} pass, {_many(row['unknown'])} unknown."
        for row in shown
    ]
    return Figure(
        name="outcomes_by_rule",
        title=_TITLE,
        description=" ".join([f"{_TITLE}.", *said, *notes]),
        missing=missing,
        draw=partial(_draw_rules, shown, tuple(notes)),
    )


def _many(count: int) -> str:
    return f"{count:,}".replace(",", "\u00a0")


def _draw_rules(rows: Sequence[Mapping[str, Any]], notes: tuple[str, ...], drawn: Drawn) -> None:
    axes = plotted(drawn)
    places = range(len(rows))
    fails = [row["fail"] for row in rows]
    axes.barh(
        places, fails, height=0.6, facecolor=ORANGE, edgecolor=INK, hatch="///", label="findings that fail"
    )
    longest = 0
    for place, row in zip(places, rows, strict=True):
        text = f"  {_many(row['fail'])} of {_many(row['fail'] + row['pass'])} settled"
        if row["unknown"]:
            text += f", {_many(row['unknown'])} unknown"
        longest = max(longest, len(text))
        axes.text(row["fail"], place, text, va="center", fontsize=8.5)
    titles = [
        "\n".join(textwrap.wrap(row["title"], _LETTERS, max_lines=2, placeholder=" \u2026")) for row in rows
    ]
    axes.set_yticks(list(places), titles)
    axes.set_ylim(len(rows) - 0.4, -0.6)
    # room for the words behind the longest bar
    axes.set_xlim(0, max(fails, default=1) / (1 - min(longest * _LETTER / _PLOT_WIDTH, 0.8)))
    axes.xaxis.set_major_locator(MaxNLocator(nbins=5, integer=True))
    axes.grid(visible=False, axis="y")
    axes.set_xlabel("findings")
    finish(drawn, _TITLE, notes)


# --- margins -----------------------------------------------------------------------------------


@attrs.frozen
class _Plot:
    title: str
    what: str
    bins: Sequence[Bin]
    width: float
    unit: str
    notes: tuple[str, ...]


def margins(run: AuditRun, rule: str) -> Figure:
    """Draw how far the findings of one rule are from its limit, over a whole fleet.

    Counted in one pass over the fleet, in bins, so that memory does not grow
    with its rows. Heights go with the square root of the count, so that few
    failures beside many passes are seen; the description has the counts.

    Parameters
    ----------
    run : AuditRun
        What :func:`stemlore.audit.audit_fleet` gave.
    rule : str
        Id of a rule with margins in numbers.

    Raises
    ------
    UnknownRuleError
        If no rulebook of the fleet has the rule.
    RecordError
        If its findings have no margins in numbers.
    """
    from stemlore.audit._margins import has_margin
    from stemlore.audit._overview import margins_and_reports
    from stemlore.rules.words import in_words

    opened = {name: each for book in run.books for name, each in book.rules.items()}
    if rule not in opened:
        raise UnknownRuleError(rule, opened)
    shows = opened[rule].shows
    found = margins_and_reports(run, [rule])[0].get(rule) if has_margin(shows) else None
    if found is None or shows is None:
        raise RecordError(
            "figure of margins",
            [Fault("rule", f"{rule} has no margin in numbers here", "choose one whose findings have")],
        )
    bins, width = found.columns()
    (row,) = run.summary.filter(run.summary["rule"] == rule).iter_rows(named=True)
    unit = "K" if found.unit == "degC" else found.unit or ""
    unknown = row["unknown"]
    missing = (f"readings for {_many(unknown)} findings, which are unknown",) if unknown else ()
    notes = [
        f"{_many(sum(found.fails.values()))} findings fail, {_many(sum(found.passes.values()))} pass.",
        *(f"Not known, so not drawn: {each}." for each in missing),
    ]
    if bins[0].low is None or bins[-1].high is None:
        notes.append("The outermost columns hold all that lie beyond.")
    title = opened[rule].rule.title
    plot = _Plot(title, shows.label or in_words(shows.measured), bins, width, unit, tuple(notes))
    said = [f"{_span(each, unit)}: {_many(each.fails)} fail, {_many(each.passes)} pass." for each in bins]
    told = [text for text, each in zip(said, bins, strict=True) if each.fails or each.passes]
    return Figure(
        name="margins",
        title=f"Margins: {title}",
        description=" ".join([f"Margins of {plot.what}, {rule}: {title}.", *told, *notes]),
        missing=missing,
        draw=partial(_draw_margins, plot),
    )


def _span(each: Bin, unit: str) -> str:
    words = f" {unit}" if unit else ""
    if each.low is None:
        return f"below {each.high:g}{words}"
    if each.high is None:
        return f"{each.low:g}{words} and more"
    return f"{each.low:g} to below {each.high:g}{words}"


def _draw_margins(plot: _Plot, drawn: Drawn) -> None:
    axes = plotted(drawn)
    places = [index + 0.5 for index in range(len(plot.bins))]
    # a bin's part that fails is as high within its column as its share of the count
    wholes = [each.fails + each.passes for each in plot.bins]
    heights = [sqrt(each) for each in wholes]
    dark = [
        h * each.fails / whole if whole else 0.0
        for h, each, whole in zip(heights, plot.bins, wholes, strict=True)
    ]
    light = [h - d for h, d in zip(heights, dark, strict=True)]
    for height, bottom, look in (
        (dark, [0.0] * len(dark), {"facecolor": ORANGE, "edgecolor": INK, "hatch": "///", "label": "fail"}),
        (light, dark, {"facecolor": AIR, "edgecolor": BLUE, "label": "pass"}),
    ):
        some = [index for index, each in enumerate(height) if each > 0]
        axes.bar(
            [places[index] for index in some],
            [height[index] for index in some],
            width=0.88,
            bottom=[bottom[index] for index in some],
            linewidth=0.8,
            **look,  # type: ignore[arg-type]
        )
    edges = [each.low for each in plot.bins] + [plot.bins[-1].high]
    limit = next(index for index, edge in enumerate(edges) if edge == 0)
    axes.axvline(limit, color=INK, lw=1.6, ls="--", label="limit")
    told = [index for index, edge in enumerate(edges) if edge is not None]
    apart = max(len(told) // _MOST_TICKS, 1)
    ticks = [index for index in told if (index - limit) % apart == 0]
    axes.set_xticks(ticks, [f"{edges[index]:g}" for index in ticks])
    axes.set_xlim(0, len(plot.bins))
    top = max(heights)
    counts = _round_counts(top)
    axes.set_yticks([sqrt(each) for each in counts], [_many(each) for each in counts])
    axes.set_ylim(0, 1.08 * top)
    axes.grid(visible=False, axis="x")
    axes.set_xlabel(
        "\n".join(textwrap.wrap(f"margin of {plot.what}{f' [{plot.unit}]' if plot.unit else ''}", 90))
    )
    axes.set_ylabel("findings, by the root of the count")
    finish(drawn, "\n".join(textwrap.wrap(plot.title, 90)), plot.notes)


def _round_counts(top: float) -> list[int]:
    """Return round counts whose roots stand well apart up to a height."""
    chosen = [0]
    power = 1
    while power <= top * top:
        for first in (1, 2, 5):
            if first * power <= top * top and sqrt(first * power) - sqrt(chosen[-1]) > 0.14 * top:
                chosen.append(first * power)
        power *= 10
    return chosen
