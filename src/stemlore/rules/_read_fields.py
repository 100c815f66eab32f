"""Reading ``fields.toml`` of a pack: fields of its own, one table a field."""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from stemlore.errors import Fault, StemloreError
from stemlore.model import FieldSpec, declare_own
from stemlore.rules._reading import NAME, line_of_table, unknown_keys
from stemlore.units import Unit, unit

__all__ = ["read_fields"]

_KEYS = {"subject", "kind", "unit", "words", "meaning", "how", "walk", "least"}
_KINDS = ("number", "word", "flag", "text", "date")


def read_fields(pack: str, file: Path, table: Mapping[str, Any], faults: list[Fault]) -> None:
    """Declare the fields of a pack, so that its rules can name them as ``own.PACK.FIELD``."""
    for key, entry in table.items():
        where = file.name
        own: list[Fault] = []
        made = _field(pack, key, entry, where, own)
        if own:
            spot = line_of_table(file, key)
            faults.extend(Fault(f.path, f.message, f.advice, spot) for f in own)
        elif made is not None:
            declare_own(made)


def _field(pack: str, key: str, entry: Any, where: str, faults: list[Fault]) -> FieldSpec | None:
    if not re.fullmatch(NAME, key):
        faults.append(Fault(key, "is no name of a field", "small letters, digits and underscores", where))
    if not isinstance(entry, Mapping):
        faults.append(Fault(key, "is not a table", where=where))
        return None
    unknown_keys(entry, _KEYS, where, faults)
    subject: Any = entry.get("subject")
    kind: Any = entry.get("kind")
    if subject not in ("vehicle", "position"):
        faults.append(Fault(f"{key}.subject", f"{subject!r} has no fields", "vehicle or position", where))
    if kind not in _KINDS:
        faults.append(Fault(f"{key}.kind", f"{kind!r} is not a kind", ", ".join(_KINDS), where))
    for need in ("meaning", "how"):
        if not isinstance(entry.get(need), str) or not entry[need].strip():
            why = "must be given: it is printed when the reading is wanted"
            faults.append(Fault(f"{key}.{need}", why, where=where))
    words = entry.get("words", [])
    listed = isinstance(words, list) and all(isinstance(word, str) and word for word in words)
    if not listed or (kind == "word") != bool(words) or len(set(words)) < len(words):
        faults.append(
            Fault(f"{key}.words", "a word needs its list of words, each once, other kinds none", where=where)
        )
    walk = entry.get("walk", 0)
    if not isinstance(walk, int) or isinstance(walk, bool):
        why = f"{walk!r} is no place on the walk"
        faults.append(Fault(f"{key}.walk", why, "a whole number, 10 to 80", where))
    least = entry.get("least")
    if least is not None and (isinstance(least, bool) or not isinstance(least, (int, float))):
        faults.append(Fault(f"{key}.least", f"{least!r} is not a number", where=where))
    stored = _unit(key, kind, entry, where, faults)
    if faults:
        return None
    return FieldSpec(
        path=f"own.{pack}.{key}",
        level=subject,
        kind=kind,
        meaning=entry["meaning"],
        how=entry["how"],
        walk=walk,
        unit=stored,
        words=tuple(words),
        least=None if least is None else float(least),
    )


def _unit(key: str, kind: Any, entry: Mapping[str, Any], where: str, faults: list[Fault]) -> Unit | None:
    if kind != "number":
        if "unit" in entry:
            faults.append(Fault(f"{key}.unit", f"a {kind} has no unit", where=where))
        return None
    try:
        return unit(str(entry["unit"]))
    except KeyError:
        faults.append(Fault(f"{key}.unit", "a number must have a unit", "'1' for a plain number", where))
    except StemloreError as error:
        faults.append(Fault(f"{key}.unit", str(error), where=where))
    return None
