"""Every shape and every test of ``when``: below, at and above the limit, and not known."""

from __future__ import annotations

import pytest

from stemlore.errors import RuleError
from stemlore.model import Assembly, Axle, Event, Job, Tyre, Vehicle, Wheel, Work
from stemlore.rules import Outcome, check
from stemlore.rules.shapes import SHAPES, condition_from, shape_named

PASS, FAIL, UNKNOWN, APART = Outcome.PASS, Outcome.FAIL, Outcome.UNKNOWN, Outcome.NOT_APPLICABLE
RULE = "xa.tyre.tread_depth"


def job_with(*, vehicle=None, **records):
    """Return a job with one wheel, in the centre of axle 1."""
    vehicle = Vehicle(axles=[Axle(number=1, fitment="centre")], **(vehicle or {}))
    return Job(vehicle=vehicle, assemblies=[Assembly(position="axle 1 centre", **records)])


def outcome(book, job):
    return next(f.outcome for f in check(job, book).findings if f.rule == RULE)


def depth(text):
    return job_with() if text is None else job_with(tyre=Tyre(tread_depth_main_grooves=text))


LIMITS = [
    (
        "at_least",
        {"1.5 mm": FAIL, "1.599999 mm": FAIL, "1.6 mm": PASS, "0.16 cm": PASS, "3 mm": PASS, None: UNKNOWN},
    ),
    ("at_most", {"1.5 mm": PASS, "1.6 mm": PASS, "1.600001 mm": FAIL, "3 mm": FAIL, None: UNKNOWN}),
    ("above", {"1.5 mm": FAIL, "1.6 mm": FAIL, "1.600001 mm": PASS, None: UNKNOWN}),
    ("below", {"1.599999 mm": PASS, "1.6 mm": FAIL, "3 mm": FAIL, None: UNKNOWN}),
    ("equals", {"1.599999 mm": FAIL, "1.6 mm": PASS, "1.600001 mm": FAIL, None: UNKNOWN}),
]


@pytest.mark.parametrize(("shape", "cases"), LIMITS, ids=[shape for shape, _ in LIMITS])
def test_shapes_with_one_limit(one_rule, packs, shape, cases):
    book = one_rule(
        {"tread": packs.number("depth")},
        shape=shape,
        field="tyre.tread_depth_main_grooves",
        limit="tread.depth",
    )
    assert {text: outcome(book, depth(text)) for text in cases} == cases


def test_between(one_rule, packs):
    text = packs.number("low", "1.6 mm") + packs.number("high", "8 mm")
    book = one_rule(
        {"tread": text},
        shape="between",
        field="tyre.tread_depth_main_grooves",
        limit=["tread.low", "tread.high"],
    )
    cases = {
        "1.599999 mm": FAIL,
        "1.6 mm": PASS,
        "5 mm": PASS,
        "8 mm": PASS,
        "8.000001 mm": FAIL,
        None: UNKNOWN,
    }
    assert {text: outcome(book, depth(text)) for text in cases} == cases


@pytest.mark.parametrize(
    ("shape", "cases"),
    [
        (
            "at_most",
            {"2018-06-04": PASS, "2018-06-03": FAIL, "2018-W23": PASS, "2018-06": UNKNOWN, None: UNKNOWN},
        ),
        ("below", {"2018-06-05": PASS, "2018-06-04": FAIL, "2018-W23": UNKNOWN}),
        ("at_least", {"2018-06-04": PASS, "2018-06-05": FAIL, "2018-W23": UNKNOWN}),
        ("above", {"2018-06-03": PASS, "2018-06-04": FAIL}),
    ],
)
def test_a_date_is_measured_in_years(one_rule, packs, shape, cases):
    age = packs.number("age", "6 year", unit="year")
    book = one_rule({"tyre": age}, shape=shape, field="tyre.manufactured", limit="tyre.age", on="2024-06-04")

    def made(text):
        return job_with() if text is None else job_with(tyre=Tyre(manufactured=text))

    assert {text: outcome(book, made(text)) for text in cases} == cases


def construction(text):
    return job_with() if text is None else job_with(tyre=Tyre(construction=text))


@pytest.mark.parametrize(
    ("shape", "limit", "cases"),
    [
        (
            "one_of",
            ["radial", "bias_belted"],
            {"radial": PASS, "bias_belted": PASS, "diagonal": FAIL, None: UNKNOWN},
        ),
        ("required", ["radial"], {"radial": PASS, "diagonal": FAIL, None: UNKNOWN}),
        ("forbidden", ["diagonal", "bias_belted"], {"radial": PASS, "bias_belted": FAIL, None: UNKNOWN}),
        ("forbidden", "diagonal", {"radial": PASS, "diagonal": FAIL, None: UNKNOWN}),
    ],
)
def test_shapes_of_words(one_rule, shape, limit, cases):
    book = one_rule(shape=shape, field="tyre.construction", limit=limit)
    assert {text: outcome(book, construction(text)) for text in cases} == cases


