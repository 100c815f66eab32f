"""What a finding tells: figures, the bound that decides, whose word decided, and how sure it is."""

from __future__ import annotations

import random
from datetime import date

import pytest

from stemlore.model import (
    Assembly,
    Axle,
    Event,
    Job,
    MakerInstruction,
    Sensor,
    Tyre,
    Valve,
    Vehicle,
    Wheel,
    Work,
)
from stemlore.rules import Gravity, Outcome, Tie, check
from stemlore.tables import table

PASS, FAIL, UNKNOWN, APART = Outcome.PASS, Outcome.FAIL, Outcome.UNKNOWN, Outcome.NOT_APPLICABLE
RULE = "xa.tyre.tread_depth"


def wheel(*, makers=(), vehicle=None, event=None, **records):
    """Return a job with one wheel, in the centre of axle 1."""
    vehicle = Vehicle(axles=[Axle(number=1, fitment="centre")], **(vehicle or {}))
    return Job(
        vehicle=vehicle,
        assemblies=[Assembly(position="axle 1 centre", **records)],
        makers=list(makers),
        event=event or Event(),
    )


def finding(book, job, rule=RULE):
    return next(f for f in check(job, book).findings if f.rule == rule)


def tread(one_rule, packs, shape="at_least", **more):
    depth = packs.number("depth", "1.6 mm", cite={"source": "hearsay", "at": "p. 3"})
    return one_rule(
        {"tread": depth}, shape=shape, field="tyre.tread_depth_main_grooves", limit="tread.depth", **more
    )


def depth(text):
    return wheel(tyre=Tyre(tread_depth_main_grooves=text))


# --- what it carries ------------------------------------------------------------------------------------


def test_a_finding_carries_what_its_rule_says(one_rule, packs):
    book = tread(
        one_rule, packs, advice="Renew the tyre.", caution="Release all air first.", gravity="remedy"
    )
    found = finding(book, depth("2 mm"))
    assert (found.rule, found.title, found.pack, found.version) == (
        RULE,
        "Tread is not below the least depth",
        "xa",
        "1",
    )
    assert (found.basis, found.gravity, found.tie, found.place) == ("law", Gravity.REMEDY, Tie.USED_IN, "XA")
    assert (found.advice, found.caution) == ("Renew the tyre.", "Release all air first.")
    assert str(found.subject) == "axle 1 centre"
    assert found.unit.symbol == "mm"
    assert repr(found) == f"<Finding {RULE} on axle 1 centre: pass>"


def test_the_dated_parameters_that_were_used(one_rule, packs):
    (used,) = finding(tread(one_rule, packs), depth("2 mm")).parameters
    assert (used.name, used.value, used.figures, used.starts) == (
        "xa.tread.depth",
        1.6,
        ("1.6 mm",),
        date(2000, 1, 1),
    )
    assert used.citation.at == "p. 3"


def test_the_grade_is_the_weakest_of_rule_and_values(one_rule, packs):
    found = finding(tread(one_rule, packs), depth("2 mm"))
    assert found.citation.grade == "read"
    assert found.grade == "secondary"
    found = finding(tread(one_rule, packs, cite={"at": "trade", "grade": "memory"}), depth("2 mm"))
    assert found.grade == "memory"


TABLES = """
from stemlore.rules import Cite, Rule, every, field, first_known, lookup
RATED = lookup("tubeless_valves", field("valve.table_code"), "max_cold_pressure_kpa")
INDEX = field("tyre.load_index")
def rule(name, check, subject="position"):
    return Rule(id=f"xa.table.{name}", title="T", subject=subject, check=check, tie="used_in", basis="law",
                gravity="hold", cite=Cite("road_act", "art. 1"))
RULES = [
    rule("exact", field("tyre.pressure") <= RATED),
    rule("either", field("tyre.pressure") <= first_known(field("valve.rated_pressure"), RATED)),
    rule("stepped", lookup("load_index", INDEX + 0.5, "load_kg", how="stepped") >= "1 kg"),
    rule("between", lookup("load_index", INDEX + 0.5, "load_kg", how="interpolated") >= "1 kg"),
    rule("every", every(field("tyre.pressure") <= RATED), "axle"),
]
"""


