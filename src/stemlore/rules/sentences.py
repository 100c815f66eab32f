"""Findings as sentences, made at the edge from a message id and values.

A message is a template of one language by an id; the languages are TOML files
beside this module. Values are written in the units asked for. Nothing keeps
a finished sentence, so another language needs no change of any rule.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import lru_cache
from importlib.resources import files
from typing import TYPE_CHECKING, Any

from stemlore.errors import LanguageError
from stemlore.model import field_spec
from stemlore.rules.rule import Outcome
from stemlore.rules.words import in_words, value_words
from stemlore.units import DIMENSIONLESS, Unit, convert, unit

if TYPE_CHECKING:
    from stemlore.rules.report import Finding

__all__ = ["languages", "message_id", "sentence"]


@lru_cache(maxsize=1)
def languages() -> tuple[str, ...]:
    """Return the languages that there are sentences in."""
    folder = files("stemlore.rules").joinpath("messages")
    return tuple(
        sorted(each.name.removesuffix(".toml") for each in folder.iterdir() if each.name.endswith(".toml"))
    )


@lru_cache(maxsize=16)
def _messages(language: str) -> Mapping[str, str]:
    if language not in languages():
        raise LanguageError(f"no sentences in {language!r}", advice=f"there are: {', '.join(languages())}")
    text = files("stemlore.rules").joinpath("messages", f"{language}.toml").read_text("utf-8")
    return tomllib.loads(text)


def message_id(finding: Finding) -> str:
    """Return the id of the message that tells a finding."""
    shows = finding._open.shows
    match finding.outcome:
        case Outcome.UNKNOWN:
            if finding.reason:
                return "unknown_by_date"
            if finding.missing:
                return "unknown"
            near = finding._open.guarded and finding.measured is not None and finding.limit is not None
            return "unknown_within_uncertainty" if near else "unknown_as_given"
        case Outcome.NOT_APPLICABLE:
            return "not_applicable"
    word = "pass" if finding.outcome is Outcome.PASS else "fail"
    if shows is None or finding.measured is None:
        return word
    if shows.side == "equal" and finding.limit is None:
        return word
    if shows.side == "between" and word == "fail":  # the limit that it is beyond
        return "fail_least" if finding.measured < finding.limit else "fail_most"  # type: ignore[operator]
    return f"{word}_{shows.side}"


def shown_in(value: Any, given: Unit | None, units: tuple[str, ...]) -> str:
    """Write a value in the first of the units asked for that fits its dimension."""
    if isinstance(value, (int, float)) and not isinstance(value, bool) and given is not None:
        for symbol in units:
            wanted = unit(symbol)
            if wanted.dimension == given.dimension:
                shown = round(convert(float(value), given, wanted), 3)
                return value_words(shown, wanted)
    return value_words(value, given)


def sentence(finding: Finding, *, language: str = "en", units: tuple[str, ...] | str = ()) -> str:
    """Write one finding; see :meth:`Finding.sentence`."""
    messages = _messages(language)
    if isinstance(units, str):
        units = (units,)
    shows = finding._open.shows
    values: dict[str, str] = {
        "subject": str(finding.subject),
        "title": finding.title,
        "reason": finding.reason,
        "missing": ", ".join(field_spec(path).meaning for path in finding.missing),
    }
    if shows is not None:
        given = finding.unit or (DIMENSIONLESS if isinstance(finding.measured, float) else None)
        values["measured"] = shown_in(finding.measured, given, units)
        values["limit"] = shown_in(finding.limit, given, units)
        values["what"] = shows.label or in_words(shows.measured)
        figures = _figures(finding)
        if figures and not units:
            values["limit"] = figures
    text = messages[message_id(finding)].format_map(values)
    return text[:1].upper() + text[1:]


def _figures(finding: Finding) -> str:
    """Return every figure that the source prints for the limit that decided, where it is one parameter's."""
    shows = finding._open.shows
    if shows is None or finding.instruction is not None:
        return ""
    for used in finding.parameters:
        value = used.value
        if isinstance(value, float) and used.unit is not None and shows.limit.unit is not None:
            if used.unit.dimension != shows.limit.unit.dimension:  # a value of the condition
                continue
            value = convert(value, used.unit, shows.limit.unit)
        if value == finding.limit and len(used.figures) > 1:
            return " / ".join(used.figures)
    return ""