def test_numbers_can_be_listed_with_their_unit(one_rule):
    book = one_rule(shape="one_of", field="wheel.valve_hole", limit=["11.3 mm", "15.7 mm"])
    for hole, expected in {"11.3 mm": PASS, "1.57 cm": PASS, "11.4 mm": FAIL}.items():
        assert outcome(book, job_with(wheel=Wheel(valve_hole=hole))) is expected


@pytest.mark.parametrize(
    ("shape", "cases"),
    [
        ("required", {True: PASS, False: FAIL, None: UNKNOWN}),
        ("forbidden", {True: FAIL, False: PASS, None: UNKNOWN}),
    ],
)
def test_shapes_of_flags(one_rule, shape, cases):
    book = one_rule(shape=shape, field="tyre.studded")
    assert {flag: outcome(book, job_with(tyre=Tyre(studded=flag))) for flag in cases} == cases


FLAG = """
[required]
kind = "flag"
doc = "Whether it is required"
[[required.value]]
from = 2000-01-01
is = false
cite = { source = "road_act", at = "art. 1" }
[[required.value]]
from = 2015-01-01
is = true
cite = { source = "road_act", at = "art. 2" }
"""


@pytest.mark.parametrize(
    ("on", "cases"),
    [
        ("2014-12-31", {True: PASS, False: PASS, None: PASS}),
        ("2015-01-01", {True: PASS, False: FAIL, None: UNKNOWN}),
    ],
)
def test_required_from(one_rule, on, cases):
    book = one_rule(
        {"it": FLAG}, shape="required_from", field="vehicle.monitoring_works", limit="it.required", on=on
    )
    assert {f: outcome(book, job_with(vehicle={"monitoring_works": f})) for f in cases} == cases


def test_required_from_of_a_word_is_met_by_anything_but_none(one_rule):
    rule = {"shape": "required_from", "field": "vehicle.monitoring", "limit": "it.required"}
    book = one_rule({"it": FLAG}, on="2015-01-01", **rule)
    cases = {"direct": PASS, "indirect": PASS, "none": FAIL, None: UNKNOWN}
    assert {word: outcome(book, job_with(vehicle={"monitoring": word})) for word in cases} == cases


def test_same_across(one_rule):
    book = one_rule(shape="same_across", field="tyre.construction", subject="axle")

    def axle(left, right):
        wheels = [("left", left), ("right", right)]
        return Job(
            vehicle=Vehicle(axles=[Axle(number=1, fitment="single")]),
            assemblies=[
                Assembly(position=f"axle 1 {side}", tyre=Tyre(construction=made))
                for side, made in wheels
                if made
            ],
        )

    assert outcome(book, axle("radial", "radial")) is PASS
    assert outcome(book, axle("radial", "diagonal")) is FAIL
    assert outcome(book, axle("radial", None)) is UNKNOWN
    assert outcome(book, axle(None, None)) is UNKNOWN


def test_every_shape_is_tested_here():
    tested = {shape for shape, _ in LIMITS} | {"between", "one_of", "required", "forbidden", "required_from"}
    assert tested | {"same_across", "required_in_season"} == set(SHAPES)


@pytest.mark.parametrize("name", ["at_leest", "", 5, ["at_least"]])
def test_an_unknown_shape_is_refused_with_those_there_are(name):
    with pytest.raises(RuleError, match="at_least"):
        shape_named(name)


# --- when -----------------------------------------------------------------------------------------------


def applies(one_rule, when, job, on="2024-06-04"):
    """Return whether a rule that always passes applies."""
    found = outcome(one_rule(shape="required", field="event.retorque_told", when=when, on=on), job)
    return {PASS: True, APART: False, UNKNOWN: None}[found]


def told(**vehicle):
    return Job(vehicle=Vehicle(**vehicle), event=Event(retorque_told=True))


MASS = "vehicle.gross_mass"


