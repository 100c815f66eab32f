"""What to read next: the readings that settle most, in walk order, and what they say they settle is true."""

from __future__ import annotations

import pytest

from stemlore.model import Assembly, Axle, Event, Job, Tyre, Valve, Vehicle, change, field_spec
from stemlore.rules import Outcome, check

UNKNOWN = Outcome.UNKNOWN
RULE = "xa.tyre.tread_depth"
# one value for each field that the rules here read
VALUES = {
    "vehicle.category": "M1",
    "vehicle.gross_mass": "1500 kg",
    "vehicle.monitoring_works": True,
    "vehicle.first_registration": "2016-05-04",
    "vehicle.axles": [Axle(number=1, fitment="single")],
    "axle.fitment": "single",
    "axle.steered": True,
    "event.retorque_told": True,
    "tyre.tread_depth_main_grooves": "4 mm",
    "tyre.construction": "radial",
    "tyre.studded": False,
    "tyre.manufactured": "2022-03-04",
    "tyre.pressure": "250 kPa",
    "valve.rated_pressure": "450 kPa",
    "valve.table_code": "TR412",
}


def job_of(*fitments, assemblies=(), **vehicle):
    axles = [Axle(number=number, fitment=fitment) for number, fitment in enumerate(fitments, 1)]
    return Job(vehicle=Vehicle(axles=axles, **vehicle), assemblies=list(assemblies))


def given(job, reading, value=None):
    """Return the job with one reading taken."""
    prefix, _, name = reading.field.partition(".")
    value = VALUES[reading.field] if value is None else value
    if prefix in ("vehicle", "event"):
        return change(job, **{prefix: change(getattr(job, prefix), **{name: value})})
    if prefix == "axle":
        axles = [
            change(axle, **{name: value}) if f"axle {axle.number}" == reading.subject else axle
            for axle in job.vehicle.axles
        ]
        return change(job, vehicle=change(job.vehicle, axles=axles))
    here = [each for each in job.assemblies if str(each.position) == reading.subject]
    others = [each for each in job.assemblies if str(each.position) != reading.subject]
    assembly = here[0] if here else Assembly(position=reading.subject)
    changed = change(assembly, **{prefix: change(getattr(assembly, prefix), **{name: value})})
    return change(job, assemblies=[*others, changed])


def unknown(job, book):
    return {(f.rule, str(f.subject)) for f in check(job, book).unknown}


def mine(reading):
    return reading.field in VALUES and reading.field != "vehicle.axles"


def only(packs, rules=(), parameters=None, python=""):
    """Open a book of these rules alone."""
    told = {"id": "world.a.b", "field": "event.retorque_told", "gravity": "advise"}
    world = packs([told], id="world", place="world")
    return packs.book(packs(list(rules), parameters, python=python), world)


def test_a_reading_says_what_where_how_and_in_which_unit(packs):
    depth = packs.number("depth")
    rule = {"shape": "at_least", "field": "tyre.tread_depth_main_grooves", "limit": "tread.depth"}
    book = only(packs, [rule], {"tread": depth})
    reading = check(job_of("centre"), book).next_readings[-1]
    first = next(r for r in check(job_of("centre"), book).next_readings if r.field == rule["field"])
    assert (first.subject, first.unit.symbol) == ("axle 1 centre", "mm")
    assert first.meaning == "tread depth in the main grooves"
    assert first.how == field_spec(rule["field"]).how
    assert (first.settles, first.helps) == ((RULE,), 1)
    assert str(first) == "tread depth in the main grooves (axle 1 centre)"
    assert reading.field == "event.retorque_told"


def test_an_empty_job_is_asked_for_its_axles(packs):
    book = only(packs, [{"field": "tyre.studded", "shape": "forbidden"}])
    fields = [reading.field for reading in check(Job(), book).next_readings]
    assert fields == ["vehicle.axles", "event.retorque_told"]
    first = check(Job(), book).next_readings[0]
    assert first.settles == ()  # wheels come to light then, and their tyres are asked for


def test_an_axle_without_a_fitment_is_asked_for_it_and_nothing_is_promised(packs):
    book = only(packs, [{"shape": "same_across", "field": "tyre.construction", "subject": "axle"}])
    asked = [r for r in check(job_of(None), book).next_readings if r.field == "axle.fitment"]
    assert [(r.subject, r.settles) for r in asked] == [("axle 1", ())]


