"""What dated readings say: the line against SciPy, each verdict, and what is never told."""

from __future__ import annotations

import pickle
import sys
from datetime import UTC, date, datetime, timedelta
from typing import Any

import attrs
import numpy as np
import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stemlore.errors import BareNumberError, MissingExtraError, OutOfRangeError, RecordError, UnitError
from stemlore.formulas import Estimate, compute, constant, formula
from stemlore.formulas.loss import permeation_limit
from stemlore.formulas.loss_estimate import (
    BANDS,
    LossEstimate,
    PressureReading,
    estimate_loss,
    fit_pressure_fall,
)
from stemlore.formulas.pressure import pressure_after
from stemlore.provenance import Grade

stats = pytest.importorskip("scipy.stats")

START = date(2024, 3, 1)
AT: dict[str, Any] = {"at_temperature": "20 degC", "at_ambient": "1013 hPa"}
PSI = 6.894757293168361
MONTH = 30.436875


def reading(day: float, kpa: float, celsius: float = 20.0, ambient: float = 101.3) -> PressureReading:
    """Return a reading that stands for some pressure at 20 degrees, taken in some weather."""
    read = pressure_after(kpa, 293.15, celsius + 273.15, 101.3, ambient, 1.0)
    return PressureReading(
        when=datetime(2024, 3, 1, 8) + timedelta(days=day),
        pressure=f"{read!r} kPa",
        temperature=f"{celsius} degC",
        ambient=f"{ambient} kPa",
    )


def falling(by_day: float, days: list[float], scatter: float = 0.0, start: float = 250.0) -> list[Any]:
    """Return readings that fall, with some scatter to and fro and weather of all kinds."""
    return [
        reading(day, start - by_day * day + scatter * (-1) ** n, (25, 3, -8, 14)[n % 4], (101.3, 99.8)[n % 2])
        for n, day in enumerate(days)
    ]


# --- the fit ---------------------------------------------------------------------------------


@given(
    st.lists(st.floats(150, 300), min_size=3, max_size=8),
    st.lists(st.floats(263, 313), min_size=8, max_size=8),
    st.lists(st.floats(95, 104), min_size=8, max_size=8),
)
@settings(max_examples=40, deadline=None)
def test_line_against_scipy(pressures: list[float], kelvin: list[float], ambients: list[float]) -> None:
    count = len(pressures)
    times = np.arange(count) * 3.5
    arrays = (np.array(pressures), np.array(kelvin[:count]), np.array(ambients[:count]))
    found = fit_pressure_fall(times, *arrays, 293.15, 101.3)
    reduced = (arrays[0] + arrays[2]) * 293.15 / arrays[1] - 101.3
    line = stats.linregress(times, reduced)
    assert isinstance(found, Estimate)
    assert found.value == pytest.approx(-line.slope, rel=1e-9, abs=1e-9)
    if np.ptp(reduced) > 1e-6:  # SciPy has no error for a constant
        assert found.within == pytest.approx(line.stderr, rel=1e-6, abs=1e-9)
    assert str(found.unit) == "kPa/d"


def test_two_readings_have_no_error_of_their_own() -> None:
    found, of = compute("fit_pressure_fall", **formula("fit_pressure_fall").examples[0].given)
    assert found.within == float("inf")
    assert str(of) == "kPa/d"
    assert found.grade.strength >= Grade.SECONDARY.strength


@pytest.mark.parametrize(
    "times, pressures",
    [([0.0], [250.0]), ([0.0, 0.0], [250.0, 240.0]), ([0.0, 1.0, 2.0], [250.0, 240.0])],
)
def test_no_line_through_nothing(times: list[float], pressures: list[float]) -> None:
    many = [293.0] * len(pressures)
    with pytest.raises(OutOfRangeError, match="not all at one time"):
        fit_pressure_fall(times, pressures, many, [101.3] * len(pressures), 293.15, 101.3)


# --- verdicts --------------------------------------------------------------------------------


def test_weather_only() -> None:
    found = estimate_loss(falling(0.0, [0, 5, 9, 16, 23], 0.4), **AT)
    assert found.verdict == "weather only"
    assert found.fall_low is not None
    assert found.fall_low <= 0 <= (found.fall_high or 0)
    raw = [each.pressure for each in falling(0.0, [0, 5, 9])]
    assert max(raw) - min(raw) > 30


