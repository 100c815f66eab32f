"""The kit passes a whole pack, and names each thing that is broken in one."""

from __future__ import annotations

import sys
from types import MappingProxyType
from typing import Any
from unittest import SkipTest

import attrs
import pytest

from stemlore.errors import PackLoadError
from stemlore.rules import Cite, PackFolder, Rule, constant, field, rulebook
from stemlore.testing import conformance_cases, write_released
from stemlore.testing._changes import other_rules, other_values

TREAD = "xa.tyre.tread_depth"
VALUE = "xa.tread.min_depth"


def test_a_whole_pack_of_toml_alone_passes(author: Any) -> None:
    cases = author.cases()
    for case in cases.values():
        case.check()
    assert len(cases) > 60
    assert f"{TREAD}: its cases hold" in cases


def test_names_are_unique_and_tell_about_what(author: Any) -> None:
    found = conformance_cases(author.folder)
    assert len({str(case) for case in found}) == len(found)
    rules = set(PackFolder(author.folder).load().rules)
    assert rules <= {case.about for case in found}


def test_an_empty_pack_fails(author: Any) -> None:
    (author.folder / "rules.toml").unlink()
    (author.folder / "released.toml").unlink()
    (author.folder / "cases.toml").write_text("", "utf-8")
    assert "nothing would ever be checked" in author.told("xa: it is not empty")
    assert "nothing is proven" in author.told("xa: it is not empty")


def test_a_broken_pack_is_one_case_that_tells_everything(author: Any) -> None:
    author.alter("rules.toml", 'shape = "equals"', 'shape = "equal"')
    author.alter("sources.toml", 'issuer = "XA"\n', "")
    (case,) = conformance_cases(author.folder)
    assert str(case) == "xa: it can be read"
    with pytest.raises(AssertionError, match=r"(?s)act\.issuer.*unknown shape 'equal'"):
        case.check()


def test_broken_cases_are_one_case_too(author: Any) -> None:
    author.alter("cases.toml", 'expect = "refused"', 'expect = "refuses"')
    (case,) = conformance_cases(author.folder)
    with pytest.raises(AssertionError, match="'refuses' is not one"):
        case.check()


@pytest.mark.parametrize(
    "file, old, new, case, wanted",
    [
        ("sources.toml", 'number = "Act 12/2001"\n', "", "xa/act: the source is complete", "which state"),
        (
            "sources.toml",
            'grade = "read"',
            'grade = "read"\nurl = "https://web.archive.org/x"',
            "xa/act: the source is complete",
            "keeps copies",
        ),
        (
            "sources.toml",
            'grade = "read"',
            'grade = "read"\nurl = "law"',
            "xa/act: the source is complete",
            "no web",
        ),
        (
            "sources.toml",
            "[act]",
            '[old]\ntitle = "Old"\nissuer = "XA"\nnumber = "1"\ngrade = "read"\n[act]',
            "xa/old: the source is complete",
            "nothing rests on it",
        ),
        (
            "rules.toml",
            'limit = "tread.min_depth"',
            'limit = "tread.most_dust"',
            f"{VALUE}: values are cited and dated",
            "no rule of the pack uses",
        ),
        (
            "parameters/tread.toml",
            'unit = "mm"\ndoc = "Least tread depth"',
            'unit = "kg"\ndoc = "Least tread depth"',
            "xa: it can be read",
            "is",
        ),
        ("cases.toml", '"2.1 mm"', '"2.5 mm"', "xa.valve.dust: cases show its limit", "nearer"),
        (
            "cases.toml",
            '"own.xa.dust" = "2 mm"',
            '"own.xa.dust" = "1 mm"',
            "xa.valve.dust: cases show its limit",
            "exactly",
        ),
        (
            "cases.toml",
            "on = 2014-06-30",
            "on = 2014-06-29",
            f"{TREAD}: cases show each day of change",
            "on = 2014-06-30",
        ),
        (
            "cases.toml",
            '"vehicle.category" = "N3" }\nexpect = "not applicable"',
            '"vehicle.category" = "M1" }\nexpect = "pass"',
            f"{TREAD}: cases show every outcome",
            "'not applicable'",
        ),
        (
            "cases.toml",
            '"1.5 mm" }\nexpect = "fail"',
            '"1.5 mm" }\nexpect = "pass"',
            f"{TREAD}: its cases hold",
            "fail",
        ),
        (
            "cases.toml",
            '["M1", "N1"]',
            '["M1"]',
            f"{TREAD}: a change of it makes a case fail",
            "not one of them: N1",
        ),
        (
            "cases.toml",
            "on = 2024-04-16",
            "on = 2024-04-20",
            "xa.dates.winter: a changed value makes a case fail",
            "season's end +1 day",
        ),
        (
            "cases.toml",
            '"2014-10-31"',
            '"2014-10-30"',
            "xa.dates.duty: a moved day makes a case fail",
            "2014-11-01 moved to 2014-10-31",
        ),
        (
            "cases.toml",
            "on = 2019-12-31",
            "on = 2019-12-30",
            "xa.tread.least_index: a moved day makes a case fail",
            "2020-01-01",
        ),
        (
            "cases.toml",
            '"tyre.load_index" = 79 }\nexpect = "fail"',
            '"tyre.load_index" = 70 }\nexpect = "fail"',
            "xa.tread.least_index: a changed value makes a case fail",
            "80 -1",
        ),
        (
            "rules.toml",
            'title = "Valves are clean"',
            'title = "Valves: {dust}"',
            "xa.valve.dust: it reads as sentences",
            "'{'",
        ),
        (
            "cases.toml",
            '[base."xa.valve.dust"]',
            '[[case]]\nrule = "xa.valve.gone"\non = 2024-01-15\nexpect = "pass"\n[base."xa.valve.dust"]',
            "xa: cases and exceptions are of rules that are there",
            "no rule 'xa.valve.gone'",
        ),
    ],
)
def test_a_pack_broken_in_one_place_is_caught(
    author: Any, file: str, old: str, new: str, case: str, wanted: str
) -> None:
    author.alter(file, old, new)
    assert wanted in author.told(case)


