"""Reading the TOML of a pack: files, sources and citations.

Everything that is wrong is collected with file, line and key; parameters and
rules are read in the modules beside this one.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Collection, Mapping
from datetime import date, datetime
from pathlib import Path
from typing import Any

import attrs

from stemlore.errors import Fault, PackError, UnknownPlaceError, near_misses
from stemlore.provenance import Citation, Grade, Source
from stemlore.rules.places import place_code
from stemlore.rules.rule import Cite

__all__ = [
    "NAME",
    "PRACTICE",
    "check_head",
    "citation",
    "is_day",
    "line_of",
    "line_of_table",
    "lines_of",
    "load",
    "read_cite",
    "read_sources",
    "read_toml",
    "unknown_keys",
]

PRACTICE = Grade.PRACTICE


NAME = r"[a-z][a-z0-9_]*"
"""Form of a pack's id, and of the names of its parameters and fields."""


def read_toml(path: Path) -> dict[str, Any]:
    """Read one TOML file; what is wrong becomes a PackError with its line."""
    try:
        return tomllib.loads(path.read_text("utf-8"))
    except FileNotFoundError:
        raise PackError(
            f"pack in {path.parent.name}", [Fault("", "there is no such file", where=path.name)]
        ) from None
    except OSError as error:
        raise PackError(
            f"pack in {path.parent.name}", [Fault("", f"cannot be read: {error.strerror}", where=path.name)]
        ) from error
    except UnicodeDecodeError as error:
        raise PackError(
            f"pack in {path.parent.name}", [Fault("", f"is not UTF-8: {error}", where=path.name)]
        ) from error
    except tomllib.TOMLDecodeError as error:
        line = re.search(r"at line (\d+)", str(error))
        spot = f"{path.name}:{line[1]}" if line else path.name
        raise PackError(f"pack in {path.parent.name}", [Fault("", str(error), where=spot)]) from error


def load(folder: Path, name: str, content: dict[str, str], faults: list[Fault]) -> dict[str, Any]:
    """Read one file of a pack and keep its text for the fingerprint."""
    try:
        found = read_toml(folder / name)
    except PackError as error:
        within = name[: name.rfind("/") + 1]  # parameters/
        faults.extend(attrs.evolve(fault, where=f"{within}{fault.where}") for fault in error.faults)
        return {}
    content[name] = (folder / name).read_text("utf-8")
    return found


def line_of(path: Path, pattern: str, nth: int = 0) -> str:
    """Return ``file:line`` of the nth line that matches; looked for only when something is wrong."""
    found = lines_of(path, pattern)
    return found[nth] if nth < len(found) else path.name


def line_of_table(path: Path, key: str) -> str:
    """Return ``file:line`` of the first line on which a table or key of this name stands."""
    name = rf"\"?{re.escape(key)}\"?"
    return line_of(path, rf"\s*(\[+{name}[\].]|{name}\s*[=.])")


def lines_of(path: Path, pattern: str) -> list[str]:
    """Return ``file:line`` of every line that matches."""
    try:
        lines = path.read_text("utf-8").splitlines()
    except (OSError, UnicodeDecodeError):
        return []
    return [f"{path.name}:{number}" for number, text in enumerate(lines, 1) if re.match(pattern, text)]


def unknown_keys(table: Mapping[str, Any], known: Collection[str], where: str, faults: list[Fault]) -> None:
    """Collect a fault for each key that is not known."""
    for key in table:
        if key not in known:
            near = near_misses(key, known)
            faults.append(Fault(key, "unknown key", f"did you mean {near[0]}?" if near else "", where))


# --- head ------------------------------------------------------------------------------------

_HEAD = {"id": str, "title": str, "version": str, "place": str, "api": int}
_HEAD_KEYS = {*_HEAD, "parents", "first_day", "own_law_below", "retired"}


def check_head(head: Mapping[str, Any], api: int, file: Path, faults: list[Fault]) -> None:
    """Check what ``pack.toml`` says of the pack."""
    own: list[Fault] = []
    unknown_keys(head, _HEAD_KEYS, "", own)
    for key, kind in _HEAD.items():
        value = head.get(key)
        if not isinstance(value, kind) or isinstance(value, bool) or not str(value).strip():
            own.append(Fault(key, f"must be given as {'text' if kind is str else 'a whole number'}"))
    name = head.get("id")
    if isinstance(name, str) and name.strip() and re.fullmatch(NAME, name) is None:
        own.append(Fault("id", f"{name!r} is no name of a pack", "small letters, digits and underscores"))
    if isinstance(head.get("api"), int) and head["api"] != api:
        own.append(Fault("api", f"is {head['api']}; this stemlore reads {api}"))
    if isinstance(head.get("place"), str) and head["place"]:
        try:
            place = place_code(head["place"])
        except UnknownPlaceError as error:
            own.append(Fault("place", error.message, error.advice))
        else:
            if place != head["place"]:
                own.append(Fault("place", f"is spelt {place}"))
    if "first_day" in head and not is_day(head["first_day"]):
        own.append(Fault("first_day", f"{head['first_day']!r} is not a day"))
    if not isinstance(head.get("own_law_below", True), bool):
        own.append(Fault("own_law_below", f"{head['own_law_below']!r} is neither true nor false"))
    _check_parents(head.get("parents", []), own)
    _check_retired(head.get("retired", {}), name if isinstance(name, str) else "", file, faults)
    faults.extend(
        attrs.evolve(fault, where=line_of(file, rf"\s*{re.escape(fault.path.partition('[')[0])}\s*="))
        for fault in own
    )


