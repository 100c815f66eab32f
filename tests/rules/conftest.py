"""Invented packs, written where a test can break them: XA and XB are user-assigned in ISO 3166."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from stemlore.rules import PackFolder, Rulebook, rulebook

DAY = date(2024, 6, 1)
SOURCES = """
[road_act]
title = "Road act of an invented country"
issuer = "Xa"
number = "RA 12"
edition = "2001"
grade = "read"

[hearsay]
title = "A journal that tells of the act"
issuer = "A journal"
grade = "secondary"
"""
CITE = {"source": "road_act", "at": "art. 12"}


def toml(value: Any) -> str:
    """Write a value as TOML, on one line."""
    match value:
        case bool():
            return str(value).lower()
        case str():
            return '"' + value.replace("\\", "\\\\").replace('"', '\\"') + '"'
        case list() | tuple():
            return "[" + ", ".join(toml(each) for each in value) + "]"
        case Mapping():
            return "{ " + ", ".join(f"{toml(key)} = {toml(each)}" for key, each in value.items()) + " }"
    return str(value)


def lines(table: Mapping[str, Any]) -> str:
    return "".join(f"{key} = {toml(value)}\n" for key, value in table.items() if value is not None)


class PackMaker:
    """Writes packs below one folder."""

    def __init__(self, root: Path) -> None:
        self.root = root

    def __call__(
        self,
        rules: list[dict[str, Any]] | str = (),  # type: ignore[assignment]
        parameters: Mapping[str, str] | None = None,
        *,
        id: str = "xa",
        sources: str | None = SOURCES,
        python: str = "",
        folder: str = "",
        **head: Any,
    ) -> PackFolder:
        """Write a pack and return its folder; rules as dictionaries over what a rule must have."""
        at = self.root / (folder or id)
        (at / "parameters").mkdir(parents=True, exist_ok=True)
        told = {"id": id, "title": f"Pack {id}", "version": "1", "place": id.upper(), "api": 1} | head
        (at / "pack.toml").write_text(lines(told), "utf-8")
        if sources is not None:
            (at / "sources.toml").write_text(sources, "utf-8")
        for name, text in (parameters or {}).items():
            (at / "parameters" / f"{name}.toml").write_text(text, "utf-8")
        if isinstance(rules, str):
            (at / "rules.toml").write_text(rules, "utf-8")
        elif rules:
            text = "\n".join("[[rule]]\n" + lines(self.rule(id, **each)) for each in rules)
            (at / "rules.toml").write_text(text, "utf-8")
        if python:
            (at / "rules.py").write_text(python, "utf-8")
        return PackFolder(at)

    @staticmethod
    def rule(pack: str = "xa", **given: Any) -> dict[str, Any]:
        """Return a rule's table with what it must have, unless it is given; None leaves a key out."""
        return {
            "id": f"{pack}.tyre.tread_depth",
            "title": "Tread is not below the least depth",
            "shape": "required",
            "field": "vehicle.monitoring_works",
            "tie": "used_in",
            "basis": "law",
            "gravity": "hold",
            "cite": CITE,
        } | given

    @staticmethod
    def number(
        name: str, value: Any = "1.6 mm", *, unit: str = "mm", start: str = "2000-01-01", **more: Any
    ) -> str:
        """Return a parameter with one value."""
        dated = {"is": value, "cite": more.pop("cite", CITE)}
        head = lines({"unit": unit, "doc": f"Value {name}"} | more)
        return f"[{name}]\n{head}\n[[{name}.value]]\nfrom = {start}\n{lines(dated)}"

    def book(
        self, *folders: PackFolder, place: str | None = "XA", on: date | str = DAY, **more: Any
    ) -> Rulebook:
        """Open a rulebook over packs that are not installed."""
        return rulebook(place, on=on, also=folders, **more)


@pytest.fixture
def packs(tmp_path: Path) -> PackMaker:
    return PackMaker(tmp_path)


@pytest.fixture
def one_rule(packs: PackMaker) -> Callable[..., Rulebook]:
    """Open a book whose pack holds one rule, beside what holds everywhere."""

    def opened(parameters: Mapping[str, str] | None = None, *, on: date | str = DAY, **rule: Any) -> Rulebook:
        return packs.book(packs([rule], parameters), on=on)

    return opened
