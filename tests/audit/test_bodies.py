"""Rules with a Python body in bulk: the counter's findings, and what raises stops or is listed."""

from __future__ import annotations

from types import MappingProxyType
from typing import Any

import attrs
import polars as pl
import pytest

from stemlore.audit import audit_fleet
from stemlore.errors import RuleError
from stemlore.rules import Cite, Outcome, Rule, Rulebook, check, field, pack, rulebook
from stemlore.testing.fleet import synthetic_fleet

DAY = "2026-11-25"
_BASE: dict[str, Any] = {
    "tie": "used_in",
    "basis": "practice",
    "gravity": "remedy",
    "cite": Cite("stvzo", "§ 36"),
}


def deep_on_both_sides(view: Any) -> bool | None:
    depths = [member.load("tyre.tread_depth_main_grooves") for member in view.members()]
    return None if None in depths else max(depths) - min(depths) < 1.0


def even_week(view: Any) -> bool | None:
    made = view.load("tyre.manufactured")
    return None if made is None else made.earliest.toordinal() % 2 == 0


def raises_when_worn(view: Any) -> bool | None:
    if view.load("tyre.tread_depth_main_grooves") < 5.0:
        raise OSError("no gauge")
    return True


def rule(name: str, subject: str, body: Any, reads: tuple[str, ...], **more: Any) -> Rule:
    given = _BASE | {"id": f"de.{name}", "title": "T", "subject": subject, "check": field("tyre.studded")}
    if subject != "position":
        given["check"] = field("vehicle.monitoring_works")
    return Rule(**given, body=body, reads=reads, **more)


RULES = (
    rule("tyre.even_week", "position", even_week, ("tyre.manufactured", "tyre.studded")),
    rule("axle.even_wear", "axle", deep_on_both_sides, ("tyre.tread_depth_main_grooves",)),
    rule(
        "tyre.van_week",
        "position",
        even_week,
        ("tyre.manufactured",),
        when=field("vehicle.category").equals("N1"),
    ),
)


def book_with(*rules: Rule) -> Rulebook:
    de = pack("de")
    cite = Cite(next(iter(de.sources)), "1")
    own = {each.id: attrs.evolve(each, cite=cite) for each in rules}
    return rulebook("DE", on=DAY, also=[attrs.evolve(de, rules=MappingProxyType({**de.rules, **own}))])


WHEELS = synthetic_fleet(60, seed=11).wheels.with_columns(
    pl.when(pl.int_range(pl.len()) % 7 != 3).then(pl.col("tyre_manufactured")).alias("tyre_manufactured"),
    pl.when(pl.int_range(pl.len()) % 11 != 5)
    .then(pl.col("tyre_tread_depth_main_grooves_mm"))
    .alias("tyre_tread_depth_main_grooves_mm"),
)


@pytest.mark.parametrize("workers", [1, 2])
def test_a_body_finds_in_bulk_what_it_finds_at_the_counter(workers: int) -> None:
    book = book_with(*RULES)
    run = audit_fleet(WHEELS, book, workers=workers)
    names = [each.id for each in RULES]
    found = run.findings.filter(pl.col("rule").is_in(names)).collect()
    by_bulk = {
        (row["vehicle_id"], row["position"], row["rule"]): (row["outcome"], row["missing"])
        for row in found.iter_rows(named=True)
    }
    by_counter = {}
    for number, job in run.jobs():
        report = check(job, book)
        assert not report.faults
        for each in report.findings:
            if each.rule in names:
                missing = list(each.missing) if each.outcome is Outcome.UNKNOWN else None
                by_counter[number, str(each.subject), each.rule] = (each.outcome.word, missing)
    assert by_bulk == by_counter
    assert {"pass", "fail", "unknown", "not applicable"} == {outcome for outcome, _ in by_bulk.values()}
    assert any("rules in Python" in note for note in run.notes)
    counted = run.summary.filter(pl.col("rule") == names[0]).row(0, named=True)
    assert counted["subjects"] == WHEELS.height
    assert counted["fail"] == sum(key[2] == names[0] and told[0] == "fail" for key, told in by_bulk.items())


def test_a_body_that_raises_stops_the_audit_or_is_listed() -> None:
    whole = WHEELS.with_columns(pl.col("tyre_tread_depth_main_grooves_mm").fill_null(7.0))
    worn = whole.filter(pl.col("tyre_tread_depth_main_grooves_mm") < 5.0).height
    assert worn > 5
    bad = rule("tyre.gauge", "position", raises_when_worn, ("tyre.tread_depth_main_grooves",))
    book = book_with(bad)
    with pytest.raises(
        RuleError, match=r"de\.tyre\.gauge raised on axle \d .* of vehicle \d+, row \d+: OSError"
    ):
        _ = audit_fleet(whole, book).summary
    run = audit_fleet(whole, book, on_fault="list")
    counted = run.summary.filter(pl.col("rule") == "de.tyre.gauge").row(0, named=True)
    assert counted["subjects"] == counted["pass"] == whole.height - worn
    assert run.faults.height == worn
    assert set(run.faults["error"]) == {"OSError: no gauge"}
    told = run.vehicles.collect()
    assert int(told["faults"].sum()) == worn
    assert not told.filter((pl.col("faults") > 0) & (pl.col("outcome") == "clean")).height


def test_a_wheel_in_two_rows_that_differ_has_nothing_that_a_body_reads() -> None:
    other = WHEELS[:1].with_columns(pl.col("tyre_manufactured").dt.offset_by("1d"))
    run = audit_fleet(pl.concat([other, WHEELS]), book_with(*RULES))
    twice = run.findings.filter(pl.col("row").is_in([1, 2]), pl.col("rule") == RULES[0].id).collect()
    assert twice["outcome"].to_list() == ["unknown", "unknown"]
    assert run.quality.filter(pl.col("kind") == "duplicate").collect()["row"].to_list() == [1, 2]
