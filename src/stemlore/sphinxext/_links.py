"""Links to rules, parameters, sources and tables: a link where a page has the target, else plain text."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from docutils import nodes
from sphinx.addnodes import pending_xref
from sphinx.util.nodes import make_refnode

from stemlore.provenance import Citation
from stemlore.sphinxext._build import code

if TYPE_CHECKING:
    from sphinx.application import Sphinx
    from sphinx.environment import BuildEnvironment

__all__ = ["cited", "link", "parameter_label", "resolve", "source_label", "table_label", "with_links"]

_KIND = "stemlore"
_NAMED = re.compile(r"\[([a-z0-9_]+(?:\.[a-z0-9_]+)+)\]|(?<=\(table )([a-z0-9_]+)(?=\))")


def parameter_label(name: str) -> str:
    """Return the label of a parameter; rules have their id as label."""
    return f"parameter:{name}"


def source_label(pack: str, name: str) -> str:
    """Return the label of a source of a pack."""
    return f"source:{pack}:{name}"


def table_label(name: str) -> str:
    """Return the label of a reference table."""
    return f"table:{name}"


def link(label: str, content: nodes.Node) -> pending_xref:
    """Return a link that stays plain text where no page has the target."""
    made = pending_xref("", content, refdomain="", reftype=_KIND, reftarget=label.lower())
    made["refwarn"] = False
    return made


def resolve(
    app: Sphinx, env: BuildEnvironment, node: pending_xref, content: nodes.TextElement
) -> nodes.Element | None:
    """Resolve our links; Sphinx calls it for what no domain knows."""
    if node.get("reftype") != _KIND:
        return None
    docname, anchor = env.domains.standard_domain.anonlabels.get(node["reftarget"], ("", ""))
    if not docname:
        return content
    return make_refnode(app.builder, node["refdoc"], docname, anchor, content)


def with_links(words: str) -> list[nodes.Node]:
    """Return a phrase in which ``[pack.file.key]`` and ``(table name)`` are links."""
    out: list[nodes.Node] = []
    at = 0
    for found in _NAMED.finditer(words):
        out.append(nodes.Text(words[at : found.start()]))
        label = parameter_label(found[1]) if found[1] else table_label(found[2])
        out.append(link(label, code(found[1] or found[2])))
        at = found.end()
    return [*out, nodes.Text(words[at:])]


def cited(of: Citation, pack: str = "") -> list[nodes.Node]:
    """Return a citation: source, place, and how it was seen."""
    out: list[nodes.Node] = []
    if of.source is not None:
        name = nodes.inline("", str(of.source))
        out.append(link(source_label(pack, of.source.id), name) if pack else name)
    if of.at:
        out.append(nodes.Text(f"{', ' if out else ''}{of.at}"))
    grade = nodes.inline("", of.grade.meaning, classes=["stemlore-grade", f"stemlore-grade-{of.grade.value}"])
    return [*out, nodes.Text(" "), grade]