def test_a_parameter_of_another_dimension_does_not_fit(author: Any) -> None:
    author.alter(
        "parameters/tread.toml",
        'unit = "mm"\ndoc = "Least tread depth"\n[[min_depth.value]]\nfrom = 2001-01-01\nis = "1.0 mm"',
        'unit = "kg"\ndoc = "Least tread depth"\n[[min_depth.value]]\nfrom = 2001-01-01\nis = "1 kg"',
    )
    author.alter("parameters/tread.toml", 'is = "1.6 mm"', 'is = "1.6 kg"')
    told = author.told(f"{TREAD}: values fit where they are used")
    assert "mass" in told
    assert "length" in told


def test_a_rule_never_in_force_is_told(author: Any) -> None:
    author.alter(
        "rules.toml", 'id = "xa.valve.dust"', 'id = "xa.valve.dust"\nfrom = 1990-01-01\nuntil = 1991-01-01'
    )
    assert "in force on no day" in author.told("xa.valve.dust: values fit where they are used")


# --- changes that no job can show ------------------------------------------------------------


def alike(author: Any, rule: str, change: str, why: str = "so it is") -> None:
    path = author.folder / "cases.toml"
    path.write_text(
        path.read_text("utf-8") + f'\n[[alike]]\nrule = "{rule}"\nchange = "{change}"\nwhy = "{why}"\n'
    )


def test_a_change_that_no_job_can_show_is_let_pass(author: Any) -> None:
    author.alter("cases.toml", '["M1", "N1"]', '["M1"]')
    alike(author, TREAD, "when: not one of them: N1")
    cases = author.cases()
    cases[f"{TREAD}: a change of it makes a case fail"].check()
    cases["xa: cases and exceptions are of rules that are there"].check()


def test_an_exception_that_is_not_needed_is_told(author: Any) -> None:
    alike(author, TREAD, "when: not one of them: N1")
    assert "take its [[alike]] out" in author.told(f"{TREAD}: a change of it makes a case fail")


def test_an_exception_of_nothing_is_told(author: Any) -> None:
    alike(author, TREAD, "check: everything")
    alike(author, "xa.no.rule", "check: everything")
    told = author.told("xa: cases and exceptions are of rules that are there")
    assert "there is no change 'check: everything'" in told
    assert "'xa.no.rule', which is no rule" in told


# --- packs in memory -------------------------------------------------------------------------


def test_a_pack_in_memory_stands_in_for_the_one_installed(author: Any) -> None:
    pack = PackFolder(author.folder).load()
    history = pack.parameters[VALUE]
    changed = attrs.evolve(
        pack,
        parameters=MappingProxyType({**pack.parameters, VALUE: attrs.evolve(history, doc="another text")}),
    )
    book = rulebook("XA", on="2024-01-15", also=[changed])
    assert book.packs["xa"] is changed
    assert book.rules[TREAD].parameters[0].doc == "another text"


def test_a_pack_in_memory_needs_a_folder_for_its_cases(author: Any) -> None:
    pack = PackFolder(author.folder).load()
    with pytest.raises(PackLoadError, match="folder is not known"):
        conformance_cases(pack)
    assert len(conformance_cases(pack, folder=author.folder)) == len(author.cases())


