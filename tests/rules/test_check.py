"""Judging a job: what is absent is unknown, a faulty rule stands alone, and clean means clean."""

from __future__ import annotations

import pytest

from stemlore.model import Assembly, Axle, Event, Job, Position, Tyre, Vehicle, change
from stemlore.rules import Outcome, check, rulebook

PASS, FAIL, UNKNOWN, APART = Outcome.PASS, Outcome.FAIL, Outcome.UNKNOWN, Outcome.NOT_APPLICABLE
RULE = "xa.tyre.tread_depth"
WHEELS = {
    "single": ("left", "right"),
    "dual": ("left outer", "left inner", "right inner", "right outer"),
    "centre": ("centre",),
}


def axle(number, fitment, **records):
    """Return the assemblies of an axle with the same records on every wheel."""
    return [Assembly(position=f"axle {number} {place}", **records) for place in WHEELS[fitment]]


def job_of(*fitments, wheels=None, **vehicle):
    axles = [Axle(number=number, fitment=fitment) for number, fitment in enumerate(fitments, 1)]
    return Job(vehicle=Vehicle(axles=axles, **vehicle), assemblies=wheels or [])


def outcomes(book, job, rule=RULE):
    return {str(f.subject): f.outcome for f in check(job, book).findings if f.rule == rule}


def same_depth(number, fitment, depths):
    return [
        Assembly(position=f"axle {number} {place}", tyre=Tyre(tread_depth_main_grooves=depth))
        for place, depth in zip(WHEELS[fitment], depths, strict=True)
    ]


# --- subjects ------------------------------------------------------------------------------------------


@pytest.mark.parametrize("place", ["DE", "US", "FR", "XA"])
def test_an_empty_job_asks_and_never_passes(place):
    report = check(Job(), rulebook(place, on="2024-06-01"))
    assert not report.is_clean
    assert report.counts[PASS] == 0
    assert report.failing == ()
    assert "vehicle.axles" in [reading.field for reading in report.next_readings]


def test_a_wheel_that_a_declared_axle_demands_is_a_subject_though_it_is_absent(one_rule):
    book = one_rule(field="tyre.studded", shape="forbidden")
    job = job_of("single", wheels=[Assembly(position="axle 1 left", tyre=Tyre(studded=False))])
    assert outcomes(book, job) == {"axle 1 left": PASS, "axle 1 right": UNKNOWN}


@pytest.mark.parametrize(("fitment", "count"), [("single", 2), ("dual", 4), ("centre", 1)])
def test_the_fitment_says_how_many_wheels_there_are(one_rule, fitment, count):
    found = outcomes(one_rule(field="tyre.studded", shape="forbidden"), job_of(fitment))
    assert list(found.values()) == [UNKNOWN] * count


def test_where_the_fitment_is_not_told_one_more_subject_stands_for_the_rest(one_rule):
    book = one_rule(field="tyre.studded", shape="forbidden")
    job = job_of(None, wheels=axle(1, "single", tyre=Tyre(studded=False)))
    assert outcomes(book, job) == {
        "axle 1 left": PASS,
        "axle 1 right": PASS,
        "axle 1, wheels not stated": UNKNOWN,
    }
    missing = next(f for f in check(job, book).unknown if f.rule == RULE).missing
    assert missing == ("axle.fitment",)


def test_where_no_axle_is_declared_wheels_are_not_told_of(one_rule):
    book = one_rule(field="tyre.studded", shape="forbidden")
    job = Job(assemblies=axle(1, "single", tyre=Tyre(studded=False)))
    assert outcomes(book, job)["wheels not stated"] is UNKNOWN
    assert not check(job, book).is_clean


@pytest.mark.parametrize("subject", ["vehicle", "axle", "pair", "position"])
def test_nothing_is_clean_while_wheels_are_not_told_of(packs, subject):
    rules = [
        {"field": "event.retorque_told", "id": "xa.vehicle.told"},
        {"shape": "same_across", "field": "tyre.construction", "subject": subject}
        if subject != "position"
        else {"field": "tyre.studded", "shape": "forbidden"},
    ]
    book = packs.book(packs(rules))
    for vehicle in (Vehicle(), Vehicle(axles=[Axle(number=1)])):
        job = Job(vehicle=vehicle, event=Event(retorque_told=True))
        found = outcomes(book, job)
        assert found, "the rule has no subject"
        assert UNKNOWN in found.values()
        assert PASS not in found.values()