def test_the_grade_of_a_table_row_travels_into_the_finding(packs):
    book = packs.book(packs(python=TABLES))
    tyre = Tyre(pressure="4 bar", load_index=91)
    job = wheel(tyre=tyre, valve=Valve(table_code="TR412"))
    found = {f.rule.rpartition(".")[2]: f for f in check(job, book).findings if f.pack == "xa"}
    row = table("tubeless_valves").citation_map("max_cold_pressure_kpa")["TR412"]
    loads = table("load_index").citation_map("load_kg")
    assert found["exact"].tables == found["either"].tables == found["every"].tables == (row,)
    assert found["exact"].grade == row.grade == "reproduction"
    assert found["stepped"].tables == (loads[91],)
    assert set(found["between"].tables) == {loads[91], loads[92]}
    told = wheel(tyre=tyre, valve=Valve(table_code="TR412", rated_pressure="450 kPa"))
    assert finding(book, told, "xa.table.either").tables == ()
    assert finding(book, told, "xa.table.either").grade == "read"
    assert finding(book, wheel(tyre=tyre), "xa.table.exact").tables == ()
    unlisted = wheel(tyre=tyre, valve=Valve(table_code="XX1"))
    assert finding(book, unlisted, "xa.table.exact").tables == ()


# --- figures ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("shape", "reading", "outcome", "margin"),
    [
        ("at_least", "1.7 mm", PASS, 0.1),
        ("at_least", "1.6 mm", PASS, 0.0),
        ("at_least", "1.5 mm", FAIL, -0.1),
        ("above", "1.6 mm", FAIL, 0.0),
        ("at_most", "1.5 mm", PASS, 0.1),
        ("at_most", "1.6 mm", PASS, 0.0),
        ("at_most", "1.7 mm", FAIL, -0.1),
        ("below", "1.6 mm", FAIL, 0.0),
    ],
)
def test_a_margin_is_the_distance_to_the_limit_negative_on_a_failure(
    one_rule, packs, shape, reading, outcome, margin
):
    found = finding(tread(one_rule, packs, shape), depth(reading))
    assert found.outcome is outcome
    assert found.margin == margin
    assert found.limit == 1.6
    assert found.measured == float(reading.split()[0])


def test_without_a_verdict_there_is_no_margin(one_rule, packs):
    book = tread(one_rule, packs, when={"vehicle.category": "M1"})
    assert finding(book, depth("2 mm")).margin is None
    other = wheel(tyre=Tyre(tread_depth_main_grooves="2 mm"), vehicle={"category": "N1"})
    assert finding(book, other).outcome is APART
    assert finding(book, other).margin is None
    assert finding(tread(one_rule, packs), wheel()).measured is None


@pytest.mark.parametrize(
    ("reading", "outcome", "limit", "margin"),
    [
        ("1 mm", FAIL, 1.6, -0.6),
        ("1.6 mm", PASS, 1.6, 0.0),
        ("2 mm", PASS, 1.6, 0.4),
        ("7 mm", PASS, 8.0, 1.0),
        ("8 mm", PASS, 8.0, 0.0),
        ("9 mm", FAIL, 8.0, -1.0),
    ],
)
def test_of_two_limits_the_nearer_is_shown(one_rule, packs, reading, outcome, limit, margin):
    text = packs.number("low", "1.6 mm") + packs.number("high", "8 mm")
    rule = {
        "shape": "between",
        "field": "tyre.tread_depth_main_grooves",
        "limit": ["tread.low", "tread.high"],
    }
    found = finding(one_rule({"tread": text}, **rule), depth(reading))
    assert (found.outcome, found.limit, found.margin) == (outcome, limit, margin)


