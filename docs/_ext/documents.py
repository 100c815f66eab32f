"""The JSON Schema of a kind of document, folded away: ``document-schema:: job``."""

from __future__ import annotations

import json

from docutils import nodes
from docutils.parsers.rst import directives
from sphinx.application import Sphinx
from sphinx.util.docutils import SphinxDirective

from stemlore import schema


class DocumentSchema(SphinxDirective):
    """Print a schema."""

    required_arguments = 1
    option_spec = {"form": directives.unchanged}

    def run(self) -> list[nodes.Node]:
        """Return a block that opens on a click."""
        options = {"form": self.options["form"]} if "form" in self.options else {}
        text = json.dumps(schema(self.arguments[0], **options), indent=1, ensure_ascii=False)
        block = nodes.literal_block(text, text, language="json")
        title = " ".join(["The schema of a", *options.values(), self.arguments[0]])
        opening = nodes.raw("", f"<details><summary>{title}</summary>", format="html")
        return [opening, block, nodes.raw("", "</details>", format="html")]


def setup(app: Sphinx) -> dict[str, bool]:
    """Register."""
    app.add_directive("document-schema", DocumentSchema)
    return {"parallel_read_safe": True}
