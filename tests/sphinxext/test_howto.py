"""The pack of the how-to page is a pack: its files load and its cases hold."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from stemlore.rules import PackFolder
from stemlore.rules.shapes import _TESTS, SHAPES
from stemlore.testing import read_cases

PAGE = Path(__file__).parents[2] / "docs" / "howto" / "add_a_rule.md"


@pytest.fixture
def folder(tmp_path):
    text = PAGE.read_text("utf-8")
    for name, body in re.findall(r"```\{code-block\} toml\n:caption: (\S+)\n\n(.*?)```", text, re.S):
        path = tmp_path / name
        path.parent.mkdir(exist_ok=True)
        path.write_text(body, "utf-8")
    (code,) = re.findall(r"```\{testcode\}\n(.*?)```", text, re.S)
    (tmp_path / "rules.py").write_text(code, "utf-8")
    return tmp_path


def test_it_loads(folder):
    pack = PackFolder(folder).load()
    assert set(pack.rules) == {
        "xa.tyre.tread_depth",
        "xa.tyre.winter_mark",
        "xa.vehicle.monitoring",
        "xa.valve.pressure",
        "xa.axle.tread_difference",
    }
    assert pack.parameters["xa.valve.snap_in_pressure"].values[0].figures == ("65 psi", "450 kPa")


def test_its_cases_hold(folder):
    cases = read_cases(folder)
    assert len(cases) == 4
    for case in cases:
        case.check(also=[PackFolder(folder)])


def test_every_shape_and_test_is_told():
    told = set(re.findall(r"`(\w+)`", PAGE.read_text("utf-8")))
    assert set(SHAPES) | set(_TESTS) <= told


def test_every_key_of_the_grammar_is_told():
    from stemlore.rules import _read_parameters, _read_rules, _reading
    from stemlore.testing import cases

    text = PAGE.read_text("utf-8")
    told = set(re.findall(r"\w+", text))
    keys = _read_rules._RULE_KEYS | _read_parameters._PARAMETER_KEYS | _read_parameters._VALUE_KEYS
    assert keys | _reading._SOURCE_KEYS | _reading._HEAD_KEYS | cases._KEYS <= told
