"""Trees read stage by stage, so that what is used several times is computed once.

Polars writes an expression out wherever it is used. A choice uses its parts
several times, what a finding shows and lacks uses most parts of a tree, and
with choices within choices such a plan outgrows all memory. So these parts
become columns of their own, each made from those below it.
"""

from __future__ import annotations

from functools import lru_cache

from stemlore.audit._polars import pl
from stemlore.audit.columns import Reader
from stemlore.rules.nodes import Aggregate, Choose, Constant, DateBound, Field, Node, Today, Unknown, children

__all__ = ["StagedReader"]

_LEAVES = (Aggregate, Constant, DateBound, Field, Today, Unknown)


class StagedReader(Reader):
    """Reads the trees of one rule.

    Parameters
    ----------
    plain : Reader
        Reads what stands in the frame already: fields, and what came of windows.
    choices_only : bool
        Whether only choices and their parts become columns, or all parts.
    """

    def __init__(self, plain: Reader, *, choices_only: bool = False) -> None:
        super().__init__(plain.columns, plain.subject)
        self.plain = plain
        self._apart: set[Node] | None = set() if choices_only else None
        self._stages: list[list[pl.Expr]] = []
        self._count = 0

    def read(self, of: Node) -> pl.Expr:
        """Return the column of a node, asking for it and for those below it."""
        made = self.made.get(of)
        if made is None:
            made = self.made[of] = self.plain.read(of) if isinstance(of, _LEAVES) else self._part(of)
        return made

    def _part(self, of: Node) -> pl.Expr:
        if self._apart is None:
            return self._staged(of)
        if isinstance(of, Choose):
            self._apart.update(children(of))
        return self._staged(of) if isinstance(of, Choose) or of in self._apart else self._value(of)

    def _staged(self, of: Node) -> pl.Expr:
        made = self._value(of)
        stage, name = _height(of) - 1, f"{self.subject} node {self._count}"
        self._count += 1
        while len(self._stages) <= stage:
            self._stages.append([])
        self._stages[stage].append(made.alias(name))
        return pl.col(name)

    @property
    def stages(self) -> list[list[pl.Expr]]:
        """The columns to add, stage by stage, for all nodes that were asked for."""
        return [stage for stage in self._stages if stage]

    def add(self, lazy: pl.LazyFrame) -> pl.LazyFrame:
        """Return a frame with the columns of all nodes that were asked for."""
        for stage in self.stages:
            lazy = lazy.with_columns(*stage)
        return lazy


@lru_cache(maxsize=16384)
def _height(of: Node) -> int:
    if isinstance(of, _LEAVES):
        return 0
    return 1 + max((_height(part) for part in children(of)), default=0)
