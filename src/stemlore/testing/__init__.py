"""What authors of packs test with: cases written as data.

Belongs here: reading and running cases, later the whole conformance kit.
Does not: pytest fixtures of our own tests.
"""

from __future__ import annotations

from stemlore.testing.cases import Case, read_cases

__all__ = ["Case", "read_cases"]
