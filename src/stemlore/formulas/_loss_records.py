"""Readings of a tyre's pressure over time, and what they say, as records."""

from __future__ import annotations

from datetime import date, datetime
from typing import Literal

import attrs

from stemlore.errors import Fault, RecordError
from stemlore.formulas.atmosphere import ambient_pressure
from stemlore.provenance import Citation
from stemlore.units import measure, unit

__all__ = ["LossEstimate", "PressureReading", "Verdict"]

Verdict = Literal["weather only", "permeation", "slow leak", "puncture", "unknown"]


def _read(value: object, symbol: str) -> float | None:
    return None if value is None else measure(value, unit(symbol))


def _to_kpa(value: object) -> float | None:
    return _read(value, "kPa")


def _to_kelvin(value: object) -> float | None:
    return _read(value, "K")


def _to_metres(value: object) -> float | None:
    return _read(value, "m")


@attrs.frozen(kw_only=True)
class PressureReading:
    """One reading of a tyre's pressure; what was not read stays None and is never guessed.

    Text with units or pint quantities are taken. Give the ambient pressure or
    the altitude, from which the standard atmosphere tells it.

    Attributes
    ----------
    when : date or datetime
        When it was taken; all of a series in one kind.
    pressure : float or None
        Gauge pressure in kPa.
    temperature : float or None
        Temperature of the air in the tyre in K.
    ambient : float or None
        Ambient pressure in kPa, absolute.
    altitude : float or None
        Height over sea level in m.
    """

    when: date | datetime
    pressure: float | None = attrs.field(converter=_to_kpa)
    temperature: float | None = attrs.field(default=None, converter=_to_kelvin)
    ambient: float | None = attrs.field(default=None, converter=_to_kpa)
    altitude: float | None = attrs.field(default=None, converter=_to_metres)

    def __attrs_post_init__(self) -> None:
        faults = []
        if not isinstance(self.when, date):
            faults.append(Fault("when", f"cannot be {self.when!r}", "give a date or a datetime"))
        if self.ambient is not None and self.altitude is not None:
            faults.append(Fault("altitude", "stands beside the ambient pressure", "give one of both"))
        if faults:
            raise RecordError("pressure reading", faults)

    @property
    def ambient_pressure(self) -> float | None:
        """Ambient pressure in kPa, read or of the standard atmosphere."""
        if self.altitude is not None:
            return ambient_pressure(self.altitude)
        return self.ambient

    @property
    def missing(self) -> tuple[str, ...]:
        """What was not read and is needed."""
        told = {
            "pressure": self.pressure,
            "temperature": self.temperature,
            "ambient": self.ambient_pressure,
        }
        return tuple(name for name, value in told.items() if value is None)


@attrs.frozen(kw_only=True)
class LossEstimate:
    """What dated readings say about a tyre's loss of pressure.

    Attributes
    ----------
    verdict : str
        One of ``weather only``, ``permeation``, ``slow leak``, ``puncture``, ``unknown``.
    reason : str
        What it was drawn from, or why it is unknown.
    trust : str
        How far to trust it.
    fall, fall_low, fall_high : float or None
        Fall in kPa a day at the reference, and the ends of its interval.
    pressure : float or None
        Gauge pressure at the last reading in kPa, on the line, at the reference.
    days, days_earliest, days_latest : float or None
        Days from the last reading until the threshold; 0 where it is passed, None where it is not reached
        or cannot be told.
    used : int
        Readings used.
    left_out : tuple of str
        Readings that something is missing in.
    span : float
        Days from first to last reading used.
    sources : tuple of Citation
        Of the bands.
    """

    verdict: Verdict
    reason: str
    trust: str
    fall: float | None = None
    fall_low: float | None = None
    fall_high: float | None = None
    pressure: float | None = None
    days: float | None = None
    days_earliest: float | None = None
    days_latest: float | None = None
    used: int = 0
    left_out: tuple[str, ...] = ()
    span: float = 0.0
    sources: tuple[Citation, ...] = ()
