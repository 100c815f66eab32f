"""Forces in a turning wheel."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stemlore.errors import OutOfRangeError
from stemlore.formulas.geometry import wheel_frequency
from stemlore.formulas.rotation import (
    centrifugal_acceleration,
    centrifugal_force,
    core_opening_acceleration,
    core_opening_speed,
    stem_deflection,
)

SPEEDS = st.floats(1, 350)
RADII = st.floats(100, 700)


@given(SPEEDS, RADII, RADII)
def test_acceleration_by_turns(speed: float, rolling: float, radius: float) -> None:
    turns = wheel_frequency(speed / 3.6, rolling / 1000)
    wanted = (2 * math.pi * turns) ** 2 * radius / 1000
    assert centrifugal_acceleration(speed, rolling, radius) == pytest.approx(wanted, rel=1e-9)


def test_acceleration_against_scipys_gravity() -> None:
    scipy = pytest.importorskip("scipy.constants")
    # engineers' forum, and row X25 of what was collected: 1556 times gravity at 200 mph, 2702 turns a minute
    found = centrifugal_acceleration(200 * 1.609344, 12.4375 * 25.4, 7.5 * 25.4)
    assert found / scipy.g == pytest.approx(1556, abs=0.5)
    assert (found / (7.5 * scipy.inch)) ** 0.5 * 30 / math.pi == pytest.approx(2702, abs=1)


@given(SPEEDS, RADII, RADII, st.floats(1.01, 3))
def test_acceleration_grows_with_the_square_of_speed(
    speed: float, rolling: float, radius: float, more: float
) -> None:
    one, two = (centrifugal_acceleration(each, rolling, radius) for each in (speed, speed * more))
    assert two / one == pytest.approx(more * more, rel=1e-9)
    assert centrifugal_acceleration(speed, rolling * more, radius) < one


@given(st.floats(0.1, 100), SPEEDS, RADII, RADII)
def test_force_is_mass_times_acceleration(mass: float, speed: float, rolling: float, radius: float) -> None:
    wanted = mass / 1000 * centrifugal_acceleration(speed, rolling, radius)
    assert centrifugal_force(mass, speed, rolling, radius) == pytest.approx(wanted, rel=1e-9)


@given(st.floats(0.5, 20), st.floats(0.1, 2), RADII, RADII)
def test_at_its_opening_speed_the_pin_just_lifts(
    spring: float, mass: float, rolling: float, radius: float
) -> None:
    speed = core_opening_speed(spring, mass, rolling, radius)
    assert centrifugal_force(mass, speed, rolling, radius) == pytest.approx(spring, rel=1e-9)
    reached = centrifugal_acceleration(speed, rolling, radius)
    assert reached == pytest.approx(core_opening_acceleration(spring, mass), rel=1e-9)


def test_core_of_the_source_by_its_own_figures() -> None:
    scipy = pytest.importorskip("scipy.constants")
    # 400 gf and 0.3 g: 1333 times gravity and 185 mph, where its text says about 1200 and 175
    bound = core_opening_acceleration(0.4 * scipy.g, 0.3)
    assert bound / scipy.g == pytest.approx(4000 / 3, rel=1e-9)
    speed = core_opening_speed(0.4 * scipy.g, 0.3, 12.4375 * 25.4, 7.5 * 25.4)
    assert speed / 1.609344 == pytest.approx(185, abs=0.5)
    assert "1333 and 185" in core_opening_speed.misfit


@given(st.floats(0.1, 500), st.floats(0.1, 500))
def test_deflection_takes_the_force_back(force: float, stiffness: float) -> None:
    assert stem_deflection(force, stiffness) * stiffness == pytest.approx(force)


def test_stiffness_has_no_default() -> None:
    with pytest.raises(TypeError):
        stem_deflection(25.0)


@pytest.mark.parametrize(
    "formula, values",
    [
        (centrifugal_acceleration, (0, 300, 200)),
        (centrifugal_force, (0, 100, 300, 200)),
        (core_opening_acceleration, (4, 0)),
        (core_opening_speed, (4, 0.3, 300, 0)),
        (stem_deflection, (25, 0)),
    ],
)
def test_out_of_range(formula: Any, values: tuple[float, ...]) -> None:
    with pytest.raises(OutOfRangeError):
        formula(*values)
