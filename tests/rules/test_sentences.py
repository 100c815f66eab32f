"""Findings as sentences: whole, in the units asked for, with every figure that the source prints."""

from __future__ import annotations

import re
import string
import tomllib
from importlib.resources import files

import pytest

from stemlore.errors import LanguageError, UnitError
from stemlore.model import Assembly, Axle, Event, Job, MakerInstruction, Tyre, Vehicle, Work
from stemlore.rules import Outcome, check
from stemlore.rules.sentences import languages, message_id

RULE = "xa.tyre.tread_depth"


def wheel(*, makers=(), event=None, vehicle=None, **records):
    vehicle = Vehicle(axles=[Axle(number=1, fitment="centre")], **(vehicle or {}))
    assemblies = [Assembly(position="axle 1 centre", **records)]
    return Job(vehicle=vehicle, assemblies=assemblies, makers=list(makers), event=event or Event())


def finding(book, job, rule=RULE):
    return next(f for f in check(job, book).findings if f.rule == rule)


def pressure(packs, one_rule, value=("65 psi", "450 kPa"), unit="kPa", shape="at_most"):
    text = packs.number("max", list(value), unit=unit, bound="most" if shape == "at_most" else "least")
    rule = {
        "title": "The valve is not overloaded",
        "shape": shape,
        "field": "tyre.pressure",
        "limit": "valve.max",
    }
    return one_rule({"valve": text}, **rule)


# --- languages ------------------------------------------------------------------------------------------


def messages(language):
    text = files("stemlore.rules").joinpath("messages", f"{language}.toml").read_text("utf-8")
    return tomllib.loads(text)


SHOWN = {
    f"{outcome}_{side}" for outcome in ("pass", "fail") for side in ("least", "most", "between", "equal")
}
IDS = SHOWN | {"pass", "fail", "unknown", "unknown_as_given", "unknown_by_date", "not_applicable"}
IDS |= {"unknown_within_uncertainty"}
IDS -= {"fail_between"}  # told by the side that it is beyond


@pytest.mark.parametrize("language", languages())
def test_every_language_has_every_sentence_with_the_same_values(language):
    own, english = messages(language), messages("en")
    assert set(own) == set(english) == IDS
    for key, text in own.items():
        named = {name for _, name, _, _ in string.Formatter().parse(text) if name}
        assert named == {name for _, name, _, _ in string.Formatter().parse(english[key]) if name}


def test_english_is_among_the_languages():
    assert "en" in languages()


@pytest.mark.parametrize("language", ["xx", "EN", "", "../en", "en.toml"])
def test_a_language_without_sentences_is_a_named_error(packs, one_rule, language):
    found = finding(pressure(packs, one_rule), wheel(tyre=Tyre(pressure="4 bar")))
    with pytest.raises(LanguageError, match="there are: .*en"):
        found.sentence(language=language)


# --- figures ----------------------------------------------------------------------------------------------


def test_every_figure_that_the_source_prints_is_printed(packs, one_rule):
    found = finding(pressure(packs, one_rule), wheel(tyre=Tyre(pressure="460 kPa")))
    assert str(found) == (
        "Axle 1 centre: inflation pressure (gauge) 460 kPa, at most 65 psi / 450 kPa allowed. "
        "Required: The valve is not overloaded."
    )


def test_also_where_the_parameter_is_kept_in_another_unit_than_the_field(packs, one_rule):
    found = finding(pressure(packs, one_rule, unit="psi"), wheel(tyre=Tyre(pressure="460 kPa")))
    assert "65 psi / 450 kPa" in str(found)


def test_also_where_a_maker_could_have_said_otherwise_and_only_then(packs):
    python = """
from stemlore.rules import Cite, Rule, field, first_known, parameter
MOST = first_known(field("maker.cold_pressure"), parameter("xa.valve.max"))
RULES = [Rule(id="xa.tyre.tread_depth", title="T", subject="position", tie="used_in", basis="practice",
              gravity="hold", cite=Cite("road_act", "art. 1"), check=field("tyre.pressure") <= MOST)]
"""
    text = packs.number("max", ["65 psi", "450 kPa"], unit="kPa", bound="most")
    book = packs.book(packs(python=python, parameters={"valve": text}))
    job = wheel(tyre=Tyre(pressure="460 kPa"))
    assert "65 psi / 450 kPa" in str(finding(book, job))
    maker = MakerInstruction(source="M", cold_pressure="450 kPa")
    told = str(finding(book, wheel(tyre=Tyre(pressure="460 kPa"), makers=[maker])))
    assert "65 psi" not in told
    assert "at most 450 kPa" in told


