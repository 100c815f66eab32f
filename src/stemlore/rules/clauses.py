"""Clauses that a pack knows and no rule of it judges, each with the reason."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import Any

import attrs

from stemlore.errors import Fault, near_misses
from stemlore.provenance import Citation, Source
from stemlore.rules._reading import citation, is_day, lines_of, unknown_keys

__all__ = ["REASONS", "Clause", "read_clauses"]

REASONS: Mapping[str, str] = {
    "duty": "asks for conduct at the work, not for a reading",
    "driving": "binds the driver on the road",
    "approval": "binds makers at approval or sale, not the vehicle in use",
    "equipment": "is about premises, tools or papers of the workshop",
    "background": "scope, procedure or meaning, without a limit of its own",
    "not_read": "the text could not be read",
    "no_reading": "turns on something that a job does not hold",
    "elsewhere": "is judged by another rule",
}
"""Why no rule judges a clause."""

_KEYS = {"says", "why", "rule", "cite", "from", "until"}


@attrs.frozen(kw_only=True)
class Clause:
    """What a clause says, in our words, and why no rule judges it.

    Attributes
    ----------
    says : str
        What it asks for.
    why : str
        A key of :data:`REASONS`.
    citation : Citation
        Source, place in it, and grade.
    rule : str
        With ``elsewhere``: the id of the rule that judges it.
    starts, ends : date or None
        First and last day, where the sources show them.
    """

    says: str
    why: str
    citation: Citation
    rule: str = ""
    starts: date | None = None
    ends: date | None = None


def read_clauses(
    file: Path, table: Mapping[str, Any], sources: Mapping[str, Source], faults: list[Fault]
) -> tuple[Clause, ...]:
    """Read ``clauses.toml``: a list ``clause``."""
    unknown_keys(table, {"clause"}, file.name, faults)
    listed = table.get("clause", [])
    if not isinstance(listed, list):
        faults.append(Fault("clause", "is not a list", "[[clause]]", file.name))
        return ()
    spots = lines_of(file, r"\s*\[\[clause\]\]")
    out = []
    for index, entry in enumerate(listed):
        where = spots[index] if index < len(spots) else file.name
        clause = _clause(entry, f"clause[{index}]", where, sources, faults)
        if clause is not None:
            out.append(clause)
    return tuple(out)


def _clause(
    entry: Any, path: str, where: str, sources: Mapping[str, Source], faults: list[Fault]
) -> Clause | None:
    if not isinstance(entry, Mapping):
        faults.append(Fault(path, "is not a table", where=where))
        return None
    before = len(faults)
    unknown_keys(entry, _KEYS, where, faults)
    says, why, rule = entry.get("says"), entry.get("why"), entry.get("rule", "")
    if not isinstance(says, str) or not says.strip():
        faults.append(Fault(f"{path}.says", "what the clause asks for must be given", where=where))
    if why not in REASONS:
        near = near_misses(str(why), REASONS)
        hint = f"did you mean {near[0]}?" if near else ", ".join(REASONS)
        faults.append(Fault(f"{path}.why", f"{why!r} is no reason", hint, where))
    if (why == "elsewhere") != bool(rule) or not isinstance(rule, str):
        faults.append(
            Fault(f"{path}.rule", 'stands with why = "elsewhere", and only there', "a rule's id", where)
        )
    for name in ("from", "until"):
        if name in entry and not is_day(entry[name]):
            faults.append(Fault(f"{path}.{name}", f"{entry[name]!r} is not a day", where=where))
    cited = citation(entry.get("cite"), sources, path, where, faults)
    if len(faults) > before or cited is None:
        return None
    return Clause(
        says=str(says),
        why=str(why),
        citation=cited,
        rule=rule,
        starts=entry.get("from"),
        ends=entry.get("until"),
    )
