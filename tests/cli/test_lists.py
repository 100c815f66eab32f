"""The commands that list rules, tables, packs and schemas."""

from __future__ import annotations

import csv
import io
import json

import jsonschema
import pytest

import stemlore
from stemlore.cli import main
from stemlore.tables import table, table_names

pytestmark = pytest.mark.usefixtures("invented")

XA = ("--place", "XA", "--on", "2026-11-25")


def printed(capsys: pytest.CaptureFixture[str], *words: str) -> str:
    code = main(words)
    caught = capsys.readouterr()
    assert code == 0, caught.err
    return caught.out


def flat(text: str) -> str:
    return " ".join(text.split())


def test_rules_in_force_are_listed_with_values_and_grades(capsys: pytest.CaptureFixture[str]) -> None:
    out = flat(printed(capsys, "rules", *XA))
    assert "3 rules in force on 2026-11-25" in out
    assert "xa.tyre.tread_depth" in out
    assert "hold (the vehicle does not leave); law; used in; each position" in out
    assert "Least tread depth [xa.tread.min_depth]: 1.6 mm, from 2000-01-01 to 2029-12-31" in out
    assert "XA, Road Act 12/2000, art. 12 [text read]" in out
    assert "65 psi / 450 kPa" in out


def test_the_day_decides_the_value(capsys: pytest.CaptureFixture[str]) -> None:
    out = flat(printed(capsys, "rules", "--place", "XA", "--on", "2030-01-01"))
    assert "2 mm, from 2030-01-01" in out
    assert "1.6 mm" not in out


def test_only_the_rules_of_the_ties_given_are_listed(capsys: pytest.CaptureFixture[str]) -> None:
    out = printed(capsys, "rules", "--used-in", "XA", "--on", "2026-11-25")
    assert "xa.tyre.tread_depth" in out
    assert "xa.tyre.pressure" not in out


def test_one_rule_is_shown_with_all_its_values(capsys: pytest.CaptureFixture[str]) -> None:
    out = flat(printed(capsys, "rules", "xa.tyre.tread_depth", *XA))
    assert "Asks: tread depth in the main grooves is at least [xa.tread.min_depth]" in out
    assert "2 mm, from 2030-01-01; XA, Road Act 12/2000, art. 12a" in out
    assert "Caution: Let the air out" in out
    assert main(["rules", "xa.tyre.tread_dept", *XA]) == 2
    assert "did you mean xa.tyre.tread_depth" in capsys.readouterr().err
    assert main(["rules"]) == 2


@pytest.mark.parametrize("words", [("job",), ("report",), ("report", "--compact")])
def test_a_schema_is_json(words: tuple[str, ...], capsys: pytest.CaptureFixture[str]) -> None:
    jsonschema.Draft202012Validator.check_schema(json.loads(printed(capsys, "schema", *words)))


def test_tables_are_listed_and_printed(capsys: pytest.CaptureFixture[str]) -> None:
    out = printed(capsys, "table")
    assert all(name in out for name in table_names())
    # load index 91 stands for 615 kg: UN Regulation No. 30, annex on load-capacity indices
    out = flat(printed(capsys, "table", "load_index", "91"))
    assert "load_kg [kg]: 615" in out
    assert "Source:" in out


@pytest.mark.parametrize("name", table_names())
@pytest.mark.parametrize("width", ["60", "200"])
def test_a_table_is_printed_whole(
    name: str, width: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", width)
    out = flat(printed(capsys, "table", name))
    for row in table(name):
        assert flat(str(row.citation)) in out
        assert str(row[table(name).key[0]]) in out


def test_csv_has_every_row_and_where_it_comes_from(capsys: pytest.CaptureFixture[str]) -> None:
    rows = list(csv.DictReader(io.StringIO(printed(capsys, "table", "torques", "--csv"))))
    assert len(rows) == len(table("torques"))
    assert all(row["source"] and row["grade"] for row in rows)


def test_keys_are_found_whatever_their_case_or_told_what_is_near(capsys: pytest.CaptureFixture[str]) -> None:
    assert "TR413" in printed(capsys, "table", "tubeless_valves", "tr413")
    assert main(["table", "load_index", "999"]) == 2
    assert "nearest" in capsys.readouterr().err
    assert main(["table", "load_indx"]) == 2
    assert "did you mean load_index" in capsys.readouterr().err
    assert main(["table", "load_index", "91", "92"]) == 2
    assert main(["table", "--csv"]) == 2


def test_packs_that_work_and_packs_that_do_not(capsys: pytest.CaptureFixture[str]) -> None:
    out = flat(printed(capsys, "packs"))
    assert "1 pack found, 1 failed" in out
    assert "Invented country, version 1.0: 3 rules, 2 parameters, 2 sources, 0 clauses not judged" in out
    assert "xb: FAILED from tests-xb 0: ImportError: broken" in out


def test_grades_are_counted_by_place(capsys: pytest.CaptureFixture[str]) -> None:
    lines = [line.split() for line in printed(capsys, "packs", "--grades").splitlines()]
    assert lines[0] == ["place", "of", "all", "read", "reproduction", "secondary", "practice", "memory"]
    rules = next(line for line in lines if line[:2] == ["XA", "rules"])
    assert rules[2] == "3"
    assert sum(int(each) for each in rules[3:] if each != "-") == 3
    assert next(line for line in lines if line[:2] == ["all", "rules"])[2:] == rules[2:]


def test_version_and_help(capsys: pytest.CaptureFixture[str]) -> None:
    assert stemlore.__version__ in printed(capsys, "--version")
    out = flat(printed(capsys, "check", "--help"))
    assert "0 clean" in out
    assert "--place" in out
    assert main(["chek"]) == 2
