"""Gauge errors by rule, and uncertainties put together."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stemlore.errors import OutOfRangeError
from stemlore.formulas import formula
from stemlore.formulas.measurement import (
    depth_uncertainty,
    gauge_class_error,
    pressure_expanded_uncertainty,
    pressure_uncertainty,
    tyre_gauge_error,
    tyre_gauge_error_in_use,
    tyre_gauge_temperature_error,
)
from stemlore.provenance import Grade

PART = st.floats(0, 50)


# Directive 86/217/EEC, annex 2.1, as carried over by Czech decree 337/2000: 8, 16 and 25 kPa
@pytest.mark.parametrize(
    "pressure, wanted", [(1, 8), (230, 8), (400, 8), (400.001, 16), (900, 16), (1000, 16), (1200, 25)]
)
def test_errors_by_range(pressure: float, wanted: float) -> None:
    assert tyre_gauge_error(pressure) == wanted
    # MessEV 22(2): twice in use
    assert tyre_gauge_error_in_use(pressure) == 2 * wanted


# annex 2.2: 0.1 % of 400 kPa a degree up to 400 kPa, 0.05 % of 1000 kPa above; none from 15 to 25 °C
@pytest.mark.parametrize(
    "pressure, celsius, wanted",
    [(230, -10, 10.0), (230, 15, 0), (230, 25, 0), (230, 40, 6.0), (900, 5, 5.0), (900, 35, 5.0)],
)
def test_error_from_temperature(pressure: float, celsius: float, wanted: float) -> None:
    assert tyre_gauge_temperature_error(pressure, celsius + 273.15) == pytest.approx(wanted, abs=1e-9)


@pytest.mark.parametrize("pressure, celsius", [(230, -11), (230, 41), (1001, 20), (0, 20)])
def test_beyond_the_climate_nothing_is_granted(pressure: float, celsius: float) -> None:
    with pytest.raises(OutOfRangeError, match="-10 to 40"):
        tyre_gauge_temperature_error(pressure, celsius + 273.15)


@settings(deadline=None)
@given(PART, PART, PART, PART)
def test_root_of_the_sum_of_squares(mpe: float, step: float, spread: float, other: float) -> None:
    if mpe + step + spread + other < 1e-6:
        with pytest.raises(OutOfRangeError, match="one at least"):
            pressure_uncertainty(0.0, 0.0, 0.0, 0.0)
        return
    found = pressure_uncertainty(mpe, step, spread, other)
    # JCGM 100's way: rectangles of half-width a have a / sqrt(3)
    assert found == pytest.approx(math.hypot(mpe / 3**0.5, step / 2 / 3**0.5, spread, other), rel=1e-9)
    assert found == depth_uncertainty(mpe, step, spread, other)
    assert found <= mpe + step + spread + other
    assert pressure_expanded_uncertainty(found, 2.0) == 2 * found


def test_a_rectangle_by_chance() -> None:
    """Errors drawn between the limits, readings rounded to the step: the spread comes out."""
    random = np.random.default_rng(1)
    true = random.uniform(200, 260, 200_000)
    read = true + random.uniform(-8, 8, true.size) + random.normal(0, 2, true.size)
    off = np.round(read / 10) * 10 - true
    assert off.std() == pytest.approx(pressure_uncertainty(8.0, 10.0, 2.0, 0.0), rel=0.01)


@pytest.mark.parametrize("place", range(4))
def test_no_cause_is_below_zero(place: int) -> None:
    values = [1.0] * 4
    values[place] = -0.5
    with pytest.raises(OutOfRangeError, match="below zero"):
        depth_uncertainty(*values)


def test_text_and_grades() -> None:
    assert formula("tyre_gauge_error").quantity(pressure="2.3 bar")[0] == 8
    assert formula("gauge_class_error").quantity(span="10 bar", accuracy_class="1.6 %")[0] == pytest.approx(
        16
    )
    assert tyre_gauge_error.grade is Grade.REPRODUCTION
    assert "EN 12645" in tyre_gauge_error.misfit
    for wrong in ((0.0, 0.016), (1000.0, 0.0)):
        with pytest.raises(OutOfRangeError):
            gauge_class_error(*wrong)
    with pytest.raises(OutOfRangeError):
        pressure_expanded_uncertainty(1.0, 0.0)