@pytest.mark.parametrize(
    ("shape", "made", "outcome", "measured"),
    [
        # of a week the oldest day decides a pass below a limit, the youngest a failure
        ("at_most", "2019-W23", PASS, ("2019-06-03",)),
        ("at_most", "2010-W23", FAIL, ("2010-06-13",)),
        ("at_least", "2010-W23", PASS, ("2010-06-13",)),
        ("at_least", "2019-W23", FAIL, ("2019-06-03",)),
    ],
)
def test_a_range_shows_the_bound_that_decides(one_rule, packs, shape, made, outcome, measured):
    age = packs.number("age", "6 year", unit="year")
    book = one_rule({"tyre": age}, shape=shape, field="tyre.manufactured", limit="tyre.age", on="2024-06-15")
    found = finding(book, wheel(tyre=Tyre(manufactured=made)))
    alone = finding(book, wheel(tyre=Tyre(manufactured=measured[0])))
    assert found.outcome is alone.outcome is outcome
    assert found.measured == alone.measured
    assert found.margin == alone.margin
    assert (found.margin > 0) is (outcome is PASS)


def test_a_condition_written_the_other_way_round_shows_the_same(packs):
    python = """
from stemlore.rules import Cite, Rule, field, parameter, years_since
DEPTH = field("tyre.tread_depth_main_grooves")
def rule(name, check):
    return Rule(id=f"xa.tyre.{name}", title="T", subject="position", check=check, tie="used_in", basis="law",
                gravity="hold", cite=Cite("road_act", "art. 1"))
LEAST = parameter("xa.tread.depth")
RULES = [rule("plain", DEPTH >= LEAST), rule("turned", LEAST <= DEPTH)]
"""
    book = packs.book(packs(python=python, parameters={"tread": packs.number("depth")}))
    one, two = (finding(book, depth("2 mm"), f"xa.tyre.{name}") for name in ("plain", "turned"))
    assert (one.measured, one.limit, one.margin) == (two.measured, two.limit, two.margin) == (2.0, 1.6, 0.4)


COMPOUND = """
from stemlore.rules import Cite, Rule, Shown, constant, field
DEPTH, PRESSURE = field("tyre.tread_depth_main_grooves"), field("tyre.pressure")
RULES = [
    Rule(id="xa.tyre.tread_depth", title="T", subject="position", tie="used_in", basis="law", gravity="hold",
         cite=Cite("road_act", "art. 1"), check=(PRESSURE <= "65 psi") & ~field("tyre.studded"),
         shows=Shown(PRESSURE, constant("65 psi"), "most")),
    Rule(id="xa.tyre.bare", title="T", subject="position", tie="used_in", basis="law", gravity="hold",
         cite=Cite("road_act", "art. 1"), check=(PRESSURE <= "65 psi") & ~field("tyre.studded")),
]
"""


@pytest.mark.parametrize(
    ("pressure", "studded", "outcome", "margin"),
    [
        ("400 kPa", False, PASS, 48.159224),
        ("460 kPa", False, FAIL, -11.840776),
        ("400 kPa", True, FAIL, None),  # the pressure is well: the studs decided
        ("460 kPa", True, FAIL, -11.840776),
        ("400 kPa", None, UNKNOWN, None),
    ],
)
def test_a_compound_rule_names_what_it_shows_and_no_margin_contradicts_the_outcome(
    packs, pressure, studded, outcome, margin
):
    book = packs.book(packs(python=COMPOUND))
    job = wheel(tyre=Tyre(pressure=pressure, studded=studded))
    found = finding(book, job)
    assert (found.outcome, found.margin) == (outcome, margin)
    assert found.limit == pytest.approx(448.159, abs=1e-3)  # in the unit of what was measured
    bare = finding(book, job, "xa.tyre.bare")
    assert (bare.outcome, bare.measured, bare.limit, bare.margin) == (outcome, None, None, None)
    rows = check(job, book).rows()[1]
    assert [row[5] for row in rows if row[2] == outcome and row[3] is not None][:1] == [margin]


# --- whose word decided -----------------------------------------------------------------------------------

