"""From readings to a verdict in words, an interval and expected days; what was not read is never assumed."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from datetime import date, datetime, timedelta

import attrs

from stemlore.formulas import LossEstimate, PressureReading, estimate_loss
from stemlore.formulas.loss import permeation_limit
from stemlore.formulas.loss_estimate import NO_TRUST, TRUST, judge_loss
from stemlore.formulas.pressure import pressure_after
from stemlore.units import settle
from stemlore.workplan.inspecting import low_share
from stemlore.workplan.loss_evidence import beside_published, explained_by_weather, greatest_normal
from stemlore.workplan.loss_question import Asked
from stemlore.workplan.pressure_diagnosis import ExpectedDay, LossVerdict, PressureDiagnosis

__all__ = ["judged", "ran_low", "wanted"]

_SAME: Mapping[str, LossVerdict] = {
    "weather only": "weather only",
    "permeation": "permeation only",
    "slow leak": "slow leak",
    "puncture": "puncture or fast loss",
}
_STRAIGHT = (
    "expected days are those of a straight line at the reference: a leak slows as the pressure falls, a hole "
    "may grow at any time, and rubber lets more through when warm"
)
_BOUNDED = "where no temperature was read it was only bounded, and both ends were judged"


# --- the estimate ----------------------------------------------------------------------------


def _with(reading: PressureReading, kelvin: float) -> PressureReading:
    """Return a reading as if its temperature had been read."""
    return PressureReading(
        when=reading.when,
        pressure=f"{reading.pressure!r} kPa",
        temperature=f"{kelvin!r} K",
        ambient=f"{reading.ambient_pressure!r} kPa",
    )


def _filled(
    listed: Sequence[PressureReading], between: tuple[float, float] | None
) -> list[list[PressureReading]]:
    """Return the series to estimate: one, or the steepest and the flattest of bounded temperatures."""
    if between is None or not any(each.missing == ("temperature",) for each in listed):
        return [list(listed)]
    used = [each for each in listed if each.missing in ((), ("temperature",))]
    start = used[0].when
    middle = math.fsum((each.when - start) / timedelta(days=1) for each in used) / len(used)

    def series(early: float, late: float) -> list[PressureReading]:
        return [
            _with(each, early if (each.when - start) / timedelta(days=1) <= middle else late)
            if each.missing == ("temperature",)
            else each
            for each in listed
        ]

    # a cold reading stands for more air: cold first and warm last is the steepest fall there can be
    cold, warm = between
    return [series(cold, warm), series(warm, cold)]


def _text(value: float | None, symbol: str) -> str | None:
    return None if value is None else f"{value!r} {symbol}"


def judged(listed: Sequence[PressureReading], asked: Asked) -> PressureDiagnosis:
    """Return verdict, fall, evidence and expected days; no inspections yet.

    Parameters
    ----------
    listed : sequence of PressureReading
        In order of time.
    asked : Asked
        What is wanted.
    """
    many = _filled(listed, asked.between)
    usable = [[each for each in one if not each.missing] for one in many]
    if usable[0]:
        last = usable[0][-1]
        # a temperature that was only bounded is none to compare at
        own = next((each for each in reversed(listed) if not each.missing), None)
        temperature = asked.temperature or (own.temperature if own is not None else None)
        ambient = asked.ambient or last.ambient_pressure
    else:
        temperature = ambient = None
    blank = PressureDiagnosis(
        verdict="not enough readings",
        reason=f"readings that can be used: {len(usable[0])}, two at least are needed",
        trust=NO_TRUST,
        confidence=asked.confidence,
        used=len(usable[0]),
        left_out=_left_out(listed, usable[0]),
        evidence=tuple(beside_published(None, None, None)),
        warning=_unknown_day(asked.warning),
        least=_unknown_day(asked.least),
    )
    flat = any(each.pressure is not None and each.pressure <= 0 for each in listed)
    if temperature is None or ambient is None:
        if usable[0]:
            blank = attrs.evolve(blank, reason="no temperature to compare at: give the expected temperature")
        return _flat(blank) if flat else blank
    thresholds: list[float | None] = [each for each in (asked.warning, asked.least) if each is not None]
    thresholds = thresholds or [None]
    by_threshold = {
        each: [
            estimate_loss(
                one,
                at_temperature=_text(temperature, "K"),
                at_ambient=_text(ambient, "kPa"),
                threshold=_text(each, "kPa"),
                uncertainty=_text(asked.uncertainty, "kPa"),
                confidence=asked.confidence,
            )
            for one in usable
        ]
        for each in dict.fromkeys(thresholds)
    }
    found = by_threshold[thresholds[0]]
    low = _end(min, [each.fall_low for each in found])
    high = _end(max, [each.fall_high for each in found])
    whole = [each for each in listed if not each.missing]
    # where a line was drawn the readings were found in range already
    reduce = pressure_after if found[0].fall is None else pressure_after.body
    points = tuple(
        (
            each.when,
            float(reduce(each.pressure, each.temperature, temperature, each.ambient_pressure, ambient, 1.0)),
        )
        for each in whole
    )
    means = _means(listed, asked.between)
    verdict, reason = _verdict(found, low, high, means)
    mean = means[0] if len(usable) == 1 and len(whole) > 1 else None
    weather = explained_by_weather(whole)
    unsure = verdict in ("not enough readings", "pressure has risen")
    trust = NO_TRUST if unsure else f"{TRUST}; {_STRAIGHT}"
    out = attrs.evolve(
        blank,
        verdict=verdict,
        reason=reason,
        trust=trust if len(found) == 1 else f"{trust}; {_BOUNDED}",
        fall=found[0].fall if len(found) == 1 else None,
        fall_low=low,
        fall_high=high,
        pressure=found[0].pressure if len(found) == 1 else None,
        at_temperature=temperature,
        at_ambient=ambient,
        reference=_reference(asked),
        evidence=(*beside_published(low, high, mean), *([] if weather is None else [weather])),
        warning=_expected(asked.warning, by_threshold.get(asked.warning, []), usable),
        least=_expected(asked.least, by_threshold.get(asked.least, []), usable),
        points=points,
        span=found[0].span,
        estimates=tuple(found),
    )
    return _flat(out) if flat or any(each <= 0 for _, each in points) else out


def _left_out(listed: Sequence[PressureReading], used: Sequence[PressureReading]) -> tuple[str, ...]:
    bounded = len(used) > sum(not each.missing for each in listed)
    return tuple(
        f"{each.when}: no {', '.join(each.missing)}"
        for each in listed
        if each.missing and not (bounded and each.missing == ("temperature",))
    )


def _reference(asked: Asked) -> str:
    temperature = "temperature as expected" if asked.temperature else "temperature of the last reading"
    ambient = "ambient pressure as expected" if asked.ambient else "ambient pressure of the last reading"
    return f"{temperature}, {ambient}"


def _means(listed: Sequence[PressureReading], between: tuple[float, float] | None) -> tuple[float, float]:
    """Return the lowest and highest that the mean temperature of the readings used can have been."""
    used = [each.temperature for each in listed if each.missing == ()]
    count = sum(each.missing == ("temperature",) for each in listed) if between is not None else 0
    kelvin = [each for each in used if each is not None]
    ends = [math.fsum([*kelvin, *[end] * count]) / (len(kelvin) + count) for end in between or (0.0, 0.0)]
    return ends[0], ends[1]


def _end(pick: Callable[[list[float]], float], ends: Sequence[float | None]) -> float | None:
    known = [each for each in ends if each is not None]
    return pick(known) if len(known) == len(ends) else None


# --- the verdict -----------------------------------------------------------------------------


def _flat(of: PressureDiagnosis) -> PressureDiagnosis:
    return attrs.evolve(
        of,
        verdict="flat",
        reason="the tyre was flat at a reading: how fast it went down cannot be told; look for the hole",
        trust="that it was flat is certain; when and how it became so is not told by these readings",
    )


def _verdict(
    found: Sequence[LossEstimate], low: float | None, high: float | None, means: tuple[float, float]
) -> tuple[LossVerdict, str]:
    """Return the verdict; where temperatures were only bounded, of all that the readings can have been.

    Parameters
    ----------
    found : sequence of LossEstimate
        One, or one for either end.
    low, high : float or None
        Ends of the interval in kPa a day.
    means : tuple of float
        Lowest and highest that the mean temperature of the readings can have been, in K.
    """
    verdict, reason = found[0].verdict, found[0].reason
    if low is None or high is None:
        return "not enough readings", reason
    coolest, warmest = means
    if len(found) > 1:
        # the coolest has the least permeation, so that a leak is not taken for it
        verdict, reason = judge_loss(low, high, coolest)
        reason = f"{reason}, whatever the temperatures not read were"
    if verdict != "unknown":
        return _SAME[verdict], reason
    if high < 0:
        return "pressure has risen", reason
    if permeation_limit(warmest) < low and high <= greatest_normal():
        return "between published figures", reason
    return "not enough readings", reason


# --- expected days ---------------------------------------------------------------------------


def _unknown_day(pressure: float | None) -> ExpectedDay | None:
    if pressure is None:
        return None
    return ExpectedDay(pressure=pressure, reason="the loss is not known")


def _expected(
    pressure: float | None, found: Sequence[LossEstimate], usable: Sequence[Sequence[PressureReading]]
) -> ExpectedDay | None:
    """Return the span of days of a pressure, from the sooner to the later end of all estimates."""
    if pressure is None:
        return None
    if any(each.fall_low is None for each in found):
        return _unknown_day(pressure)
    last = usable[0][-1].when
    earliest = [each.days_earliest for each in found if each.days_earliest is not None]
    latest = [each.days_latest for each in found]
    if not earliest:
        return ExpectedDay(pressure=pressure, reason="the pressure does not fall: it is never reached")
    first = _on(last, min(earliest), later=False)
    if first is None:
        return ExpectedDay(pressure=pressure, reason="it lies beyond the calendar")
    likely = found[0].days if len(found) == 1 else None
    ends = [each for each in latest if each is not None]
    final = _on(last, max(ends), later=True) if len(ends) == len(latest) else None
    return ExpectedDay(
        pressure=pressure,
        earliest=first,
        likely=None if likely is None else _on(last, likely, later=False),
        latest=final,
        passed=len(ends) == len(latest) and max(ends) == 0,
        reason="" if final is not None else "the readings allow that it is never reached",
    )


def _on(last: date, days: float, *, later: bool) -> date | None:
    """Return the day some days on; a reading without its hour may be from any hour of its day."""
    try:
        if isinstance(last, datetime):
            return (last + timedelta(days=days)).date()
        return last + timedelta(days=math.ceil(days) if later else math.floor(days))
    except OverflowError:
        return None


# --- too low, and what is wanted -------------------------------------------------------------


def ran_low(found: PressureDiagnosis, listed: Sequence[PressureReading], asked: Asked) -> bool | None:
    """Return whether a reading lay at or below the share at which a tyre is looked at inside first.

    Both the gauge as read and what it stands for at the reference count: the lower decides.
    """
    if found.verdict == "flat":
        return True
    if asked.cold is None:
        return None
    limit = settle(asked.cold * low_share()[0])
    read = [each.pressure for each in listed if each.pressure is not None]
    reduced = [each for _, each in found.points]
    if any(settle(each) <= limit for each in (*read, *reduced)):
        return True
    # what was read warm, or not at all, may have been lower cold
    return None if not listed or len(reduced) < len(listed) else False


def wanted(found: PressureDiagnosis, listed: Sequence[PressureReading], asked: Asked) -> tuple[str, ...]:
    """Return what would make the answer surer, the most telling first."""
    out: list[str] = []
    missing = dict.fromkeys(name for each in listed for name in each.missing)
    texts = {
        "pressure": "the pressure at each reading",
        "temperature": "the temperature of the air in the tyre at each reading",
        "ambient": "the ambient pressure or the altitude at each reading",
    }
    out += [texts[name] for name in missing]
    if found.verdict == "not enough readings":
        if found.used < 3 and asked.uncertainty is None:
            out.append("a third reading, or the uncertainty of a reading")
        out.append("more readings over a longer time, without air added between them")
    if found.verdict == "pressure has risen":
        out.append("readings since air was last added")
    for name, value in (
        ("the recommended cold pressure", asked.cold),
        ("the expected temperature of the cold tyre", asked.temperature),
    ):
        if value is None:
            out.append(name)
    return tuple(out)
