"""Fields that a pack declares as its own."""

from __future__ import annotations

from datetime import date

import pytest

from stemlore.errors import PackError, RecordError
from stemlore.model import Assembly, Axle, Job, Position, Vehicle, field_spec
from stemlore.rules import Outcome, PackFolder, check, rulebook
from stemlore.rules.pack import read_pack

HEAD = 'id = "xa"\ntitle = "Invented"\nversion = "1"\nplace = "XA"\napi = 1\n'
SOURCES = '[act]\ntitle = "Road Act"\nissuer = "XA"\ngrade = "read"\n'
FIELDS = """
[chain_clearance]
subject = "position"
kind = "number"
unit = "mm"
meaning = "room for a snow chain around the tyre"
how = "Measure the least distance from the tyre to the car with a gauge."
walk = 30
least = 0

[badge]
subject = "vehicle"
kind = "word"
words = ["none", "green", "red"]
meaning = "winter badge of the vehicle"
how = "Look at the windscreen."
walk = 10
"""
PARAMETERS = """
[clearance]
unit = "mm"
doc = "Least room for a chain"
[[clearance.value]]
from = 2000-01-01
is = "9 mm"
cite = { source = "act", at = "art. 3" }
"""
RULES = """
[[rule]]
id = "xa.tyre.chain_room"
title = "There is room for a chain"
shape = "at_least"
field = "own.xa.chain_clearance"
limit = "chain.clearance"
when = { "own.xa.badge" = ["green", "red"] }
tie = "used_in"
basis = "law"
gravity = "remedy"
cite = { source = "act", at = "art. 3" }
"""


@pytest.fixture
def folder(tmp_path):
    (tmp_path / "parameters").mkdir()
    for name, text in {
        "pack.toml": HEAD,
        "sources.toml": SOURCES,
        "fields.toml": FIELDS,
        "parameters/chain.toml": PARAMETERS,
        "rules.toml": RULES,
    }.items():
        (tmp_path / name).write_text(text, "utf-8")
    return tmp_path


def job(own: dict[str, object], **wheels: dict[str, object]) -> Job:
    positions = {"left": Position.parse("axle 1 left"), "right": Position.parse("axle 1 right")}
    return Job(
        vehicle=Vehicle(axles=(Axle(number=1, fitment="single"),)),
        assemblies=tuple(Assembly(position=at, own=wheels.get(side, {})) for side, at in positions.items()),
        own=own,
    )


def findings(folder, job):
    report = check(job, rulebook("XA", on=date(2026, 1, 1), also=[PackFolder(folder)]))
    assert not report.faults
    return report, [each for each in report.findings if each.rule == "xa.tyre.chain_room"]


def test_they_are_judged_with_unit_and_subject(folder) -> None:
    wheels = {"left": {"xa.chain_clearance": "0.9 cm"}, "right": {"xa.chain_clearance": "8.9 mm"}}
    _, (left, right) = findings(folder, job({"xa.badge": "green"}, **wheels))
    assert (left.outcome, left.measured, left.margin) == (Outcome.PASS, 9.0, 0.0)
    assert (right.outcome, right.measured, right.margin) == (Outcome.FAIL, 8.9, -0.1)
    assert "room for a snow chain around the tyre 8.9 mm, at least 9 mm" in right.sentence()


def test_missing_ones_are_unknown_and_asked_for(folder) -> None:
    report, (left, _) = findings(folder, job({"xa.badge": "red"}))
    assert left.outcome is Outcome.UNKNOWN
    assert left.missing == ("own.xa.chain_clearance",)
    asked = {(reading.field, reading.subject): reading for reading in report.next_readings}
    assert asked["own.xa.chain_clearance", "axle 1 left"].how.startswith("Measure")


def test_their_words_settle_a_condition(folder) -> None:
    _, (left, _) = findings(folder, job({"xa.badge": "none"}))
    assert left.outcome is Outcome.NOT_APPLICABLE


def test_columns_carry_pack_name_and_unit(folder) -> None:
    read_pack(folder)
    assert field_spec("own.xa.chain_clearance").column == "own_xa_chain_clearance_mm"


@pytest.mark.parametrize(
    ("own", "left", "path", "told"),
    [
        ({"xa.bage": "red"}, {}, "own.xa.bage", "unknown field"),
        ({"xa.badge": "blue"}, {}, "own.xa.badge", "not known here"),
        ({"xa.chain_clearance": "9 mm"}, {}, "own.xa.chain_clearance", "field of the position"),
        ({}, {"xa.chain_clearance": "9 kg"}, "axle 1 left.own.xa.chain_clearance", "mass"),
        ({}, {"xa.chain_clearance": 9}, "axle 1 left.own.xa.chain_clearance", "no unit"),
        ({}, {"xa.chain_clearance": "-1 mm"}, "axle 1 left.own.xa.chain_clearance", "impossible"),
    ],
)
def test_what_cannot_be_read_is_refused_with_its_path(folder, own, left, path, told) -> None:
    with pytest.raises(RecordError) as caught:
        findings(folder, job(own, left=left))
    (fault,) = caught.value.faults
    assert fault.path == path
    assert told in str(fault)


def test_those_of_a_pack_that_is_not_in_force_are_kept_and_left_alone(folder) -> None:
    made = job({"xb.anything": "whatever"})
    findings(folder, made)
    assert made.own == {"xb.anything": "whatever"}


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ('kind = "number"', 'kind = "length"', "is not a kind"),
        ('unit = "mm"\n', "", "must have a unit"),
        ('unit = "mm"', 'unit = "no such unit"', "unknown unit"),
        ('subject = "position"', 'subject = "axle"', "has no fields"),
        ('how = "Look at the windscreen."\n', "", "must be given"),
        ('words = ["none", "green", "red"]\n', "", "needs its list of words"),
        ("walk = 10", 'walk = "first"', "no place on the walk"),
        ("least = 0", 'least = "0"', "is not a number"),
        ("walk = 30", "wlak = 30", "unknown key"),
        ("[badge]", "[Badge-2]", "no name of a field"),
        ('kind = "word"', 'kind = "word"\nunit = "mm"', "has no unit"),
    ],
)
def test_a_badly_declared_field_is_a_fault_with_file_and_line(folder, old, new, told) -> None:
    text = (folder / "fields.toml").read_text("utf-8")
    assert old in text
    (folder / "fields.toml").write_text(text.replace(old, new, 1), "utf-8")
    with pytest.raises(PackError) as caught:
        read_pack(folder)
    assert told in str(caught.value)
    assert any(fault.where.startswith("fields.toml:") for fault in caught.value.faults)
