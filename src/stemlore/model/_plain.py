"""Records as plain values, for documents and fingerprints."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from functools import lru_cache
from typing import Any, cast

from stemlore.model._record import specs_of
from stemlore.model._spec import FieldSpec

__all__ = ["plain_values"]


def _same(value: Any) -> Any:
    return value


def _list(value: Any) -> list[Any]:
    return [plain_values(item) if hasattr(type(item), "__stemlore_specs__") else str(item) for item in value]


def _writer(spec: FieldSpec) -> Callable[[Any], Any]:
    if spec.kind in ("date", "notation"):
        return str
    if spec.kind == "record":
        return plain_values
    if spec.kind == "records":
        return _list
    return dict if spec.kind == "own" else _same


@lru_cache(maxsize=64)
def _plan(cls: Hashable) -> tuple[tuple[str, str, Callable[[Any], Any]], ...]:
    return tuple(
        (name, spec.wire_number or name, _writer(spec)) for name, spec in specs_of(cast(Any, cls)).items()
    )


def plain_values(of: Any) -> dict[str, Any]:
    """Return the present values of a record: numbers in stored units under names that end with the unit.

    What is missing is left out, as are records and lists without anything in them.
    """
    inside = of.__dict__
    plain: dict[str, Any] = {}
    for name, key, write in _plan(cast(Hashable, type(of))):
        value = inside[name]
        if value is None:
            continue
        written = write(value)
        # empty records, lists and maps say nothing
        if written or not isinstance(written, (dict, list)):
            plain[key] = written
    return plain
