"""What autodoc shows of public names: links, bases and signatures without private parts."""

from __future__ import annotations

from importlib import import_module

from docutils import nodes
from sphinx.addnodes import pending_xref
from sphinx.application import Sphinx
from sphinx.environment import BuildEnvironment
from sphinx.util.nodes import make_refnode

_PARTS = ("attribute", "property")


def resolve(
    app: Sphinx, env: BuildEnvironment, node: pending_xref, content: nodes.TextElement
) -> nodes.Element | None:
    """Find the one documented object with the same last part."""
    if node.get("refdomain") != "py":
        return None
    last = node["reftarget"].rpartition(".")[2]
    kinds = env.domains.python_domain.objtypes_for_role(node["reftype"]) or []
    found = {
        name: entry
        for name, entry in env.domains.python_domain.objects.items()
        if name.rpartition(".")[2] == last
        and not entry.aliased
        and entry.objtype not in ("attribute", "property")
        and (not kinds or entry.objtype in kinds)
    }
    if len(found) != 1:
        return None
    ((name, entry),) = found.items()
    return make_refnode(app.builder, node["refdoc"], entry.docname, entry.node_id, content, name)


def public_bases(app: Sphinx, name: str, obj: type, options: object, bases: list[type]) -> None:
    """Show the bases that a reader can know instead of private ones."""
    while any(_is_private(each) for each in bases):
        known = [each.__bases__ if _is_private(each) else (each,) for each in bases]
        bases[:] = [each for group in known for each in group if each is not object]


def _is_private(base: type) -> bool:
    parts = base.__module__.split(".")
    if parts[0] != "stemlore":
        return False
    room = import_module(".".join(parts[:2]))
    return base.__name__ not in getattr(room, "__all__", ())


def no_borrowed_signature(
    app: Sphinx,
    what: str,
    name: str,
    obj: object,
    options: object,
    signature: str | None,
    returns: str | None,
) -> tuple[str, str] | None:
    """Show no parameters where the constructor is that of a tuple: nobody makes such an object by hand."""
    if (
        what == "class"
        and isinstance(obj, type)
        and issubclass(obj, tuple)
        and signature == "(iterable=(), /)"
    ):
        return "", ""
    return None


def whole_sentences(
    app: Sphinx, what: str, name: str, obj: object, options: object, lines: list[str]
) -> None:
    """Put back what napoleon took for a type: in "Distance: not negative" there is none."""
    if what not in ("attribute", "data", "property") or not lines or not lines[-1].startswith(":type: "):
        return
    said = lines.pop().removeprefix(":type: ")
    lines[0] = f"{said}: {lines[0]}"


def setup(app: Sphinx) -> dict[str, bool]:
    """Register."""
    app.connect("autodoc-process-bases", public_bases)
    app.connect("autodoc-process-docstring", whole_sentences, priority=600)  # after napoleon
    app.connect("autodoc-process-signature", no_borrowed_signature)
    app.connect("missing-reference", resolve)
    return {"parallel_read_safe": True}
