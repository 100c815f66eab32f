"""Dated values: what holds on a day, what is not known, and what cannot load."""

from __future__ import annotations

from datetime import date

import pytest

from stemlore.errors import DayError, PackError, RuleError
from stemlore.model import Assembly, Axle, Job, Tyre, Vehicle
from stemlore.rules import Outcome, check
from stemlore.units import unit

TWO = """
[min_depth]
unit = "mm"
doc = "Least tread depth"
[[min_depth.value]]
from = 2014-07-01
is = "1.6 mm"
cite = { source = "road_act", at = "art. 12(2)" }
[[min_depth.value]]
from = 2001-01-01
is = "1 mm"
cite = { source = "road_act", at = "art. 12" }
"""

REPEALED = """
[[min_depth.value]]
from = 2020-01-01
repealed = true
cite = { source = "road_act", at = "art. 30" }
"""


def loaded(packs, text, name="tread"):
    return packs(parameters={name: text}).load().parameters


def faults(packs, text):
    with pytest.raises(PackError) as caught:
        packs(parameters={"tread": text}).load()
    return [str(fault) for fault in caught.value.faults]


def test_a_value_holds_from_its_first_day_until_the_next(packs):
    history = loaded(packs, TWO)["xa.tread.min_depth"]
    assert history.unit == unit("mm")
    assert history.first_day == date(2001, 1, 1)
    assert [history.on(day).value for day in (date(2001, 1, 1), date(2014, 6, 30), date(2014, 7, 1))] == [
        1.0,
        1.0,
        1.6,
    ]
    assert history.changes() == (date(2001, 1, 1), date(2014, 7, 1))
    assert str(history.on(date(2020, 1, 1)).citation) == "Xa, RA 12, art. 12(2) [text read]"


def test_a_day_before_the_first_value_is_a_named_error(packs):
    history = loaded(packs, TWO)["xa.tread.min_depth"]
    with pytest.raises(DayError, match=r"no value on 2000-12-31.*2001-01-01"):
        history.on(date(2000, 12, 31))


def test_a_value_that_was_repealed_holds_no_more(packs):
    text = TWO + REPEALED
    history = loaded(packs, text)["xa.tread.min_depth"]
    assert history.on(date(2019, 12, 31)).value == 1.6
    assert history.on(date(2020, 1, 1)).value is None
    assert not history.ended_on(date(2019, 12, 31))
    assert history.ended_on(date(2020, 1, 1))


# --- what cannot load ---------------------------------------------------------------------------------


def one(extra="", **changed):
    text = '[p]\nunit = "mm"\ndoc = "D"\n[[p.value]]\nfrom = 2000-01-01\nis = "1 mm"\n'
    text += 'cite = { source = "road_act", at = "art. 1" }\n'
    for old, new in changed.values():
        assert old in text
        text = text.replace(old, new)
    return text + extra


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('unit = "mm"\n', "", "p.unit: a number must have a unit"),
        ('unit = "mm"', 'unit = "mmm"', "p.unit: unknown unit 'mmm'"),
        ('unit = "mm"', "unit = 5", "p.unit: unknown unit '5'"),
        ('unit = "mm"', 'unti = "mm"', "unti: unknown key (did you mean unit?)"),
        ('doc = "D"\n', "", "p.doc: must say what the value is"),
        ("from = 2000-01-01\n", "", "p.value[0].from: the first day must be given"),
        ("from = 2000-01-01", 'from = "2000-01-01"', "p.value[0].from: '2000-01-01' is not a day"),
        ("from = 2000-01-01", "from = 2000-01-01T00:00:00", "is not a day"),
        ("from = 2000-01-01", 'from = "unseen"', "p.value[0].seen_on: a start not seen needs the day"),
        ("from = 2000-01-01", "from = 2000-01-01\nseen_on = 2001-01-01", "seen_on: stands only beside"),
        ("from = 2000-01-01", "form = 2000-01-01", "form: unknown key (did you mean from?)"),
        ("from = 2000-01-01", "from = 2000-01-01\nuntil = 1999-12-31", "1999-12-31 lies before 2000-01-01"),
        ("from = 2000-01-01", "from = 2000-01-01\nuntil = 5", "p.value[0].until: 5 is not a day"),
        ("from = 2000-01-01", "from = 2000-01-01\nexpected = true", "expected: unknown key"),
        ('is = "1 mm"\n', "", "p.value[0].is: has no value"),
        ('is = "1 mm"', 'is = "1 bar"', "p.value[0].is: bar measures pressure, mm measures length"),
        ('is = "1 mm"', "is = nan", "p.value[0].is: nan is not a finite number"),
        ('is = "1 mm"', "is = inf", "p.value[0].is: inf is not a finite number"),
        ('is = "1 mm"', "is = true", "p.value[0].is: True is not a number"),
        ('is = "1 mm"', 'is = ["1 mm", "2 mm"]', 'several figures need bound = "most"'),
        ('unit = "mm"', 'unit = "mm"\nbound = "upper"', "p.bound: 'upper' is not a bound (most, least)"),
        ('unit = "mm"', 'unit = "mm"\nkind = "length"', "p.kind: 'length' is not a kind"),
        ('unit = "mm"', 'unit = "mm"\ncounts_from = "tyre.pressure"', "'tyre.pressure' is not a date field"),
        ('unit = "mm"', 'unit = "mm"\ncounts_from = "vehicle.first"', "'vehicle.first' is not a date field"),
        ('is = "1 mm"', 'is = "1 mm"\nrepealed = true', "is repealed and has a value"),
        ('is = "1 mm"', 'repealed = "yes"', "'yes' is neither true nor false"),
        ('cite = { source = "road_act", at = "art. 1" }\n', "", "p.value[0].cite: every value and rule"),
        ('source = "road_act", ', "", "p.value[0].cite: names no source"),
        (', at = "art. 1"', "", "p.value[0].cite.at: the place in the source is not given"),
        ('source = "road_act"', 'source = "rode_act"', "no source 'rode_act' (did you mean road_act?)"),
        ('source = "road_act"', "source = 5", "p.value[0].cite.source: 5 is not text"),
        ('at = "art. 1"', 'at = "art. 1", grade = "good"', "p.value[0].cite.grade: 'good' is no grade"),
        ('at = "art. 1"', 'at = "art. 1", page = 3', "page: unknown key"),
    ],
)  # fmt: skip
def test_what_is_wrong_is_told_with_file_and_key(packs, old, new, says):
    told = faults(packs, one(change=(old, new)))
    assert any(says in each for each in told), told
    assert all(each.startswith("parameters/tread.toml:1: ") for each in told)