@pytest.mark.parametrize(
    ("when", "vehicle", "expected"),
    [
        ({"vehicle.category": ["M1", "N1"]}, {"category": "N1"}, True),
        ({"vehicle.category": ["M1", "N1"]}, {"category": "N2"}, False),
        ({"vehicle.category": ["M1", "N1"]}, {}, None),
        ({"vehicle.category": "M1"}, {"category": "M1"}, True),
        ({"vehicle.category": "M1"}, {"category": "N1"}, False),
        ({"vehicle.category": {"is": "M1"}}, {"category": "M1"}, True),
        ({"vehicle.category": {"is_not": "M1"}}, {"category": "M1"}, False),
        ({"vehicle.category": {"is_not": "M1"}}, {}, None),
        ({"vehicle.category": {"one_of": ["M1", "N1"]}}, {"category": "M1"}, True),
        ({"vehicle.category": {"none_of": ["M1", "N1"]}}, {"category": "M1"}, False),
        ({"vehicle.category": {"none_of": ["M1", "N1"]}}, {"category": "N3"}, True),
        ({"vehicle.twin_wheels": True}, {"twin_wheels": True}, True),
        ({"vehicle.twin_wheels": True}, {"twin_wheels": False}, False),
        ({"vehicle.twin_wheels": False}, {"twin_wheels": False}, True),
        ({"vehicle.twin_wheels": False}, {}, None),
        ({MASS: {"at_most": "3.5 t"}}, {"gross_mass": "3500 kg"}, True),
        ({MASS: {"at_most": "3.5 t"}}, {"gross_mass": "3500.000001 kg"}, False),
        ({MASS: {"below": "3.5 t"}}, {"gross_mass": "3500 kg"}, False),
        ({MASS: {"above": "3.5 t"}}, {"gross_mass": "3500 kg"}, False),
        ({MASS: {"above": "3.5 t"}}, {"gross_mass": "3500.000001 kg"}, True),
        ({MASS: {"at_least": "3.5 t"}}, {"gross_mass": "3500 kg"}, True),
        ({MASS: {"at_least": "3.5 t"}}, {}, None),
        ({MASS: "3.5 t"}, {"gross_mass": "3500 kg"}, True),
        ({MASS: {"above": "2 t", "at_most": "3.5 t"}}, {"gross_mass": "2 t"}, False),
        ({MASS: {"above": "2 t", "at_most": "3.5 t"}}, {"gross_mass": "3 t"}, True),
        ({"vehicle.first_registration": {"at_most": "10 year"}}, {"first_registration": "2014-06-04"}, True),
        ({"vehicle.first_registration": {"at_most": "10 year"}}, {"first_registration": "2014-06-03"}, False),
        ({"vehicle.category": "M1", MASS: {"at_most": "3.5 t"}}, {"category": "N1"}, False),
        ({"vehicle.category": "M1", MASS: {"at_most": "3.5 t"}}, {"category": "M1"}, None),
        ({}, {}, True),
    ],
)
def test_every_test_of_when(one_rule, when, vehicle, expected):
    assert applies(one_rule, when, told(**vehicle)) is expected


@pytest.mark.parametrize(
    ("test", "on_the_day", "the_day_before", "from_a_week"),
    [
        ("at_least = 2018-06-04", True, False, True),
        ("above = 2018-06-04", False, False, None),
        ("at_most = 2018-06-04", True, True, None),
        ("below = 2018-06-04", False, True, False),
        ("is = 2018-06-04", True, False, None),
        ("is_not = 2018-06-04", False, True, None),
    ],
)
def test_days_are_tested_as_days(packs, test, on_the_day, the_day_before, from_a_week):
    rule = packs.rule(field="event.retorque_told")
    text = "[[rule]]\n" + "".join(f'{key} = "{value}"\n' for key, value in rule.items() if key != "cite")
    text += 'cite = { source = "road_act", at = "art. 1" }\n'
    text += f'when = {{ "vehicle.first_registration" = {{ {test} }} }}\n'
    book = packs.book(packs(text))
    cases = {"2018-06-04": on_the_day, "2018-06-03": the_day_before, "2018-W23": from_a_week}
    found = {day: outcome(book, told(first_registration=day)) for day in cases}
    assert found == {day: {True: PASS, False: APART, None: UNKNOWN}[held] for day, held in cases.items()}


def test_no_condition_is_always():
    assert condition_from(None) is None
    assert condition_from({}) is None


def test_when_is_settled_first(one_rule):
    book = one_rule(shape="required", field="work.leak_tested", when={"work.tyre_demounted": True})

    def done(**work):
        return outcome(book, job_with(work=Work(**work)))

    assert done(tyre_demounted=False) is APART
    assert done(tyre_demounted=False, leak_tested=False) is APART
    assert done(leak_tested=True) is UNKNOWN
    assert done(leak_tested=False) is UNKNOWN
    assert done(tyre_demounted=True) is UNKNOWN
    assert done(tyre_demounted=True, leak_tested=False) is FAIL
    assert done(tyre_demounted=True, leak_tested=True) is PASS
