"""What is asked of readings: thresholds, reference and doubts, read and checked."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime

import attrs

from stemlore.errors import Fault, RecordError
from stemlore.formulas import PressureReading
from stemlore.units import measure, unit

__all__ = ["Asked", "asked_for", "day_of", "in_order"]

_WHAT = "diagnosis of pressure"


@attrs.frozen(kw_only=True)
class Asked:
    """What was asked for, in kPa and K; None where it was not given."""

    cold: float | None
    warning: float | None
    least: float | None
    temperature: float | None
    ambient: float | None
    uncertainty: float | None
    between: tuple[float, float] | None
    confidence: float


def asked_for(
    cold: object,
    warning: object,
    least: object,
    temperature: object,
    ambient: object,
    uncertainty: object,
    between: tuple[object, object] | None,
    wheels: object,
    confidence: float,
) -> Asked:
    """Return what was asked for as plain numbers, or every fault of it at once."""
    faults: list[Fault] = []

    def number(name: str, value: object, symbol: str) -> float | None:
        if value is None:
            return None
        read = measure(value, unit(symbol))
        if read is None or read <= 0:
            faults.append(Fault(name, "is not a number above zero", "leave it out where it is unknown"))
            return None
        return read

    of = Asked(
        cold=number("cold_pressure", cold, "kPa"),
        warning=number("warning_pressure", warning, "kPa"),
        least=number("least_pressure", least, "kPa"),
        temperature=number("expected_temperature", temperature, "K"),
        ambient=number("expected_ambient", ambient, "kPa"),
        uncertainty=number("uncertainty", uncertainty, "kPa"),
        between=None,
        confidence=confidence,
    )
    for name, value in (("warning_pressure", of.warning), ("least_pressure", of.least)):
        if of.cold is not None and value is not None and value > of.cold:
            faults.append(
                Fault(name, "lies above the cold pressure", "both are gauge pressures of a cold tyre")
            )
    if between is not None:
        ends = [number("temperature_between", each, "K") for each in between]
        low, high = (*ends, None, None)[:2]
        if len(ends) != 2 or (low is not None and high is not None and low > high):
            faults.append(Fault("temperature_between", "is not a lowest and a highest temperature"))
        elif low is not None and high is not None:
            of = attrs.evolve(of, between=(low, high))
    if wheels not in (None, "one", "all"):
        faults.append(Fault("wheels", f"cannot be {wheels!r}", "'one' or 'all', or leave it out"))
    if not 0 < confidence < 1:
        faults.append(Fault("confidence", "lies not between 0 and 1", "such as 0.95"))
    if faults:
        raise RecordError(_WHAT, faults)
    return of


def in_order(readings: Iterable[PressureReading]) -> list[PressureReading]:
    """Return the readings in order of time, or say which is none and that kinds of time are mixed.

    Altitudes become ambient pressures here, once, instead of each time that they are asked for.
    """
    listed = list(readings)
    wrong = [
        Fault(
            f"readings[{index}]", f"a {type(each).__name__} is no pressure reading", "give a PressureReading"
        )
        for index, each in enumerate(listed)
        if not isinstance(each, PressureReading)
    ]
    if wrong:
        raise RecordError(_WHAT, wrong)
    try:
        listed.sort(key=lambda each: each.when)
    except TypeError:
        fault = Fault("when", "days, times and times with a zone are mixed", "give all readings in one kind")
        raise RecordError(_WHAT, [fault]) from None
    return [each if each.altitude is None else _at_ambient(each) for each in listed]


def _text(value: float | None, symbol: str) -> str | None:
    return None if value is None else f"{value!r} {symbol}"


def _at_ambient(reading: PressureReading) -> PressureReading:
    return PressureReading(
        when=reading.when,
        pressure=_text(reading.pressure, "kPa"),
        temperature=_text(reading.temperature, "K"),
        ambient=_text(reading.ambient_pressure, "kPa"),
    )


def day_of(when: date) -> date:
    """Return the day of a day or a time."""
    return when.date() if isinstance(when, datetime) else when
