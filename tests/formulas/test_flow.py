"""Flow through a hole against independent libraries, and the time a tyre takes to go down."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stemlore.errors import OutOfRangeError
from stemlore.formulas.constants import constant
from stemlore.formulas.flow import choking_pressure, deflation_time, hole_flow, iso6358_flow

R = constant("us76.gas_constant").value
PRESSURES = st.floats(0.5, 1000)
AMBIENT = st.floats(60, 108)


def by_energy(pressure: float, ambient: float, temperature: float, diameter: float) -> float:
    """Flow in g/s by the energy of the gas, with fluids for the critical state."""
    fluids = pytest.importorskip("fluids")
    inside = (pressure + ambient) * 1e3
    throat = max(ambient * 1e3, fluids.P_critical_flow(inside, 1.4))
    cold = fluids.T_stagnation(temperature, inside, throat, 1.4)  # isentropic, from the inside to the throat
    velocity = math.sqrt(2 * 3.5 * R * (temperature - cold))
    return math.pi / 4 * (diameter / 1e3) ** 2 * velocity * throat / (R * cold) * 1e3


@given(PRESSURES, AMBIENT, st.floats(240, 360), st.floats(0.1, 10))
def test_flow_against_fluids(pressure: float, ambient: float, temperature: float, diameter: float) -> None:
    ours = hole_flow(pressure, ambient, temperature, diameter, 1)
    assert ours == pytest.approx(by_energy(pressure, ambient, temperature, diameter), rel=1e-7)


@given(AMBIENT)
def test_choking_against_fluids(ambient: float) -> None:
    fluids = pytest.importorskip("fluids")
    found = choking_pressure(ambient)
    assert fluids.P_critical_flow((found + ambient) * 1e3, 1.4) == pytest.approx(ambient * 1e3, rel=1e-12)
    assert fluids.is_critical_flow((found + ambient + 0.1) * 1e3, ambient * 1e3, 1.4)
    assert not fluids.is_critical_flow((found + ambient - 0.1) * 1e3, ambient * 1e3, 1.4)


def test_a_tyre_is_choked_from_90_kpa() -> None:
    # 0.528 of an atmosphere's inverse (orifice tutorial): 90.5 kPa over 101.325 kPa
    assert choking_pressure(101.325) == pytest.approx(90.5, abs=0.05)


@given(PRESSURES, AMBIENT, st.floats(1.001, 2))
def test_flow_rises_with_pressure(pressure: float, ambient: float, more: float) -> None:
    assert hole_flow(pressure * more, ambient, 293, 1, 0.6) > hole_flow(pressure, ambient, 293, 1, 0.6)


@given(st.floats(100, 1000), st.floats(60, 90))
def test_choked_flow_does_not_feel_ambient_pressure(pressure: float, ambient: float) -> None:
    if pressure > choking_pressure(ambient + 10) + 10:
        other = hole_flow(pressure - 10, ambient + 10, 293, 1, 0.6)
        assert hole_flow(pressure, ambient, 293, 1, 0.6) == pytest.approx(other, rel=1e-12)


def by_integration(start: float, end: float, ambient: float, volume: float, diameter: float) -> float:
    integrate = pytest.importorskip("scipy.integrate")

    def seconds(pressure: float) -> float:
        grams = volume * 1e-3 * 1e3 / (R * 293.15) * 1e3
        return grams / hole_flow(pressure, ambient, 293.15, diameter, 0.7)

    return float(integrate.quad(seconds, end, start, points=[choking_pressure(ambient)], limit=200)[0])


@pytest.mark.parametrize(
    "start, end", [(250, 200), (250, 60), (250, 1), (80, 20), (900, 100), (95, 85), (250, 90.5)]
)
def test_time_against_scipys_integration_of_the_flow(start: float, end: float) -> None:
    wanted = by_integration(start, end, 101.325, 30, 1.0)
    assert deflation_time(start, end, 101.325, 30, 293.15, 1.0, 0.7) == pytest.approx(wanted, rel=1e-6)


def test_time_to_the_very_end_is_finite() -> None:
    near = deflation_time(250, 0.001, 101.325, 30, 293.15, 1.0, 0.7)
    assert near < deflation_time(250, 0, 101.325, 30, 293.15, 1.0, 0.7) < near * 1.01


@given(st.floats(1, 900), st.floats(0, 1), st.floats(0, 1))
def test_times_add_up(start: float, one: float, two: float) -> None:
    middle, end = start * max(one, two), start * min(one, two)
    fixed = (101.325, 30.0, 293.15, 1.0, 0.7)
    if middle > 1e-3:
        whole = deflation_time(start, end, *fixed)
        parts = deflation_time(start, middle, *fixed) + deflation_time(middle, end, *fixed)
        assert parts == pytest.approx(whole, rel=1e-9, abs=1e-6)


@given(st.floats(0.2, 5), st.floats(1.01, 3))
def test_a_wider_hole_is_faster_by_its_area(diameter: float, wider: float) -> None:
    slow = deflation_time(250, 100, 101.325, 30, 293.15, diameter, 0.7)
    fast = deflation_time(250, 100, 101.325, 30, 293.15, diameter * wider, 0.7)
    assert slow / fast == pytest.approx(wider * wider, rel=1e-9)


def test_coefficient_of_choked_air_is_the_textbooks() -> None:
    # Fluid Mechanics, problem 3.27: 0.685 for air
    area = math.pi / 4 * 0.01**2
    flow = hole_flow(800, 100, 300, 10, 1) / 1e3
    assert flow / (900e3 * area / math.sqrt(R * 300)) == pytest.approx(0.685, abs=0.0005)


@given(st.floats(0.1, 0.9), st.floats(0.01, 1))
def test_conductance_flow_is_whole_below_its_ratio_and_falls_above(ratio: float, share: float) -> None:
    whole = iso6358_flow(
        2,
        ratio,
        500,
        500 * ratio * 0.5,
        293,
    )
    assert iso6358_flow(2, ratio, 500, 500 * ratio, 293) == pytest.approx(whole, rel=1e-9)
    between = ratio + (1 - ratio) * share
    assert iso6358_flow(2, ratio, 500, 500 * between, 293) < whole
    assert iso6358_flow(2, ratio, 500, 500, 293) == pytest.approx(0, abs=1e-6)


def test_conductance_of_an_ideal_nozzle() -> None:
    """With the ratio and conductance of a nozzle both ways agree where choked, to some per cent where not."""
    # free air of the standard at 293 K and 100 kPa
    grams_a_litre = 100 / (R * 293) * 1e3
    conductance = hole_flow(900, 100, 293, 1, 1) / grams_a_litre / 10
    for inside, within in ((900, 1e-9), (300, 1e-9), (60, 0.03), (20, 0.05)):
        flow = iso6358_flow(conductance, 0.5283, inside + 100, 100, 293) / 60 * grams_a_litre
        assert flow == pytest.approx(hole_flow(inside, 100, 293, 1, 1), rel=within)


def test_arrays_go_through_both_kinds_of_flow() -> None:
    pressures = np.array([20.0, 90.0, 91.0, 250.0])
    found = hole_flow(pressures, np.full(4, 101.325), np.full(4, 293.0), np.full(4, 1.0), np.full(4, 0.6))
    assert found.tolist() == pytest.approx([hole_flow(p, 101.325, 293, 1, 0.6) for p in pressures.tolist()])


@pytest.mark.parametrize(
    "formula, values",
    [
        (choking_pressure, (0,)),
        (hole_flow, (0, 101, 293, 1, 0.6)),
        (hole_flow, (250, 101, 293, 1, 1.1)),
        (hole_flow, (250, 101, 293, 0, 0.6)),
        (deflation_time, (250, 260, 101, 30, 293, 1, 0.6)),
        (deflation_time, (250, -1, 101, 30, 293, 1, 0.6)),
        (deflation_time, (250, 200, 101, 0, 293, 1, 0.6)),
        (iso6358_flow, (2, 1, 500, 400, 293)),
        (iso6358_flow, (2, 0.3, 400, 500, 293)),
    ],
)
def test_out_of_range(formula: Any, values: tuple[float, ...]) -> None:
    with pytest.raises(OutOfRangeError):
        formula(*values)
