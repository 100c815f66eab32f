"""A figure with the call that made it: ``figure-example::``, drawn when the page is built.

Content: Python whose last line is the call. All that the rooms ``figures``, ``formulas`` and ``model`` give
is at hand.
"""

from __future__ import annotations

import ast
import datetime
from typing import Any

from docutils import nodes
from sphinx.application import Sphinx
from sphinx.util.docutils import SphinxDirective

import stemlore.figures
import stemlore.formulas
import stemlore.model
from stemlore.errors import StemloreError


class FigureExample(SphinxDirective):
    """Print a call and draw what it gives."""

    has_content = True

    def run(self) -> list[nodes.Node]:
        """Return the code and the figure as SVG, its words below."""
        code = "\n".join(self.content)
        try:
            made = _run(code)
        except (StemloreError, SyntaxError) as error:
            raise self.error(f"figure-example: {error}") from error
        if not isinstance(made, stemlore.figures.Figure):
            raise self.error("figure-example: the last line makes no figure")
        block = nodes.literal_block(code, code, language="python")
        figure = nodes.figure(
            "", nodes.raw("", made.svg(), format="html"), nodes.caption("", made.description)
        )
        return [block, figure]


def _run(code: str) -> Any:
    known: dict[str, Any] = {"date": datetime.date, "timedelta": datetime.timedelta}
    for room in (stemlore.model, stemlore.formulas, stemlore.figures):
        known |= {name: getattr(room, name) for name in room.__all__}
    *first, last = ast.parse(code).body
    if not isinstance(last, ast.Expr):
        return None
    exec(compile(ast.Module(first, []), "example", "exec"), known)  # noqa: S102 - code of our own page
    return eval(compile(ast.Expression(last.value), "example", "eval"), known)


def setup(app: Sphinx) -> dict[str, bool]:
    """Register the directive."""
    app.add_directive("figure-example", FigureExample)
    return {"parallel_read_safe": True, "parallel_write_safe": True}
