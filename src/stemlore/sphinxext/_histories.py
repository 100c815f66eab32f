"""Dated values: as a table, and one of them in running text."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from docutils import nodes
from sphinx.util.docutils import SphinxRole

from stemlore.errors import DayError, StemloreError
from stemlore.model import field_spec
from stemlore.rules.parameters import DatedValue, ParameterHistory
from stemlore.rules.seasons import MovingDay, Season
from stemlore.rules.words import value_words
from stemlore.sphinxext._base import StemloreDirective, parameter_named
from stemlore.sphinxext._build import Content, code, joined, paragraph, table
from stemlore.sphinxext._links import cited, link, parameter_label

__all__ = ["LimitRole", "ParameterHistoryDirective", "history_block", "printed"]

_MONTHS = "January February March April May June July August September October November December".split()


def _season_words(season: Season) -> str:
    return " to ".join(
        str(end) if isinstance(end, MovingDay) else f"{end[1]} {_MONTHS[end[0] - 1]}"
        for end in (season.start, season.end)
    )


def printed(of: DatedValue, history: ParameterHistory) -> str:
    """Return a value as its source prints it, with every figure."""
    if isinstance(of.value, Season):
        return _season_words(of.value)
    if of.value is None:
        return "repealed"
    if history.kind == "number" and of.figures:
        return " / ".join(of.figures)
    return value_words(of.value, history.unit)


def _begins(of: DatedValue) -> str:
    if of.unseen:
        return f"not in the sources; seen in force on {of.starts}"
    return of.starts.isoformat() if of.starts else "any date"


def _converted(of: DatedValue, history: ParameterHistory) -> bool:
    """Return whether the source prints other figures than the one compared with."""
    if history.kind != "number" or of.value is None:
        return False
    plain = str(history.unit) == "1"
    return len(of.figures) > 1 or not (plain or of.figures[0].endswith(f" {history.unit}"))


def history_block(history: ParameterHistory, *, target: bool) -> list[nodes.Node]:
    """Return a parameter with all its dated values.

    Parameters
    ----------
    history : ParameterHistory
        What to show.
    target : bool
        Whether the name is the target itself, and so no link to it.
    """
    pack = history.name.partition(".")[0]
    name: nodes.Node = code(history.name)
    if not target:
        name = link(parameter_label(history.name), name)
    intro: list[Content] = [name, f": {history.doc}"]
    if history.counts_from:
        intro.append(f"; by the {field_spec(history.counts_from).meaning}")
    stored = [value_words(value.value, history.unit) for value in history.values]
    shown = [printed(value, history) for value in history.values]
    both = any(_converted(value, history) for value in history.values)
    head: list[Content] = ["As printed", *(["Compared with"] if both else []), "From", "Until", "Source"]
    rows: list[list[Content]] = []
    for value, text, number in zip(history.values, shown, stored, strict=True):
        until = value.ends.isoformat() if value.ends else "open"
        row: list[Content] = [text, *([number] if both else []), _begins(value), until]
        rows.append([*row, cited(value.citation, pack)])
    return [paragraph(*intro), table(head, rows, classes=["stemlore-history"])]


class ParameterHistoryDirective(StemloreDirective):
    """All dated values of one parameter."""

    def made(self) -> Sequence[nodes.Node]:
        """Return name, meaning and table."""
        return history_block(parameter_named(self.env, self.arguments[0].strip()), target=False)


class LimitRole(SphinxRole):
    """A value on a day, as its source prints it: ``de.tread.min_depth@2026-11-25``."""

    def run(self) -> tuple[list[nodes.Node], list[nodes.system_message]]:
        """Read the value; what is wrong becomes an error at the role's place."""
        try:
            return [self._value()], []
        except StemloreError as error:
            message = self.inliner.reporter.error(f"limit: {error}", line=self.lineno)
            return [self.inliner.problematic(self.rawtext, self.rawtext, message)], [message]

    def _value(self) -> nodes.Node:
        name, _, written = self.text.strip().partition("@")
        history = parameter_named(self.env, name)
        try:
            day = date.fromisoformat(written)
        except ValueError:
            raise DayError(f"{self.text!r} names no day", advice=f"write {name}@2026-11-25") from None
        found = history.on(day)
        if found is None or found.value is None:
            raise DayError(f"parameter {name} has no value on {day}", advice=_known(history))
        shown = nodes.abbreviation("", printed(found, history), explanation=str(found.citation))
        return link(parameter_label(name), shown)


def _known(history: ParameterHistory) -> str:
    spans = joined([f"{_begins(value)} to {value.ends or 'open'}" for value in history.values])
    return "known: " + "".join(part.astext() for part in spans)
