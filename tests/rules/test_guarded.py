"""Guarded decisions: a reading nearer to its limit than its uncertainty proves neither side."""

from __future__ import annotations

import pytest

from stemlore.errors import DecisionUnavailableError, PackError, RuleError
from stemlore.model import Assembly, Axle, Job, Position, Tyre, Vehicle
from stemlore.rules import Outcome, check, rulebook

DEPTH = """
[min_depth]
unit = "mm"
doc = "Least tread depth"
[[min_depth.value]]
from = 2000-01-01
is = "1.6 mm"
cite = { source = "road_act", at = "art. 12" }

[gauge_error]
unit = "mm"
doc = "Expanded uncertainty of a tread gauge"
[[gauge_error.value]]
from = 2000-01-01
is = "0.1 mm"
cite = { source = "road_act", at = "art. 13" }
"""
RULE = {
    "field": "tyre.tread_depth_main_grooves",
    "shape": "at_least",
    "limit": "tread.min_depth",
    "uncertainty": "tread.gauge_error",
}


def found(packs, depth: str | None, decision: str, **rule):
    folder = packs([{**RULE, **rule}], {"tread": DEPTH})
    book = rulebook("XA", on="2024-06-01", decision=decision, also=[folder])
    job = Job(
        vehicle=Vehicle(axles=(Axle(number=1, fitment="centre"),)),
        assemblies=(
            Assembly(position=Position.parse("axle 1 centre"), tyre=Tyre(tread_depth_main_grooves=depth)),
        ),
    )
    report = check(job, book)
    assert not report.faults
    return report, next(each for each in report.findings if each.rule == "xa.tyre.tread_depth")


@pytest.mark.parametrize(
    ("depth", "simple", "guarded"),
    [
        ("1.8 mm", "pass", "pass"),
        ("1.7 mm", "pass", "pass"),  # at the acceptance limit: 1.6 + 0.1
        ("1.69 mm", "pass", "unknown"),
        ("1.6 mm", "pass", "unknown"),
        ("1.59 mm", "fail", "fail"),  # past the limit itself
        ("1.49 mm", "fail", "fail"),
        (None, "unknown", "unknown"),
    ],
)
def test_a_lower_limit(packs, depth, simple, guarded) -> None:
    assert found(packs, depth, "simple")[1].outcome.word == simple
    assert found(packs, depth, "guarded")[1].outcome.word == guarded


@pytest.mark.parametrize(
    ("depth", "guarded"),
    [("1.5 mm", "pass"), ("1.51 mm", "unknown"), ("1.6 mm", "unknown"), ("1.61 mm", "fail")],
)
def test_an_upper_limit(packs, depth, guarded) -> None:
    assert found(packs, depth, "guarded", shape="at_most")[1].outcome.word == guarded


def test_margins_keep_their_signs_and_the_reading_is_shown_as_it_was(packs) -> None:
    _, passed = found(packs, "1.75 mm", "guarded")
    assert (passed.measured, passed.limit, passed.margin) == (1.75, 1.6, 0.15)
    _, failed = found(packs, "1.4 mm", "guarded")
    assert (failed.measured, failed.margin) == (1.4, -0.2)
    _, open_ = found(packs, "1.6 mm", "guarded")
    assert open_.margin is None
    assert open_.missing == ()
    assert open_.sentence().startswith(
        "Axle 1 centre: tread depth in the main grooves 1.6 mm is nearer to the limit 1.6 mm than it is known"
    )


def test_the_finding_and_the_report_say_how_it_was_decided(packs) -> None:
    report, finding = found(packs, "1.8 mm", "guarded")
    assert finding.decision == "guarded"
    others = {each.decision for each in report.findings if each.rule != finding.rule}
    assert others == {"simple"}
    assert any("simple acceptance" in note for note in report.notes)
    assert {used.name for used in finding.parameters} == {"xa.tread.min_depth", "xa.tread.gauge_error"}
    report, finding = found(packs, "1.8 mm", "simple")
    assert finding.decision == "simple"
    assert {used.name for used in finding.parameters} == {"xa.tread.min_depth"}
    assert report.notes == ()