@pytest.mark.parametrize("psi_a_month", [0.5, 0.7, 0.95])
def test_permeation_as_it_was_measured(psi_a_month: float) -> None:
    # Tire Science and Technology 13(1), abstract: 0.5 to 1.0 psi a month at 21 °C
    found = estimate_loss(falling(psi_a_month * PSI / MONTH, [0, 30, 60, 90, 120], 0.1), **AT)
    assert found.verdict == "permeation"
    assert "0.5 to 1 psi a month" in found.reason
    assert found.fall == pytest.approx(psi_a_month * PSI / MONTH, abs=0.01)
    assert "passenger tyres" in found.trust
    assert constant("permeation.told_greatest").citation in found.sources


def test_permeation_of_a_warm_tyre_may_be_faster() -> None:
    fall = 1.3 * PSI / MONTH
    warm = [reading(day, 250 - fall * day, 32.0) for day in (0, 30, 60, 90)]
    cool = [reading(day, 250 - fall * day, 15.0) for day in (0, 30, 60, 90)]
    assert estimate_loss(warm, **AT).verdict == "permeation"
    found = estimate_loss(cool, **AT)
    assert found.verdict == "unknown"
    assert "sources call up to" in found.reason


@pytest.mark.parametrize("psi_a_month", [3.2, 10, 300])
def test_slow_leak(psi_a_month: float) -> None:
    days = [0, 5, 12, 20] if psi_a_month < 100 else [0, 0.2, 0.7, 1.5]
    found = estimate_loss(falling(psi_a_month * PSI / MONTH, days, 0.05), **AT)
    assert found.verdict == "slow leak"
    assert "a small hole can lose as slowly as rubber" in found.trust


def test_puncture_within_minutes() -> None:
    found = estimate_loss(falling(25 * 1440, [n / 1440 for n in range(6)], 0.5), **AT)
    assert found.verdict == "puncture"
    assert "20 kPa/min" in found.reason
    almost = estimate_loss(falling(15 * 1440, [n / 1440 for n in range(6)], 0.5), **AT)
    assert almost.verdict == "slow leak"


def test_a_rise_is_told() -> None:
    found = estimate_loss(falling(-1.0, [0, 10, 20, 30], 0.1), **AT)
    assert found.verdict == "unknown"
    assert "air was added" in found.reason
    assert found.fall == pytest.approx(-1.0, abs=0.02)


def test_wide_scatter_is_no_verdict() -> None:
    found = estimate_loss(falling(0.2, [0, 2, 4, 6], 4.0), **AT)
    assert found.verdict == "unknown"
    assert "cannot be told apart" in found.reason
    assert "over a longer time" in found.reason
    assert found.trust == "nothing can be said from these readings"


@given(
    st.floats(-2, 5),
    st.lists(st.floats(0.01, 200), min_size=3, max_size=7, unique=True),
    st.floats(0, 3),
)
@settings(max_examples=60, deadline=None)
def test_a_verdict_needs_its_whole_interval(by_day: float, days: list[float], scatter: float) -> None:
    found = (
        estimate_loss(falling(by_day, sorted(days), scatter, 900.0 if by_day > 1 else 250.0), **AT)
        if (by_day * max(days) < 200)
        else None
    )
    if found is None:
        return
    assert found.fall_low is not None
    assert found.fall_high is not None
    assert found.fall is not None
    assert found.fall_low <= found.fall <= found.fall_high
    told = 3 * PSI / MONTH
    if found.verdict == "permeation":
        assert 0 < found.fall_low <= found.fall_high <= permeation_limit(305.15)
    if found.verdict == "weather only":
        assert found.fall_low <= 0 <= found.fall_high <= permeation_limit(305.15)
    if found.verdict == "slow leak":
        assert found.fall_low > told
    assert found.verdict != "puncture"


# --- too little ------------------------------------------------------------------------------


def test_nothing_is_said_of_too_few_readings() -> None:
    for readings in ([], [reading(0, 250)]):
        found = estimate_loss(readings, **AT, threshold="200 kPa", uncertainty="1 kPa")
        assert found.verdict == "unknown"
        assert "two at least are needed" in found.reason
        assert (found.fall, found.days, found.pressure, found.used) == (None, None, None, len(readings))


def test_nothing_is_said_without_a_span_of_time() -> None:
    found = estimate_loss([reading(0, 250), reading(0, 240), reading(0, 230)], **AT)
    assert (found.verdict, found.reason, found.fall) == ("unknown", "all readings are of one time", None)