def test_gaps_and_missing_citations_of_a_pack_in_memory_are_told(author: Any) -> None:
    pack = PackFolder(author.folder).load()
    history = pack.parameters[VALUE]
    first, second = history.values
    broken = attrs.evolve(
        history,
        values=(
            attrs.evolve(first, ends=None),
            attrs.evolve(second, citation=attrs.evolve(second.citation, source=None)),
        ),
    )
    changed = attrs.evolve(pack, parameters=MappingProxyType({**pack.parameters, VALUE: broken}))
    cases = {str(case): case for case in conformance_cases(changed, folder=author.folder)}
    with pytest.raises(AssertionError, match=r"(?s)grade read needs a source.*two values hold on 2014-07-01"):
        cases[f"{VALUE}: values are cited and dated"].check()
    gap = attrs.evolve(history, values=(attrs.evolve(first, ends=first.starts), second))
    changed = attrs.evolve(pack, parameters=MappingProxyType({**pack.parameters, VALUE: gap}))
    cases = {str(case): case for case in conformance_cases(changed, folder=author.folder)}
    with pytest.raises(AssertionError, match="no value between 2001-01-01 and 2014-07-01"):
        cases[f"{VALUE}: values are cited and dated"].check()


# --- rules in Python -------------------------------------------------------------------------


def test_a_rule_with_a_body_of_its_own_is_let_out_of_the_columns(author: Any) -> None:
    (author.folder / "rules.py").write_text(
        "from stemlore.rules import Cite, Rule, constant\n"
        "def judged(view):\n    return True\n"
        'RULES = [Rule(id="xa.vehicle.body", title="Judged by hand", subject="vehicle",\n'
        '    check=constant(True), body=judged, tie="used_in", basis="law", gravity="hold",\n'
        '    cite=Cite("act", "art. 1"))]\n',
        "utf-8",
    )
    write_released(author.folder)
    cases = author.cases()
    cases["xa: rows and columns agree on random readings"].check()
    cases["xa.vehicle.body: a change of it makes a case fail"].check()
    assert "no case expects 'pass'" in author.told("xa.vehicle.body: cases show every outcome")


def test_rows_that_differ_from_columns_are_told(author: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    import stemlore.audit as audit

    def wrong(frame: Any, book: Any) -> Any:
        import polars as pl

        return right(frame, book).with_columns((pl.col(TREAD) * 0).alias(TREAD))

    right = audit.outcomes
    monkeypatch.setattr(audit, "outcomes", wrong)
    told = author.told("xa: rows and columns agree on random readings")
    assert f"{TREAD} on " in told
    assert "pass in columns" in told
    assert len(told) < 3000  # the simplest job, not the first


def test_without_polars_the_comparison_is_skipped_and_says_so(
    author: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "stemlore.audit", None)
    with pytest.raises(SkipTest, match="rows were not held against columns"):
        author.cases()["xa: rows and columns agree on random readings"].check()


# --- changes ---------------------------------------------------------------------------------


def test_trees_change_in_every_place() -> None:
    depth, load = field("tyre.tread_depth_main_grooves"), field("tyre.load_index")
    rule = Rule(
        id="xa.tyre.x",
        title="x",
        subject="position",
        check=(depth.within("1 mm", "2 mm") & ~field("tyre.studded")) | (load >= 80),
        when=field("tyre.construction").equals("radial") | field("vehicle.category").one_of("M1", "N1"),
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("act", "1"),
    )
    told = [what for what, _ in other_rules(rule, None)]
    for what in (
        "check: without lower bound",
        "check: no 'not'",
        "check: Or as And",
        "check: And without part 0",
        "check: >= as >",
        "check: >= as <=",
        "check: 80 +1",
        "when: radial as diagonal",
        "when: not one of them: M1",
        "without its condition",
    ):
        assert what in told, what
    assert len(set(told)) == len(told)


def test_a_flag_alone_can_be_changed() -> None:
    rule = Rule(
        id="xa.tyre.x",
        title="x",
        subject="position",
        check=constant(True),
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("act", "1"),
    )
    assert [what for what, _ in other_rules(rule, None)] == ["check: True as False"]


def test_every_kind_of_value_is_changed(author: Any) -> None:
    pack = PackFolder(author.folder).load()
    rules = list(pack.rules.values())
    told = {
        name: [what for what, _, _ in other_values(each, rules)] for name, each in pack.parameters.items()
    }
    assert told["xa.tread.min_depth"] == ["1 +0.1", "1 -0.1", "1.6 +0.1", "1.6 -0.1"]
    assert told["xa.tread.construction"] == ["radial as diagonal"]
    assert told["xa.tread.least_index"] == ["80 +1", "80 -1"]  # between whole numbers nothing can be read
    assert told["xa.dates.duty"] == ["False as True", "True as False"]
    assert "season's start -1 day" in told["xa.dates.winter"]
