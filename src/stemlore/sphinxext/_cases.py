"""Cases of a pack, as its author wrote them in ``cases.toml``: shown here, run elsewhere."""

from __future__ import annotations

import tomllib
from collections import defaultdict
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from docutils import nodes

from stemlore.errors import Fault, PackError
from stemlore.sphinxext._build import Content, breakable, joined, paragraph, table

__all__ = ["case_table", "cases_of"]

Case = Mapping[str, Any]


def cases_of(folder: Path) -> Mapping[str, Sequence[Case]]:
    """Return the cases in a pack's folder by rule, each joined with what its rule's cases share.

    Raises
    ------
    PackError
        If the file is no TOML.
    """
    file = folder / "cases.toml"
    if not file.exists():
        return {}
    try:
        told = tomllib.loads(file.read_text("utf-8"))
    except (UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise PackError(f"cases in {folder.name}", [Fault("", str(error), where="cases.toml")]) from error
    out: defaultdict[str, list[Case]] = defaultdict(list)
    for each in told.get("case", ()):
        rule = str(each.get("rule", ""))
        base = told.get("base", {}).get(rule, {})
        given = {**base.get("given", {}), **each.get("given", {})}
        for path in {**base, **each}.get("without", ()):
            given.pop(path, None)
        out[rule].append({**base, **each, "given": given})
    return out


def case_table(cases: Sequence[Case]) -> list[nodes.Node]:
    """Return what all cases share, and a table of what they differ in."""
    shared = {
        path: value
        for path, value in cases[0]["given"].items()
        if len(cases) > 1 and all(each["given"].get(path) == value for each in cases)
    }
    intro: list[Content] = ["Cases, worked out by hand from the clause"]
    if shared:
        intro += [", all with ", _readings(shared)]
    rows: list[list[Content]] = []
    for each in cases:
        own = {path: value for path, value in each["given"].items() if path not in shared}
        about = f" ({each['subject']})" if each.get("subject") else ""
        place = f", {each['place']}" if each.get("place") else ""
        rows.append([f"{each.get('on', '')}{place}", _readings(own), f"{each.get('expect', '')}{about}"])
        rows[-1].append(_note(each))
    head: list[Content] = ["Day", "Given", "Outcome", "Note"]
    noted = any(row[-1] for row in rows)
    made = table(head if noted else head[:-1], rows if noted else [row[:-1] for row in rows])
    made["classes"].append("stemlore-case")
    return [paragraph(*intro, ":"), made]


def _readings(of: Mapping[str, Any]) -> list[nodes.Node]:
    parts = [[breakable(path), nodes.Text(f" {_value(value)}")] for path, value in of.items()]
    return joined(parts, "; ")


def _value(value: Any) -> str:
    return {True: "yes", False: "no"}[value] if isinstance(value, bool) else str(value).replace("_", " ")


def _note(case: Case) -> str:
    parts = [str(case.get("note", ""))]
    if "margin" in case:
        parts.append(f"margin {case['margin']:g}")
    if case.get("missing"):
        parts.append(f"missing {', '.join(case['missing'])}")
    return "; ".join(part for part in parts if part)