def test_two_readings_need_their_uncertainty() -> None:
    two = falling(1.0, [0, 10])
    found = estimate_loss(two, **AT, threshold="200 kPa")
    assert found.verdict == "unknown"
    assert "give the uncertainty" in found.reason
    assert found.fall == pytest.approx(1.0)
    assert (found.fall_low, found.days, found.sources) == (None, None, ())
    with_it = estimate_loss(two, **AT, uncertainty="1 kPa")
    assert with_it.verdict == "slow leak"
    # two standard uncertainties of 1 kPa, 10 days apart
    half = stats.norm.ppf(0.975) * 2**0.5 / 10
    assert with_it.fall_high == pytest.approx(1.0 + half)
    assert estimate_loss(two, **AT, uncertainty="6 kPa").verdict == "unknown"


def test_what_was_not_read_is_left_out_and_told() -> None:
    whole = falling(0.1, [0, 40, 80, 120], 0.05)
    day = datetime(2024, 3, 20)
    gaps = [
        PressureReading(when=day, pressure="240 kPa", temperature="20 degC"),
        PressureReading(when=day, pressure="240 kPa", ambient="1013 hPa"),
        PressureReading(when=day, pressure=None),
    ]
    found = estimate_loss([*gaps, *whole], **AT)
    assert found == attrs.evolve(estimate_loss(whole, **AT), left_out=found.left_out)
    assert [each.partition(": ")[2] for each in found.left_out] == [
        "no ambient",
        "no temperature",
        "no pressure, temperature, ambient",
    ]
    few = estimate_loss([*gaps, whole[0]], **AT)
    assert (few.verdict, few.used, len(few.left_out)) == ("unknown", 1, 3)


def test_a_flat_tyre_has_no_rate() -> None:
    found = estimate_loss(falling(26, [0, 1, 5, 10]), **AT)
    assert found.verdict == "unknown"
    assert "flat" in found.reason
    assert found.fall is None


def test_a_reading_outside_the_law_is_an_error() -> None:
    hot = [
        reading(0, 250),
        PressureReading(
            when=datetime(2024, 3, 5), pressure="250 kPa", temperature="150 degC", ambient="1013 hPa"
        ),
    ]
    with pytest.raises(OutOfRangeError, match="pressure_after"):
        estimate_loss(hot, **AT)


# --- interval and days -----------------------------------------------------------------------


def test_interval_against_scipy() -> None:
    readings = falling(0.8, [0, 3, 8, 15, 21], 0.6)
    found = estimate_loss(readings, **AT, confidence=0.9)
    times = [0, 3, 8, 15, 21]
    values = [250 - 0.8 * day + 0.6 * (-1) ** n for n, day in enumerate(times)]
    line = stats.linregress(times, values)
    half = stats.t.ppf(0.95, 3) * line.stderr
    assert found.fall == pytest.approx(-line.slope, abs=1e-6)
    assert found.fall_low == pytest.approx(-line.slope - half, abs=1e-6)
    assert found.fall_high == pytest.approx(-line.slope + half, abs=1e-6)
    assert found.pressure == pytest.approx(line.intercept + line.slope * 21, abs=1e-5)
    wider = estimate_loss(readings, **AT, confidence=0.99)
    assert (wider.fall_high or 0) > (found.fall_high or 0)
    # an uncertainty below what the scatter shows changes nothing, a greater one widens
    assert estimate_loss(readings, **AT, confidence=0.9, uncertainty="0.01 kPa") == found
    assert (estimate_loss(readings, **AT, uncertainty="9 kPa").fall_high or 0) > (wider.fall_high or 0)


def test_days_until_a_threshold() -> None:
    found = estimate_loss(falling(1.0, [0, 5, 10, 15, 20], 0.2), **AT, threshold="2 bar")
    assert found.days == pytest.approx(30, abs=0.8)
    assert found.days_earliest is not None
    assert found.days_latest is not None
    assert found.days_earliest < found.days < found.days_latest
    assert found.days_latest - found.days_earliest < 5
    exact = estimate_loss(falling(1.0, [0, 5, 10, 15, 20]), **AT, threshold="2 bar")
    assert (exact.days, exact.days_earliest, exact.days_latest) == pytest.approx((30, 30, 30), abs=1e-4)


def test_days_of_a_passed_or_never_reached_threshold() -> None:
    passed = estimate_loss(falling(1.0, [0, 5, 10, 15], 0.1), **AT, threshold="245 kPa")
    assert (passed.days, passed.days_earliest, passed.days_latest) == (0, 0, 0)
    steady = estimate_loss(falling(0.0, [0, 5, 10, 15], 0.2), **AT, threshold="200 kPa")
    assert steady.days_earliest is not None
    assert steady.days_latest is None
    rising = estimate_loss(falling(-1.0, [0, 5, 10, 15], 0.1), **AT, threshold="200 kPa")
    assert (rising.days, rising.days_earliest, rising.days_latest) == (None, None, None)


