"""Fields of packs: declared by a pack, kept on read under ``own``, read when a rule wants them.

A pack may need what no record of ours has. It declares the field with unit,
meaning and how it is read; jobs carry it as ``own: {"xa.field": "5 mm"}`` on
the job (subject vehicle) or on an assembly (subject position). Its path in
rules is ``own.xa.field``, its column ``own_xa_field_mm``.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import lru_cache
from typing import Any

from stemlore.errors import Fault, StemloreError
from stemlore.model._readers import faults_of, reader_of
from stemlore.model._spec import FIELDS, FieldSpec, field_spec, register

__all__ = ["declare_own", "own_faults", "own_fields", "own_reader"]

PREFIX = "own."


def declare_own(spec: FieldSpec) -> None:
    """Make a pack's field known; declared anew, the later declaration holds."""
    if FIELDS.get(spec.path) != spec:
        register(spec)
        _reader.cache_clear()


def own_fields(pack: str) -> tuple[FieldSpec, ...]:
    """Return the fields that a pack has declared, by name."""
    return tuple(spec for path, spec in sorted(FIELDS.items()) if path.startswith(f"{PREFIX}{pack}."))


@lru_cache(maxsize=1024)
def _reader(path: str) -> Callable[[Any], Any]:
    return reader_of(field_spec(path))


def own_reader(path: str) -> Callable[[Mapping[str, Any]], Any]:
    """Return the function that reads one own field from the ``own`` of a job or assembly."""
    name = path.removeprefix(PREFIX)

    def read(own: Mapping[str, Any]) -> Any:
        given = own.get(name)
        return None if given is None else _reader(path)(given)

    return read


def own_faults(own: Mapping[str, Any], level: str, packs: frozenset[str]) -> list[Fault]:
    """Return what is wrong with own fields of these packs: unknown, of another subject, unreadable."""
    faults = []
    for name, given in own.items():
        pack = name.partition(".")[0]
        if pack not in packs:
            continue
        path = PREFIX + name
        if path not in FIELDS:
            known = [each.path.removeprefix(PREFIX) for each in own_fields(pack)]
            advice = f"the pack has {', '.join(known) or 'no fields of its own'}"
            faults.append(Fault(path, "unknown field", advice))
        elif FIELDS[path].level != level:
            where = "the job's own" if FIELDS[path].level == "vehicle" else "the assembly's own"
            faults.append(Fault(path, f"is a field of the {FIELDS[path].level}", f"write it under {where}"))
        else:
            try:
                _reader(path)(given)
            except StemloreError as error:
                faults += faults_of(path, error)
    return faults
