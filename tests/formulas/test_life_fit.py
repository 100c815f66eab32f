"""Fits of removal records, against four independent libraries and their own data."""

from __future__ import annotations

import warnings
from importlib import import_module
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import optimize, stats

from stemlore.errors import OutOfRangeError
from stemlore.formulas.life import survival_at_age
from stemlore.formulas.life_fit import LifeFit, fit_life_age, fit_life_distance
from stemlore.formulas.replacement import replacement_age
from stemlore.provenance import Grade

# NIST/SEMATECH e-Handbook 8.4.1.3: ten failures in hours, ten units taken out at 500 hours
FAILED = [54.0, 187.0, 216.0, 240.0, 244.0, 335.0, 361.0, 373.0, 375.0, 386.0]
HANDBOOK = (np.array(FAILED + [500.0] * 10), np.array([1.0] * 10 + [0.0] * 10))
# mileage at failure of a vehicle part and of those still running, open data set of a Python library
AUTOMOTIVE = (
    np.array(
        [5248, 7454, 16890, 17200, 38700, 45000, 49390, 69040, 72280, 131900]
        + [3961, 4007, 4734, 6054, 7298, 10190, 23060, 27160, 28690, 37100, 40060, 45670, 53000, 67000]
        + [69630, 77350, 78470, 91680, 105700, 106300, 150400],
        dtype=float,
    ),
    np.array([1.0] * 10 + [0.0] * 21),
)


