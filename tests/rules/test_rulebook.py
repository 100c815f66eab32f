"""Which packs are in force for a vehicle's places on a day, and what stands in for what."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import date, datetime, timedelta

import pytest

from stemlore.errors import (
    DayError,
    DecisionUnavailableError,
    PackLoadError,
    RuleError,
    UnknownPlaceError,
    UnknownRuleError,
)
from stemlore.model import Assembly, Axle, Event, Job, Tyre, Vehicle
from stemlore.rules import Outcome, Tie, check, rulebook

DAY = "2024-06-01"


def coverage(book):
    return {each.tie: (each.place, each.covered) for each in book.coverage.ties}


# --- ties and places ----------------------------------------------------------------------------------


def test_one_place_sets_all_three_ties(packs):
    book = packs.book(packs([{}]))
    assert coverage(book) == dict.fromkeys(Tie, ("XA", True))
    assert book.coverage.complete
    assert book.coverage.gaps == ()
    assert book.place(Tie.WORKSHOP) == "XA"


@pytest.mark.parametrize("keyword", [tie.value for tie in Tie])
def test_a_keyword_overrides_one_tie(packs, keyword):
    book = packs.book(packs([{}]), packs([{}], id="xb"), **{keyword: "XB"})
    assert coverage(book) == {tie: ("XB" if tie == keyword else "XA", True) for tie in Tie}


def test_a_rule_holds_only_where_its_tie_leads(packs):
    rules = [{"id": f"{{}}.tyre.{tie}", "tie": tie} for tie in ("registered_in", "used_in", "workshop")]

    def pack(id):
        return packs([rule | {"id": rule["id"].format(id)} for rule in rules], id=id)

    book = packs.book(pack("xa"), pack("xb"), used_in="XB")
    mine = {name for name in book.rules if name.startswith("x")}
    assert mine == {"xa.tyre.registered_in", "xb.tyre.used_in", "xa.tyre.workshop"}


def test_a_tie_that_is_not_given_is_reported_and_never_assumed(packs):
    book = packs.book(packs([{}]), place=None, used_in="XA")
    assert coverage(book)[Tie.USED_IN] == ("XA", True)
    assert [each.tie for each in book.coverage.gaps] == [Tie.REGISTERED_IN, Tie.WORKSHOP]
    assert {each.note for each in book.coverage.gaps} == {"the place was not given"}
    assert not book.coverage.complete


def test_no_place_at_all_is_a_book_that_covers_nothing():
    book = rulebook(on=DAY)
    assert len(book.coverage.gaps) == 3
    assert "world" in book.coverage.packs


def test_a_country_without_a_pack_is_never_covered(packs):
    book = packs.book(packs([{}]), place="XC")
    assert not book.coverage.complete
    assert [each.note for each in book.coverage.gaps] == ["there is no pack for XC"] * 3
    assert "xa" not in book.coverage.packs
    report = check(Job(vehicle=Vehicle(monitoring_works=True)), book)
    assert not report.is_clean


@pytest.mark.parametrize("place", ["", "  ", "UK", "Xanadu"])
@pytest.mark.parametrize("keyword", ["place", "used_in"])
def test_an_unknown_place_is_a_named_error(place, keyword):
    with pytest.raises(UnknownPlaceError) as caught:
        rulebook(on=DAY, **{keyword: place})
    if place == "UK":
        assert "GB" in str(caught.value)


# --- subdivisions ---------------------------------------------------------------------------------------


def test_a_subdivision_is_covered_by_its_country_only_where_that_makes_all_the_law(packs):
    closed = packs([{}], own_law_below=False)
    assert packs.book(closed, place="XA-1").coverage.complete
    left_open = packs([{}], folder="open")
    book = packs.book(left_open, place="XA-1")
    assert "xa" in book.coverage.packs
    assert not book.coverage.complete
    assert book.coverage.gaps[0].note == "there is no pack for XA-1; only XA's own rules were checked"


@pytest.mark.parametrize(
    ("place", "covered"), [("DE", True), ("DE-BY", True), ("US", True), ("US-CA", True), ("US-NV", False)]
)
def test_germany_makes_the_law_of_its_states_america_does_not(place, covered):
    assert rulebook(place, on=DAY).coverage.complete is covered


def test_a_subdivision_has_its_country(packs):
    below = packs([{"id": "xa_1.tyre.own"}], id="xa_1", place="XA-1")
    book = packs.book(packs([{}]), below, place="XA-1")
    assert book.coverage.complete
    assert book.coverage.packs[:2] == ("xa_1", "xa")
    assert {"xa.tyre.tread_depth", "xa_1.tyre.own"} <= set(book.rules)
    assert "xa_1.tyre.own" not in packs.book(packs([{}], folder="again"), below, place="XA").rules


# --- parents ----------------------------------------------------------------------------------------------


def test_a_parent_s_rules_hold_between_its_days(packs):
    member = {"id": "xu", "from": date(2004, 5, 1), "until": date(2020, 1, 31)}
    child, union = packs([{}], parents=[member]), packs([{}], id="xu", place="XY")
    for on, held in [
        ("2004-04-30", False),
        ("2004-05-01", True),
        ("2020-01-31", True),
        ("2020-02-01", False),
    ]:
        book = packs.book(child, union, on=on)
        assert ("xu" in book.coverage.packs) is held
        assert ("xu.tyre.tread_depth" in book.rules) is held


def test_parents_have_parents(packs):
    book = packs.book(
        packs([{}], parents=["xb"]), packs([{}], id="xb", parents=["xc"]), packs([{}], id="xc", parents=[])
    )
    assert book.coverage.packs[:3] == ("xa", "xb", "xc")


def test_parents_in_a_circle_are_a_named_error(packs):
    with pytest.raises(PackLoadError, match="xa > xb > xa"):
        packs.book(packs([{}], parents=["xb"]), packs([{}], id="xb", parents=["xa"]))


def test_its_own_parent_is_a_circle(packs):
    with pytest.raises(PackLoadError, match="xa > xa"):
        packs.book(packs([{}], parents=["xa"]))


def test_a_parent_that_is_not_installed_is_a_named_error(packs):
    with pytest.raises(PackLoadError, match="its parent 'xq' cannot be loaded: it is not installed"):
        packs.book(packs([{}], parents=["xq"]))


def test_two_parents_may_share_a_parent(packs):
    book = packs.book(
        packs([{}], parents=["xb", "xc"]),
        packs([{}], id="xb", parents=["xd"]),
        packs([{}], id="xc", parents=["xd"]),
        packs([{}], id="xd"),
    )
    assert book.coverage.packs.count("xd") == 1


# --- days -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("on", [DAY, date(2024, 6, 1)])
def test_a_day_is_a_date_or_its_text(packs, on):
    assert packs.book(packs([{}]), on=on).on == date(2024, 6, 1)


@pytest.mark.parametrize("on", ["1.6.2024", "2024-13-01", "", None, 20240601, datetime(2024, 6, 1, 12)])
def test_what_is_no_day_is_a_named_error(on):
    with pytest.raises(DayError):
        rulebook("XA", on=on)


def test_the_day_must_be_given():
    with pytest.raises(TypeError):
        rulebook("XA")  # type: ignore[call-arg]


def test_a_day_before_the_first_law_is_a_named_error(packs):
    folder = packs([{}], first_day=date(1992, 1, 1))
    assert packs.book(folder, on="1992-01-01").coverage.complete
    for place in ("XA", "XA-1"):
        with pytest.raises(DayError, match="the law of XA is known here from 1992-01-01, not on 1991-12-31"):
            packs.book(folder, place=place, on="1991-12-31")


def test_one_tie_to_a_place_before_its_first_law_is_enough(packs):
    with pytest.raises(DayError):
        packs.book(
            packs([{}]), packs([{}], id="xb", first_day=date(1992, 1, 1)), workshop="XB", on="1991-12-31"
        )


def test_a_rule_holds_on_both_its_first_and_its_last_day(packs):
    folder = packs([{"from": date(2010, 1, 1), "until": date(2019, 12, 31)}])
    days = {"2009-12-31": False, "2010-01-01": True, "2019-12-31": True, "2020-01-01": False}
    assert {on: "xa.tyre.tread_depth" in packs.book(folder, on=on).rules for on in days} == days


# --- decision rule ----------------------------------------------------------------------------------------


def test_guarded_decisions_say_that_they_are_not_available(packs):
    with pytest.raises(DecisionUnavailableError, match="not available"):
        packs.book(packs([{}]), decision="guarded")
    with pytest.raises(DecisionUnavailableError, match="'lenient'"):
        packs.book(packs([{}]), decision="lenient")


# --- epochs: the day is a value, not part of what is compiled ----------------------------------------------


def test_between_two_changes_of_law_the_same_compiled_book_answers():
    book = rulebook("DE", on=DAY)
    first, last = book.epoch
    edges = [day for day in (first, last, date(2024, 6, 2)) if day is not None]
    assert all(rulebook("DE", on=day).compiled is book.compiled for day in edges)
    assert rulebook("DE", on=DAY).compiled is book.compiled
    beyond = [day for day in (first and first - timedelta(1), last and last + timedelta(1)) if day]
    assert beyond
    for day in beyond:
        if day >= date(2012, 1, 1):
            assert rulebook("DE", on=day).compiled is not book.compiled


def test_other_places_are_another_book():
    assert rulebook("DE", on=DAY).compiled is not rulebook("DE", on=DAY, used_in="US").compiled


def test_opening_from_many_threads_compiles_once():
    places = ["DE", "US", "DE-BY", "FR"]
    days = [date(2012, 1, 1) + timedelta(days=31 * step) for step in range(24)]
    jobs = [(place, day) for day in days for place in places]
    with ThreadPoolExecutor(8) as pool:
        books = list(pool.map(lambda job: rulebook(job[0], on=job[1]), jobs))
    alone = {}
    for (place, day), book in zip(jobs, books, strict=True):
        assert book.on == day
        key = (place, book.epoch)
        assert alone.setdefault(key, book.compiled) is book.compiled
    with ThreadPoolExecutor(8) as pool:
        codes = list(pool.map(lambda book: check(Job(), book).counts, books))
    assert codes == [check(Job(), book).counts for book in books]


# --- superseding ------------------------------------------------------------------------------------------

SIX = Job(
    vehicle=Vehicle(category="M1", axles=[Axle(number=1, fitment="centre")]),
    assemblies=[Assembly(position="axle 1 centre", tyre=Tyre(studded=True))],
)


def studs(id, **more):
    return {"id": f"{id}.tyre.studs", "shape": "forbidden", "field": "tyre.studded"} | more


def superseding(packs, parent=None, child=None, *, on=DAY, job=SIX):
    """Judge with a parent that forbids studs and a child that allows them."""
    union = packs([studs("xu", **(parent or {}))], id="xu", place="XY", folder="union")
    own = {"shape": "required", "supersedes": "xu.tyre.studs"} | (child or {})
    book = packs.book(packs([studs("xa", **own)], parents=["xu"]), union, on=on)
    return {finding.rule: finding.outcome for finding in check(job, book).findings if finding.rule[0] == "x"}


def test_a_child_stands_in_for_its_parent_s_rule(packs):
    assert superseding(packs) == {"xa.tyre.studs": Outcome.PASS}


def test_outside_the_child_s_condition_the_parent_s_rule_holds(packs):
    found = superseding(packs, child={"when": {"vehicle.category": "M1"}})
    assert found == {"xa.tyre.studs": Outcome.PASS, "xu.tyre.studs": Outcome.NOT_APPLICABLE}
    found = superseding(packs, child={"when": {"vehicle.category": "N1"}})
    assert found == {"xa.tyre.studs": Outcome.NOT_APPLICABLE, "xu.tyre.studs": Outcome.FAIL}


def test_where_it_is_not_known_which_holds_both_are_unknown(packs):
    job = Job(vehicle=Vehicle(axles=SIX.vehicle.axles), assemblies=SIX.assemblies)
    found = superseding(packs, child={"when": {"vehicle.category": "M1"}}, job=job)
    assert set(found.values()) == {Outcome.UNKNOWN}


def test_the_parent_s_own_condition_still_counts(packs):
    found = superseding(packs, {"when": {"vehicle.category": "N2"}}, {"when": {"vehicle.category": "N1"}})
    assert found["xu.tyre.studs"] is Outcome.NOT_APPLICABLE


@pytest.mark.parametrize(
    ("on", "holds"), [("2009-12-31", False), ("2010-01-01", True), ("2020-01-01", False)]
)
def test_outside_the_child_s_dates_the_parent_s_rule_holds(packs, on, holds):
    found = superseding(packs, child={"from": date(2010, 1, 1), "until": date(2019, 12, 31)}, on=on)
    assert found == ({"xa.tyre.studs": Outcome.PASS} if holds else {"xu.tyre.studs": Outcome.FAIL})


def test_only_rules_of_one_tie_supersede_each_other(packs):
    with pytest.raises(RuleError, match="tied to used_in, not workshop"):
        superseding(packs, child={"tie": "workshop"})


def test_a_rule_for_safety_is_never_superseded(packs):
    with pytest.raises(RuleError, match="safety"):
        superseding(packs, {"basis": "safety"})


def test_superseding_a_rule_that_is_not_there_is_an_error_with_its_place(packs):
    with pytest.raises(RuleError, match=r"rules.toml.*xa.tyre.studs: supersedes 'xu.tyre.stud'"):
        superseding(packs, child={"supersedes": "xu.tyre.stud"})


def test_a_pack_supersedes_only_what_stands_above_it(packs):
    addition = packs([studs("acme", shape="required", supersedes="xa.tyre.studs")], id="acme", place="XA")
    with pytest.raises(RuleError, match="no parent of 'acme'"):
        packs.book(packs([studs("xa")]), addition)


def test_what_a_former_parent_said_is_not_missed(packs):
    union = packs([studs("xu")], id="xu", place="XY")
    rule = studs("xa", shape="required", supersedes="xu.tyre.studs")
    folder = packs([rule], parents=[{"id": "xu", "until": date(2020, 1, 31)}])
    assert "xa.tyre.studs" in packs.book(folder, union, on="2020-01-31").rules
    assert "xa.tyre.studs" in packs.book(folder, union, on="2020-02-01").rules


def test_a_condition_on_a_wheel_cannot_narrow_a_rule_on_the_vehicle(packs):
    parent = {"shape": "required", "field": "vehicle.monitoring_works"}
    with pytest.raises(RuleError, match="cannot be judged"):
        superseding(packs, parent, child={"when": {"tyre.retread": True}})


def test_a_subdivision_supersedes_its_country_s_rule(packs):
    below = packs([studs("xa_1", shape="required", supersedes="xa.tyre.studs")], id="xa_1", place="XA-1")
    country = packs([studs("xa")])
    assert "xa.tyre.studs" not in packs.book(country, below, place="XA-1").rules
    book = packs.book(country, below, place="XA", used_in="XA-1")
    assert "xa.tyre.studs" not in book.rules  # tied to use, and used below


def test_where_the_child_s_tie_leads_elsewhere_the_parent_s_rule_holds(packs):
    union = packs([studs("xu")], id="xu", place="XY")
    own = packs([studs("xa", shape="required", supersedes="xu.tyre.studs")], parents=["xu"])
    other = packs([{}], id="xb", parents=["xu"])
    book = packs.book(own, union, other, used_in="XB")
    assert "xu.tyre.studs" in book.rules
    assert "xa.tyre.studs" not in book.rules


def test_a_chain_of_three(packs):
    top = packs([studs("xu")], id="xu", place="XY")
    rule = studs("xm", supersedes="xu.tyre.studs", when={"vehicle.category": "M1"})
    middle = packs([rule], id="xm", place="XZ", parents=["xu"])
    own = packs([studs("xa", shape="required", supersedes="xm.tyre.studs")], parents=["xm"])
    rules = packs.book(own, middle, top).rules
    assert "xm.tyre.studs" not in rules
    assert {"xa.tyre.studs", "xu.tyre.studs"} <= set(rules)


# --- names ------------------------------------------------------------------------------------------------


def test_a_rule_by_name_and_a_near_miss(packs):
    book = packs.book(packs([{}]))
    assert book.rule("xa.tyre.tread_depth").title == "Tread is not below the least depth"
    with pytest.raises(UnknownRuleError, match="did you mean xa.tyre.tread_depth"):
        book.rule("xa.tyre.tread_deph")


def test_a_parameter_of_a_pack_that_is_not_open_is_an_error_with_its_place(packs):
    rule = {"shape": "at_least", "field": "tyre.pressure", "limit": "xb.tyre.pressure"}
    with pytest.raises(
        RuleError, match=r"rules.toml.*no parameter 'xb.tyre.pressure' in the packs that are open"
    ):
        packs.book(packs([rule]))


def test_a_parameter_of_another_dimension_is_an_error_with_its_place(packs):
    rule = {"shape": "at_least", "field": "tyre.pressure", "limit": "tread.depth"}
    with pytest.raises(RuleError, match=r"rules.toml.*xa.tyre.tread_depth.*length"):
        packs.book(packs([rule], {"tread": packs.number("depth")}))


def test_a_parameter_of_a_parent_can_be_used(packs):
    parent = packs([{}], {"tread": packs.number("depth", "2 mm")}, id="xu", place="XY")
    rule = {"shape": "at_least", "field": "tyre.tread_depth_main_grooves", "limit": "xu.tread.depth"}
    book = packs.book(packs([rule], parents=["xu"]), parent)
    assert book.rules["xa.tyre.tread_depth"].parameters[0].name == "xu.tread.depth"


# --- fingerprints -----------------------------------------------------------------------------------------


def test_the_fingerprint_of_a_book(packs):
    folder = packs([{}])
    first = packs.book(folder).fingerprint
    assert packs.book(folder).fingerprint == first
    assert packs.book(folder, on="2024-06-02").fingerprint != first
    assert packs.book(folder, workshop="XB").fingerprint != first
    assert packs.book(packs([{"gravity": "advise"}], folder="other")).fingerprint != first
    assert len(first) == 64


def test_a_pack_that_is_not_in_force_changes_no_fingerprint(packs):
    folder = packs([{}])
    assert packs.book(folder, packs([{}], id="xb")).fingerprint == packs.book(folder).fingerprint


def test_the_event_s_day_is_not_the_law_s(packs):
    folder = packs([{"from": date(2020, 1, 1)}])
    job = Job(vehicle=Vehicle(monitoring_works=True), event=Event(on="2019-06-01"))
    report = check(job, packs.book(folder))
    assert "xa.tyre.tread_depth" in {finding.rule for finding in report.findings}