@given(st.floats(0.5, 3), st.floats(0, 0.5), st.floats(100, 190), st.floats(1, 40))
@settings(max_examples=30, deadline=None)
def test_a_lower_threshold_is_further_off(by_day: float, scatter: float, low: float, more: float) -> None:
    readings = falling(by_day, [0, 4, 8, 12, 16], scatter)
    near = estimate_loss(readings, **AT, threshold=f"{low + more} kPa")
    far = estimate_loss(readings, **AT, threshold=f"{low} kPa")
    assert near.days is not None
    assert far.days is not None
    assert near.days < far.days or far.days == 0
    assert (near.days_earliest or 0) <= near.days


def test_order_and_weather_do_not_matter() -> None:
    readings = falling(0.6, [0, 10, 20, 30], 0.1)
    dull = [reading(day, 250 - 0.6 * day + 0.1 * (-1) ** n) for n, day in enumerate([0, 10, 20, 30])]
    found = estimate_loss(reversed(readings), **AT)
    assert found == estimate_loss(readings, **AT)
    assert found.fall == pytest.approx(estimate_loss(dull, **AT).fall, abs=1e-5)


# --- records ---------------------------------------------------------------------------------


def test_readings_take_units_days_and_altitude() -> None:
    psi = pint.get_application_registry().Quantity(36, "psi")
    one = PressureReading(when=START, pressure=psi, temperature="68 °F", altitude="500 m")
    assert one.pressure == pytest.approx(36 * PSI, abs=1e-6)
    assert one.temperature == pytest.approx(293.15)
    assert one.ambient_pressure == pytest.approx(95.46, abs=0.01)
    assert one.missing == ()
    days = [
        PressureReading(
            when=START + timedelta(days=n),
            pressure=f"{36 - n / 10} psi",
            temperature="20 degC",
            altitude="0 m",
        )
        for n in range(4)
    ]
    found = estimate_loss(days, **AT)
    assert found.verdict == "slow leak"
    assert found.span == 3


@pytest.mark.parametrize(
    "given, error",
    [
        ({"pressure": 250}, BareNumberError),
        ({"pressure": "250 mm"}, UnitError),
        ({"pressure": "250 kPa", "ambient": "1013 hPa", "altitude": "0 m"}, RecordError),
        ({"pressure": "250 kPa", "when": 3}, RecordError),
    ],
)
def test_a_wrong_reading_is_refused(given: dict[str, Any], error: type[Exception]) -> None:
    with pytest.raises(error):
        PressureReading(**{"when": START, **given})


def test_days_and_times_do_not_mix() -> None:
    read = {"pressure": "250 kPa", "temperature": "20 degC", "ambient": "1013 hPa"}
    zone = PressureReading(when=datetime(2024, 3, 2, tzinfo=UTC), **read)
    day = PressureReading(when=START, **read)
    for other in (zone, day):
        with pytest.raises(RecordError, match="mixed"):
            estimate_loss([reading(0, 250), other], **AT)


@pytest.mark.parametrize(
    "wrong, told",
    [
        ({"at_temperature": "20 kPa"}, "temperature"),
        ({"at_ambient": pint.get_application_registry().Quantity(float("nan"), "kPa")}, "at_ambient"),
        ({"at_ambient": "-5 kPa"}, "at_ambient"),
        ({"confidence": 1.0}, "confidence"),
        ({"confidence": 0.0}, "confidence"),
        ({"uncertainty": "0 kPa"}, "uncertainty"),
    ],
)
def test_a_wrong_reference_is_refused(wrong: dict[str, Any], told: str) -> None:
    with pytest.raises((RecordError, UnitError), match=told):
        estimate_loss(falling(1, [0, 1, 2]), **{**AT, **wrong})


def test_result_is_frozen_and_survives_pickling() -> None:
    found = estimate_loss(falling(0.6, [0, 10, 20, 30], 0.1), **AT)
    assert isinstance(found, LossEstimate)
    with pytest.raises(attrs.exceptions.FrozenInstanceError):
        found.verdict = "puncture"  # type: ignore[misc]
    assert pickle.loads(pickle.dumps(found)) == found


def test_bands_stand_in_order_and_are_sourced() -> None:
    values = {name: constant(name) for name in BANDS}
    told = [values[name].value for name in BANDS[:4]]
    assert told == sorted(told)
    assert all(each.citation.grade is not Grade.MEMORY for each in values.values())


def test_a_missing_extra_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "scipy.special", None)
    with pytest.raises(MissingExtraError, match="science"):
        estimate_loss(falling(1, [0, 1, 2]), **AT)
