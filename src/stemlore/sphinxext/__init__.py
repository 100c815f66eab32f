"""Documentation made from the objects: rules, limits, sources, records and tables.

Belongs here: Sphinx directives, and the role that reads a limit out of a pack,
so that no page repeats a figure. Does not: what the objects say of themselves.

May import sphinx, docutils, and the rooms from rules down. Authors of packs
use it for their own packs: ``extensions = ["stemlore.sphinxext"]``, and
``stemlore_pack_folders = ["../src/their_pack"]`` for packs not installed.

=========================================  ==================================================
``.. pack-summary:: de``                   place, version, parents and size of a pack
``.. pack-rules:: de``                     every rule: words, limits with dates, source, cases
``.. pack-clauses:: de``                   clauses that no rule judges, with the reason
``.. pack-sources:: de``                   its sources
``.. pack-coverage:: de us``               rules and values by pack and grade; all packs without
``.. parameter-history:: de.tread.depth``  all dated values of one parameter
``.. record-fields:: tyre``                fields of a record of the model
``.. reference-table:: load_index``        a table with the source of every row
``.. formula-list::``                      every formula with range, sources, worked examples
``:limit:`de.tread.depth@2026-11-25```     the value on a day, as printed in the source
=========================================  ==================================================
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from stemlore.sphinxext._formulas import FormulaList
from stemlore.sphinxext._histories import LimitRole, ParameterHistoryDirective
from stemlore.sphinxext._links import resolve
from stemlore.sphinxext._packs import PackClauses, PackCoverage, PackRules, PackSources, PackSummary
from stemlore.sphinxext._records import RecordFields
from stemlore.sphinxext._tables import ReferenceTable

if TYPE_CHECKING:
    from sphinx.application import Sphinx
    from sphinx.config import Config

__all__ = ["setup"]

_STATIC = Path(__file__).parent / "static"


def setup(app: Sphinx) -> dict[str, Any]:
    """Register directives, role and style; Sphinx calls it."""
    app.add_config_value("stemlore_pack_folders", [], "env", frozenset({list, tuple}))
    app.add_directive("pack-summary", PackSummary)
    app.add_directive("pack-rules", PackRules)
    app.add_directive("pack-clauses", PackClauses)
    app.add_directive("pack-sources", PackSources)
    app.add_directive("pack-coverage", PackCoverage)
    app.add_directive("formula-list", FormulaList)
    app.add_directive("parameter-history", ParameterHistoryDirective)
    app.add_directive("record-fields", RecordFields)
    app.add_directive("reference-table", ReferenceTable)
    app.add_role("limit", LimitRole())
    app.connect("missing-reference", resolve)
    app.connect("config-inited", _add_style)
    app.add_css_file("stemlore.css")
    return {"version": "1", "parallel_read_safe": True, "parallel_write_safe": True}


def _add_style(app: Sphinx, config: Config) -> None:
    config.html_static_path = [*config.html_static_path, str(_STATIC)]
