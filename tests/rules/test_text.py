"""Generated text: it says what the walker says, holds no data, and shows itself in a traceback."""

from __future__ import annotations

import ast
import linecache
import traceback
from datetime import date

import pytest

from stemlore.model import Assembly, Axle, Job, Tyre, Vehicle, from_stored
from stemlore.rules import choose, every, field, lookup, same, spread
from stemlore.rules import nodes as n
from stemlore.rules._facts import view_of
from stemlore.rules._layout import layout_of
from stemlore.rules._lower import lowered
from stemlore.rules._text import Writer, compile_verdicts
from stemlore.rules._walker import evaluate
from stemlore.units import DIMENSIONLESS

DAY = date(2024, 2, 29)
DEPTH, PRESSURE = field("tyre.tread_depth_main_grooves"), field("tyre.pressure")
CONSTRUCTION, STUDDED = field("tyre.construction"), field("tyre.studded")


def source_of(function):
    return "".join(linecache.getlines(function.__code__.co_filename))


def job_of(**tyre):
    return Job(
        vehicle=Vehicle(category="M1", axles=[Axle(number=1, fitment="centre")]),
        assemblies=[Assembly(position="axle 1 centre", tyre=from_stored(Tyre, tyre))],
    )


def codes(rules, job, kind="position"):
    layout = layout_of(job)
    subjects = {"position": layout.positions, "axle": layout.axles, "vehicle": layout.vehicle}[kind]
    return [list(each) for each in compile_verdicts(kind, rules)(job, DAY, subjects)]


def values(trees, job):
    """Return what generated text gives for each tree, of the first wheel."""
    writer = Writer("position")
    names = ", ".join(writer.atom(each) for each in trees)
    return writer.finish("values", "", "pass", f"({names},)")(job, DAY, layout_of(job).positions)[0]


@pytest.mark.parametrize(
    ("studded", "depth", "code"),
    [
        (True, 1.6, 0),
        (True, 1.5, 1),
        (True, None, 2),
        (False, 1.5, 3),
        (None, 1.5, 2),
        (None, None, 2),
    ],
)
def test_the_condition_is_settled_first(studded, depth, code):
    job = job_of(studded=studded, tread_depth_main_grooves=depth)
    assert codes([(STUDDED, DEPTH >= "1.6 mm")], job) == [[code]]


def test_rules_of_one_condition_are_judged_each_for_itself():
    job = job_of(studded=True, tread_depth_main_grooves=1.6)
    rules = [
        (STUDDED, DEPTH >= "1.6 mm"),
        (None, DEPTH > "1.6 mm"),
        (STUDDED, PRESSURE >= "2 bar"),
        (field("vehicle.category").equals("N1"), DEPTH >= "1.6 mm"),
        (field("vehicle.monitoring_works"), DEPTH >= "1.6 mm"),
        (None, n.UNKNOWN),
        (None, n.Constant(True, "flag")),
    ]
    assert codes(rules, job) == [[0, 1, 2, 3, 2, 2, 0]]


WORDS = ('"', "'", "\n", "\\", "'''", "{x}", "%s", "#", "\u2028", "import os", 'radial" or True or "')


@pytest.mark.parametrize("word", WORDS)
def test_no_constant_stands_in_the_text(word):
    value = n.Constant(word, "word")
    rules = [
        (None, n.Equals(CONSTRUCTION, value)),
        (None, n.OneOf(CONSTRUCTION, (word,))),
        (n.Equals(choose(STUDDED, value, "radial"), value), DEPTH >= "1.234567 mm"),
        (None, n.Equals(n.Step("tyre.manufactured", (DAY,), (word,), "word"), value)),
    ]
    function = compile_verdicts("position", rules)
    text = source_of(function)
    assert function(job_of(construction="radial"), DAY, layout_of(job_of()).positions)
    constants = {node.value for node in ast.walk(ast.parse(text)) if isinstance(node, ast.Constant)}
    assert all(each is None or isinstance(each, (bool, int)) for each in constants)
    assert "1.234567" not in text
    assert "import" not in text


