"""How fast a tyre loses pressure, from dated readings, and what that points to.

Readings are reduced to one temperature and ambient pressure, so that weather
drops out; a straight line through them gives the fall with its uncertainty. A
verdict is given only where the whole interval of the fall lies in one band of
published figures. Otherwise, and with too few readings, it is ``unknown``.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime, timedelta
from typing import Any

import attrs

from stemlore.errors import Fault, RecordError
from stemlore.formulas._formula import Estimate, WorkedExample, define_formula
from stemlore.formulas._loss_records import LossEstimate, PressureReading, Verdict
from stemlore.formulas._science import numpy, special
from stemlore.formulas._units import compound
from stemlore.formulas.constants import Cited, constant
from stemlore.formulas.loss import permeation_limit
from stemlore.formulas.pressure import pressure_after
from stemlore.provenance import Grade
from stemlore.units import convert, measure, unit

__all__ = [
    "BANDS",
    "NO_TRUST",
    "TRUST",
    "LossEstimate",
    "PressureReading",
    "Verdict",
    "estimate_loss",
    "fit_pressure_fall",
    "judge_loss",
]

BANDS = (
    "permeation.cool.least",
    "permeation.cool.greatest",
    "permeation.warm.greatest",
    "permeation.told_greatest",
    "puncture.alarm",
)
"""Names of the constants that the verdict is drawn from."""

_STUDY = Cited("nitrogen-study", "results", Grade.SECONDARY)
_FALL = compound("kPa/d")


def _is_series(times: Any, pressures: Any, temperatures: Any, ambients: Any) -> Any:
    """Two readings or more, as many of each kind, not all at one time; kelvin and ambients above zero."""
    same = times.shape == pressures.shape == temperatures.shape == ambients.shape
    if not same or times.size < 2:
        return False
    return (temperatures > 0) & (ambients > 0) & (times.max() > times.min())


def _line(times: Any, values: Any) -> tuple[Any, float, float, float]:
    """Return the residuals of the line of least squares, its fall, its middle and the spread of times."""
    np = numpy("fit_pressure_fall")
    off = times - times.mean()
    spread = float(np.sum(off**2))
    fall = -float(np.sum(off * values)) / spread
    middle = float(values.mean())
    return values - (middle - fall * off), fall, middle, spread


def _reduced(pressures: Any, temperatures: Any, ambients: Any, temperature: Any, ambient: Any) -> Any:
    return pressure_after.body(pressures, temperatures, temperature, ambients, ambient, 1.0)


def _error(residuals: Any, spread: float) -> float:
    """Return the standard error of the fall; infinite for two readings."""
    if residuals.size == 2:
        return float("inf")
    return float(((residuals**2).sum() / (residuals.size - 2) / spread) ** 0.5)


@define_formula(
    kind="procedure",
    args={
        "times": ("d", "when each reading was taken, from any start"),
        "pressures": ("kPa", "gauge pressures as read"),
        "temperatures": ("K", "temperature of the air in the tyre at each reading"),
        "ambients": ("kPa", "ambient pressure at each reading, absolute"),
        "temperature": ("K", "temperature that all are reduced to"),
        "ambient": ("kPa", "ambient pressure that all are reduced to, absolute"),
    },
    returns=("kPa/d", "fall of gauge pressure at the one temperature and ambient pressure"),
    valid=_is_series,
    sources=[_STUDY],
    misfit="a straight line: a leak slows as the pressure falls, which shows as scatter",
    examples=[
        WorkedExample(
            {
                "times": ("0 d", "365 d"),
                "pressures": ("30 psi", "26.5 psi"),
                "temperatures": ("21 degC", "21 degC"),
                "ambients": ("14.7 psi", "14.7 psi"),
                "temperature": "21 degC",
                "ambient": "14.7 psi",
            },
            "0.066114 kPa/d",
            "0.001 kPa/d",
            _STUDY,
            "3.5 psi in a year, read both times at room temperature; the ambient pressure drops out",
        )
    ],
)
def fit_pressure_fall(
    times: Any, pressures: Any, temperatures: Any, ambients: Any, temperature: Any, ambient: Any
) -> Estimate:
    """Fall of pressure from readings at different temperatures, by least squares."""
    reduced = _reduced(pressures, temperatures, ambients, temperature, ambient)
    residuals, fall, _, spread = _line(times, reduced)
    return Estimate(
        fall,
        _FALL,
        _error(residuals, spread),
        f"standard error over {times.size} readings",
        pressure_after.grade,
    )


TRUST = (
    "figures for permeation are from passenger tyres at rest; a small hole can lose as slowly as rubber, and "
    "only looking shows where the air goes; an error that all readings share drops out, one in a single "
    "temperature does not (1 K is about 1 kPa)"
)
"""How far an estimate may be trusted."""
NO_TRUST = "nothing can be said from these readings"
"""What is said where there is none."""


def estimate_loss(
    readings: Iterable[PressureReading],
    *,
    at_temperature: object,
    at_ambient: object,
    threshold: object = None,
    uncertainty: object = None,
    confidence: float = 0.95,
) -> LossEstimate:
    """Estimate how fast a tyre loses pressure and what that points to.

    Parameters
    ----------
    readings : iterable of PressureReading
        In any order, without air added between them.
    at_temperature, at_ambient : str or quantity
        Temperature and ambient pressure that all readings are reduced to.
    threshold : str or quantity, optional
        Gauge pressure at these, to tell the days until.
    uncertainty : str or quantity, optional
        Standard uncertainty of one reading, gauge and temperature together. Needed for two readings.
    confidence : float
        Of the intervals.

    Raises
    ------
    RecordError
        If the reference is no number, days are mixed with times, or the confidence is no share.
    OutOfRangeError
        If a reading lies outside the range of ``pressure_after``.
    """
    temperature, ambient = _reference(at_temperature, at_ambient, confidence)
    limit, error = (
        None if value is None else measure(value, unit("kPa")) for value in (threshold, uncertainty)
    )
    if error is not None and error <= 0:
        raise RecordError(
            "estimate of loss",
            [Fault("uncertainty", "is not above zero", "leave it out where it is unknown")],
        )
    listed = sorted(_of_one_kind(readings), key=lambda each: each.when)
    whole = [each for each in listed if not each.missing]
    left_out = tuple(f"{each.when}: no {', '.join(each.missing)}" for each in listed if each.missing)
    if len(whole) < 2:
        return _unknown(f"readings that can be used: {len(whole)}, two at least are needed", whole, left_out)
    days = [_days(each.when, whole[0].when) for each in whole]
    if days[-1] <= 0:
        return _unknown("all readings are of one time", whole, left_out)
    np = numpy("estimate_loss")
    reduced = [
        pressure_after(
            _known(each.pressure),
            _known(each.temperature),
            temperature,
            _known(each.ambient_pressure),
            ambient,
            1.0,
        )
        for each in whole
    ]
    times, values = np.array(days), np.array(reduced)
    if values.min() <= 0:
        return _unknown(
            "the tyre was flat at a reading: how fast it went down cannot be told; look for the hole",
            whole,
            left_out,
        )
    residuals, fall, middle, spread = _line(times, values)
    half = _half_width(residuals, spread, error, confidence)
    after = days[-1] - float(times.mean())
    last = middle - fall * after
    found = LossEstimate(
        verdict="unknown",
        reason="two readings do not show their scatter: give the uncertainty of a reading or a third reading",
        trust=NO_TRUST,
        fall=fall,
        pressure=last,
        used=len(whole),
        left_out=left_out,
        span=days[-1],
    )
    if half is None:
        return found
    mean_temperature = sum(_known(each.temperature) for each in whole) / len(whole)
    verdict, reason = judge_loss(fall - half, fall + half, mean_temperature)
    found = attrs.evolve(
        found,
        verdict=verdict,
        reason=reason,
        trust=NO_TRUST if verdict == "unknown" else TRUST,
        fall_low=fall - half,
        fall_high=fall + half,
        sources=tuple(dict.fromkeys(constant(name).citation for name in BANDS)),
    )
    if limit is None:
        return found
    # the middle of the line is as sure as the slope is over the root of the mean square of times
    doubt = half * (spread / len(whole)) ** 0.5
    return attrs.evolve(
        found,
        days=_until(middle - limit, fall, after),
        days_earliest=_until(middle - doubt - limit, fall + half, after),
        days_latest=_until(middle + doubt - limit, fall - half, after),
    )


def _reference(at_temperature: object, at_ambient: object, confidence: float) -> tuple[float, float]:
    faults = []
    temperature, ambient = measure(at_temperature, unit("K")), measure(at_ambient, unit("kPa"))
    for name, value, symbol in (("at_temperature", temperature, "K"), ("at_ambient", ambient, "kPa")):
        if value is None or value <= 0:
            faults.append(Fault(name, "is not a number above zero", f"in {symbol}, or any unit of its kind"))
    if not 0 < confidence < 1:
        faults.append(Fault("confidence", "lies not between 0 and 1", "such as 0.95"))
    if faults:
        raise RecordError("estimate of loss", faults)
    return _known(temperature), _known(ambient)


def _of_one_kind(readings: Iterable[PressureReading]) -> list[PressureReading]:
    listed = list(readings)
    kinds = {(isinstance(each.when, datetime), getattr(each.when, "tzinfo", None) is None) for each in listed}
    if len(kinds) > 1:
        raise RecordError(
            "readings",
            [Fault("when", "days, times and times with a zone are mixed", "give all readings in one kind")],
        )
    return listed


def _days(when: date, start: date) -> float:
    return (when - start) / timedelta(days=1)


def _known(value: float | None) -> float:
    assert value is not None
    return value


def _half_width(residuals: Any, spread: float, error: float | None, confidence: float) -> float | None:
    """Return half the interval of the fall: of scatter or of the readings' uncertainty, whichever is more."""
    functions = special("estimate_loss")
    upper = (1 + confidence) / 2
    widths = []
    if residuals.size > 2:
        widths.append(float(functions.stdtrit(residuals.size - 2, upper)) * _error(residuals, spread))
    if error is not None:
        widths.append(float(functions.ndtri(upper)) * error / spread**0.5)
    return max(widths, default=None)


