"""A pack: the rules, parameters and sources of one region or body, read from its folder."""

from __future__ import annotations

import importlib.util
import re
import traceback
from collections import Counter
from collections.abc import Iterable, Mapping
from datetime import date
from functools import cached_property
from pathlib import Path
from types import MappingProxyType
from typing import Any

import attrs

from stemlore.errors import Fault, PackError, near_misses
from stemlore.provenance import Citation, Grade, Source, fingerprint_of
from stemlore.rules import _reading as reading
from stemlore.rules._read_fields import read_fields
from stemlore.rules._read_parameters import read_parameters
from stemlore.rules._read_rules import check_rules, read_rules
from stemlore.rules.clauses import Clause, read_clauses
from stemlore.rules.parameters import ParameterHistory
from stemlore.rules.rule import Cite, Rule

__all__ = ["API", "Pack", "PackFolder", "Parent", "pack_folder"]

API = 1
"""Number of the form that packs are written for."""


@attrs.frozen
class Parent:
    """A pack whose rules hold in this pack's place too, between two days."""

    id: str
    starts: date | None = None
    ends: date | None = None

    def holds_on(self, day: date) -> bool:
        """Return whether the day lies within."""
        return (self.starts is None or self.starts <= day) and (self.ends is None or day <= self.ends)


@attrs.frozen(kw_only=True, eq=False, slots=False)
class Pack:
    """What a region or body lays down.

    Attributes
    ----------
    id : str
        First part of the ids of its rules and parameters.
    title, version : str
        Name for people, and version of the content.
    place : str
        ISO 3166 code, ``EU``, ``UN`` or ``world``.
    parents : tuple of Parent
        Packs whose rules hold here too.
    first_day : date or None
        The first day that it can answer for.
    own_law_below : bool
        Whether subdivisions of the place make law of their own on these matters.
    sources : mapping of str to Source
    parameters : mapping of str to ParameterHistory
    rules : mapping of str to Rule
    clauses : tuple of Clause
        What the texts say that no rule judges, with the reason.
    retired : mapping of str to mapping
        Rule ids once released, with day, reason and successor.
    """

    id: str
    title: str
    version: str
    place: str
    parents: tuple[Parent, ...]
    sources: Mapping[str, Source]
    parameters: Mapping[str, ParameterHistory]
    rules: Mapping[str, Rule]
    clauses: tuple[Clause, ...] = ()
    first_day: date | None = None
    own_law_below: bool = True
    api: int = API
    retired: Mapping[str, Mapping[str, Any]] = attrs.field(factory=dict)
    content: Mapping[str, str] = attrs.field(factory=dict, repr=False)

    def citation(self, cite: Cite) -> Citation:
        """Return a reference to a source, resolved."""
        source = self.sources.get(cite.source) if cite.source else None
        return Citation(source, cite.at, cite.grade or (source.grade if source else reading.PRACTICE))

    def grades(self) -> dict[str, Counter[Grade]]:
        """Count rules, dated values, and clauses that no rule judges, by grade of their source."""
        values = [value for history in self.parameters.values() for value in history.values]
        return {
            "rules": Counter(self.citation(rule.cite).grade for rule in self.rules.values()),
            "values": Counter(value.citation.grade for value in values),
            "clauses": Counter(clause.citation.grade for clause in self.clauses),
        }

    @cached_property
    def fingerprint(self) -> str:
        """SHA-256 over the content of the pack's files."""
        return fingerprint_of({"id": self.id, "files": dict(self.content)})


@attrs.frozen(eq=False, slots=False)
class PackFolder:
    """A pack not read yet; what a pack's module offers as ``PACK``."""

    path: Path

    @cached_property
    def head(self) -> Mapping[str, Any]:
        """What ``pack.toml`` says, before anything else is read."""
        return reading.read_toml(self.path / "pack.toml")

    def load(self) -> Pack:
        """Read the whole pack; once a process.

        Raises
        ------
        PackError
            With everything that is wrong: file, line, key, why.
        """
        return self._pack

    @cached_property
    def _pack(self) -> Pack:
        return read_pack(self.path)


def pack_folder(module_file: str) -> PackFolder:
    """Return the pack that lies beside a module; write ``PACK = pack_folder(__file__)`` in it."""
    return PackFolder(Path(module_file).parent)