TORQUE = """
from stemlore.rules import Cite, Rule, field, first_known, lesser, parameter
USED, MOST = field("work.valve_nut_torque"), field("maker.valve_nut_torque_max")
def rule(name, limit, **more):
    return Rule(id=f"xa.valve.{name}", title="T", subject="position", check=USED <= limit, tie="workshop",
                basis="practice", gravity="remedy", cite=Cite("road_act", "art. 1"), **more)
RULES = [
    rule("practice", first_known(MOST, parameter("xa.valve.torque"))),
    rule("both", lesser(first_known(MOST, parameter("xa.valve.torque")), parameter("xa.valve.ceiling"))),
    rule("law", parameter("xa.valve.ceiling")),
]
"""


def told_by(source, most, **more):
    return MakerInstruction(source=source, valve_nut_torque_min="1 N.m", valve_nut_torque_max=most, **more)


def torque(packs, told, used="4 N.m"):
    values = packs.number("torque", "4 N.m", unit="N.m") + packs.number("ceiling", "8 N.m", unit="N.m")
    book = packs.book(packs(python=TORQUE, parameters={"valve": values}))
    makers = [told_by("Manual 7, p. 3", told)] if told else []
    job = wheel(makers=makers, work=Work(valve_nut_torque=used))
    return {f.rule.rpartition(".")[2]: f for f in check(job, book).findings if f.pack == "xa"}


def test_a_maker_s_instruction_outranks_a_value_of_practice_and_is_named(packs):
    found = torque(packs, "3 N.m")["practice"]
    assert (found.outcome, found.limit) == (FAIL, 3.0)
    assert found.instruction == "Manual 7, p. 3"
    assert found.parameters == ()


def test_without_an_instruction_none_is_named(packs):
    found = torque(packs, None)["practice"]
    assert (found.outcome, found.limit) == (PASS, 4.0)
    assert found.instruction is None
    assert [used.name for used in found.parameters] == ["xa.valve.torque"]


@pytest.mark.parametrize(("told", "limit", "named"), [("3 N.m", 3.0, True), ("9 N.m", 8.0, False)])
def test_where_both_bind_the_stricter_decides_and_only_it_is_named(packs, told, limit, named):
    found = torque(packs, told)["both"]
    assert found.limit == limit
    assert (found.instruction is not None) is named


def test_an_instruction_that_a_rule_does_not_ask_for_is_not_named(packs):
    assert torque(packs, "3 N.m")["law"].instruction is None


def test_an_instruction_for_other_wheels_does_not_count(packs):
    values = packs.number("torque", "4 N.m", unit="N.m") + packs.number("ceiling", "8 N.m", unit="N.m")
    book = packs.book(packs(python=TORQUE, parameters={"valve": values}))
    maker = told_by("Manual 7", "3 N.m", positions=["spare"])
    job = wheel(makers=[maker], work=Work(valve_nut_torque="4 N.m"))
    assert finding(book, job, "xa.valve.practice").instruction is None


def test_an_instruction_that_decides_for_a_member_is_named(packs):
    python = (
        TORQUE
        + """
from stemlore.rules import every
LEFT = every(USED <= first_known(MOST, parameter("xa.valve.torque")))
RULES = [Rule(id="xa.valve.axle", title="T", subject="axle", check=LEFT, tie="workshop", basis="practice",
              gravity="remedy", cite=Cite("road_act", "art. 1"))]
"""
    )
    values = packs.number("torque", "4 N.m", unit="N.m") + packs.number("ceiling", "8 N.m", unit="N.m")
    book = packs.book(packs(python=python, parameters={"valve": values}))
    work = Work(valve_nut_torque="4 N.m")
    told = finding(book, wheel(makers=[told_by("Manual 7", "3 N.m")], work=work), "xa.valve.axle")
    assert (told.outcome, told.instruction) == (FAIL, "Manual 7")
    untold = finding(book, wheel(work=work), "xa.valve.axle")
    assert (untold.outcome, untold.instruction) == (PASS, None)