@pytest.mark.parametrize(
    ("units", "measured", "limit"),
    [
        # NIST SP 811, B.8: 1 psi = 6.894757 kPa
        (("psi",), "66.717 psi", "65.267 psi"),
        (("in", "psi"), "66.717 psi", "65.267 psi"),
        (("bar", "psi"), "4.6 bar", "4.5 bar"),
        ("bar", "4.6 bar", "4.5 bar"),
        (("in",), "460 kPa", "450 kPa"),
    ],
)
def test_values_in_the_units_asked_for(packs, one_rule, units, measured, limit):
    found = finding(pressure(packs, one_rule), wheel(tyre=Tyre(pressure="460 kPa")))
    assert f"{measured}, at most {limit} allowed" in found.sentence(units=units)


def test_an_unknown_unit_is_a_named_error(packs, one_rule):
    found = finding(pressure(packs, one_rule), wheel(tyre=Tyre(pressure="460 kPa")))
    with pytest.raises(UnitError):
        found.sentence(units=("parsnips",))


# --- one sentence for each outcome ------------------------------------------------------------------------


def test_sentences_of_each_outcome(packs, one_rule):
    depth = packs.number("depth")
    rule = {
        "title": "Tread is deep enough",
        "shape": "at_least",
        "field": "tyre.tread_depth_main_grooves",
        "limit": "tread.depth",
        "when": {"vehicle.category": "M1"},
    }
    book = one_rule({"tread": depth}, **rule)

    def said(reading, category):
        tyre = Tyre() if reading is None else Tyre(tread_depth_main_grooves=reading)
        return str(finding(book, wheel(tyre=tyre, vehicle={"category": category})))

    what = "Axle 1 centre: tread depth in the main grooves"
    assert said("2 mm", "M1") == f"{what} 2 mm, at least 1.6 mm needed. Tread is deep enough."
    assert said("1.5 mm", "M1") == f"{what} 1.5 mm, at least 1.6 mm needed. Required: Tread is deep enough."
    assert said("2 mm", "N1") == "Axle 1 centre: does not apply. Tread is deep enough."
    assert said("2 mm", None) == (
        "Axle 1 centre: cannot be judged without category of the vehicle. Required: Tread is deep enough."
    )
    assert said(None, "M1") == (
        "Axle 1 centre: cannot be judged without tread depth in the main grooves. Required: Tread is deep enough."  # noqa: E501
    )


def test_a_flag_is_told_by_the_rule_s_title(one_rule):
    book = one_rule(title="No studs are fitted", shape="forbidden", field="tyre.studded")
    assert str(finding(book, wheel(tyre=Tyre(studded=False)))) == "Axle 1 centre: No studs are fitted."
    assert (
        str(finding(book, wheel(tyre=Tyre(studded=True))))
        == "Axle 1 centre: not met. Required: No studs are fitted."
    )


def test_an_age_is_told_in_years(packs, one_rule):
    age = packs.number("age", "6 year", unit="year")
    rule = {
        "title": "T",
        "shape": "at_most",
        "field": "tyre.manufactured",
        "limit": "tyre.age",
        "on": "2024-06-04",
    }
    book = one_rule({"tyre": age}, **rule)
    found = finding(book, wheel(tyre=Tyre(manufactured="2017-06-04")))
    assert (
        str(found)
        == "Axle 1 centre: years since date of manufacture of the tyre 7 years, at most 6 years allowed. Required: T."  # noqa: E501
    )


def test_a_title_is_never_read_as_a_template(one_rule):
    book = one_rule(title="Braces {subject} and {0} stay", shape="forbidden", field="tyre.studded")
    assert "Braces {subject} and {0} stay" in str(finding(book, wheel(tyre=Tyre(studded=True))))


# --- every sentence is whole --------------------------------------------------------------------------------

