"""Small builders of docutils nodes."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TypeAlias

from docutils import nodes

__all__ = ["Content", "breakable", "bullets", "code", "fields", "joined", "paragraph", "section", "table"]

Content: TypeAlias = str | nodes.Node | Sequence[nodes.Node]
"""What a cell or paragraph may be given as."""


def _inline(content: Content) -> list[nodes.Node]:
    if isinstance(content, str):
        return [nodes.Text(content)] if content else []
    return [content] if isinstance(content, nodes.Node) else list(content)


def code(text: str) -> nodes.literal:
    """Return a name as it is written in code."""
    return nodes.literal("", text)


def breakable(name: str) -> nodes.literal:
    """Return a long name in code that a browser may break after an underscore."""
    return nodes.literal("", name.replace("_", "_\u200b"))


def joined(parts: Iterable[Content], by: str = ", ") -> list[nodes.Node]:
    """Return inline parts with text between them."""
    out: list[nodes.Node] = []
    for part in parts:
        if out:
            out.append(nodes.Text(by))
        out += _inline(part)
    return out


def paragraph(*content: Content, classes: Sequence[str] = ()) -> nodes.paragraph:
    """Return a paragraph of inline parts."""
    made = nodes.paragraph(classes=list(classes))
    for part in content:
        made += _inline(part)
    return made


def _block(content: Content) -> list[nodes.Node]:
    parts = _inline(content)
    if parts and all(isinstance(part, nodes.Body) and not isinstance(part, nodes.Inline) for part in parts):
        return parts
    return [nodes.paragraph("", "", *parts)] if parts else []


def bullets(items: Iterable[Content]) -> nodes.bullet_list:
    """Return a bullet list."""
    return nodes.bullet_list("", *(nodes.list_item("", *_block(item)) for item in items))


def fields(pairs: Iterable[tuple[str, Content]]) -> nodes.field_list:
    """Return names with what they hold; empty ones are left out."""
    made = nodes.field_list(classes=["stemlore-fields"])
    for name, content in pairs:
        body = _block(content)
        if body:
            made += nodes.field("", nodes.field_name("", name), nodes.field_body("", *body))
    return made


def section(title: Content, *children: nodes.Node) -> nodes.section:
    """Return a section."""
    made = nodes.section()
    made += nodes.title("", "", *_inline(title))
    made += list(children)
    return made


def table(
    head: Sequence[Content],
    rows: Iterable[Sequence[Content]],
    *,
    classes: Sequence[str] = (),
    right: Iterable[int] = (),
) -> nodes.table:
    """Return a table whose columns are as wide as they need; ``right`` names columns of figures."""
    flush = set(right)

    def entry(content: Content, index: int) -> nodes.entry:
        made = nodes.entry("", *_block(content))
        if index in flush:
            made["classes"].append("stemlore-number")
        return made

    def row(cells: Sequence[Content]) -> nodes.row:
        return nodes.row("", *(entry(cell, index) for index, cell in enumerate(cells)))

    group = nodes.tgroup(cols=len(head))
    group += [nodes.colspec(colwidth=1) for _ in head]
    group += nodes.thead("", row(head))
    group += nodes.tbody("", *(row(cells) for cells in rows))
    return nodes.table("", group, classes=["colwidths-auto", "stemlore-table", *classes])