def _unknown(reason: str, whole: list[PressureReading], left_out: tuple[str, ...]) -> LossEstimate:
    return LossEstimate(verdict="unknown", reason=reason, trust=NO_TRUST, used=len(whole), left_out=left_out)


def judge_loss(low: float, high: float, temperature: float) -> tuple[Verdict, str]:
    """Return the band that the whole interval lies in."""
    measured = permeation_limit(temperature)
    month = constant("calendar.month").value
    told = constant("permeation.told_greatest")
    leak = convert(told.value, told.unit, unit("kPa")) / month
    alarm = constant("puncture.alarm")
    fast = convert(alarm.value, alarm.unit, _FALL)
    shown = f"between {low:.3g} and {high:.3g} kPa a day"
    if high < 0:
        return "unknown", f"the pressure has risen ({shown}): air was added, or a reading is wrong"
    if high <= measured:
        if low <= 0:
            return "weather only", f"at one temperature and ambient pressure no fall can be shown ({shown})"
        least, most = (constant(f"permeation.cool.{name}") for name in ("least", "greatest"))
        return "permeation", (
            f"no faster than was measured through rubber, {least.value:g} to {most.value:g} {most.unit} a "
            f"month at 21 °C and up to {measured:.3g} kPa a day at this temperature ({shown})"
        )
    if low >= fast:
        return "puncture", f"at least as fast as leak alarms are set, {alarm.value:g} {alarm.unit} ({shown})"
    if low > leak:
        return "slow leak", f"faster than any source calls normal, {leak:.3g} kPa a day ({shown})"
    if low > measured:
        return "unknown", (
            f"faster than was measured through rubber, {measured:.3g} kPa a day, but sources call up to "
            f"{leak:.3g} kPa a day normal ({shown})"
        )
    return (
        "unknown",
        f"permeation and leak cannot be told apart ({shown}): take more readings over a longer time",
    )


def _until(room: float, fall: float, after: float) -> float | None:
    """Return the days until a line has lost some room, from the last reading on."""
    if room - fall * after <= 0:
        return 0.0
    return room / fall - after if fall > 0 else None