def test_only_practice_and_memory_may_lack_a_source(packs):
    for grade in ("practice", "memory"):
        text = one(change=('source = "road_act", at = "art. 1"', f'at = "trade", grade = "{grade}"'))
        assert loaded(packs, text)["xa.tread.p"].values[0].citation.grade == grade
    for grade in ("read", "reproduction", "secondary"):
        text = one(change=('source = "road_act", at = "art. 1"', f'at = "trade", grade = "{grade}"'))
        assert any("names no source" in each for each in faults(packs, text))


def test_the_grade_is_the_source_s_unless_the_place_has_its_own(packs):
    assert (
        loaded(packs, one(change=("road_act", "hearsay")))["xa.tread.p"].values[0].citation.grade
        == "secondary"
    )
    text = one(change=('at = "art. 1"', 'at = "art. 1", grade = "reproduction"'))
    assert loaded(packs, text)["xa.tread.p"].values[0].citation.grade == "reproduction"


SECOND = '[[p.value]]\nfrom = {}\nis = "2 mm"\ncite = {{ source = "road_act", at = "art. 2" }}\n'


def test_an_overlap_is_told(packs):
    text = one(SECOND.format("2010-01-01"), a=("from = 2000-01-01", "from = 2000-01-01\nuntil = 2010-01-01"))
    assert any("two values hold on 2010-01-01" in each for each in faults(packs, text))
    assert any(
        "two values start on 2000-01-01" in each for each in faults(packs, one(SECOND.format("2000-01-01")))
    )


def test_a_gap_must_be_marked(packs):
    text = one(SECOND.format("2010-01-01"), a=("from = 2000-01-01", "from = 2000-01-01\nuntil = 2009-12-30"))
    told = faults(packs, text)
    assert any(
        "no value between 2009-12-30 and 2010-01-01" in each and "repealed = true" in each for each in told
    )
    joined = one(
        SECOND.format("2010-01-01"), a=("from = 2000-01-01", "from = 2000-01-01\nuntil = 2009-12-31")
    )
    assert len(loaded(packs, joined)["xa.tread.p"].values) == 2


def test_two_values_without_a_first_day_are_told(packs):
    second = SECOND.format("x").replace("from = x\n", "")
    counted = ('unit = "mm"', 'unit = "mm"\ncounts_from = "vehicle.first_registration"')
    text = one(second, a=("from = 2000-01-01\n", ""), b=counted)
    assert any("two values have no first day" in each for each in faults(packs, text))


