"""Cases are read and run, and the runner says what differs."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import attrs
import pytest

from stemlore.errors import PackError
from stemlore.model import FieldSpec, declare_own
from stemlore.rules import PackFolder
from stemlore.testing import Alike, Case, read_alike, read_cases

# Directive 89/459/EEC: 1.6 mm in the main grooves
TREAD = Case(
    rule="eu.tyre.tread_depth",
    on=date(2024, 5, 1),
    place="EU",
    given={"vehicle.category": "M1", "tyre.tread_depth_main_grooves": "1.6 mm"},
    expect="pass",
    margin=0.0,
)


def test_a_case_runs_and_gives_its_finding() -> None:
    found = TREAD.run()
    assert (found.rule, found.outcome.word, found.measured, found.limit) == (TREAD.rule, "pass", 1.6, 1.6)


@pytest.mark.parametrize(
    "changes, told",
    [
        ({"expect": "fail"}, "axle 2 right: pass"),
        ({"margin": 0.1}, r"margin 0\.0, not 0\.1"),
        ({"figures": ("2/32 in",)}, "no limit prints 2/32 in"),
        ({"instruction": "maker's manual"}, "decided by None"),
        (
            {"expect": "unknown", "given": {}, "missing": ("vehicle.category",)},
            "missing vehicle.category, tyre",
        ),
        ({"given": {"vehicle.category": "M1"}}, "unknown for want of tyre.tread_depth_main_grooves"),
        ({"expect": "not in force"}, "the rule is in force"),
        ({"expect": "refused"}, "the rulebook answers"),
        ({"place": "world"}, "the rule is not in force"),
        ({"subject": "axle 3 left"}, "no finding on axle 3 left"),
        ({"on": date(1991, 12, 31)}, "known here from 1992-01-01"),
    ],
)
def test_a_case_says_how_a_finding_differs(changes: dict[str, object], told: str) -> None:
    with pytest.raises(AssertionError, match=told):
        attrs.evolve(TREAD, **changes).check()  # type: ignore[arg-type]


def test_a_reading_for_one_wheel_wins() -> None:
    job = attrs.evolve(
        TREAD,
        given={
            "axle 2 right inner: tyre.load_index": 91,
            "tyre.load_index": 88,
            "axle 2: axle.fitment": "dual",
            "maker.cold_pressure": "2.5 bar",
            "event.kind": "inspection",
        },
    ).job
    assert {str(each.position): each.tyre.load_index for each in job.assemblies} == {
        "axle 1 left": 88,
        "axle 1 right": 88,
        "axle 2 left outer": 88,
        "axle 2 left inner": 88,
        "axle 2 right inner": 91,
        "axle 2 right outer": 88,
    }
    assert job.maker_at("axle 1 left").cold_pressure == 250.0
    assert job.event.kind == "inspection"


def test_a_broken_file_of_cases_says_everything_that_is_wrong(tmp_path: Path) -> None:
    (tmp_path / "pack.toml").write_text('id = "xa"\nplace = "XA"\n', "utf-8")
    (tmp_path / "cases.toml").write_text(
        '[other]\n[base."xa.a.b"]\non = 2024-01-01\n'
        '[[case]]\nrule = "xa.a.b"\nexpect = "passes"\nspeed = 1\n'
        '[[case]]\nrule = "xa.a.c"\nexpect = "pass"\nwithout = ["tyre.pressure"]\n',
        "utf-8",
    )
    with pytest.raises(PackError) as raised:
        read_cases(tmp_path)
    told = str(raised.value)
    for part in (
        "other",
        "'passes' is not one",
        "speed",
        "rule and day must be given",
        "'tyre.pressure' is not given",
    ):
        assert part in told
    with pytest.raises(PackError, match="No such file"):
        read_cases(tmp_path / "nowhere")


def test_each_makes_one_case_of_every_value(author: Any) -> None:
    author.alter(
        "cases.toml", '["M1", "N1"]', '["M1", "N1"], "tyre.tread_depth_main_grooves" = ["2 mm", "3 mm"]'
    )
    path = author.folder / "cases.toml"
    path.write_text(path.read_text("utf-8").replace("margin = 0.0\n", ""), "utf-8")
    first = read_cases(author.folder)[:4]
    assert [
        (case.given["vehicle.category"], case.given["tyre.tread_depth_main_grooves"]) for case in first
    ] == [
        ("M1", "2 mm"),
        ("M1", "3 mm"),
        ("N1", "2 mm"),
        ("N1", "3 mm"),
    ]
    author.alter("cases.toml", '["2 mm", "3 mm"]', '"2 mm"')
    with pytest.raises(PackError, match="each: is not a table of lists"):
        read_cases(author.folder)


def test_own_fields_of_a_pack_stand_among_the_readings(author: Any) -> None:
    case = next(case for case in read_cases(author.folder) if case.rule == "xa.valve.dust")
    assert {each.own["xa.dust"] for each in case.job.assemblies} == {"2 mm"}
    case.check(also=[PackFolder(author.folder)])


def test_a_field_of_a_pack_about_the_vehicle_stands_with_the_job() -> None:
    declare_own(FieldSpec(path="own.xv.seals", level="vehicle", kind="flag", meaning="whether it is sealed"))
    case = attrs.evolve(TREAD, given={**TREAD.given, "own.xv.seals": True})
    assert dict(case.job.own) == {"xv.seals": True}


def test_exceptions_say_rule_change_and_why(author: Any) -> None:
    path = author.folder / "cases.toml"
    text = path.read_text("utf-8")
    path.write_text(text + '[[alike]]\nrule = "a"\nchange = "b"\nwhy = "c"\n', "utf-8")
    assert read_alike(author.folder) == [Alike(rule="a", change="b", why="c")]
    path.write_text(text + '[[alike]]\nrule = "a"\nchange = ""\nwhere = "c"\n', "utf-8")
    with pytest.raises(PackError) as raised:
        read_alike(author.folder)
    assert [fault.path for fault in raised.value.faults] == [
        "alike[0].change",
        "alike[0].why",
        "alike[0].where",
    ]