def test_nothing_is_asked_for_where_all_is_known(packs):
    book = only(packs, [{"field": "vehicle.monitoring_works"}])
    job = Job(vehicle=Vehicle(monitoring_works=False), event=Event(retorque_told=True))
    assert check(job, book).next_readings == ()


def test_nothing_is_asked_for_that_no_reading_can_settle(packs):
    rule = packs.rule(field="vehicle.monitoring_works")
    text = "[[rule]]\n" + "".join(f'{k} = "{v}"\n' for k, v in rule.items() if k != "cite")
    text += 'cite = { source = "road_act", at = "art. 1" }\nfrom = "unseen"\nseen_on = 2025-01-01\n'
    book = packs.book(packs(text))
    assert (RULE, "vehicle") in unknown(job_of(), book)
    assert not [r for r in check(job_of(), book).next_readings if RULE in r.settles]


def test_a_rule_that_may_not_apply_is_asked_first_whether_it_does(packs):
    book = only(packs, [{"field": "vehicle.monitoring_works", "when": {"vehicle.category": "M1"}}])
    fields = [r.field for r in check(job_of(), book).next_readings if mine(r)]
    assert fields[0] == "vehicle.category"


def test_readings_come_in_the_order_of_a_walk(packs):
    rules = [
        {"id": "xa.a.a", "field": "tyre.studded", "shape": "forbidden"},
        {"id": "xa.a.b", "field": "work.leak_tested"},
        {"id": "xa.a.c", "field": "vehicle.monitoring_works"},
        {"id": "xa.a.d", "field": "valve.extension", "shape": "forbidden"},
        {"id": "xa.a.e", "field": "vehicle.category", "shape": "one_of", "limit": ["M1"]},
    ]
    found = check(job_of("single", "single"), only(packs, rules)).next_readings
    walks = [field_spec(reading.field).walk for reading in found]
    assert walks == sorted(walks)
    wheels = [reading.subject for reading in found if reading.field == "tyre.studded"]
    assert wheels == ["axle 1 left", "axle 1 right", "axle 2 left", "axle 2 right"]


def test_each_reading_stands_once_and_helps_all_that_wait_for_it(packs):
    rules = [
        {"id": "xa.a.a", "field": "vehicle.monitoring_works"},
        {"id": "xa.a.b", "field": "vehicle.monitoring_works", "gravity": "advise"},
        {"id": "xa.a.c", "field": "event.retorque_told", "when": {"vehicle.monitoring_works": True}},
    ]
    found = check(job_of(), only(packs, rules)).next_readings
    assert len({(r.field, r.subject) for r in found}) == len(found)
    works = next(r for r in found if r.field == "vehicle.monitoring_works")
    assert works.helps == 3
    assert set(works.settles) >= {"xa.a.a", "xa.a.b"}


# --- of two ways to know the same one is asked for -----------------------------------------------------

EITHER = """
from stemlore.rules import Cite, Rule, field, first_known, lookup
RATED = first_known(
    {first},
    {second},
)
RULES = [Rule(id="xa.tyre.tread_depth", title="T", subject="position", check=field("tyre.pressure") <= RATED,
              tie="used_in", basis="law", gravity="hold", cite=Cite("road_act", "art. 1"))]
"""
BY_CODE = 'lookup("tubeless_valves", field("valve.table_code"), "max_cold_pressure_kpa")'
BY_RATING = 'field("valve.rated_pressure")'


@pytest.mark.parametrize(("first", "second"), [(BY_CODE, BY_RATING), (BY_RATING, BY_CODE)])
def test_of_a_code_and_a_rating_one_is_asked_for(packs, first, second):
    book = only(packs, python=EITHER.format(first=first, second=second))
    fields = {r.field for r in check(job_of("centre"), book).next_readings}
    assert "tyre.pressure" in fields
    assert len(fields & {"valve.table_code", "valve.rated_pressure"}) == 1


def test_a_code_that_the_table_lacks_leads_to_the_rating(packs):
    book = only(packs, python=EITHER.format(first=BY_CODE, second=BY_RATING))
    valve = Valve(table_code="XX999")
    job = job_of(
        "centre", assemblies=[Assembly(position="axle 1 centre", valve=valve, tyre=Tyre(pressure="2 bar"))]
    )
    wanted = {reading.field for reading in check(job, book).next_readings}
    assert wanted == {"event.retorque_told", "valve.rated_pressure"}


