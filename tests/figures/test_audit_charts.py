"""Charts of an audit: the counts they show are the audit's, and what is unknown is named."""

from __future__ import annotations

from typing import TYPE_CHECKING
from xml.etree import ElementTree

import polars as pl
import pytest

from stemlore import rulebook
from stemlore.audit import AuditRun, audit_fleet
from stemlore.errors import RecordError, UnknownRuleError
from stemlore.figures import Figure, margins, outcomes_by_rule

if TYPE_CHECKING:
    from stemlore.rules.discovery import Discovery

TREAD, PRESSURE = "xa.tyre.tread_depth", "xa.tyre.pressure"


def audited(treads: list[float | None], pressure: float | None = 240.0) -> AuditRun:
    wheels = pl.DataFrame(
        {
            "vehicle_id": [str(number // 2) for number in range(len(treads))],
            "axle_number": [1] * len(treads),
            "side": [("left", "right")[number % 2] for number in range(len(treads))],
            "tyre_tread_depth_main_grooves_mm": pl.Series(treads, dtype=pl.Float64),
            "tyre_pressure_kpa": pl.Series([pressure] * len(treads), dtype=pl.Float64),
            "vehicle_axle_count": [1] * len(treads),
        }
    )
    return audit_fleet(wheels, rulebook("XA", on="2026-11-25"))


def drawn(figure: Figure) -> ElementTree.Element:
    root = ElementTree.fromstring(figure.svg())
    assert root.get("role") == "img"
    assert figure.svg() == figure.svg()
    return root


def test_rules_are_told_by_how_often_they_fail(invented: Discovery) -> None:
    figure = outcomes_by_rule(audited([1.0, 1.2, 1.5, 5.0, 6.0, None], pressure=460.0))
    told = figure.description
    assert f"({PRESSURE}, remedy): 6 fail, 0 pass, 0 unknown." in told
    assert f"({TREAD}, hold): 3 fail, 2 pass, 1 unknown." in told
    assert told.index(PRESSURE) < told.index(TREAD)
    # the tread of one wheel, and whether the monitoring of three vehicles works
    assert figure.missing == ("readings for 4 findings of all rules, which are unknown",)
    drawn(figure)


def test_few_rules_are_drawn_and_the_others_counted(invented: Discovery) -> None:
    figure = outcomes_by_rule(audited([1.0, 1.2], pressure=460.0), most=1)
    assert TREAD not in figure.description.split("1 more rules fail")[0] or PRESSURE not in figure.description
    assert "1 more rules fail, each no more often than these." in figure.description


def test_no_failure_is_no_praise(invented: Discovery) -> None:
    figure = outcomes_by_rule(audited([5.0, None]))
    assert "No finding fails. That says nothing of what is unknown." in figure.description
    assert figure.missing
    drawn(figure)


def test_margins_are_counted_by_bin_and_outcome(invented: Discovery) -> None:
    figure = margins(audited([1.0, 1.5, 1.6, 1.7, 1.7, 3.1, None, 1.0]), TREAD)
    told = figure.description
    assert "-0.6 to below -0.5 mm: 2 fail, 0 pass." in told
    assert "-0.1 to below 0 mm: 1 fail, 0 pass." in told
    assert "0 to below 0.1 mm: 0 fail, 1 pass." in told
    assert "0.1 to below 0.2 mm: 0 fail, 2 pass." in told
    assert "1.5 to below 1.6 mm: 0 fail, 1 pass." in told
    assert "3 findings fail, 4 pass." in told
    assert figure.missing == ("readings for 1 findings, which are unknown",)
    drawn(figure)


def test_margins_far_off_stand_in_the_outermost_column(invented: Discovery) -> None:
    figure = margins(audited([1.0, *([2.0] * 250), 50.0]), TREAD)
    assert "and more: 0 fail, 1 pass." in figure.description
    assert "The outermost columns hold all that lie beyond." in figure.description
    drawn(figure)


def test_a_rule_without_margins_is_refused_by_name(invented: Discovery) -> None:
    run = audited([1.0, 2.0])
    with pytest.raises(RecordError, match=r"xa\.vehicle\.monitoring has no margin"):
        margins(run, "xa.vehicle.monitoring")
    with pytest.raises(RecordError, match="no margin"):
        margins(audited([None, None]), TREAD)
    with pytest.raises(UnknownRuleError, match="did you mean"):
        margins(run, "xa.tyre.tread_dept")
