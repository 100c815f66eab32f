"""A source as an entry of a bibliography."""

from __future__ import annotations

from docutils import nodes

from stemlore.provenance import Source
from stemlore.sphinxext._build import joined, paragraph

__all__ = ["source_item", "source_words"]


def source_words(of: Source) -> nodes.paragraph:
    """Return issuer, number, title, edition, page, and how it was seen."""
    parts: list[nodes.Node | str] = [of.issuer]
    if of.number and of.number != of.title:
        parts.append(nodes.strong("", of.number))
    parts.append(nodes.emphasis("", of.title))
    if of.edition:
        parts.append(of.edition)
    if of.url:
        parts.append(nodes.reference("", of.url, refuri=of.url, internal=False))
    seen = of.grade.meaning
    if of.language and of.language != "en":
        seen += f", in language {of.language}"
    if of.read_on:
        seen += f", on {of.read_on}"
    grade = nodes.inline("", seen, classes=["stemlore-grade", f"stemlore-grade-{of.grade.value}"])
    return paragraph(joined(parts), ". ", grade)


def source_item(of: Source, anchor: str) -> nodes.list_item:
    """Return a source as an item of a list, with an anchor on the page."""
    return nodes.list_item("", source_words(of), ids=[anchor])