def test_a_maker_s_word_is_asked_for_only_where_nothing_else_can_answer(packs):
    book = only(packs, python=EITHER.format(first='field("maker.cold_pressure")', second=BY_RATING))
    fields = {r.field for r in check(job_of("centre"), book).next_readings}
    assert "valve.rated_pressure" in fields
    assert "maker.cold_pressure" not in fields
    alone = EITHER.format(first='field("maker.cold_pressure")', second='field("maker.seating_pressure_max")')
    book = packs.book(packs(python=alone, folder="alone"))
    fields = {r.field for r in check(job_of("centre"), book).next_readings}
    assert len(fields & {"maker.cold_pressure", "maker.seating_pressure_max"}) == 1


# --- what a reading says it settles is true ------------------------------------------------------------

DEPTH = {"shape": "at_least", "field": "tyre.tread_depth_main_grooves", "limit": "tread.depth"}
LIGHT = {"vehicle.category": ["M1", "N1"], "vehicle.gross_mass": {"at_most": "3.5 t"}}
SAME = {"shape": "same_across", "field": "tyre.construction"}
WORKS = {"field": "vehicle.monitoring_works"}
RULES = [
    {"id": "xa.a.flag"} | WORKS,
    {"id": "xa.a.depth", "when": LIGHT} | DEPTH,
    {"id": "xa.a.other", "when": {"vehicle.category": ["N2"]}} | DEPTH,
    {"id": "xa.a.age", "shape": "at_most", "field": "tyre.manufactured", "limit": "tread.age"},
    {"id": "xa.a.axle", "subject": "axle"} | SAME,
    {"id": "xa.a.vehicle", "subject": "vehicle"} | SAME,
    {"id": "xa.a.steered", "field": "tyre.studded", "shape": "forbidden", "when": {"axle.steered": True}},
    {"id": "xa.a.step", "shape": "required_from", "limit": "tpms.required"} | WORKS,
]
STEPS = """
[required]
kind = "flag"
doc = "Whether monitoring is required"
counts_from = "vehicle.first_registration"
[[required.value]]
is = false
cite = { source = "road_act", at = "art. 40" }
[[required.value]]
from = 2014-11-01
is = true
cite = { source = "road_act", at = "art. 41" }
"""
CHOOSE = """
from stemlore.rules import Cite, Rule, choose, field
LIMIT = choose(field("tyre.studded"), field("valve.rated_pressure"), "450 kPa")
RULES = [Rule(id="xa.a.choose", title="T", subject="position", check=field("tyre.pressure") <= LIMIT,
              tie="used_in", basis="law", gravity="hold", cite=Cite("road_act", "art. 1"))]
"""


@pytest.fixture
def book(packs):
    numbers = packs.number("depth") + packs.number("age", "6 year", unit="year")
    return only(packs, RULES, {"tread": numbers, "tpms": STEPS}, CHOOSE)


JOBS = {
    "empty": Job(),
    "one axle": job_of("single"),
    "fitment not told": job_of(
        None, assemblies=[Assembly(position="axle 1 left", tyre=Tyre(construction="radial"))]
    ),
    "two axles": job_of("single", "dual"),
    "a week": job_of(
        "centre", assemblies=[Assembly(position="axle 1 centre", tyre=Tyre(manufactured="2018-W22"))]
    ),
    "papers known": job_of("centre", category="M1", gross_mass="1 t", first_registration="2015-01-01"),
    "a doubtful year": job_of("centre", first_registration="2014"),
}


@pytest.mark.parametrize("name", JOBS)
def test_taking_the_readings_in_order_settles_what_each_says(book, name):
    job = JOBS[name]
    open_before = unknown(job, book)
    for reading in check(job, book).next_readings:
        job = given(job, reading)
        still = unknown(job, book)
        for rule in reading.settles:
            settled = {(r, subject) for r, subject in open_before - still if r == rule}
            assert settled, f"{reading} does not settle {rule}"
        open_before = still


@pytest.mark.parametrize("name", JOBS)
def test_asking_again_and_again_comes_to_an_end_with_nothing_unknown(book, name):
    job = JOBS[name]
    for _ in range(12):
        wanted = check(job, book).next_readings
        if not wanted:
            break
        for reading in wanted:
            job = given(job, reading)
    assert check(job, book).next_readings == ()
    assert unknown(job, book) == set()


def test_the_list_names_a_way_to_every_finding_that_is_open(book):
    for job in JOBS.values():
        report = check(job, book)
        waiting = {rule for reading in report.next_readings for rule in reading.settles}
        assert waiting <= {finding.rule for finding in report.unknown}
        assert sum(reading.helps for reading in report.next_readings) >= len(report.unknown)
