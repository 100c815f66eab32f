"""Clauses that a pack knows and no rule judges."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from stemlore.errors import Fault
from stemlore.provenance import Grade, Source
from stemlore.rules import PackFolder
from stemlore.rules.clauses import REASONS, read_clauses

EXAMPLE = Path(__file__).parents[2] / "examples" / "pack-xa" / "src" / "stemlore_pack_xa"
ACT = {"act": Source(id="act", title="Road Act", issuer="Xa", grade=Grade.READ)}
GOOD = {"says": "Let the air out", "why": "duty", "cite": {"source": "act", "at": "art. 1"}}


def read(*entries):
    faults: list[Fault] = []
    found = read_clauses(Path("clauses.toml"), {"clause": list(entries)}, ACT, faults)
    return found, [str(fault) for fault in faults]


def test_a_pack_brings_its_clauses_with_reason_and_grade():
    duty, driving = PackFolder(EXAMPLE).load().clauses
    assert (duty.why, str(duty.citation.grade)) == ("duty", "read")
    assert (driving.why, driving.starts, str(driving.citation.grade)) == (
        "driving",
        date(2010, 11, 1),
        "reproduction",
    )


def test_grades_are_counted_of_rules_values_and_clauses():
    counts = PackFolder(EXAMPLE).load().grades()
    assert counts["clauses"] == {Grade.READ: 1, Grade.REPRODUCTION: 1}
    pack = PackFolder(EXAMPLE).load()
    assert counts["rules"].total() == len(pack.rules)
    assert counts["values"].total() == sum(len(each.values) for each in pack.parameters.values())


@pytest.mark.parametrize("why", sorted(REASONS))
def test_every_reason_can_be_given(why):
    more = {"rule": "xa.tyre.tread_depth"} if why == "elsewhere" else {}
    found, faults = read(GOOD | {"why": why} | more)
    assert not faults
    assert found[0].why == why


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"says": " "}, "what the clause asks for must be given"),
        ({"why": "dutty"}, "did you mean duty"),
        ({"why": None}, "is no reason"),
        ({"rule": "xa.tyre.tread_depth"}, "stands with why"),
        ({"why": "elsewhere"}, "stands with why"),
        ({"from": "2010"}, "is not a day"),
        ({"until": 2010}, "is not a day"),
        ({"cite": None}, "must be cited"),
        ({"cite": {"source": "akt", "at": "art. 1"}}, "did you mean act"),
        ({"because": "x"}, "unknown key"),
    ],
)
def test_what_is_wrong_with_a_clause_is_told(change, says):
    found, faults = read(GOOD | change)
    assert any(says in each for each in faults), faults
    assert not found or "because" in change


def test_what_is_no_list_of_clauses_is_told():
    faults: list[Fault] = []
    assert read_clauses(Path("clauses.toml"), {"clause": {"says": "x"}}, ACT, faults) == ()
    assert "is not a list" in str(faults[0])
    found, told = read("no table", GOOD)
    assert len(found) == 1
    assert "is not a table" in told[0]