def test_constants_keep_their_value():
    job = job_of(construction="radial")
    for word in WORDS:
        assert codes([(None, n.Equals(n.Constant(word, "word"), n.Constant(word, "word")))], job) == [[0]]
        assert codes([(None, n.OneOf(CONSTRUCTION, (word,)))], job) == [[1]]


def test_a_traceback_shows_the_text_and_its_line():
    class Broken:
        @property
        def pressure(self):
            raise RuntimeError("gauge fell off")

    job = job_of(pressure=200.0)
    layout = layout_of(job)
    member = layout.positions[0]
    object.__setattr__(member.assembly, "tyre", Broken())
    function = compile_verdicts("position", [(None, PRESSURE >= "2 bar")])
    with pytest.raises(RuntimeError) as caught:
        function(job, DAY, layout.positions)
    shown = "".join(traceback.format_exception(caught.value))
    assert "<stemlore judge_position" in shown
    assert "tyre.pressure" in shown


def test_what_rules_share_is_computed_once():
    sum_of = PRESSURE + PRESSURE
    text = source_of(compile_verdicts("position", [(None, sum_of >= "2 bar"), (None, sum_of <= "9 bar")]))
    assert text.count(".pressure") == 1
    assert text.count(" + ") == 1


def test_what_the_vehicle_alone_says_is_computed_before_the_loop():
    text = source_of(compile_verdicts("position", [(field("vehicle.category").equals("M1"), STUDDED)]))
    assert text.index("vehicle.category") < text.index("for ") < text.index("tyre.studded")


def test_arithmetic_of_no_unit_is_masked_too():
    # the unit is None where it is not known; the overflow is missing all the same
    product = n.Arithmetic("*", PRESSURE, PRESSURE, None)
    tree = n.Compare(">=", product, n.Constant(0.0, "number", DIMENSIONLESS))
    assert codes([(None, tree)], job_of(pressure=1e300)) == [[2]]


def test_whole_numbers_are_added_as_doubles():
    index = field("tyre.load_index")
    tree = n.Arithmetic("+", index, index, DIMENSIONLESS)
    job = job_of(load_index=2**53 - 1)
    (made,) = values([tree], job)
    assert isinstance(made, float)


def test_facts_are_those_of_the_walker():
    job = job_of(pressure=200.0, load_index=91, tread_depth_main_grooves=3.0)
    trees = [
        PRESSURE * 2,
        PRESSURE / DEPTH,
        lookup("load_index", field("tyre.load_index"), "load_kg"),
        n.Age(n.DateBound("tyre.manufactured", "earliest")),
        n.MonthDay(),
        n.InDays((date(2024, 1, 1), date(2024, 4, 1)), "the day lies in a run"),
        n.Today(),
        n.Constant(None, "number"),
        n.UNKNOWN,
    ]
    view = view_of(job, DAY, layout_of(job).positions[0])
    assert values(trees, job) == tuple(evaluate(each, view) for each in trees)


def test_aggregates_of_a_vehicle_read_each_wheels_own_axle():
    job = Job(
        vehicle=Vehicle(axles=[Axle(number=at, fitment="centre", steered=at == 1) for at in (1, 2)]),
        assemblies=[
            Assembly(position=f"axle {at} centre", tyre=Tyre(pressure=f"{at} bar", construction="radial"))
            for at in (1, 2)
        ],
    )
    rules = [
        (None, every(field("axle.steered") | (PRESSURE >= "2 bar"))),
        (None, every(field("axle.steered"))),
        (None, same(CONSTRUCTION)),
        (None, lowered(spread(PRESSURE) <= "99 kPa")),
    ]
    assert codes(rules, job, "vehicle") == [[0, 1, 0, 1]]


def test_a_flag_that_equals_a_number_is_not_taken_for_it():
    # 1.0, 1 and True are equal in Python and share a hash
    one, true = n.Constant(1.0, "number", DIMENSIONLESS), n.Constant(True, "flag")
    rules = [
        (None, n.Equals(STUDDED, true)),
        (None, n.Compare(">=", PRESSURE, one)),
        (None, choose(STUDDED, one, 2.0).equals(1.0)),
    ]
    assert codes(rules, job_of(studded=True, pressure=1.0)) == [[0, 0, 0]]
