"""Pressure against independent libraries, inverses and monotony."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stemlore.errors import OutOfRangeError
from stemlore.formulas.atmosphere import absolute_pressure, altitude_of, ambient_pressure, gauge_pressure
from stemlore.formulas.pressure import cold_pressure, filling_pressure, pressure_after, pressure_per_degree

PRESSURES = st.floats(0, 1000)
KELVIN = st.floats(230, 390)
AMBIENT = st.floats(60, 108)


@pytest.mark.parametrize("altitude", [-600, -100, 0, 1, 500, 1000, 2000, 3650, 5000, 8848, 10990])
def test_atmosphere_against_fluids(altitude: float) -> None:
    fluids = pytest.importorskip("fluids")
    assert ambient_pressure(altitude) == pytest.approx(fluids.ATMOSPHERE_1976(altitude).P / 1000, rel=1e-9)


def test_atmosphere_ends_where_its_layer_ends() -> None:
    with pytest.raises(OutOfRangeError, match="11 km"):
        ambient_pressure(12000.0)
    with pytest.raises(OutOfRangeError):
        altitude_of(120.0)
    with pytest.raises(OutOfRangeError):
        altitude_of(-5.0)


@given(st.floats(-600, 10990))
def test_altitude_is_the_inverse(altitude: float) -> None:
    assert altitude_of(ambient_pressure(altitude)) == pytest.approx(altitude, abs=1e-6)


@given(st.floats(-600, 10000), st.floats(1, 900))
def test_ambient_pressure_falls_with_altitude(altitude: float, more: float) -> None:
    assert ambient_pressure(altitude + more) < ambient_pressure(altitude)


@given(PRESSURES, AMBIENT)
def test_gauge_is_the_inverse_of_absolute(pressure: float, ambient: float) -> None:
    assert gauge_pressure(absolute_pressure(pressure, ambient), ambient) == pytest.approx(pressure, abs=1e-9)


REAL = list(
    itertools.product((100, 250, 400, 900, 1000), (-45, -30, 0, 20, 60, 120), (-45, -30, 0, 20, 80, 120))
)


def in_a_rigid_tyre(coolprop: object, gas: str, pressure: float, before: float, after: float) -> float:
    density = coolprop.PropsSI("D", "P", (pressure + 101.325) * 1e3, "T", before + 273.15, gas)  # type: ignore[attr-defined]
    return coolprop.PropsSI("P", "D", density, "T", after + 273.15, gas) / 1e3 - 101.325  # type: ignore[attr-defined]


def test_against_real_air() -> None:
    """The declared misfit is that from CoolProp's equation of state for air."""
    coolprop = pytest.importorskip("CoolProp.CoolProp")
    worst = worst_low = 0.0
    for pressure, before, after in REAL:
        real = in_a_rigid_tyre(coolprop, "Air", pressure, before, after)
        ours = pressure_after(pressure, before + 273.15, after + 273.15, 101.325, 101.325, 1)
        off = abs(ours - real) / (real + 101.325)
        worst = max(worst, off)
        worst_low = max(worst_low, off if pressure <= 400 else 0)
    assert 0.0185 < worst < 0.0190
    assert 0.0085 < worst_low < 0.0090
    assert "1.9 %" in pressure_after.misfit
    assert "0.9 % up to 400 kPa" in pressure_after.misfit


def test_real_air_in_everyday_use() -> None:
    # worked examples P10 and P11: 207.209 kPa at 0 degrees, 189.542 kPa at -30 degrees (CoolProp)
    pytest.importorskip("CoolProp.CoolProp")
    assert pressure_after(230, 293.15, 273.15, 101.325, 101.325, 1) == pytest.approx(207.209, abs=0.6)
    assert pressure_after(250, 293.15, 243.15, 101.325, 101.325, 1) == pytest.approx(189.542, abs=0.6)


def test_nitrogen_needs_no_law_of_its_own() -> None:
    coolprop = pytest.importorskip("CoolProp.CoolProp")
    for pressure, before, after in REAL:
        air = in_a_rigid_tyre(coolprop, "Air", pressure, before, after)
        nitrogen = in_a_rigid_tyre(coolprop, "Nitrogen", pressure, before, after)
        assert abs(air - nitrogen) < 1.0
        if -30 <= before <= 80 and -30 <= after <= 80:
            assert abs(air - nitrogen) < 0.5


@given(PRESSURES, KELVIN, KELVIN, AMBIENT, AMBIENT, st.floats(0.9, 1.1))
def test_there_and_back(
    pressure: float, before: float, after: float, ambient: float, other: float, ratio: float
) -> None:
    there = pressure_after(pressure, before, after, ambient, other, ratio)
    if there <= 1000:
        back = pressure_after(there, after, before, other, ambient, 1 / ratio)
        assert back == pytest.approx(pressure, abs=1e-6)


@given(PRESSURES, KELVIN, KELVIN, AMBIENT)
def test_a_hot_reading_stands_for_less(pressure: float, one: float, two: float, ambient: float) -> None:
    cold, hot = sorted((one, two))
    found = cold_pressure(pressure, hot, cold, ambient)
    assert found <= pressure + 1e-9
    assert found == pytest.approx(pressure_after(pressure, hot, cold, ambient, ambient, 1), abs=1e-9)


@given(PRESSURES, KELVIN, KELVIN, AMBIENT, AMBIENT)
def test_filled_so_it_is_right_in_use(
    target: float, in_use: float, here: float, ambient_in_use: float, ambient: float
) -> None:
    filled = filling_pressure(target, in_use, ambient_in_use, here, ambient)
    if filled <= 1000:
        found = pressure_after(filled, here, in_use, ambient, ambient_in_use, 1)
        assert found == pytest.approx(target, abs=1e-6)


@given(PRESSURES, AMBIENT, st.floats(231, 389))
def test_slope_is_that_of_the_law(pressure: float, ambient: float, temperature: float) -> None:
    rise = pressure_after(pressure, temperature, temperature + 1, ambient, ambient, 1) - pressure
    assert pressure_per_degree(pressure, ambient, temperature) == pytest.approx(rise, rel=1e-6)


def test_one_psi_for_ten_degrees_is_exact_at_38_psi() -> None:
    # the rule's own pressure: 38.1 psi at 68 degF at sea level
    value, _ = pressure_per_degree.quantity(pressure="38.1 psi", ambient="14.696 psi", temperature="68 degF")
    assert value * 50 / 9 / 6.894757 == pytest.approx(1.0, abs=0.001)


@pytest.mark.parametrize(
    "wrong",
    [
        {"pressure": 1001.0},
        {"temperature": 227.0},
        {"new_temperature": 394.0},
        {"ambient": 0.0},
        {"new_ambient": -1.0},
        {"volume_ratio": 0.0},
        {"pressure": -102.0},
    ],
)
def test_out_of_range(wrong: dict[str, float]) -> None:
    values = {
        "pressure": 250.0,
        "temperature": 293.15,
        "new_temperature": 273.15,
        "ambient": 101.3,
        "new_ambient": 101.3,
        "volume_ratio": 1.0,
    }
    with pytest.raises(OutOfRangeError, match="1000 kPa gauge"):
        pressure_after(**{**values, **wrong})
