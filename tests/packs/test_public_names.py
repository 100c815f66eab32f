"""Our packs use what anyone's pack may use, and write no limit into code."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

import stemlore.rules

PACKS = Path(__file__).parents[2] / "src" / "stemlore" / "packs"
FILES = sorted(PACKS.glob("*/*.py"))


@pytest.mark.parametrize("file", FILES, ids=lambda file: f"{file.parent.name}/{file.name}")
def test_only_public_names_of_rules_are_imported(file: Path) -> None:
    for node in ast.walk(ast.parse(file.read_text("utf-8"))):
        if isinstance(node, ast.Import):
            raise AssertionError(f"line {node.lineno}: import {node.names[0].name}")
        if isinstance(node, ast.ImportFrom):
            known = ("__future__", "datetime", "functools", "stemlore.rules")
            assert node.module in known, f"line {node.lineno}"
            if node.module == "stemlore.rules":
                assert {each.name for each in node.names} <= set(stemlore.rules.__all__), (
                    f"line {node.lineno}"
                )


@pytest.mark.parametrize(
    "file", [file for file in FILES if file.name == "rules.py"], ids=lambda file: file.parent.name
)
def test_no_limit_stands_in_code(file: Path) -> None:
    """The only numbers are days, and the number of the first axle."""
    tree = ast.parse(file.read_text("utf-8"))
    days = {
        id(part)
        for node in ast.walk(tree)
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "date"
        for part in ast.walk(node)
    }
    numbers = [
        node.value
        for node in ast.walk(tree)
        if isinstance(node, ast.Constant) and type(node.value) in (int, float) and id(node) not in days
    ]
    assert set(numbers) <= {1}
