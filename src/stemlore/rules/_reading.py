"""Reading the TOML of a pack: files, sources and citations.

Everything that is wrong is collected with file, line and key; parameters and
rules are read in the modules beside this one.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Collection, Mapping
from pathlib import Path
from typing import Any

from stemlore.errors import Fault, PackError, near_misses
from stemlore.provenance import Citation, Grade, Source
from stemlore.rules.rule import Cite

__all__ = [
    "PRACTICE",
    "citation",
    "line_of",
    "load",
    "read_cite",
    "read_sources",
    "read_toml",
    "unknown_keys",
]

PRACTICE = Grade.PRACTICE


def read_toml(path: Path) -> dict[str, Any]:
    """Read one TOML file; what is wrong becomes a PackError with its line."""
    try:
        return tomllib.loads(path.read_text("utf-8"))
    except FileNotFoundError:
        raise PackError(
            f"pack in {path.parent.name}", [Fault("", "there is no such file", where=path.name)]
        ) from None
    except UnicodeDecodeError as error:
        raise PackError(
            f"pack in {path.parent.name}", [Fault("", f"is not UTF-8: {error}", where=path.name)]
        ) from error
    except tomllib.TOMLDecodeError as error:
        raise PackError(f"pack in {path.parent.name}", [Fault("", str(error), where=path.name)]) from error


def load(folder: Path, name: str, content: dict[str, str], faults: list[Fault]) -> dict[str, Any]:
    """Read one file of a pack and keep its text for the fingerprint."""
    try:
        found = read_toml(folder / name)
    except PackError as error:
        faults.extend(error.faults)
        return {}
    content[name] = (folder / name).read_text("utf-8")
    return found


def line_of(path: Path, pattern: str, nth: int = 0) -> str:
    """Return ``file:line`` of the nth line that matches; looked for only when something is wrong."""
    try:
        lines = path.read_text("utf-8").splitlines()
    except OSError:
        return path.name
    found = [number for number, text in enumerate(lines, 1) if re.match(pattern, text)]
    return f"{path.name}:{found[nth]}" if nth < len(found) else path.name


def unknown_keys(table: Mapping[str, Any], known: Collection[str], where: str, faults: list[Fault]) -> None:
    """Collect a fault for each key that is not known."""
    for key in table:
        if key not in known:
            near = near_misses(key, known)
            faults.append(Fault(key, "unknown key", f"did you mean {near[0]}?" if near else "", where))


# --- sources ---------------------------------------------------------------------------------

_SOURCE_KEYS = {"title", "issuer", "number", "edition", "url", "read_on", "language", "grade"}


def read_sources(table: Mapping[str, Any], faults: list[Fault]) -> dict[str, Source]:
    """Read ``sources.toml``: one table a source."""
    out: dict[str, Source] = {}
    for key, entry in table.items():
        where = f"sources.toml [{key}]"
        if not isinstance(entry, Mapping):
            faults.append(Fault(key, "is not a table", where=where))
            continue
        unknown_keys(entry, _SOURCE_KEYS, where, faults)
        lacking = [need for need in ("title", "issuer", "grade") if not entry.get(need)]
        faults.extend(Fault(f"{key}.{need}", "must be given", where=where) for need in lacking)
        grade = str(entry.get("grade", ""))
        if grade and grade not in list(Grade):
            faults.append(Fault(f"{key}.grade", f"{grade!r} is no grade", ", ".join(Grade), where))
        elif not lacking:
            known = {name: value for name, value in entry.items() if name in _SOURCE_KEYS - {"grade"}}
            out[key] = Source(id=key, grade=Grade(grade), **known)
    return out


def citation(
    entry: Any, sources: Mapping[str, Source], path: str, where: str, faults: list[Fault]
) -> Citation | None:
    cite = read_cite(entry, path, where, faults)
    if cite is None:
        return None
    source = sources.get(cite.source)
    if cite.source and source is None:
        near = near_misses(cite.source, sources)
        faults.append(
            Fault(
                f"{path}.cite.source",
                f"no source {cite.source!r}",
                f"did you mean {near[0]}?" if near else "",
                where,
            )
        )
        return None
    grade = cite.grade or (source.grade if source else PRACTICE)
    if grade.needs_source and source is None:
        faults.append(Fault(f"{path}.cite", f"grade {grade} needs a source", where=where))
        return None
    return Citation(source, cite.at, grade)


def read_cite(entry: Any, path: str, where: str, faults: list[Fault]) -> Cite | None:
    """Read a ``cite`` table: source, place in it, and a grade where it differs from the source's."""
    if not isinstance(entry, Mapping):
        faults.append(Fault(f"{path}.cite", "every value and rule must be cited", "source, at", where))
        return None
    unknown_keys(entry, {"source", "at", "grade"}, where, faults)
    grade = entry.get("grade")
    if grade is not None and grade not in list(Grade):
        faults.append(Fault(f"{path}.cite.grade", f"{grade!r} is no grade", ", ".join(Grade), where))
        return None
    if not entry.get("source") and grade not in ("practice", "memory"):
        faults.append(
            Fault(f"{path}.cite", "names no source", "only practice and memory may lack one", where)
        )
        return None
    if entry.get("source") and not entry.get("at"):
        faults.append(Fault(f"{path}.cite.at", "the place in the source is not given", where=where))
        return None
    return Cite(entry.get("source", ""), entry.get("at", ""), Grade(grade) if grade else None)
