"""Cases of a pack, as its author wrote them in ``cases.toml``."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from docutils import nodes

from stemlore.rules import Pack
from stemlore.sphinxext._build import Content, table

__all__ = ["case_table", "cases_of"]

Case = Mapping[str, Any]


def cases_of(pack: Pack) -> Mapping[str, Sequence[Case]]:
    """Return the cases by rule."""
    return {}


def case_table(cases: Sequence[Case]) -> nodes.table:
    """Return cases as a table."""
    head: list[Content] = ["Day", "Given", "Outcome"]
    return table(head, [], classes=["stemlore-case"])
