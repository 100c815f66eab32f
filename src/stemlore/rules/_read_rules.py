"""Reading the rules of a pack that are TOML alone, and checking what all of them name."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from pathlib import Path
from typing import Any

from stemlore.errors import Fault, RuleError, StemloreError, near_misses
from stemlore.model import FIELDS
from stemlore.provenance import Source
from stemlore.rules._reading import PRACTICE, lines_of, read_cite, unknown_keys
from stemlore.rules.build import parameter
from stemlore.rules.nodes import Node, Parameter, walk
from stemlore.rules.rule import Rule
from stemlore.rules.shapes import condition_from, shape_named

__all__ = ["check_rules", "read_rules"]

_RULE_KEYS = {
    "id", "title", "shape", "field", "limit", "subject", "tie", "basis", "gravity", "cite", "when", "advice",
    "caution", "what", "uncertainty", "from", "until", "seen_on", "supersedes", "spare",
}  # fmt: skip


def read_rules(pack: str, file: Path, table: Mapping[str, Any], faults: list[Fault]) -> Iterator[Rule]:
    """Read ``rules.toml``: one ``[[rule]]`` a rule, made from a shape."""
    unknown_keys(table, {"rule"}, file.name, faults)
    listed = table.get("rule", [])
    if not isinstance(listed, list):
        faults.append(Fault("rule", "is not a list of rules", "write [[rule]] above each", file.name))
        return
    spots = lines_of(file, r"\s*\[\[rule\]\]")
    for index, entry in enumerate(listed):
        own: list[Fault] = []
        spot = spots[index] if index < len(spots) else file.name
        rule = _rule(pack, entry, spot, own)
        if own:
            name = entry.get("id", f"rule[{index}]") if isinstance(entry, Mapping) else f"rule[{index}]"
            faults.extend(
                Fault(f"{name}.{f.path.lstrip('.')}" if f.path else name, f.message, f.advice, spot)
                for f in own
            )
        if rule is not None:
            yield rule


_TEXTS = ("id", "title", "shape", "field", "subject", "tie", "basis", "gravity", "advice", "caution", "what")


def _rule(pack: str, entry: Any, where: str, faults: list[Fault]) -> Rule | None:
    if not isinstance(entry, Mapping):
        faults.append(Fault("", "is not a table"))
        return None
    unknown_keys(entry, _RULE_KEYS, "", faults)
    needed = ("id", "title", "shape", "field", "tie", "basis", "gravity")
    faults.extend(Fault(need, "must be given") for need in needed if not str(entry.get(need, "")).strip())
    for name in _TEXTS:
        if not isinstance(entry.get(name, ""), str):
            faults.append(Fault(name, f"{entry[name]!r} is not text"))
    if not isinstance(entry.get("spare", False), bool):
        faults.append(Fault("spare", f"{entry['spare']!r} is neither true nor false"))
    cite = read_cite(entry.get("cite"), "", "", faults)
    starts = entry.get("from")
    unseen = entry.get("seen_on")
    if starts == "unseen" and unseen is None:
        faults.append(Fault("seen_on", "a start not seen needs the day it was seen in force"))
    elif starts != "unseen" and unseen is not None:
        faults.append(Fault("seen_on", 'stands only beside from = "unseen"'))
    superseded = entry.get("supersedes", [])
    superseded = [superseded] if isinstance(superseded, str) else superseded
    if not isinstance(superseded, list) or not all(isinstance(each, str) for each in superseded):
        faults.append(Fault("supersedes", f"{superseded!r} is not a list of rule ids"))
    if faults or cite is None:
        return None
    try:
        limit = _full_names(pack, entry.get("limit"), entry["shape"])
        check = shape_named(entry["shape"])(entry["field"], limit)
        return Rule(
            id=entry["id"],
            title=entry["title"],
            subject=entry.get("subject", _subject_of(entry["field"])),
            check=check,
            when=condition_from(_full_when(pack, entry.get("when"))),
            tie=entry["tie"],
            basis=entry["basis"],
            gravity=entry["gravity"],
            cite=cite,
            advice=entry.get("advice", ""),
            caution=entry.get("caution", ""),
            what=entry.get("what", ""),
            uncertainty=_uncertainty(pack, entry.get("uncertainty")),
            starts=None if starts == "unseen" else starts,
            ends=entry.get("until"),
            unseen_before=unseen,
            supersedes=tuple(superseded),
            spare=bool(entry.get("spare", False)),
            where=where,
        )
    except (StemloreError, ValueError, TypeError) as error:
        faults.append(Fault("", getattr(error, "message", str(error)), getattr(error, "advice", "")))
        return None


def _uncertainty(pack: str, name: Any) -> Node | None:
    if name is None:
        return None
    if not isinstance(name, str):
        raise RuleError("'uncertainty' must be the name of a parameter", advice="such as 'gauge.error'")
    return parameter(_full_names(pack, name, ""))


def _subject_of(path: str) -> str:
    level = FIELDS[path].level if path in FIELDS else "position"
    return level if level in ("vehicle", "axle", "position") else "position"


def _full_names(pack: str, limit: Any, shape: Any) -> Any:
    """Put the pack's id before the names of its own parameters."""
    if shape in ("one_of", "forbidden", "required", "same_across"):
        return limit
    if isinstance(limit, str):
        return f"{pack}.{limit}" if limit.count(".") == 1 else limit
    if isinstance(limit, list):
        return [_full_names(pack, each, shape) for each in limit]
    return limit


def _full_when(pack: str, when: Any) -> Any:
    if not isinstance(when, Mapping):
        return when
    prefix = "parameter:"
    return {
        (f"{prefix}{_full_names(pack, key[len(prefix) :], '')}" if key.startswith(prefix) else key): test
        for key, test in when.items()
    }


def check_rules(
    pack: str,
    rules: Mapping[str, Rule],
    parameters: Collection[str],
    sources: Mapping[str, Source],
    faults: list[Fault],
) -> None:
    """Check what a rule names within its own pack."""
    for rule in rules.values():
        if rule.pack != pack:
            faults.append(Fault(rule.id, f"does not begin with {pack!r}", where=rule.where))
        if rule.cite.source and rule.cite.source not in sources:
            near = near_misses(rule.cite.source, sources)
            hint = f"did you mean {near[0]}?" if near else ""
            faults.append(Fault(f"{rule.id}.cite", f"no source {rule.cite.source!r}", hint, rule.where))
        elif not rule.cite.source and (rule.cite.grade or PRACTICE).needs_source:
            faults.append(
                Fault(f"{rule.id}.cite", f"grade {rule.cite.grade} needs a source", where=rule.where)
            )
        for tree in (rule.check, rule.when, rule.uncertainty):
            for part in walk(tree) if tree is not None else ():
                if not isinstance(part, Parameter) or part.name in parameters:
                    continue
                if part.name.startswith(f"{pack}.") or part.name.count(".") != 2:
                    near = near_misses(part.name, parameters)
                    hint = f"did you mean {near[0]}?" if near else ""
                    faults.append(Fault(rule.id, f"no parameter {part.name!r}", hint, rule.where))
