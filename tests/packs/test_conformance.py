"""Our packs satisfy what every pack must, and what we ask of ourselves beside it."""

from __future__ import annotations

from pathlib import Path

import pytest

from stemlore.rules import PackFolder, Rule
from stemlore.testing import ConformanceCase, conformance_cases, read_cases

PACKS = Path(__file__).parents[2] / "src" / "stemlore" / "packs"
OURS = {file.parent.name: PackFolder(file.parent) for file in sorted(PACKS.glob("*/pack.toml"))}
RULES = [rule for folder in OURS.values() for rule in folder.load().rules.values()]


@pytest.mark.parametrize(
    "case", [case for folder in OURS.values() for case in conformance_cases(folder)], ids=str
)
def test_pack(case: ConformanceCase) -> None:
    case.check()


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.id)
def test_a_rule_says_what_must_be_so_and_what_to_do(rule: Rule) -> None:
    assert rule.title
    assert not rule.title.endswith(".")
    assert rule.advice.endswith(".")


def test_a_limit_that_nobody_could_read_says_so() -> None:
    """UN Regulation No. 142, 5.2.2, is known from memory only; the finding prints it."""
    cases = read_cases(PACKS / "eu")
    case = next(case for case in cases if case.rule == "eu.tyre.load_single" and case.expect == "fail")
    found = case.run()
    assert found.citation.grade == "read"
    assert found.grade == "memory"