def read_pack(folder: Path) -> Pack:
    """Read a pack's folder: head, sources, parameters, rules as TOML and as Python."""
    faults: list[Fault] = []
    content: dict[str, str] = {}
    head = reading.load(folder, "pack.toml", content, faults)
    if "pack.toml" in content:
        reading.check_head(head, API, folder / "pack.toml", faults)
    _check_files(folder, faults)
    if re.fullmatch(reading.NAME, str(head.get("id"))) is None:  # without it no name can be told
        raise PackError(f"pack in {folder.name}", faults)
    name = head["id"]
    cited = reading.load(folder, "sources.toml", content, faults)
    sources = reading.read_sources(folder / "sources.toml", cited, faults)
    if (folder / "fields.toml").exists():
        read_fields(
            name, folder / "fields.toml", reading.load(folder, "fields.toml", content, faults), faults
        )
    parameters: dict[str, ParameterHistory] = {}
    there: set[str] = set()  # names of parameters, faulty ones too: those are told once
    for file in sorted((folder / "parameters").glob("*.toml")):
        table = reading.load(folder, f"parameters/{file.name}", content, faults)
        parameters.update(read_parameters(name, file, table, sources, faults))
        there |= {f"{name}.{file.stem}.{key}" for key in table}

    rules: dict[str, Rule] = {}
    if (folder / "rules.toml").exists():
        listed = reading.load(folder, "rules.toml", content, faults)
        _add(rules, read_rules(name, folder / "rules.toml", listed, faults), faults)
    if (folder / "rules.py").exists():
        try:
            content["rules.py"] = (folder / "rules.py").read_text("utf-8")
        except (OSError, UnicodeDecodeError) as error:
            faults.append(Fault("", f"cannot be read: {error}", where="rules.py"))
        else:
            _add(rules, _python_rules(folder, name, faults), faults)
    clauses: tuple[Clause, ...] = ()
    if (folder / "clauses.toml").exists():
        told = reading.load(folder, "clauses.toml", content, faults)
        clauses = read_clauses(folder / "clauses.toml", told, sources, faults)
    check_rules(name, rules, there, sources, faults)
    for old in rules:
        if old in head.get("retired", ()):
            faults.append(Fault(f"retired.{old}", "is also in force", where="pack.toml"))
    if not rules and not parameters and not faults:
        faults.append(Fault("", "the pack is empty: no rule and no parameter", where=folder.name))
    if faults:
        raise PackError(f"pack {name!r}", _without_consequences(faults, name, folder, content))
    return Pack(
        id=name,
        title=head["title"],
        version=head["version"],
        place=head["place"],
        parents=tuple(
            Parent(each, None, None)
            if isinstance(each, str)
            else Parent(each["id"], each.get("from"), each.get("until"))
            for each in head.get("parents", ())
        ),
        first_day=head.get("first_day"),
        own_law_below=head.get("own_law_below", True),
        api=head["api"],
        retired=MappingProxyType(head.get("retired", {})),
        sources=MappingProxyType(sources),
        parameters=MappingProxyType(parameters),
        rules=MappingProxyType(rules),
        clauses=clauses,
        content=MappingProxyType(content),
    )


def _without_consequences(
    faults: list[Fault], name: str, folder: Path, content: Mapping[str, str]
) -> list[Fault]:
    """Return the faults without those that only follow from a file that cannot be read at all."""
    lost = [] if "sources.toml" in content else ["no source "]
    lost += [
        f"no parameter '{name}.{file.stem}."
        for file in (folder / "parameters").glob("*.toml")
        if f"parameters/{file.name}" not in content
    ]
    if (folder / "fields.toml").exists() and "fields.toml" not in content:
        lost.append(f"unknown field 'own.{name}.")
    return [fault for fault in faults if not fault.message.startswith(tuple(lost))]


_FILES = (
    "pack.toml",
    "sources.toml",
    "fields.toml",
    "rules.toml",
    "clauses.toml",
    "cases.toml",
    "released.toml",
)


def _check_files(folder: Path, faults: list[Fault]) -> None:
    """Collect a fault for each file that looks like one of a pack and is not read: rules would be lost."""
    for path in sorted(folder.glob("*.toml")):
        if path.name not in _FILES:
            near = near_misses(path.name, _FILES)
            hint = f"did you mean {near[0]}?" if near else f"a pack has {', '.join(_FILES)}"
            faults.append(Fault("", "is no file of a pack", hint, path.name))
    for path in sorted((folder / "parameters").glob("*")):
        if (path.suffix != ".toml" or path.is_dir()) and not path.name.startswith((".", "_")):
            where = f"parameters/{path.name}"
            faults.append(Fault("", "is not read", "only parameters/SUBJECT.toml is", where))


def _add(into: dict[str, Rule], rules: Iterable[Rule], faults: list[Fault]) -> None:
    for rule in rules:
        if rule.id in into:
            faults.append(Fault(rule.id, "is there twice", "rule ids are never reused", rule.where))
        into[rule.id] = rule


def _python_rules(folder: Path, name: str, faults: list[Fault]) -> list[Rule]:
    spec = importlib.util.spec_from_file_location(f"stemlore_pack_{name}_rules", folder / "rules.py")
    if spec is None or spec.loader is None:
        faults.append(Fault("rules.py", "cannot be imported"))
        return []
    module = importlib.util.module_from_spec(spec)
    try:
        spec.loader.exec_module(module)
    except (Exception, SystemExit) as error:  # whatever a pack's code does must end in a named error
        why = error.msg if isinstance(error, SyntaxError) else str(error)
        faults.append(Fault("", f"{type(error).__name__}: {why}", where=_line_in(folder / "rules.py", error)))
        return []
    rules = getattr(module, "RULES", None)
    if not isinstance(rules, (list, tuple)) or not all(isinstance(rule, Rule) for rule in rules):
        faults.append(Fault("", "has no list RULES of rules", where="rules.py"))
        return []
    return list(rules)


def _line_in(file: Path, error: BaseException) -> str:
    """Return ``file:line`` of the last line of a file that had a part in an error."""
    line = error.lineno if isinstance(error, SyntaxError) and error.filename == str(file) else None
    for frame in traceback.extract_tb(error.__traceback__):
        if frame.filename == str(file):
            line = frame.lineno
    return file.name if line is None else f"{file.name}:{line}"
