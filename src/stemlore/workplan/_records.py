"""Records with other values, given as stored."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from stemlore.model import Assembly, Job, from_stored, specs_of

__all__ = ["put", "with_values"]


def with_values(record: Any, **values: Any) -> Any:
    """Return a record with other values, given as stored."""
    kept = {name: getattr(record, name) for name in specs_of(type(record))}
    return from_stored(type(record), kept | values)


def put(job: Job, assemblies: Sequence[Assembly]) -> Job:
    """Return the job with these assemblies in place of those at their positions."""
    new = {each.position: each for each in assemblies}
    kept = tuple(new.pop(each.position, each) for each in job.assemblies)
    return with_values(job, assemblies=(*kept, *new.values()))  # type: ignore[no-any-return]
