"""The one door to Polars."""

from __future__ import annotations

from stemlore.errors import MissingExtraError

try:
    import polars as pl
except ImportError as error:
    raise MissingExtraError("judging columns", extra="audit") from error

__all__ = ["pl"]
