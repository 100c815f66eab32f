"""Probability of conformity, guard bands and risks, against SciPy's distributions and by chance."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate, stats

from stemlore.errors import OutOfRangeError, RuleError
from stemlore.formulas.conformity import (
    depth_at_least_probability,
    depth_consumers_risk,
    depth_lower_acceptance_limit,
    depth_producers_risk,
    guard_factor,
    pressure_at_least_probability,
    pressure_at_most_probability,
    pressure_between_probability,
    pressure_consumers_risk,
    pressure_lower_acceptance_limit,
    pressure_producers_risk,
    pressure_upper_acceptance_limit,
)
from stemlore.formulas.measurement import pressure_expanded_uncertainty
from stemlore.provenance import Grade

READING = st.floats(150, 350)
UNCERTAINTY = st.floats(0.5, 20)


@settings(deadline=None)
@given(READING, UNCERTAINTY, READING, st.floats(1, 60))
def test_against_the_normal_distribution(
    reading: float, uncertainty: float, lower: float, width: float
) -> None:
    true, upper = stats.norm(reading, uncertainty), lower + width
    below = pressure_at_most_probability(reading, uncertainty, upper)
    assert below.value == pytest.approx(true.cdf(upper), abs=1e-12)
    above = pressure_at_least_probability(reading, uncertainty, lower)
    assert above.value == pytest.approx(true.sf(lower), abs=1e-12)
    inside = pressure_between_probability(reading, uncertainty, lower, upper)
    assert inside.value == pytest.approx(true.cdf(upper) - true.cdf(lower), abs=1e-12)
    assert inside.value <= min(below.value, above.value) + 1e-12
    assert (below.grade, str(below.unit)) == (Grade.SECONDARY, "1")
    assert below.within < 1e-12


@settings(deadline=None)
@given(st.floats(0.001, 0.49), READING, UNCERTAINTY)
def test_at_the_acceptance_limit_the_risk_is_what_was_asked(
    risk: float, limit: float, uncertainty: float
) -> None:
    guard = pressure_expanded_uncertainty(uncertainty, guard_factor(risk).value)
    least, most = (
        pressure_lower_acceptance_limit(limit, guard),
        pressure_upper_acceptance_limit(limit, guard),
    )
    assert least > limit > most
    assert pressure_at_most_probability(most, uncertainty, limit).value == pytest.approx(1 - risk)
    assert pressure_at_least_probability(least, uncertainty, limit).value == pytest.approx(1 - risk)


def test_the_usual_guard_band() -> None:
    # ILAC-G8: a guard band of the expanded uncertainty holds the risk below 2.5 %
    least = depth_lower_acceptance_limit(1.6, 2 * 0.1)
    assert least == pytest.approx(1.8)
    assert 1 - depth_at_least_probability(least, 0.1, 1.6).value < 0.025
    # no guard band: an even chance at the limit
    assert depth_at_least_probability(1.6, 0.1, 1.6).value == 0.5


def test_many_readings_at_once() -> None:
    found = depth_at_least_probability(np.array([1.5, 1.6, 1.9]), 0.1, 1.6).value
    assert found == pytest.approx(stats.norm.cdf([-1, 0, 3]))


def by_integral(
    mean: float, spread: float, uncertainty: float, lower: float, upper: float, guard: float
) -> tuple[float, float]:
    """Return both risks by integrating over what is true."""
    true = stats.norm(mean, spread)

    def accepted(at: Any) -> Any:
        below = stats.norm.cdf((upper - guard - at) / uncertainty)
        return below - stats.norm.cdf((lower + guard - at) / uncertainty)

    def over(function: Any, start: float, end: float) -> float:
        at = np.linspace(start, end, 20_001)
        return float(integrate.simpson(function(at), x=at))

    far = 9 * spread
    outside = [(min(mean - far, lower), lower), (upper, max(mean + far, upper))]
    consumers = sum(over(lambda y: true.pdf(y) * accepted(y), *ends) for ends in outside)
    return consumers, over(lambda y: true.pdf(y) * (1 - accepted(y)), lower, upper)


@settings(max_examples=25, deadline=None)
@given(st.floats(-1, 1), st.floats(0.3, 2), st.floats(0.05, 1), st.floats(0, 0.5))
def test_risks_by_integration(mean: float, spread: float, uncertainty: float, guard: float) -> None:
    values = (mean, spread, uncertainty, -1.5, 1.2, guard)
    consumers, producers = by_integral(*values)
    assert pressure_consumers_risk(*values).value == pytest.approx(consumers, abs=1e-8)
    assert pressure_producers_risk(*values).value == pytest.approx(producers, abs=1e-8)
    assert depth_consumers_risk(*values).value == pressure_consumers_risk(*values).value
    assert depth_producers_risk(*values).value == pressure_producers_risk(*values).value


@pytest.mark.parametrize("mean", [-1.5, 0.0, 1.2])
def test_risks_where_a_limit_meets_the_mean(mean: float) -> None:
    values = (mean, 0.5, 0.2, -1.5, 1.2, 0.0)
    consumers, producers = by_integral(*values)
    assert pressure_consumers_risk(*values).value == pytest.approx(consumers, abs=1e-8)
    assert pressure_producers_risk(*values).value == pytest.approx(producers, abs=1e-8)


def test_risks_by_chance() -> None:
    random = np.random.default_rng(7)
    true = random.normal(2.2, 0.5, 1_000_000)
    read = true + random.normal(0, 0.15, true.size)
    # one limit only: tread of at least 1.6 mm, the other put far away
    values = (2.2, 0.5, 0.15, 1.6, 1e6, 0.1)
    accepted, conforms = read >= 1.7, true >= 1.6
    assert depth_consumers_risk(*values).value == pytest.approx((accepted & ~conforms).mean(), abs=3e-4)
    assert depth_producers_risk(*values).value == pytest.approx((conforms & ~accepted).mean(), abs=6e-4)


@settings(deadline=None)
@given(st.floats(0.05, 1), st.floats(0, 0.4), st.floats(0.01, 0.4))
def test_a_wider_guard_band_moves_the_risk(uncertainty: float, guard: float, more: float) -> None:
    values = (0.0, 1.0, uncertainty, -1.0, 1.0)
    narrow, wide = ((*values, each) for each in (guard, guard + more))
    assert pressure_consumers_risk(*wide).value <= pressure_consumers_risk(*narrow).value + 1e-14
    assert pressure_producers_risk(*wide).value >= pressure_producers_risk(*narrow).value - 1e-14
    assert pressure_consumers_risk(*wide).within < 1e-12


@pytest.mark.parametrize(
    "refused, values, why",
    [
        (guard_factor, (0.5,), "between 0 and a half"),
        (guard_factor, (0.0,), "between 0 and a half"),
        (pressure_at_most_probability, (230.0, 0.0, 250.0), "above zero"),
        (pressure_between_probability, (230.0, 1.0, 250.0, 250.0), "below the upper"),
        (pressure_upper_acceptance_limit, (250.0, -1.0), "not below zero"),
        (pressure_consumers_risk, (0.0, 1.0, 0.1, -1.0, 1.0, 1.0), "leave room"),
        (pressure_producers_risk, (0.0, 0.0, 0.1, -1.0, 1.0, 0.0), "above zero"),
    ],
)
def test_what_makes_no_sense_is_refused(refused: Any, values: tuple[float, ...], why: str) -> None:
    with pytest.raises(OutOfRangeError, match=why):
        refused(*values)


def test_a_probability_stands_in_no_rule_an_acceptance_limit_does() -> None:
    from stemlore.rules import field
    from stemlore.rules.nodes import Node

    tread = field("tyre.tread_depth_main_grooves")
    with pytest.raises(RuleError, match="procedure"):
        depth_at_least_probability(tread, 0.1, 1.6)
    assert isinstance(depth_lower_acceptance_limit(tread, 0.2), Node)
