"""Who tells what on a job sheet, in few words."""

from __future__ import annotations

import re

from stemlore.interchange import PlanRecord
from stemlore.pages.density import Level
from stemlore.provenance import Grade

__all__ = ["capital", "sources_of", "split_source"]

_SOURCE = re.compile(r"(.+?) \(((?:[^()\[\]]|\([^()]*\))*\[[a-z ,]+\])\)\.?", re.DOTALL)
"""A line that ends in a source with its grade; brackets before it belong to the line."""


def capital(text: str) -> str:
    """Return the text with its first letter large."""
    return text[:1].upper() + text[1:]


def split_source(text: str) -> tuple[str, str]:
    """Return a line of a step and the source that stands behind it in brackets, if one does."""
    found = _SOURCE.fullmatch(text)
    plain, source = found.groups() if found else (text, "")
    return plain.rstrip(". "), source


def sources_of(plan: PlanRecord, level: Level) -> list[str]:
    """Return who tells what in few words; the plan names place and edition."""
    alike: dict[str, list[str]] = {}
    grades: dict[str, str] = {}

    def add(source: str, what: str) -> None:
        alike.setdefault(what, []).append(_named(source, level, grades))

    for point in plan.set_points:
        if point.told_by and any(each is not None for each in (point.target, point.low, point.high)):
            add(point.told_by, point.title)
    for renewal in plan.renewals:
        add(str(renewal.citation), "Renewals")
    for number, step in enumerate(plan.steps, start=1):
        add(str(step.citation), "Steps")
        for text in (*step.details, *step.cautions):
            if source := split_source(text)[1]:
                add(source, "Steps" if level.is_brief else f"Step {number}")
    told: dict[str, list[str]] = {}
    for what, sources in alike.items():
        told.setdefault("; ".join(dict.fromkeys(sources)), []).append(what)
    lines = [f"{capital(', '.join(each.lower() for each in what))}: {names}." for names, what in told.items()]
    key = ", ".join(f"({letter}) {meaning}" for letter, meaning in grades.items())
    return [*lines, f"{key}; in full in the plan."] if key else lines


_LETTERS = {grade.meaning: grade.value[0] for grade in Grade} | {
    Grade.REPRODUCTION.meaning: "w",
    Grade.READ.meaning: "t",
}


def _named(source: str, level: Level, grades: dict[str, str]) -> str:
    """Return a source by who issues it and what it is called, its grade as a letter."""
    text, _, meaning = source.removesuffix("]").partition(" [")
    who, *rest = text.split(", ")
    if not rest:
        name = who
    elif level.is_brief:
        is_number = rest[0][:1].isupper() and any(each.isdigit() for each in rest[0])
        name = rest[0] if is_number else who
    else:
        name = f"{who}, {rest[0]}"
    if meaning not in _LETTERS:
        return name
    grades[_LETTERS[meaning]] = meaning
    return f"{name} ({_LETTERS[meaning]})"