def test_pairs_are_those_of_dual_wheels(one_rule):
    book = one_rule(shape="same_across", field="tyre.construction", subject="pair")
    wheels = axle(1, "single", tyre=Tyre(construction="radial")) + axle(
        2, "dual", tyre=Tyre(construction="radial")
    )
    assert outcomes(book, job_of("single", "dual", wheels=wheels)) == {
        "axle 2 left, pair": PASS,
        "axle 2 right, pair": PASS,
    }
    wheels[2] = Assembly(position="axle 2 left outer", tyre=Tyre(construction="diagonal"))
    assert outcomes(book, job_of("single", "dual", wheels=wheels))["axle 2 left, pair"] is FAIL
    assert outcomes(book, job_of("single", "single")) == {}


def test_an_axle_with_single_wheels_in_the_job_has_no_pair(one_rule):
    book = one_rule(shape="same_across", field="tyre.construction", subject="pair")
    job = job_of(None, wheels=axle(1, "single"))
    assert outcomes(book, job) == {}
    job = job_of(None, wheels=axle(1, "dual", tyre=Tyre(construction="radial")))
    assert set(outcomes(book, job).values()) == {UNKNOWN}


@pytest.mark.parametrize("spare", [True, False])
def test_a_carried_spare_is_a_subject_only_of_rules_that_say_so(one_rule, spare):
    book = one_rule(field="tyre.studded", shape="forbidden", spare=spare)
    wheels = [
        *axle(1, "centre", tyre=Tyre(studded=False)),
        Assembly(position="spare", tyre=Tyre(studded=True)),
    ]
    found = outcomes(book, job_of("centre", wheels=wheels))
    assert found == {"axle 1 centre": PASS} | ({str(Position(spare=True)): FAIL} if spare else {})


# --- members --------------------------------------------------------------------------------------------


def members(rule_of):
    return f"""
from stemlore.rules import Cite, Rule, every, field, same, some, spread
DEPTH = field("tyre.tread_depth_main_grooves")
RULES = [Rule(id="{RULE}", title="T", subject="axle", check={rule_of}, tie="used_in", basis="law",
              gravity="hold", cite=Cite("road_act", "art. 1"))]
"""


@pytest.mark.parametrize(
    ("check_of", "cases"),
    [
        (
            "every(DEPTH >= '1.6 mm')",
            {("2 mm", "2 mm"): PASS, ("2 mm", None): UNKNOWN, ("1 mm", None): FAIL, (None, None): UNKNOWN},
        ),
        (
            "~some(DEPTH < '1.6 mm')",
            {("2 mm", "2 mm"): PASS, ("2 mm", None): UNKNOWN, ("1 mm", None): FAIL},
        ),
        ("some(DEPTH >= '1.6 mm')", {("2 mm", None): PASS, ("1 mm", None): UNKNOWN, ("1 mm", "1 mm"): FAIL}),
        ("same(DEPTH)", {("2 mm", "2 mm"): PASS, ("2 mm", None): UNKNOWN, ("2 mm", "1 mm"): FAIL}),
        (
            "spread(DEPTH) <= '2 mm'",
            {
                ("5 mm", "3 mm"): PASS,
                ("5 mm", "2.9 mm"): FAIL,
                ("5 mm", None): UNKNOWN,
                (None, None): UNKNOWN,
            },
        ),
        (
            "spread(DEPTH) >= '2 mm'",
            {("5 mm", "3 mm"): PASS, ("5 mm", "4 mm"): FAIL, ("5 mm", None): UNKNOWN},
        ),
    ],
)
def test_known_members_may_settle_a_fail_and_never_a_pass(packs, check_of, cases):
    book = packs.book(packs(python=members(check_of)))
    for depths, expected in cases.items():
        assert outcomes(book, job_of("single", wheels=same_depth(1, "single", depths))) == {
            "axle 1": expected
        }


def test_a_spread_of_known_members_settles_a_fail_before_the_rest_are_measured(packs):
    book = packs.book(packs(python=members("spread(DEPTH) <= '2 mm'")))
    job = job_of("dual", wheels=same_depth(1, "dual", ("5 mm", "1 mm", None, None)))
    found = next(f for f in check(job, book).findings if f.rule == RULE)
    assert found.outcome is FAIL
    assert (found.measured, found.limit, found.margin) == (4.0, 2.0, -2.0)
    assert found.missing == ()


def test_without_a_fitment_known_members_cannot_pass(packs):
    for check_of in ("every(DEPTH >= '1.6 mm')", "same(DEPTH)", "spread(DEPTH) <= '2 mm'"):
        book = packs.book(packs(python=members(check_of), folder=f"f{len(check_of)}"))
        job = job_of(None, wheels=same_depth(1, "single", ("2 mm", "2 mm")))
        assert outcomes(book, job) == {"axle 1": UNKNOWN}
        job = job_of(None, wheels=same_depth(1, "single", ("1 mm", "5 mm")))
        assert outcomes(book, job) == {"axle 1": FAIL}