EVERY = """
from stemlore.rules import *
DEPTH, PRESSURE = field("tyre.tread_depth_main_grooves"), field("tyre.pressure")
WORD = field("tyre.construction")
MADE, FLAG = field("tyre.manufactured"), field("tyre.studded")
TORQUE = field("work.valve_nut_torque")
LOAD = lookup("load_index", field("tyre.load_index"), "load_kg")
def rule(name, check, subject="position", **more):
    return Rule(id=f"xa.every.{name}", title="T", subject=subject, tie="used_in", basis="law", gravity="hold",
                cite=Cite("road_act", "art. 1"), check=check, **more)
RULES = [
    rule("least", DEPTH >= "1.6 mm"),
    rule("most", PRESSURE <= parameter("xa.valve.max")),
    rule("between", DEPTH.within("1.6 mm", "8 mm")),
    rule("equal", WORD.equals("radial")),
    rule("differs", WORD.differs("radial")),
    rule("number", DEPTH.equals("2 mm")),
    rule("flags", FLAG.equals(field("tyre.retread"))),
    rule("words", WORD.one_of("radial", "diagonal")),
    rule("age", years_since(MADE) <= "6 year"),
    rule("day", MADE >= "2018-06-06"),
    rule("sum", DEPTH + "1 mm" >= field("tyre.tread_depth_whole_tread")),
    rule("quotient", DEPTH / field("tyre.tread_depth_at_wear_bar") >= 1),
    rule("load", LOAD >= field("axle.permitted_mass") / 2),
    rule("maker", TORQUE <= first_known(field("maker.valve_nut_torque_max"), "4 N.m")),
    rule("choose", DEPTH >= choose(FLAG, "3 mm", "1.6 mm")),
    rule("and", (DEPTH >= "1.6 mm") & ~FLAG),
    rule("shown", (DEPTH >= "1.6 mm") & ~FLAG, shows=Shown(DEPTH, constant("1.6 mm"), "least")),
    rule("every", every(DEPTH >= "1.6 mm"), "axle"),
    rule("same", same(WORD), "vehicle"),
    rule("spread", spread(DEPTH) <= "2 mm", "axle"),
    rule("when", DEPTH >= "1.6 mm", when=field("vehicle.category").equals("M1")),
]
"""

TYRES = [
    Tyre(),
    Tyre(
        tread_depth_main_grooves="2 mm",
        tread_depth_whole_tread="2 mm",
        tread_depth_at_wear_bar="1 mm",
        pressure="4 bar",
        construction="radial",
        studded=False,
        retread=False,
        manufactured="2019-01-01",
        load_index=91,
    ),
    Tyre(
        tread_depth_main_grooves="1 mm",
        tread_depth_whole_tread="9 mm",
        tread_depth_at_wear_bar="5 mm",
        pressure="5 bar",
        construction="bias_belted",
        studded=True,
        retread=False,
        manufactured="2010-W02",
        load_index=60,
    ),
    Tyre(
        tread_depth_main_grooves="2 mm",
        tread_depth_at_wear_bar="0 mm",
        manufactured="2018-W23",
        load_index=9000,
    ),
]


@pytest.mark.parametrize("tyre", range(len(TYRES)))
@pytest.mark.parametrize("category", ["M1", "N1", None])
@pytest.mark.parametrize("units", [(), ("psi", "in", "lbf.in", "degF"), ("bar", "cm", "month")])
def test_no_sentence_holds_a_hole(packs, tyre, category, units):
    text = packs.number("max", ["65 psi", "450 kPa"], unit="kPa", bound="most")
    book = packs.book(packs(python=EVERY, parameters={"valve": text}), on="2024-06-08")
    axles = [
        Axle(number=1, fitment="centre", permitted_mass="1 t"),
        Axle(number=2, fitment="single"),
        Axle(number=3),
    ]
    job = Job(
        vehicle=Vehicle(axles=axles, category=category),
        assemblies=[
            Assembly(position="axle 1 centre", tyre=TYRES[tyre], work=Work(valve_nut_torque="5 N.m"))
        ],
    )
    seen = set()
    for found in check(job, book).findings:
        said = found.sentence(units=units)
        seen.add((found.rule, found.outcome))
        assert said[0].isupper()
        assert said.endswith(".")
        assert "None" not in said
        assert not re.search(r"[{}<>]|\bnan\b|  |,,|: ,|without \.|\. \.|not known", said), said
        assert not re.search(r"\b(?:Compare|Constant|Field|Span|Aggregate|Settled|Arithmetic)\b", said), said
        assert message_id(found) in IDS
    assert len(seen) >= 20


def test_the_table_and_the_division_that_give_nothing_say_so(packs):
    text = packs.number("max", "450 kPa", unit="kPa")
    book = packs.book(packs(python=EVERY, parameters={"valve": text}), on="2024-06-08")
    job = Job(
        vehicle=Vehicle(axles=[Axle(number=1, fitment="centre", permitted_mass="1 t")]),
        assemblies=[Assembly(position="axle 1 centre", tyre=TYRES[3])],
    )
    for rule in ("xa.every.load", "xa.every.quotient"):
        found = finding(book, job, rule)
        assert found.outcome is Outcome.UNKNOWN
        assert found.missing == ()
        assert str(found) == "Axle 1 centre: cannot be judged from what is given. Required: T."
