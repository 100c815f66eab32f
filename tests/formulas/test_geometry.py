"""Sizes, radii, speedometer limits and the valve in its wheel."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stemlore.errors import OutOfRangeError
from stemlore.formulas.fitment import (
    greatest_indicated_speed,
    indicated_speed,
    sealing_land,
    size_change,
    true_speed,
    valve_clearance,
)
from stemlore.formulas.geometry import (
    circumference,
    dynamic_radius,
    overall_diameter,
    revolutions_per_distance,
    section_height,
    section_width_on_rim,
    static_radius,
    tyre_volume,
    wheel_frequency,
)

WIDTH = st.floats(125, 345)
RATIO = st.floats(0.25, 0.85)
RIM = st.floats(254, 620)
SPEED = st.floats(1, 320)


@given(WIDTH, RATIO, RIM)
def test_diameter_is_rim_and_two_heights(width: float, ratio: float, rim: float) -> None:
    diameter = overall_diameter(width, ratio, rim)
    assert diameter == pytest.approx(rim + 2 * section_height(width, ratio))
    assert static_radius(diameter) < diameter / 2
    assert circumference(diameter) == pytest.approx(math.tau * diameter / 2)


def test_contest_output_from_the_marks() -> None:
    # ACM ICPC Rocky Mountain 2005, "Tire Dimensions": the contest's sample, in cm
    for width, ratio, rim, wanted in (
        (195, 75, 14, 204),
        (205, 60, 15, 197),
        (115, 70, 15, 170),
        (245, 75, 16, 243),
    ):
        assert round(circumference(overall_diameter(width, ratio / 100, rim * 25.4)) / 10) == wanted


def test_circumference_of_the_worked_note() -> None:
    # an engineer's worked example: P215/65R15 rolls 1991.01 mm at 0.96 of its radius, with 3.14 for pi
    rolling = 2 * 3.14 * static_radius(overall_diameter(215, 0.65, 381.0))
    assert rolling == pytest.approx(1991.01, abs=0.02)


@given(st.floats(800, 3500))
def test_revolutions_cover_the_distance(way: float) -> None:
    assert revolutions_per_distance(way) * way == pytest.approx(1e6)


@given(st.floats(1, 90), st.floats(0.2, 0.6))
def test_wheel_frequency_and_radius_are_inverse(speed: float, radius: float) -> None:
    assert dynamic_radius(speed, wheel_frequency(speed, radius)) == pytest.approx(radius)


@given(WIDTH, RATIO, RIM)
def test_volume_lies_between_the_two_cylinders(width: float, ratio: float, rim: float) -> None:
    """Two discs of the tyre's width, by areas: another way than the formula's."""
    height = width * ratio
    area = math.pi * ((rim / 2 + height) ** 2 - (rim / 2) ** 2)
    assert tyre_volume(width, ratio, rim) == pytest.approx(width * area / 1e6)


@given(st.floats(150, 300), st.floats(100, 250), st.floats(100, 250))
def test_section_width_there_and_back(width: float, one: float, two: float) -> None:
    other = section_width_on_rim(width, one, two)
    assert (other > width) == (two > one) or math.isclose(one, two, abs_tol=1e-9)
    assert section_width_on_rim(other, two, one) == pytest.approx(width)


@given(SPEED, st.floats(500, 900), st.floats(500, 900))
def test_speeds_are_inverse(speed: float, old: float, new: float) -> None:
    shown = indicated_speed(speed, old, new)
    assert true_speed(shown, old, new) == pytest.approx(speed)
    # a greater tyre makes the speedometer read low
    assert (shown < speed) == (size_change(old, new) > 0) or math.isclose(old, new)


@given(SPEED)
def test_speedometer_limit_in_the_form_of_the_regulation(speed: float) -> None:
    # UN R39 5.3: 0 <= V1 - V2 <= 0.1 V2 + 4 km/h
    most = greatest_indicated_speed(speed)
    assert most - speed >= 0
    assert most - speed == pytest.approx(0.1 * speed + 4)


@pytest.mark.parametrize("wrong", [0.0, -1.0])
def test_nothing_without_size(wrong: float) -> None:
    for refused, values in (
        (section_height, (wrong, 0.5)),
        (overall_diameter, (205.0, 0.55, wrong)),
        (circumference, (wrong,)),
        (revolutions_per_distance, (wrong,)),
        (dynamic_radius, (10.0, wrong)),
        (wheel_frequency, (10.0, wrong)),
        (section_width_on_rim, (205.0, wrong, 165.0)),
        (size_change, (wrong, 632.0)),
        (true_speed, (wrong, 632.0, 632.0)),
        (greatest_indicated_speed, (wrong,)),
        (valve_clearance, (wrong, 20.0)),
        (sealing_land, (wrong,)),
    ):
        with pytest.raises(OutOfRangeError, match="above zero"):
            refused(*values)


def test_a_long_valve_stands_out() -> None:
    assert valve_clearance(20.0, 35.0) == -15.0


@given(st.floats(0.5, 12), st.floats(0, 5))
def test_sealing_land_never_shrinks_with_thickness(thickness: float, more: float) -> None:
    assert sealing_land(thickness + more) >= sealing_land(thickness) >= 0.75