def test_the_vehicle_s_members_are_all_its_running_wheels(one_rule):
    book = one_rule(shape="same_across", field="tyre.construction", subject="vehicle")
    wheels = axle(1, "single", tyre=Tyre(construction="radial")) + axle(
        2, "single", tyre=Tyre(construction="radial")
    )
    spare = Assembly(position="spare", tyre=Tyre(construction="diagonal"))
    assert outcomes(book, job_of("single", "single", wheels=[*wheels, spare])) == {"vehicle": PASS}
    assert outcomes(book, job_of("single", "single", wheels=wheels[:3])) == {"vehicle": UNKNOWN}


# --- rules that raise ---------------------------------------------------------------------------------------

BODY = """
from stemlore.rules import Cite, Rule, constant, field

def body(view):
    {does}

def rule(name, **more):
    return Rule(id=f"xa.tyre.{{name}}", title="T", subject="position", tie="used_in", basis="law",
                gravity="hold", cite=Cite("road_act", "art. 1"), **more)

RULES = [
    rule("tread_depth", check=constant(True), body=body, reads=("tyre.studded",), when={when}),
    rule("other", check=~field("tyre.studded")),
]
"""


def with_body(packs, does, when="None"):
    return packs.book(packs(python=BODY.format(does=does, when=when)))


ONE = job_of("centre", wheels=axle(1, "centre", tyre=Tyre(studded=False)))


@pytest.mark.parametrize(
    ("does", "expected"), [("return True", PASS), ("return False", FAIL), ("return None", UNKNOWN)]
)
def test_a_python_body_is_run(packs, does, expected):
    assert outcomes(with_body(packs, does), ONE) == {"axle 1 centre": expected}


def test_a_python_body_reads_its_subject(packs):
    book = with_body(packs, "return not view.load('tyre.studded')")
    assert outcomes(book, ONE) == {"axle 1 centre": PASS}
    studded = job_of("centre", wheels=axle(1, "centre", tyre=Tyre(studded=True)))
    assert outcomes(book, studded) == {"axle 1 centre": FAIL}


def test_a_python_body_says_what_it_misses(packs):
    report = check(job_of("centre"), with_body(packs, "return view.load('tyre.studded')"))
    found = next(f for f in report.unknown if f.rule == RULE)
    assert found.missing == ("tyre.studded",)


def test_the_condition_of_a_python_body_is_settled_first(packs):
    book = with_body(packs, "raise OSError", "field('tyre.retread')")
    assert outcomes(book, ONE) == {"axle 1 centre": UNKNOWN}
    new = job_of("centre", wheels=axle(1, "centre", tyre=Tyre(retread=False)))
    assert outcomes(book, new) == {"axle 1 centre": APART}


@pytest.mark.parametrize(
    ("does", "says"),
    [
        ("raise OSError('no disk')", "OSError: no disk"),
        ("return 1 / 0", "ZeroDivisionError"),
        ("return 'yes'", "gave 'yes', not True, False or None"),
        ("return 2", "gave 2"),
        ("return []", "gave []"),
        ("return view.load('tyre.studde')", "AttributeError"),
    ],
)
def test_a_body_that_raises_or_gives_garbage_becomes_a_fault_and_takes_no_other_with_it(packs, does, says):
    report = check(ONE, with_body(packs, does))
    assert [(fault.rule, str(fault.subject)) for fault in report.faults] == [(RULE, "axle 1 centre")]
    assert says in report.faults[0].error
    assert str(report.faults[0]).startswith(f"{RULE} on axle 1 centre: ")
    assert RULE not in [finding.rule for finding in report.findings]
    other = next(finding for finding in report.findings if finding.rule == "xa.tyre.other")
    assert other.outcome is PASS
    assert not report.is_clean


def test_a_tree_that_raises_becomes_a_fault_and_takes_no_other_with_it(packs):
    # a value of the wrong kind, as only a broken record could hold it
    rules = [
        {"id": RULE, "shape": "at_least", "field": "tyre.pressure", "limit": "tyre.least"},
        {"id": "xa.tyre.other", "shape": "forbidden", "field": "tyre.studded"},
        {"id": "xa.tyre.third", "shape": "at_most", "field": "tyre.pressure", "limit": "tyre.least"},
    ]
    least = packs.number("least", "200 kPa", unit="kPa")
    book = packs.book(packs(rules, {"tyre": least}))
    tyre = Tyre(pressure="2 bar", studded=False)
    tyre.__dict__["pressure"] = "two bar"
    report = check(job_of("centre", wheels=axle(1, "centre", tyre=tyre)), book)
    assert {fault.rule for fault in report.faults} == {RULE, "xa.tyre.third"}
    assert all("TypeError" in fault.error for fault in report.faults)
    found = {finding.rule: finding for finding in report.findings}
    assert found["xa.tyre.other"].outcome is PASS
    assert found["xa.tyre.other"].measured is None
    assert not report.is_clean


