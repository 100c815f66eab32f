"""Permeation and leaks: inverses, monotony, what is published about them."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stemlore.errors import OutOfRangeError
from stemlore.formulas import constant
from stemlore.formulas.loss import (
    activation_from_rates,
    atmosphere_flow,
    fall_time,
    leak_throughput,
    permeation_limit,
    permeation_rate,
    pressure_after_permeation,
    rate_at_temperature,
    standard_flow,
    throughput_of_flow,
)
from stemlore.units import convert, unit

PRESSURES = st.floats(50, 1000)
RATES = st.floats(1e-5, 0.5)
DAYS = st.floats(0.1, 2000)
KELVIN = st.floats(230, 390)
POSITIVE = st.floats(0.01, 1000)


@given(PRESSURES, RATES, st.floats(0.1, 20))
def test_rate_is_the_inverse_of_decay(pressure: float, rate: float, days: float) -> None:
    after = pressure_after_permeation(pressure, rate, days)
    assert after < pressure
    assert permeation_rate(pressure, after, days) == pytest.approx(rate, rel=1e-9)


@given(PRESSURES, RATES, DAYS, DAYS)
def test_decay_goes_on_where_it_stopped(pressure: float, rate: float, one: float, two: float) -> None:
    at_once = pressure_after_permeation(pressure, rate, one + two)
    halfway = pressure_after_permeation(pressure, rate, one)
    if halfway > 1e-3:
        assert pressure_after_permeation(halfway, rate, two) == pytest.approx(at_once, rel=1e-9)


def test_decay_obeys_its_differential_equation() -> None:
    integrate = pytest.importorskip("scipy.integrate")
    rate = 0.002
    found = integrate.solve_ivp(lambda _, p: -rate * p, (0, 300), [250.0], rtol=1e-10, atol=1e-10)
    assert pressure_after_permeation(250, rate, 300) == pytest.approx(found.y[0, -1], rel=1e-8)


@given(RATES, KELVIN, st.floats(1, 60), st.floats(500, 12000))
def test_activation_is_the_inverse_of_warming(
    rate: float, cool: float, more: float, activation: float
) -> None:
    warmer = rate_at_temperature(rate, cool, cool + more, activation)
    assert warmer > rate
    assert activation_from_rates(rate, warmer, cool, cool + more) == pytest.approx(activation, rel=1e-6)
    assert rate_at_temperature(warmer, cool + more, cool, activation) == pytest.approx(rate, rel=1e-9)


def test_activation_that_published_losses_imply() -> None:
    """0.5 to 1.0 psi a month at 21 °C and 1.5 psi at 32 °C (Tire Science and Technology 13(1), abstract)."""
    scipy = pytest.importorskip("scipy.constants")
    cool, warm = (
        convert(constant(f"permeation.{name}.temperature").value, unit("degC"), unit("K"))
        for name in ("cool", "warm")
    )
    at_warm = constant("permeation.warm.greatest").value
    found = [
        activation_from_rates(constant(f"permeation.cool.{name}").value, at_warm, cool, warm)
        for name in ("greatest", "least")
    ]
    assert "between 3309 and 8965 K" in rate_at_temperature.misfit
    assert [round(each) for each in found] == [3309, 8965]
    assert "(27.5 and 74.5 kJ/mol)" in rate_at_temperature.misfit
    assert [round(each * scipy.R / 1000, 1) for each in found] == [27.5, 74.5]


@given(KELVIN, st.floats(0, 100))
def test_limit_never_falls_with_temperature(temperature: float, more: float) -> None:
    if temperature + more <= 393:
        assert permeation_limit(temperature + more) >= permeation_limit(temperature) - 1e-12


def test_limit_meets_both_figures_and_keeps_them_beyond() -> None:
    month = constant("calendar.month").value
    psi = convert(1.0, unit("psi"), unit("kPa"))
    assert permeation_limit(294.15) == pytest.approx(psi / month)
    assert permeation_limit(305.15) == pytest.approx(1.5 * psi / month)
    assert permeation_limit(250.0) == pytest.approx(psi / month)
    assert permeation_limit(390.0) == pytest.approx(1.5 * psi / month)
    # between both it is the law of Arrhenius through both
    wanted = rate_at_temperature(psi / month, 294.15, 300.0, activation_from_rates(1.0, 1.5, 294.15, 305.15))
    assert permeation_limit(300.0) == pytest.approx(wanted, rel=1e-7)


def test_month_is_the_calendars() -> None:
    assert constant("calendar.month").value == 146097 / 4800


@given(POSITIVE, POSITIVE, POSITIVE)
def test_time_is_the_inverse_of_throughput(volume: float, fall: float, time: float) -> None:
    found = leak_throughput(volume, fall, time)
    if found > 1e-3:
        assert fall_time(volume, fall, found) == pytest.approx(time, rel=1e-9)


@given(POSITIVE, KELVIN)
def test_standard_flow_and_back(throughput: float, temperature: float) -> None:
    flow = standard_flow(throughput, temperature)
    assert throughput_of_flow(flow, temperature) == pytest.approx(throughput, rel=1e-9)
    assert standard_flow(throughput, temperature + 1) < flow


def test_flows_agree_with_scipys_constants() -> None:
    scipy = pytest.importorskip("scipy.constants")
    # at 0 degrees both flows count the same volume; the source's 1013 mbar is 0.25 hPa off an atmosphere
    assert standard_flow(1, 273.15) == pytest.approx(60 * atmosphere_flow(1, 1013), rel=1e-12)
    assert atmosphere_flow(1, scipy.atm / 100) == pytest.approx(0.1 / scipy.atm * 1e6, rel=1e-12)


def test_leak_that_a_core_may_have() -> None:
    # 0.2 cm3 a minute are what SAE J1205 is told to permit; out of 15 litres that is 2 kPa a day
    throughput = throughput_of_flow(0.2, 293.15)
    in_a_day = 0.2e-3 * 1440 * 101.3 * (293.15 / 273.15) / 15
    assert fall_time(15, 100, throughput) / 86400 == pytest.approx(10 / in_a_day, rel=1e-9)
    # so a core at its limit is no permeation
    assert in_a_day > permeation_limit(305.15)


@pytest.mark.parametrize(
    "formula, values",
    [
        (permeation_rate, (250, 0, 30)),
        (permeation_rate, (250, 260, 30)),
        (permeation_rate, (250, 240, 0)),
        (pressure_after_permeation, (250, 0.01, -1)),
        (rate_at_temperature, (0.01, 0, 300, 5000)),
        (activation_from_rates, (0.02, 0.01, 290, 300)),
        (activation_from_rates, (0.01, 0.02, 300, 300)),
        (permeation_limit, (200,)),
        (permeation_limit, (math.nan,)),
        (leak_throughput, (15, 10, 0)),
        (fall_time, (15, 10, 0)),
        (standard_flow, (0, 293)),
        (throughput_of_flow, (0.2, 0)),
        (atmosphere_flow, (1, 0)),
    ],
)
def test_out_of_range(formula: Any, values: tuple[float, ...]) -> None:
    with pytest.raises(OutOfRangeError):
        formula(*values)