def test_all_faults_of_a_file_come_at_once(packs):
    text = '[a]\ndoc = "A"\n\n[b]\nunit = "mm"\ndoc = "B"\n\n[c]\nunit = "parsnips"\n'
    told = faults(packs, text)
    assert {each.split(": ")[0] for each in told} == {f"parameters/tread.toml:{line}" for line in (1, 4, 8)}
    assert len(told) == 6


# --- several figures ------------------------------------------------------------------------------------


def pressure_book(one_rule, packs, bound, shape):
    text = packs.number("max", ["65 psi", "450 kPa"], unit="kPa", bound=bound)
    return one_rule(
        {"valve": text}, shape=shape, field="tyre.pressure", limit="valve.max", subject="position"
    )


def outcome_of(book, pressure):
    job = Job(
        vehicle=Vehicle(axles=[Axle(number=1, fitment="centre")]),
        assemblies=[Assembly(position="axle 1 centre", tyre=Tyre(pressure=pressure))],
    )
    return next(f.outcome for f in check(job, book).findings if f.rule == "xa.tyre.tread_depth")


@pytest.mark.parametrize(
    ("pressure", "passes"),
    # 65 psi is 448.159 kPa: of the two figures printed the more permissive decides
    [("65 psi", True), ("450 kPa", True), ("4.5 bar", True), ("450.000001 kPa", False), ("66 psi", False)],
)
def test_of_an_upper_limit_the_greater_figure_decides(one_rule, packs, pressure, passes):
    book = pressure_book(one_rule, packs, "most", "at_most")
    assert outcome_of(book, pressure) is (Outcome.PASS if passes else Outcome.FAIL)


@pytest.mark.parametrize(("pressure", "passes"), [("65 psi", True), ("450 kPa", True), ("64 psi", False)])
def test_of_a_lower_limit_the_lesser_figure_decides(one_rule, packs, pressure, passes):
    book = pressure_book(one_rule, packs, "least", "at_least")
    assert outcome_of(book, pressure) is (Outcome.PASS if passes else Outcome.FAIL)


def test_every_figure_is_kept_as_printed(packs):
    text = packs.number("max", ["65 psi", "450 kPa"], unit="kPa", bound="most")
    assert loaded(packs, text, "valve")["xa.valve.max"].values[0].figures == ("65 psi", "450 kPa")


# --- starts that were not seen, and ends -----------------------------------------------------------------

UNSEEN = """
[min_depth]
unit = "mm"
doc = "Least tread depth"
[[min_depth.value]]
from = "unseen"
seen_on = 2020-05-01
is = "1.6 mm"
cite = { source = "road_act", at = "art. 12" }
"""
GOOD = Job(
    vehicle=Vehicle(axles=[Axle(number=1, fitment="centre")]),
    assemblies=[Assembly(position="axle 1 centre", tyre=Tyre(tread_depth_main_grooves="3 mm"))],
)


def tread(one_rule, text, on, **rule):
    return one_rule(
        {"tread": text},
        shape="at_least",
        field="tyre.tread_depth_main_grooves",
        limit="tread.min_depth",
        on=on,
        **rule,
    )


def finding(book, job=GOOD):
    return next((f for f in check(job, book).findings if f.rule == "xa.tyre.tread_depth"), None)


def test_before_the_day_on_which_it_was_seen_the_rule_is_unknown_with_the_reason(one_rule):
    before = finding(tread(one_rule, UNSEEN, "2020-04-30"))
    assert before.outcome is Outcome.UNKNOWN
    assert "seen in force on 2020-05-01" in before.reason
    assert "2020-05-01" in str(before)
    assert before.missing == ()
    assert before.parameters == ()


def test_from_the_day_on_which_it_was_seen_the_rule_holds(one_rule):
    after = finding(tread(one_rule, UNSEEN, "2020-05-01"))
    assert after.outcome is Outcome.PASS
    assert after.reason == ""
    assert after.parameters[0].starts == date(2020, 5, 1)


def test_a_rule_whose_own_start_was_not_seen(one_rule):
    for on, outcome in (("2020-04-30", Outcome.UNKNOWN), ("2020-05-01", Outcome.PASS)):
        book = tread(one_rule, TWO, on, **{"from": "unseen", "seen_on": date(2020, 5, 1)})
        assert finding(book).outcome is outcome


LATER = (
    UNSEEN
    + """
[[min_depth.value]]
from = "unseen"
seen_on = 2023-01-01
is = "2 mm"
cite = { source = "road_act", at = "art. 12" }
"""
)


