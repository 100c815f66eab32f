"""Resolve a name in a private module to the page of the public name: annotations say where a class lies."""

from __future__ import annotations

from docutils import nodes
from sphinx.addnodes import pending_xref
from sphinx.application import Sphinx
from sphinx.environment import BuildEnvironment
from sphinx.util.nodes import make_refnode


def resolve(
    app: Sphinx, env: BuildEnvironment, node: pending_xref, content: nodes.TextElement
) -> nodes.Element | None:
    """Find the one documented object with the same last part."""
    if node.get("refdomain") != "py":
        return None
    last = node["reftarget"].rpartition(".")[2]
    found = {
        name: entry
        for name, entry in env.domains.python_domain.objects.items()
        if name.rpartition(".")[2] == last and not entry.aliased and entry.objtype not in ("attribute", "property")
    }
    if len(found) != 1:
        return None
    ((name, entry),) = found.items()
    return make_refnode(app.builder, node["refdoc"], entry.docname, entry.node_id, content, name)


def setup(app: Sphinx) -> dict[str, bool]:
    """Register."""
    app.connect("missing-reference", resolve)
    return {"parallel_read_safe": True}
