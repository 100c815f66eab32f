"""Survival, hazard and residual life, against SciPy and against themselves."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate, stats

from stemlore.errors import OutOfRangeError
from stemlore.formulas import formula
from stemlore.formulas.life import (
    QUOTED_LIVES,
    conditional_survival_at_age,
    conditional_survival_at_distance,
    hazard_at_age,
    hazard_at_distance,
    residual_age,
    residual_distance,
    share_age,
    share_distance,
    survival_at_age,
    survival_at_distance,
)
from stemlore.provenance import Grade

LIFE = st.floats(0.5, 300_000)
SHAPE = st.floats(0.6, 6)
USED = st.floats(0.01, 2)


@settings(deadline=None)
@given(USED, LIFE, SHAPE)
def test_against_the_distribution_of_scipy(used: float, life: float, shape: float) -> None:
    model, at = stats.weibull_min(shape, scale=life), used * life
    for survival, hazard in ((survival_at_age, hazard_at_age), (survival_at_distance, hazard_at_distance)):
        assert survival(at, life, shape) == pytest.approx(model.sf(at), rel=1e-9, abs=1e-300)
        density = hazard(at, life, shape) * survival(at, life, shape)
        assert density == pytest.approx(model.pdf(at), rel=1e-9, abs=1e-300)


@settings(deadline=None)
@given(USED, st.floats(0, 2), LIFE, SHAPE)
def test_conditional_survival_is_a_ratio(used: float, more: float, life: float, shape: float) -> None:
    so_far, further = used * life, more * life
    found = conditional_survival_at_age(so_far, further, life, shape)
    assert 0 <= found <= 1
    alive = survival_at_age(so_far, life, shape)
    assert found * alive == pytest.approx(
        survival_at_age(so_far + further, life, shape), rel=1e-9, abs=1e-300
    )
    assert conditional_survival_at_distance(so_far, further, life, shape) == found


@settings(deadline=None)
@given(USED, st.floats(0.01, 0.99), LIFE, SHAPE)
def test_share_and_conditional_survival_are_inverse(
    used: float, share: float, life: float, shape: float
) -> None:
    more = share_age(used * life, share, life, shape)
    assert more == share_distance(used * life, share, life, shape)
    if more > 1e-6 * used * life:  # else lost in rounding
        left = conditional_survival_at_age(used * life, more, life, shape)
        assert left == pytest.approx(1 - share, rel=1e-6)


@settings(deadline=None)
@given(st.floats(0, 1.5), st.floats(1, 20), st.floats(0.7, 4))
def test_residual_life_is_the_integral_of_survival(used: float, life: float, shape: float) -> None:
    so_far = used * life
    found = residual_age(so_far, life, shape)
    by_integral, error = integrate.quad(
        lambda more: math.exp((so_far / life) ** shape - ((so_far + more) / life) ** shape), 0, np.inf
    )
    assert found.value == pytest.approx(by_integral, abs=10 * error + 1e-7)
    assert found.within < 1e-9
    assert (found.grade, str(found.unit)) == (Grade.SECONDARY, "year")
    assert residual_distance(so_far, life, shape).value == found.value


def test_what_wears_has_less_left_and_what_does_not_has_as_much() -> None:
    ages = np.array([0.0, 2.0, 5.0, 9.0])
    assert np.all(np.diff(residual_age(ages, 8.0, 2.5).value) < 0)
    assert residual_age(ages, 8.0, 1.0).value == pytest.approx([8.0] * 4)
    assert np.all(np.diff(residual_age(ages, 8.0, 0.7).value) > 0)


@pytest.mark.parametrize("so_far, life, shape", [(-1, 8, 2), (1, 0, 2), (1, 8, 0), (math.nan, 8, 2)])
def test_no_life_without_a_model(so_far: float, life: float, shape: float) -> None:
    for refused in (survival_at_age, hazard_at_age, residual_age):
        with pytest.raises(OutOfRangeError):
            refused(so_far, life, shape)


def test_a_model_must_be_given() -> None:
    """No default life is shipped: only ranges that the trade quotes, told as common practice."""
    for each in (survival_at_age, hazard_at_distance, residual_age, share_age):
        assert {"life", "shape"} <= {argument.name for argument in each.args}
    assert {(each.low, each.high, each.unit) for each in QUOTED_LIVES} == {
        (5.0, 10.0, "year"),
        (100_000.0, 150_000.0, "km"),
    }
    assert {each.grade for each in QUOTED_LIVES} == {Grade.PRACTICE}


def test_beyond_thought_nothing_is_left_to_tell() -> None:
    with pytest.raises(OutOfRangeError, match="any part reaches"):
        residual_age(1000.0, 8.0, 3.0)


def test_text_with_units() -> None:
    value, unit = formula("survival_at_age").quantity(so_far="96 month", life="8 year", shape="2 1")
    assert (value, str(unit)) == (pytest.approx(math.exp(-1), abs=1e-6), "1")
    value, unit = formula("hazard_at_distance").quantity(so_far="60000 mi", life="160000 km", shape="1 1")
    assert (value, str(unit)) == (pytest.approx(1 / 160_000, abs=1e-6), "1/km")