# --- the day ------------------------------------------------------------------------------------------------


def test_ages_count_at_the_day_of_the_visit_and_a_difference_is_noted(one_rule, packs):
    age = packs.number("age", "6 year", unit="year")
    rule = {"shape": "at_most", "field": "tyre.manufactured", "limit": "tyre.age"}
    book = one_rule({"tyre": age}, on="2024-06-10", **rule)
    wheels = axle(1, "centre", tyre=Tyre(manufactured="2018-06-04"))
    late = check(job_of("centre", wheels=wheels), book)
    assert next(f for f in late.failing if f.rule == RULE)
    assert late.notes == ()
    visit = change(job_of("centre", wheels=wheels), event=Event(on="2024-06-04"))
    early = check(visit, book)
    assert not early.failing
    assert early.day.isoformat() == "2024-06-04"
    assert early.notes == ("ages count on 2024-06-04, the day of the visit; the law is that of 2024-06-10",)
    same = check(change(visit, event=Event(on="2024-06-10")), book)
    assert same.notes == ()


# --- clean ------------------------------------------------------------------------------------------------

LAW = {"id": "xa.tyre.law", "field": "vehicle.monitoring_works"}


def without_others(packs, *folders, **places):
    """Open a book with nothing that holds everywhere, but for one advice on the visit."""
    advice = {"id": "world.a.b", "field": "event.retorque_told", "gravity": "advise"}
    return packs.book(*folders, packs([advice], id="world", place="world"), **places)


def clean(packs, *rules, **vehicle):
    return check(Job(vehicle=Vehicle(**vehicle)), without_others(packs, packs(list(rules)))).is_clean


def test_a_job_that_passes_is_clean(packs):
    assert clean(packs, LAW, monitoring_works=True)


@pytest.mark.parametrize(("gravity", "allowed"), [("hold", False), ("remedy", False), ("advise", True)])
@pytest.mark.parametrize("twin", [False, None])
def test_a_failure_or_an_unknown_of_gravity_hold_or_remedy_is_not_clean(packs, gravity, allowed, twin):
    second = {"id": "xa.tyre.second", "field": "vehicle.twin_wheels", "gravity": gravity}
    assert clean(packs, LAW, second, monitoring_works=True, twin_wheels=True)
    assert clean(packs, LAW, second, monitoring_works=True, twin_wheels=twin) is allowed


def test_without_a_pass_nothing_is_clean(packs):
    never = LAW | {"when": {"vehicle.category": "M1"}}
    assert not clean(packs, never, category="N1")
    advice = {"id": "xa.tyre.second", "field": "vehicle.twin_wheels", "gravity": "advise"}
    assert not clean(packs, never, advice, category="N1", twin_wheels=False)
    assert clean(packs, never, advice, category="N1", twin_wheels=True)


def test_without_every_place_covered_nothing_is_clean(packs):
    folder = packs([LAW])
    job = Job(vehicle=Vehicle(monitoring_works=True))
    assert check(job, without_others(packs, folder)).is_clean
    for other in ({"workshop": "XB"}, {"registered_in": "XB"}, {"used_in": "XB"}, {"used_in": "XA-1"}):
        assert not check(job, without_others(packs, folder, **other)).is_clean
    assert not check(job, without_others(packs, folder, place=None, used_in="XA")).is_clean


def test_a_fault_is_never_clean(packs):
    folder = packs(python=BODY.format(does="raise OSError", when="None"), folder="faulty")
    assert not check(ONE, without_others(packs, folder)).is_clean
    sound = packs(python=BODY.format(does="return True", when="None"), folder="sound")
    assert check(ONE, without_others(packs, sound)).is_clean


def test_a_job_may_be_checked_again_and_again(one_rule):
    book = one_rule(field="tyre.studded", shape="forbidden")
    first, second = check(ONE, book), check(ONE, book)
    assert first.counts == second.counts
    assert [str(f) for f in first.findings] == [str(f) for f in second.findings]


def test_altering_a_job_alters_its_subjects(one_rule):
    book = one_rule(field="tyre.studded", shape="forbidden")
    check(ONE, book)
    axles = [Axle(number=1, fitment="centre"), Axle(number=2, fitment="dual")]
    wider = change(ONE, vehicle=change(ONE.vehicle, axles=axles))
    assert len(outcomes(book, wider)) == 5
