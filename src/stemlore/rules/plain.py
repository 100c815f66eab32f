"""A job's present values as plain data, for fingerprints."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from stemlore.model import Job, specs_of

__all__ = ["plain_job", "plain_record"]


def plain_record(record: Any) -> dict[str, Any]:
    """Return the present values of a record in stored units; absent fields and empty records left out."""
    out: dict[str, Any] = {}
    for name, spec in specs_of(type(record)).items():
        value = getattr(record, name)
        if value is None:
            continue
        plain = _plain(value, spec.kind)
        if plain not in ({}, [], None):
            out[name] = plain
    return out


def _plain(value: Any, kind: str) -> Any:
    match kind:
        case "record":
            return plain_record(value)
        case "records":
            return [
                plain_record(each) if hasattr(type(each), "__stemlore_specs__") else str(each)
                for each in value
            ]
        case "own":
            return {str(key): each for key, each in value.items()} if isinstance(value, Mapping) else {}
        case "date" | "notation":
            return str(value)
    return value


def plain_job(job: Job) -> dict[str, Any]:
    """Return a job as plain data: positions sorted, so that order of entry does not matter."""
    plain = plain_record(job)
    for name in ("assemblies",):
        plain[name] = sorted(plain.get(name, []), key=lambda each: str(each.get("position")))
    return plain