# --- what is missing ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("vehicle", "reading", "missing"),
    [
        ({}, None, {"vehicle.category", "vehicle.gross_mass", "tyre.tread_depth_main_grooves"}),
        ({"category": "M1"}, None, {"vehicle.gross_mass", "tyre.tread_depth_main_grooves"}),
        ({"category": "M1"}, "2 mm", {"vehicle.gross_mass"}),
        ({"category": "M1", "gross_mass": "2 t"}, None, {"tyre.tread_depth_main_grooves"}),
        ({"category": "N3"}, None, set()),  # does not apply, whatever the mass
        ({"gross_mass": "9 t"}, "2 mm", set()),
        ({"category": "M1", "gross_mass": "2 t"}, "2 mm", set()),
    ],
)
def test_missing_names_only_what_could_still_change_the_outcome(one_rule, packs, vehicle, reading, missing):
    when = {"vehicle.category": ["M1", "N1"], "vehicle.gross_mass": {"at_most": "3.5 t"}}
    tyre = Tyre() if reading is None else Tyre(tread_depth_main_grooves=reading)
    found = finding(tread(one_rule, packs, when=when), wheel(vehicle=vehicle, tyre=tyre))
    assert set(found.missing) == missing
    assert (found.outcome is UNKNOWN) is bool(missing)


def test_what_is_missing_of_members_names_the_wheels(one_rule):
    book = one_rule(shape="same_across", field="tyre.construction", subject="axle")
    job = Job(
        vehicle=Vehicle(axles=[Axle(number=1, fitment="single")]),
        assemblies=[Assembly(position="axle 1 left", tyre=Tyre(construction="radial"))],
    )
    found = finding(book, job)
    assert found.missing == ("tyre.construction",)
    assert [str(subject) for subject, _ in found.missing_at] == ["axle 1 right"]


def test_a_date_that_straddles_is_asked_for_more_exactly(one_rule, packs):
    age = packs.number("age", "6 year", unit="year")
    book = one_rule(
        {"tyre": age}, shape="at_most", field="tyre.manufactured", limit="tyre.age", on="2024-06-06"
    )
    found = finding(book, wheel(tyre=Tyre(manufactured="2018-W23")))
    assert found.outcome is UNKNOWN
    assert found.missing == ("tyre.manufactured",)
    assert "tyre.manufactured" in [
        r.field for r in check(wheel(tyre=Tyre(manufactured="2018-W23")), book).next_readings
    ]


# --- the report ---------------------------------------------------------------------------------------------

MANY = [
    {"id": "xa.tyre.a", "field": "tyre.studded", "shape": "forbidden", "gravity": "advise"},
    {"id": "xa.tyre.b", "field": "tyre.retread", "shape": "forbidden", "gravity": "hold", "spare": True},
    {"id": "xa.tyre.c", "field": "tyre.run_flat", "gravity": "remedy", "when": {"vehicle.category": "M1"}},
    {
        "id": "xa.axle.d",
        "shape": "same_across",
        "field": "tyre.construction",
        "subject": "axle",
        "gravity": "remedy",
    },
    {"id": "xa.pair.e", "shape": "same_across", "field": "tyre.construction", "subject": "pair"},
    {"id": "xa.vehicle.f", "field": "vehicle.monitoring_works"},
    {"id": "xa.vehicle.g", "shape": "same_across", "field": "tyre.construction", "subject": "vehicle"},
]


def random_job(seed):
    pick = random.Random(seed)

    def flag():
        return pick.choice([True, False, None])

    fitments = [pick.choice(["single", "dual", "centre", None]) for _ in range(pick.randint(0, 3))]
    places = {"single": ("left", "right"), "dual": ("left outer", "left inner", "right inner", "right outer")}
    spots = [
        f"axle {number} {place}"
        for number, fitment in enumerate(fitments, 1)
        for place in places.get(fitment, ("centre",))
        if pick.random() < 0.8
    ]
    if pick.random() < 0.5:
        spots.append("spare")
    wheels = [
        Assembly(
            position=spot,
            tyre=Tyre(
                studded=flag(),
                retread=flag(),
                run_flat=flag(),
                construction=pick.choice(["radial", "diagonal", None]),
            ),
        )
        for spot in spots
    ]
    axles = [Axle(number=number, fitment=fitment) for number, fitment in enumerate(fitments, 1)]
    return Job(
        vehicle=Vehicle(axles=axles, category=pick.choice(["M1", "N1", None]), monitoring_works=flag()),
        assemblies=wheels,
    )


