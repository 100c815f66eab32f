"""Age replacement: the cheapest age, against brute force and an independent library."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate

from stemlore.errors import OutOfRangeError
from stemlore.formulas.replacement import (
    replacement_age,
    replacement_cost_by_age,
    replacement_cost_by_distance,
    replacement_distance,
    replacement_now_by_age,
    replacement_now_by_distance,
)

LIFE = st.floats(1, 20)
SHAPE = st.floats(1.3, 5)
FAILURE = st.floats(1.5, 50)


def survival(at: float, life: float, shape: float) -> float:
    return math.exp(-((at / life) ** shape))


@settings(deadline=None)
@given(st.floats(0.05, 2), LIFE, st.floats(0.7, 5), FAILURE)
def test_cost_rate_by_its_definition(used: float, life: float, shape: float, failure: float) -> None:
    # cost of a cycle over its length: (CP R + CU (1 - R)) / integral of R, as in the wiki; web copies
    # with t + integral of (1 - R) below the line are wrong
    at = used * life
    alive = survival(at, life, shape)
    length, error = integrate.quad(survival, 0, at, args=(life, shape))
    found = replacement_cost_by_age(at, life, shape, 1.0, failure)
    assert found.value == pytest.approx((alive + failure * (1 - alive)) / length, rel=1e-6 + error / length)
    assert str(found.unit) == "1/year"
    assert replacement_cost_by_distance(at, life, shape, 1.0, failure).value == found.value


@settings(max_examples=40, deadline=None)
@given(LIFE, SHAPE, FAILURE)
def test_no_other_age_is_cheaper(life: float, shape: float, failure: float) -> None:
    best = replacement_age(life, shape, 1.0, failure).value
    ages = best * np.array([1.0, 0.5, 0.9, 0.99, 1.01, 1.1, 2.0])
    costs = replacement_cost_by_age(ages, life, shape, 1.0, failure).value
    assert np.all(costs >= costs[0] * (1 - 1e-12))
    # at the best age the cost of waiting is the least cost: h(T) (CU - CP) = c
    hazard = shape / life * (best / life) ** (shape - 1)
    assert hazard * (failure - 1) == pytest.approx(costs[0], rel=1e-6)


@settings(deadline=None)
@given(LIFE, SHAPE, FAILURE, st.floats(1.01, 3))
def test_a_dearer_failure_is_forestalled_earlier(
    life: float, shape: float, failure: float, dearer: float
) -> None:
    assert (
        replacement_age(life, shape, 1.0, failure * dearer).value
        < replacement_age(life, shape, 1.0, failure).value
    )


def test_against_two_published_cases_and_another_library() -> None:
    # reliability engineering newsletter 96: planned 2, unplanned 8, shape 3, life 150 days; two
    # independent computations give 83.12 days and 0.03685 a day
    assert replacement_distance(150.0, 3.0, 2.0, 8.0).value == pytest.approx(83.12, abs=0.05)
    assert replacement_cost_by_distance(83.12, 150.0, 3.0, 2.0, 8.0).value == pytest.approx(0.03685, abs=1e-5)
    repairable = pytest.importorskip("reliability.Repairable_systems")
    other = repairable.optimal_replacement_time(
        cost_PM=2,
        cost_CM=8,
        weibull_alpha=150,
        weibull_beta=3,
        show_time_plot=False,
        show_ratio_plot=False,
        print_results=False,
    )
    assert float(other.ORT) == pytest.approx(replacement_age(150.0, 3.0, 2.0, 8.0).value, rel=1e-3)
    assert other.min_cost == pytest.approx(0.03685, abs=1e-5)


@settings(deadline=None)
@given(LIFE, SHAPE, FAILURE, st.floats(0.1, 2), st.floats(0.05, 1))
def test_now_or_at_the_next_visit(
    life: float, shape: float, failure: float, used: float, interval: float
) -> None:
    at, until = used * life, interval * life
    saved = replacement_now_by_age(at, until, life, shape, 1.0, failure).value
    assert replacement_now_by_distance(at, until, life, shape, 1.0, failure).value == saved
    alive = survival(at, life, shape)
    run = integrate.quad(survival, at, at + until, args=(life, shape))[0] / alive
    fails = 1 - survival(at + until, life, shape) / alive
    best = replacement_age(life, shape, 1.0, failure).value
    least = replacement_cost_by_age(best, life, shape, 1.0, failure).value
    assert saved == pytest.approx((failure - 1) * fails - least * run, rel=1e-5, abs=1e-5)
    if at >= best:
        assert saved > -1e-9
    if at + until <= best:
        assert saved < 1e-9


def test_many_parts_at_once() -> None:
    ages = np.array([1.0, 5.0, 9.0])
    saved = replacement_now_by_age(ages, 1.0, 8.0, 3.0, 20.0, 120.0).value
    assert np.all(np.diff(saved) > 0)
    assert saved[0] < 0 < saved[-1]
    lives = replacement_age(np.array([8.0, 16.0]), 3.0, 20.0, 120.0).value
    assert lives[1] == pytest.approx(2 * lives[0])


@pytest.mark.parametrize("shape, planned, failure", [(1.0, 1, 5), (0.8, 1, 5), (2.5, 5, 5), (2.5, 6, 5)])
def test_where_early_replacement_never_pays_it_says_so(shape: float, planned: float, failure: float) -> None:
    for refused, values in (
        (replacement_age, (8.0, shape, planned, failure)),
        (replacement_now_by_age, (1.0, 1.0, 8.0, shape, planned, failure)),
    ):
        with pytest.raises(OutOfRangeError, match="leave the part until it fails"):
            refused(*values)


def test_an_age_that_no_part_reaches_is_no_answer() -> None:
    with pytest.raises(OutOfRangeError, match="beyond the age that any part reaches") as caught:
        replacement_age(8.0, 1.01, 1.0, 1.001)
    assert "until it fails" in caught.value.advice
    with pytest.raises(OutOfRangeError):
        replacement_now_by_age(800.0, 1.0, 8.0, 3.0, 1.0, 5.0)
    with pytest.raises(OutOfRangeError):
        replacement_cost_by_age(0.0, 8.0, 3.0, 1.0, 5.0)