def test_no_date_is_invented_between_two_values_that_were_seen(one_rule, packs):
    assert any("until when the value before" in each for each in faults(packs, LATER))
    text = LATER.replace("seen_on = 2020-05-01", "seen_on = 2020-05-01\nuntil = 2021-12-31")
    assert finding(tread(one_rule, text, "2021-12-31")).outcome is Outcome.PASS
    between = finding(tread(one_rule, text, "2022-06-01"))
    assert between.outcome is Outcome.UNKNOWN
    assert "2023-01-01" in between.reason
    assert finding(tread(one_rule, text, "2023-01-01")).limit == 2.0


@pytest.mark.parametrize("end", [REPEALED, ""])
def test_a_limit_that_ended_takes_its_rule_with_it(one_rule, end):
    text = TWO + end if end else TWO.replace("from = 2014-07-01", "from = 2014-07-01\nuntil = 2019-12-31")
    assert finding(tread(one_rule, text, "2019-12-31")).outcome is Outcome.PASS
    assert finding(tread(one_rule, text, "2020-01-01")) is None


def test_a_rule_begins_with_its_parameter(one_rule):
    assert finding(tread(one_rule, TWO, "2000-12-31")) is None
    assert finding(tread(one_rule, TWO, "2001-01-01")).outcome is Outcome.PASS


def test_a_rule_that_claims_to_begin_before_its_parameter_is_a_named_error(one_rule):
    with pytest.raises(RuleError, match="xa.tyre.tread_depth.*no value on 1999-01-01"):
        tread(one_rule, TWO, "1999-01-01", **{"from": date(1990, 1, 1)})


# --- counting from another day ------------------------------------------------------------------------------

STEPS = """
[required]
kind = "flag"
doc = "Whether monitoring is required, by first registration"
counts_from = "vehicle.first_registration"
[[required.value]]
is = false
cite = { source = "road_act", at = "art. 40" }
[[required.value]]
from = 2014-11-01
is = true
cite = { source = "road_act", at = "art. 41" }
"""


def stepped(one_rule, registered, works, on="2012-01-01"):
    vehicle = Vehicle(first_registration=registered, monitoring_works=works)
    book = one_rule({"tpms": STEPS}, shape="required_from", limit="tpms.required", on=on)
    return finding(book, Job(vehicle=vehicle))


@pytest.mark.parametrize(
    ("registered", "works", "outcome"),
    [
        ("2014-10-31", False, Outcome.PASS),
        ("2014-11-01", False, Outcome.FAIL),
        ("2014-11-01", True, Outcome.PASS),
        ("2014-W44", False, Outcome.UNKNOWN),  # 27 October to 2 November
        ("2014-W44", True, Outcome.PASS),
        ("2014-W43", False, Outcome.PASS),
        (None, False, Outcome.UNKNOWN),
        (None, True, Outcome.PASS),
        (None, None, Outcome.UNKNOWN),
    ],
)
def test_a_parameter_may_count_from_another_day_than_the_law_s(one_rule, registered, works, outcome):
    # the day of the book lies before the step: only the registration counts
    assert stepped(one_rule, registered, works).outcome is outcome


def test_what_is_missing_of_a_step(one_rule):
    assert stepped(one_rule, None, False).missing == ("vehicle.first_registration",)
    assert stepped(one_rule, "2014-W44", False).missing == ("vehicle.first_registration",)
    assert set(stepped(one_rule, None, None).missing) == {
        "vehicle.first_registration",
        "vehicle.monitoring_works",
    }


def test_a_finding_names_the_value_that_its_vehicle_falls_under(one_rule):
    assert [p.citation.at for p in stepped(one_rule, "2014-11-01", True).parameters] == ["art. 41"]
    assert [p.citation.at for p in stepped(one_rule, "2014-10-31", True).parameters] == ["art. 40"]
    assert stepped(one_rule, None, True).parameters == ()


def test_a_day_before_the_first_step_is_unknown_and_asks_for_nothing(one_rule):
    text = STEPS.replace(
        "[[required.value]]\nis = false", "[[required.value]]\nfrom = 2000-01-01\nis = false"
    )
    book = one_rule({"tpms": text}, shape="required_from", limit="tpms.required", on="2012-01-01")
    found = finding(book, Job(vehicle=Vehicle(first_registration="1999-12-31", monitoring_works=False)))
    assert found.outcome is Outcome.UNKNOWN
    assert found.missing == ()  # the day is known exactly: no reading can change it
    assert "cannot be judged from what is given" in str(found)


def test_a_step_below_the_subject_is_a_named_error(one_rule):
    text = STEPS.replace("vehicle.first_registration", "tyre.manufactured")
    with pytest.raises(RuleError, match="reads fields of a wheel"):
        one_rule({"tpms": text}, shape="required_from", limit="tpms.required")