@pytest.fixture
def many(packs):
    return packs.book(packs(MANY))


@pytest.mark.parametrize("seed", range(40))
def test_counts_add_up_and_every_view_of_the_report_agrees(many, seed):
    report = check(random_job(seed), many)
    assert sum(report.counts.values()) == len(report.findings)
    for outcome in Outcome:
        assert report.counts[outcome] == sum(f.outcome is outcome for f in report.findings)
    seen = {(f.rule, str(f.subject)) for f in report.findings}
    assert len(seen) == len(report.findings)
    # every rule stands once on every subject of its kind
    for rule in ("xa.tyre.a", "xa.tyre.c"):
        assert {subject for name, subject in seen if name == rule} == {
            subject for name, subject in seen if name == "xa.tyre.a"
        }
    assert set(report.failing) == {f for f in report.findings if f.outcome is FAIL}
    assert set(report.unknown) == {f for f in report.findings if f.outcome is UNKNOWN}
    weights = {"hold": 0, "remedy": 1, "advise": 2}
    for listed in (report.failing, report.unknown):
        order = [weights[f.gravity] for f in listed]
        assert order == sorted(order)
    assert list(report.holding) == [f for f in report.failing if f.gravity == "hold"]
    binding = [f for f in (*report.failing, *report.unknown) if f.gravity != "advise"]
    assert report.is_clean is (not binding and report.counts[PASS] > 0)
    for f in report.findings:
        assert bool(f.missing) is (f.outcome is UNKNOWN)
        assert not (f.outcome is PASS and f.margin is not None and f.margin < 0)
        assert not (f.outcome is FAIL and f.margin is not None and f.margin > 0)


def test_findings_are_equal_to_themselves_only(many):
    report = check(random_job(3), many)
    one, two = report.findings[:2]
    assert one == report.findings[0]
    assert one != two
    assert len({*report.findings, *report.findings}) == len(report.findings)


def test_a_report_shows_itself(one_rule, packs):
    book = packs.book(packs([{"field": "tyre.studded", "shape": "forbidden"}]), packs(
        [{"id": "world.a.b", "field": "event.retorque_told"}], id="world", place="world"
    ))  # fmt: skip
    report = check(wheel(tyre=Tyre(studded=True)), book)
    assert repr(report) == "<Report not clean: 0 pass, 1 fail, 1 unknown, 0 not applicable>"
    report = check(wheel(tyre=Tyre(studded=False), event=Event(retorque_told=True)), book)
    assert repr(report) == "<Report clean: 2 pass, 0 fail, 0 unknown, 0 not applicable>"


def test_rows_hold_what_findings_hold(one_rule, packs):
    book = tread(one_rule, packs)
    report = check(depth("1.5 mm"), book)
    subjects, rows = report.rows()
    names = list(book.rules)
    plain = {
        (names[n], str(subjects[at])): (Outcome(code), measured, limit, margin)
        for n, at, code, measured, limit, margin in rows
    }
    told = {(f.rule, str(f.subject)): (f.outcome, f.measured, f.limit, f.margin) for f in report.findings}
    assert plain == told


def test_other_records_do_not_matter(one_rule, packs):
    book = tread(one_rule, packs)
    bare = finding(book, depth("2 mm"))
    full = finding(
        book,
        wheel(
            tyre=Tyre(tread_depth_main_grooves="2 mm"),
            valve=Valve(cap="dust"),
            wheel=Wheel(valve_hole="11.3 mm"),
            sensor=Sensor(fitted=True),
        ),
    )
    assert str(bare) == str(full)
