"""Published rates of loss beside the fall of one tyre, and how much of it is weather."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import lru_cache

from stemlore.formulas import PressureReading, constant
from stemlore.formulas._units import compound
from stemlore.formulas.loss import permeation_limit
from stemlore.formulas.pressure import pressure_after
from stemlore.provenance import Citation
from stemlore.tables import table
from stemlore.units import convert, unit
from stemlore.workplan.pressure_diagnosis import Evidence, Relation

__all__ = ["beside_published", "explained_by_weather", "greatest_normal", "relation"]

_FALL = compound("kPa/d")
_MONTHS = {"month": 1, "year": 12}


@lru_cache(maxsize=1)
def greatest_normal() -> float:
    """Return the greatest fall in kPa a day that any source calls normal."""
    told = constant("permeation.told_greatest")
    return convert(told.value, told.unit, unit("kPa")) / constant("calendar.month").value


def relation(low: float | None, high: float | None, least: float, most: float) -> Relation:
    """Return how an interval of the fall lies to a published one."""
    if low is None or high is None:
        return "unknown"
    if high < least:
        return "slower"
    if low > most:
        return "faster"
    return "within" if least <= low and high <= most else "overlaps"


@lru_cache(maxsize=1)
def _published() -> tuple[tuple[str, float, float, Citation], ...]:
    """Return the rates that do not hang on the tyre: what, least and most in kPa a day, source."""
    month = constant("calendar.month").value
    out: list[tuple[str, float, float, Citation]] = []
    for row in table("pressure_loss").rows:
        least, most = row["loss_min_kpa"], row["loss_max_kpa"]
        assert isinstance(least, float)
        assert isinstance(most, float)
        days = _MONTHS[str(row["per"])] * month
        out.append((f"{row['condition']}: {row['printed']}", least / days, most / days, row.citation))
    told, alarm = constant("permeation.told_greatest"), constant("puncture.alarm")
    normal = greatest_normal()
    words = f"the greatest loss that a source calls normal, {told.value:g} {told.unit} a month"
    out.append((words, normal, normal, told.citation))
    fast = convert(alarm.value, alarm.unit, _FALL)
    words = f"leak alarms of monitoring systems, {alarm.value:g} {alarm.unit}"
    out.append((words, fast, fast, alarm.citation))
    return tuple(out)


def beside_published(low: float | None, high: float | None, temperature: float | None) -> Iterator[Evidence]:
    """Yield each published rate and how the interval of the fall lies to it.

    Parameters
    ----------
    low, high : float or None
        Ends of the interval in kPa a day; None where there is none.
    temperature : float or None
        Mean temperature of the readings in K; None where there is none.
    """
    shown = "" if low is None or high is None else f"; here {low:.3g} to {high:.3g} kPa a day"
    for what, least, most, cited in _published():
        rate = f"{least:.3g}" if least == most else f"{least:.3g} to {most:.3g}"
        yield Evidence(
            statement=f"{what} ({rate} kPa a day){shown}",
            relation=relation(low, high, least, most),
            low=least,
            high=most,
            citation=cited,
        )
    if temperature is not None:
        most = permeation_limit(temperature)
        yield Evidence(
            statement=(
                f"the most that was measured through rubber, taken to the readings' mean of "
                f"{temperature - 273.15:.3g} °C ({most:.3g} kPa a day){shown}"
            ),
            relation=relation(low, high, 0.0, most),
            low=0.0,
            high=most,
            citation=permeation_limit.cited[0].citation,
        )


def explained_by_weather(whole: Sequence[PressureReading]) -> Evidence | None:
    """Return how much of the change from first to last reading temperature and ambient pressure make.

    Parameters
    ----------
    whole : sequence of PressureReading
        Readings with nothing missing, in order of time.
    """
    if len(whole) < 2 or whole[0].when == whole[-1].when:
        return None
    (start, t0, a0), (end, t1, a1) = (
        (each.pressure, each.temperature, each.ambient_pressure) for each in (whole[0], whole[-1])
    )
    # nothing is missing in these
    assert start is not None
    assert end is not None
    expected = pressure_after(start, t0, t1, a0, a1, 1.0) - start
    return Evidence(
        statement=(
            f"from {whole[0].when} to {whole[-1].when} the gauge went from {start:.4g} to {end:.4g} kPa "
            f"({end - start:+.3g}); temperature and ambient pressure alone make {expected:+.3g} kPa"
        ),
        citation=pressure_after.cited[0].citation,
    )