def quietly(name: str) -> Any:
    """Import another library, whose own warnings are none of ours."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        try:
            return import_module(name)
        except ImportError:
            pytest.skip(f"{name} is not installed")


def fitted(records: tuple[Any, Any], confidence: float = 0.95) -> LifeFit:
    found = fit_life_age(*records, confidence)
    assert isinstance(found, LifeFit)
    return found


def test_the_handbook() -> None:
    # NIST/SEMATECH e-Handbook 8.4.1.3 prints 606.5280, 1.7208 and a log-likelihood of 75.135 (sign left out)
    found = fitted(HANDBOOK)
    assert found.life.value == found.value == pytest.approx(606.528, abs=0.001)
    assert found.shape.value == pytest.approx(1.7208, abs=5e-5)
    assert found.log_likelihood == pytest.approx(-75.135, abs=5e-4)
    assert (found.failures, found.removals, found.confidence) == (10, 20, 0.95)
    assert found.grade is Grade.READ
    assert "fewer than 20 failures" in found.basis
    assert found.within == max(found.life.high - found.value, found.value - found.life.low)


@pytest.mark.parametrize("records", [HANDBOOK, AUTOMOTIVE], ids=["handbook", "automotive"])
def test_against_scipy(records: tuple[Any, Any]) -> None:
    lives, failed = records
    data = stats.CensoredData(uncensored=lives[failed == 1], right=lives[failed == 0])
    shape, _, life = stats.weibull_min.fit(data, floc=0)
    found = fitted(records)
    assert (found.shape.value, found.life.value) == pytest.approx((shape, life), rel=1e-4)


@pytest.mark.parametrize("records", [HANDBOOK, AUTOMOTIVE], ids=["handbook", "automotive"])
def test_against_lifelines(records: tuple[Any, Any]) -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        other = quietly("lifelines").WeibullFitter().fit(*records)
    found = fitted(records)
    assert found.life.value == pytest.approx(other.lambda_, rel=2e-4)
    assert found.shape.value == pytest.approx(other.rho_, rel=2e-4)
    assert found.log_likelihood == pytest.approx(other.log_likelihood_, abs=1e-4)


def test_against_lifelines_own_data() -> None:
    datasets = quietly("lifelines.datasets")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        waltons = datasets.load_waltons()
        other = quietly("lifelines").WeibullFitter().fit(waltons["T"], waltons["E"])
    found = fitted((waltons["T"].to_numpy(float), waltons["E"].to_numpy(float)))
    assert (found.failures, found.removals) == (int(waltons["E"].sum()), 163)
    assert found.life.value == pytest.approx(other.lambda_, rel=1e-4)
    assert found.shape.value == pytest.approx(other.rho_, rel=1e-4)
    # with many failures both kinds of band agree
    table = other.summary
    low, high = (float(table.loc["rho_", f"coef {side} 95%"]) for side in ("lower", "upper"))
    assert (found.shape.low, found.shape.high) == pytest.approx((low, high), rel=0.02)
    assert "wider" not in found.basis


def test_against_surpyval_and_its_tyres() -> None:
    """34 tyres of a published test of tyre life, of which 11 failed."""
    surpyval = quietly("surpyval")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        tyres = surpyval.datasets.load_tires_data()
        lives, censored = (tyres[name].to_numpy(float) for name in ("Survival", "Censoring"))
        flags = 1 - censored if (censored == 0).sum() == 11 else censored
        other = surpyval.Weibull.fit(x=lives, c=1 - flags)
    found = fitted((lives, flags))
    assert (found.failures, found.removals) == (11, 34)
    assert (found.life.value, found.shape.value) == pytest.approx(tuple(other.params), rel=1e-4)
    # two packages agree on 1.22607
    assert found.life.value == pytest.approx(1.22607, abs=1e-4)


def test_against_reliability() -> None:
    fitters = quietly("reliability.Fitters")
    lives, failed = AUTOMOTIVE
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        other = fitters.Fit_Weibull_2P(
            failures=list(lives[failed == 1]),
            right_censored=list(lives[failed == 0]),
            show_probability_plot=False,
            print_results=False,
        )
    found = fit_life_distance(lives, failed, 0.95)
    assert (found.life.value, found.shape.value) == pytest.approx((other.alpha, other.beta), rel=1e-4)
    # two packages agree on 134651.1
    assert found.value == pytest.approx(134651.1, abs=2)
    assert str(found.unit) == "km"
    # its bands come from the curvature: alike, but with the long side of the life too short
    assert found.life.high > other.alpha_upper
    assert found.shape.low == pytest.approx(other.beta_lower, rel=0.1)


def log_likelihood(shape: float, life: float, records: tuple[Any, Any]) -> float:
    lives, failed = records
    model = stats.weibull_min(shape, scale=life)
    return float(model.logpdf(lives[failed == 1]).sum() + model.logsf(lives[failed == 0]).sum())


@pytest.mark.parametrize("records", [HANDBOOK, AUTOMOTIVE], ids=["handbook", "automotive"])
@pytest.mark.parametrize("confidence", [0.8, 0.95])
def test_bands_by_their_definition(records: tuple[Any, Any], confidence: float) -> None:
    """At the ends of a band the likelihood, greatest over the rest, has dropped by half of chi-squared."""
    found = fitted(records, confidence)
    wanted = found.log_likelihood - stats.chi2.ppf(confidence, 1) / 2

    def greatest(of_other: Any, low: float, high: float) -> float:
        best = optimize.minimize_scalar(
            lambda x: -of_other(np.exp(x)), bounds=(np.log(low), np.log(high)), method="bounded"
        )
        return -float(best.fun)

    for shape in (found.shape.low, found.shape.high):
        reached = greatest(
            lambda life, shape=shape: log_likelihood(shape, life, records), found.value / 30, found.value * 30
        )
        assert reached == pytest.approx(wanted, abs=1e-4)
    for life in (found.life.low, found.life.high):
        reached = greatest(lambda shape, life=life: log_likelihood(shape, life, records), 0.1, 20)
        assert reached == pytest.approx(wanted, abs=1e-4)
    at = found.value / 2
    band = found.survival(at)
    assert band.low < band.value < band.high
    assert band.value == pytest.approx(survival_at_age(at, found.value, found.shape.value))
    for share in (band.low, band.high):
        reached = greatest(
            lambda shape, share=share: log_likelihood(shape, at / (-np.log(share)) ** (1 / shape), records),
            0.05,
            20,
        )
        assert reached == pytest.approx(wanted, abs=1e-4)


@settings(max_examples=25, deadline=None)
@given(st.integers(10, 40), st.floats(0.7, 5), st.floats(1, 1000), st.integers(0, 2**32 - 1))
def test_a_fit_is_the_greatest_and_scales(failures: int, shape: float, life: float, seed: int) -> None:
    random = np.random.default_rng(seed)
    lives = life * random.weibull(shape, failures + 8)
    failed = np.array([1.0] * failures + [0.0] * 8)
    found = fitted((lives, failed))
    best = found.log_likelihood
    for by in (0.97, 1.03):
        assert log_likelihood(found.shape.value * by, found.value, (lives, failed)) < best
        assert log_likelihood(found.shape.value, found.value * by, (lives, failed)) < best
    for band in (found.shape, found.life):
        assert band.low < band.value < band.high
    scaled = fitted((lives * 12, failed))
    assert scaled.value == pytest.approx(12 * found.value, rel=1e-6)
    assert (scaled.shape.value, scaled.shape.low) == pytest.approx(
        (found.shape.value, found.shape.low), rel=1e-6
    )
    wider = fitted((lives, failed), 0.99)
    assert wider.life.low < found.life.low
    assert wider.life.high > found.life.high


def test_a_fit_feeds_the_replacement() -> None:
    found = fitted(HANDBOOK)
    best = replacement_age(found.value, found.shape.value, 1.0, 10.0)
    assert 0 < best.value < found.value


@pytest.mark.parametrize("count", [0, 2, 9])
def test_too_few_failures_say_how_many_are_needed(count: int) -> None:
    failed = np.array([1.0] * count + [0.0] * (20 - count))
    with pytest.raises(OutOfRangeError, match=f"{count} failures among 20 removals") as caught:
        fit_life_age(HANDBOOK[0], failed, 0.95)
    assert f"10 are needed, {10 - count} more" in caught.value.advice


def test_failures_all_at_one_life_give_no_shape() -> None:
    lives = np.array([5.0] * 12 + [4.0] * 3)
    with pytest.raises(OutOfRangeError, match="no shape is the most likely"):
        fit_life_age(lives, np.array([1.0] * 12 + [0.0] * 3), 0.95)


@pytest.mark.parametrize(
    "lives, failed, confidence",
    [
        ([1.0, 2.0], [1.0, 2.0], 0.95),
        ([1.0, 0.0], [1.0, 1.0], 0.95),
        ([1.0, 2.0, 3.0], [1.0, 1.0], 0.95),
        ([1.0, 2.0], [1.0, 1.0], 1.0),
        ([1.0, 2.0], [1.0, 1.0], [0.9, 0.95]),
        ([1.0, float("nan")], [1.0, 1.0], 0.95),
        ([], [], 0.95),
        (1.0, 1.0, 0.95),
    ],
)
def test_what_is_no_record_is_refused(lives: Any, failed: Any, confidence: Any) -> None:
    with pytest.raises(OutOfRangeError, match="it had failed"):
        fit_life_age(
            np.array(lives) if isinstance(lives, list) else lives,
            np.array(failed) if isinstance(failed, list) else failed,
            np.array(confidence) if isinstance(confidence, list) else confidence,
        )


@pytest.mark.parametrize("at", [0.0, -1.0, float("nan"), float("inf")])
def test_survival_of_a_fit_needs_a_life(at: float) -> None:
    with pytest.raises(OutOfRangeError, match="above zero"):
        fitted(HANDBOOK).survival(at)