def _check_parents(parents: Any, faults: list[Fault]) -> None:
    if not isinstance(parents, list):
        faults.append(
            Fault("parents", "is not a list", 'such as ["eu"] or [{ id = "eu", from = 1958-01-01 }]')
        )
        return
    for index, parent in enumerate(parents):
        path = f"parents[{index}]"
        if isinstance(parent, str):
            continue
        if not isinstance(parent, Mapping) or not isinstance(parent.get("id"), str):
            faults.append(Fault(path, "names no pack", '"eu", or { id = "eu", from = 1958-01-01 }'))
            continue
        unknown_keys(parent, {"id", "from", "until"}, path, faults)
        days = {name: parent[name] for name in ("from", "until") if name in parent}
        wrong = [name for name, day in days.items() if not is_day(day)]
        faults.extend(Fault(f"{path}.{name}", f"{days[name]!r} is not a day") for name in wrong)
        if len(days) == 2 and not wrong and days["until"] < days["from"]:
            faults.append(Fault(f"{path}.until", f"{days['until']} lies before {days['from']}"))


def _check_retired(retired: Any, pack: str, file: Path, faults: list[Fault]) -> None:
    if not isinstance(retired, Mapping):
        spot = line_of_table(file, "retired")
        faults.append(Fault("retired", "is not a table of rule ids", '[retired."xa.tyre.old_rule"]', spot))
        return
    for rule, entry in retired.items():
        own: list[Fault] = []
        path = f"retired.{rule}"
        if re.fullmatch(NAME, pack) and not rule.startswith(f"{pack}."):
            own.append(Fault(path, f"does not begin with {pack!r}"))
        if isinstance(entry, Mapping):
            unknown_keys(entry, {"on", "why", "replaced_by"}, "", own)
            if "on" in entry and not is_day(entry["on"]):
                own.append(Fault(f"{path}.on", f"{entry['on']!r} is not a day"))
        else:
            own.append(Fault(path, "is not a table", "on, why and replaced_by"))
        spot = line_of(file, rf"\s*\[retired\.\"{re.escape(rule)}\"\]") if own else ""
        faults.extend(attrs.evolve(fault, where=spot) for fault in own)


def is_day(value: Any) -> bool:
    """Return whether a value is a day without a time."""
    return isinstance(value, date) and not isinstance(value, datetime)


# --- sources ---------------------------------------------------------------------------------

_NOUNS = {date: "day", str: "text"}
_SOURCE_KEYS = {"title", "issuer", "number", "edition", "url", "read_on", "language", "grade"}


def read_sources(file: Path, table: Mapping[str, Any], faults: list[Fault]) -> dict[str, Source]:
    """Read ``sources.toml``: one table a source."""
    out: dict[str, Source] = {}
    for key, entry in table.items():
        own: list[Fault] = []
        source = _source(key, entry, own)
        if own:
            spot = line_of_table(file, key)
            faults.extend(attrs.evolve(fault, where=spot) for fault in own)
        # a faulty one is told here, and not again wherever it is cited
        out[key] = source or Source(id=key, title=key, issuer="", grade=PRACTICE)
    return out


def _source(key: str, entry: Any, faults: list[Fault]) -> Source | None:
    if not isinstance(entry, Mapping):
        faults.append(Fault(key, "is not a table"))
        return None
    unknown_keys(entry, _SOURCE_KEYS, "", faults)
    lacking = [need for need in ("title", "issuer", "grade") if not str(entry.get(need, "")).strip()]
    faults.extend(Fault(f"{key}.{need}", "must be given") for need in lacking)
    for name, value in entry.items():
        wanted: type[Any] = date if name == "read_on" else str
        if name in _SOURCE_KEYS and (not isinstance(value, wanted) or isinstance(value, datetime)):
            faults.append(Fault(f"{key}.{name}", f"{value!r} is not a {_NOUNS[wanted]}"))
            lacking.append(name)
    grade = str(entry.get("grade", ""))
    if grade and grade not in list(Grade):
        faults.append(Fault(f"{key}.grade", f"{grade!r} is no grade", ", ".join(Grade)))
    elif not lacking:
        known = {name: value for name, value in entry.items() if name in _SOURCE_KEYS - {"grade"}}
        return Source(id=key, grade=Grade(grade), **known)
    return None


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
    for name in ("source", "at"):
        if not isinstance(entry.get(name, ""), str):
            faults.append(
                Fault(f"{path}.cite.{name}".lstrip("."), f"{entry[name]!r} is not text", where=where)
            )
            return None
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
