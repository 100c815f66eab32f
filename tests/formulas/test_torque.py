"""Torque tools: bands, settings and the units that torques are printed in."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stemlore.errors import OutOfRangeError
from stemlore.formulas.torque import (
    greatest_true_torque,
    highest_setting,
    least_true_torque,
    lowest_setting,
    middle_setting,
    tightest_tolerance,
    tool_tolerance,
)
from stemlore.units import measure, unit

TORQUES = st.floats(0.5, 500)
SHARES = st.floats(0, 0.3)


# pairs as printed in repair manuals, bulletins and guides of sensors and wheels
@pytest.mark.parametrize(
    "newton_metres, printed, within",
    [
        (4.0, "35 lbf.in", 0.05),
        (7.0, "62 lb.in", 0.05),
        (12.0, "106 lb-in", 0.05),
        (8.0, "5.9 lbf.ft", 0.05),
        (4.0, "3.0 lb.ft", 0.07),
        (0.28, "2.9 kgf.cm", 0.005),
        (0.29, "29 N.cm", 1e-9),
        (0.40, "40 N.cm", 1e-9),
    ],
)
def test_printed_pairs(newton_metres: float, printed: str, within: float) -> None:
    assert measure(printed, unit("N.m")) == pytest.approx(newton_metres, abs=within)


def test_units_against_scipy() -> None:
    scipy = pytest.importorskip("scipy.constants")
    for symbol, wanted in (
        ("lbf.in", scipy.lbf * scipy.inch),
        ("lbf.ft", scipy.lbf * scipy.foot),
        ("kgf.cm", scipy.kgf * 0.01),
    ):
        assert unit(symbol).factor == pytest.approx(wanted, rel=1e-12)


@given(TORQUES, SHARES)
def test_settings_are_the_inverse_of_bands(setting: float, tolerance: float) -> None:
    least, greatest = least_true_torque(setting, tolerance), greatest_true_torque(setting, tolerance)
    assert least <= setting <= greatest
    assert lowest_setting(least, tolerance) == pytest.approx(setting)
    assert highest_setting(greatest, tolerance) == pytest.approx(setting)


@given(TORQUES, st.floats(1.001, 2), SHARES)
def test_a_setting_exists_where_the_tool_is_fine_enough(least: float, wider: float, tolerance: float) -> None:
    greatest = least * wider
    low, high = lowest_setting(least, tolerance), highest_setting(greatest, tolerance)
    needed = tightest_tolerance(least, greatest)
    if abs(needed - tolerance) > 1e-6:
        assert (low <= high) is (tolerance <= needed)
    if low <= high:
        for setting in (low, high):
            assert least_true_torque(setting, tolerance) >= least * (1 - 1e-12)
            assert greatest_true_torque(setting, tolerance) <= greatest * (1 + 1e-12)
    middle = middle_setting(least, greatest)
    assert least_true_torque(middle, needed) == pytest.approx(least)
    assert greatest_true_torque(middle, needed) == pytest.approx(greatest)


def test_guide_of_sensors() -> None:
    # 4.0 N.m with 12 % is printed as 3.5 to 4.5, which is 3.52 to 4.48
    assert least_true_torque(4, 0.12) == pytest.approx(3.52)
    assert greatest_true_torque(4, 0.12) == pytest.approx(4.48)
    assert lowest_setting(3.52, 0.12) == pytest.approx(4)
    assert highest_setting(4.48, 0.12) == pytest.approx(4)
    assert tightest_tolerance(3.52, 4.48) == pytest.approx(0.12)


@given(TORQUES, st.sampled_from([0.04, 0.06]))
def test_misfit_to_the_standards_way_of_counting(setting: float, tolerance: float) -> None:
    """By ISO 6789 the deviation is a share of the true torque."""
    off = abs(setting / (1 - tolerance) - greatest_true_torque(setting, tolerance)) / setting
    assert off == pytest.approx({0.04: 0.0016, 0.06: 0.004}[tolerance], abs=0.0002)
    assert "0.16 %, at 6 % by 0.4 %" in greatest_true_torque.misfit


@pytest.mark.parametrize("greatest, wanted", [(0.5, 0.06), (10.0, 0.06), (10.000001, 0.04), (300.0, 0.04)])
def test_class_of_a_tool(greatest: float, wanted: float) -> None:
    # ISO 6789:2003, type II class A, as a tool's manual tells it
    assert tool_tolerance(greatest) == wanted


@pytest.mark.parametrize(
    "formula, values",
    [
        (least_true_torque, (0, 0.04)),
        (least_true_torque, (4, 1)),
        (greatest_true_torque, (4, -0.1)),
        (lowest_setting, (0, 0.04)),
        (highest_setting, (4.5, 1)),
        (middle_setting, (4.5, 3.5)),
        (tightest_tolerance, (0, 3.5)),
        (tool_tolerance, (0,)),
    ],
)
def test_out_of_range(formula: Any, values: tuple[float, ...]) -> None:
    with pytest.raises(OutOfRangeError):
        formula(*values)