def test_books_of_two_decisions_have_two_fingerprints(packs) -> None:
    folder = packs([RULE], {"tread": DEPTH})
    books = [rulebook("XA", on="2024-06-01", decision=each, also=[folder]) for each in ("simple", "guarded")]
    assert books[0].fingerprint != books[1].fingerprint


def test_where_no_rule_declares_it_it_is_unavailable(packs) -> None:
    folder = packs([{**RULE, "uncertainty": None}], {"tread": DEPTH})
    with pytest.raises(DecisionUnavailableError, match="no rule in force declares"):
        rulebook("XA", on="2024-06-01", decision="guarded", also=[folder])
    with pytest.raises(DecisionUnavailableError, match="unknown decision rule"):
        rulebook("XA", on="2024-06-01", decision="cautious", also=[folder])


def test_an_unknown_parameter_is_found_when_the_pack_is_read(packs) -> None:
    with pytest.raises(PackError, match=r"gauge_eror.*gauge_error"):
        packs([{**RULE, "uncertainty": "tread.gauge_eror"}], {"tread": DEPTH}).load()


def test_a_wrong_dimension_is_found_when_the_book_is_opened(packs) -> None:
    wrong = DEPTH.replace('unit = "mm"\ndoc = "Expanded', 'unit = "kPa"\ndoc = "Expanded').replace(
        'is = "0.1 mm"', 'is = "8 kPa"'
    )
    folder = packs([RULE], {"tread": wrong})
    rulebook("XA", on="2024-06-01", also=[folder])
    with pytest.raises(RuleError, match="pressure"):
        rulebook("XA", on="2024-06-01", decision="guarded", also=[folder])


@pytest.mark.parametrize(
    ("depth", "outcome"),
    [
        ("1.69 mm", "unknown"),
        ("1.7 mm", "pass"),
        ("2.9 mm", "pass"),
        ("2.91 mm", "unknown"),
        ("3.01 mm", "fail"),
    ],
)
def test_between_two_limits(packs, depth, outcome) -> None:
    parameters = DEPTH + DEPTH[: DEPTH.index("[gauge_error]")].replace("min_depth", "max_depth").replace(
        '"1.6 mm"', '"3 mm"'
    )
    rule = {**RULE, "shape": "between", "limit": ["tread.min_depth", "tread.max_depth"]}
    book = rulebook("XA", on="2024-06-01", decision="guarded", also=[packs([rule], {"tread": parameters})])
    tyre = Tyre(tread_depth_main_grooves=depth)
    job = Job(
        vehicle=Vehicle(axles=(Axle(number=1, fitment="centre"),)),
        assemblies=(Assembly(position=Position.parse("axle 1 centre"), tyre=tyre),),
    )
    finding = next(each for each in check(job, book).findings if each.rule == "xa.tyre.tread_depth")
    assert finding.outcome.word == outcome


def test_a_negative_uncertainty_is_refused(packs) -> None:
    folder = packs([RULE], {"tread": DEPTH.replace('"0.1 mm"', '"-0.1 mm"')})
    with pytest.raises(RuleError, match="below zero"):
        rulebook("XA", on="2024-06-01", decision="guarded", also=[folder])


def test_an_uncertainty_of_what_is_no_comparison_is_found_when_the_pack_is_read(packs) -> None:
    rule = {**RULE, "shape": "required", "field": "vehicle.monitoring_works", "limit": None}
    with pytest.raises(PackError, match="compares a reading with a limit"):
        packs([rule], {"tread": DEPTH}).load()


def test_the_acceptance_limit_is_where_the_probability_of_conformity_is_as_wanted() -> None:
    """U = 1.96 u of a normal reading: at the acceptance limit 97.5 % conform."""
    pytest.importorskip("scipy")
    from stemlore.formulas import compute

    found, _ = compute(
        "depth_at_least_probability",
        reading="1.7 mm",
        uncertainty=f"{0.1 / 1.959963984540054} mm",
        limit="1.6 mm",
    )
    assert found.value == pytest.approx(0.975, abs=1e-6)


def test_outcomes_of_both_decisions_never_contradict(packs) -> None:
    for tenth in range(10, 25):
        depth = f"{tenth / 10} mm"
        simple = found(packs, depth, "simple")[1].outcome
        guarded = found(packs, depth, "guarded")[1].outcome
        assert guarded is simple or (simple, guarded) == (Outcome.PASS, Outcome.UNKNOWN)
