"""Thresholds of pressure monitoring, and what wheel speeds can and cannot tell."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stemlore.errors import OutOfRangeError
from stemlore.formulas import constant
from stemlore.formulas.monitoring import (
    diagonal_difference,
    diagonal_ratio,
    pressure_loss_from_speed,
    speed_ratio_after_loss,
    speed_ratio_of_radius,
    warning_pressure_un,
    warning_pressure_us,
)
from stemlore.provenance import Grade

SPEEDS = st.floats(1, 50)
SMALL = st.floats(0.001, 0.1)


@given(st.floats(50, 1000))
def test_thresholds_keep_their_share(pressure: float) -> None:
    assert warning_pressure_us(pressure) == pytest.approx(0.75 * pressure)
    assert warning_pressure_un(pressure) == pytest.approx(0.8 * pressure)


def test_thresholds_say_how_well_they_are_known() -> None:
    assert warning_pressure_un.grade is Grade.SECONDARY
    assert constant("fmvss138.share").citation.grade is Grade.REPRODUCTION
    assert "not readable" in warning_pressure_us.misfit
    assert "text was not read" in warning_pressure_un.misfit


@given(st.floats(100, 600), st.floats(100, 600))
def test_a_smaller_wheel_turns_faster(radius: float, other: float) -> None:
    ratio = speed_ratio_of_radius(radius, other)
    assert (ratio > 1) is (other < radius)
    assert speed_ratio_of_radius(other, radius) == pytest.approx(1 / ratio)


@given(st.floats(0.01, 3), st.floats(0.001, 0.1))
def test_loss_is_the_inverse_of_speed(loss: float, sensitivity: float) -> None:
    ratio = speed_ratio_after_loss(loss, sensitivity)
    assert ratio > 1
    assert pressure_loss_from_speed(ratio, sensitivity) == pytest.approx(100 * loss, rel=1e-6)
    assert ratio == pytest.approx(speed_ratio_of_radius(300, 300 * (1 - loss * sensitivity)))


@given(SPEEDS, SPEEDS, SPEEDS, SPEEDS, st.floats(0.1, 10))
def test_road_speed_drops_out(one: float, two: float, three: float, four: float, faster: float) -> None:
    wheels = (one, two, three, four)
    quicker = tuple(faster * each for each in wheels)
    assert diagonal_ratio(*quicker) == pytest.approx(diagonal_ratio(*wheels))
    assert diagonal_difference(*quicker) == pytest.approx(diagonal_difference(*wheels), abs=1e-12)


@pytest.mark.parametrize("low", [(0,), (1,), (2,), (3,), (0, 3), (1, 2), (0, 1, 2)])
@given(speed=SPEEDS, more=SMALL)
def test_one_tyre_or_a_diagonal_is_seen(low: tuple[int, ...], speed: float, more: float) -> None:
    wheels = [speed * (1 + more) if each in low else speed for each in range(4)]
    ratio, difference = diagonal_ratio(*wheels), diagonal_difference(*wheels)
    on_first = sum(each in (0, 3) for each in low) > sum(each in (1, 2) for each in low)
    assert (ratio > 1 + more / 2) if on_first else (ratio < 1 - more / 3)
    assert (difference > 0) is on_first
    # to first order the difference is half of what the ratio shows
    assert difference == pytest.approx(math.log(ratio) / 2, rel=0.15)


@pytest.mark.parametrize("low", [(), (0, 1), (2, 3), (0, 2), (1, 3), (0, 1, 2, 3)])
@given(speed=SPEEDS, more=SMALL)
def test_axle_side_and_all_four_are_not_seen(low: tuple[int, ...], speed: float, more: float) -> None:
    wheels = [speed * (1 + more) if each in low else speed for each in range(4)]
    assert diagonal_ratio(*wheels) == pytest.approx(1, abs=1e-12)
    assert diagonal_difference(*wheels) == pytest.approx(0, abs=1e-12)
    for each in (diagonal_ratio, diagonal_difference):
        assert "alike on all wheels, on both of an axle or on both of a side" in each.misfit


def test_difference_is_that_of_the_patent() -> None:
    # EP 0 647 536 A1: DEL' = (C1+C4-C2-C3) x 50 / ((C1+C2+C3+C4)/4), in per cent
    c1, c2, c3, c4 = 10.02, 10.0, 9.99, 10.01
    wanted = (c1 + c4 - c2 - c3) * 50 / ((c1 + c2 + c3 + c4) / 4)
    assert 100 * diagonal_difference(c1, c2, c3, c4) == pytest.approx(wanted)
    assert 0.05 < wanted < 0.5


def test_nobody_is_given_a_sensitivity() -> None:
    with pytest.raises(TypeError):
        speed_ratio_after_loss(0.5)


@pytest.mark.parametrize(
    "formula, values",
    [
        (warning_pressure_us, (0,)),
        (warning_pressure_un, (-10,)),
        (speed_ratio_of_radius, (300, 0)),
        (speed_ratio_after_loss, (2, 0.5)),
        (pressure_loss_from_speed, (0.99, 0.01)),
        (diagonal_ratio, (10, 10, 10, 0)),
        (diagonal_difference, (10, -10, 10, 10)),
    ],
)
def test_out_of_range(formula: Any, values: tuple[float, ...]) -> None:
    with pytest.raises(OutOfRangeError):
        formula(*values)
