"""Rules read over columns: the same trees, for millions of wheels.

Here belong the Polars reading of a tree, frames made from jobs, and outcomes
of a rulebook over a frame. What a rule says belongs to rules, how a report
looks to pages and figures.

May import rules and below, and polars and pyarrow (extra ``audit``).
"""

from __future__ import annotations

from stemlore.audit.columns import translate
from stemlore.audit.frames import frame_of
from stemlore.audit.outcomes import counts, outcomes

__all__ = ["counts", "frame_of", "outcomes", "translate"]
