"""Loss of pressure from dated readings: leak, rubber or weather, by when, and where to look.

The estimate is that of :func:`stemlore.formulas.estimate_loss`; here it is put
into words beside what was published, carried on to the day of warning, and
turned into an order of inspection. What was not read is never assumed.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Mapping
from datetime import date, datetime
from typing import Any, TypeVar

import attrs

from stemlore.errors import Fault, MissingExtraError, RecordError, StemloreError
from stemlore.formulas import PressureReading
from stemlore.model import Assembly
from stemlore.workplan.inspecting import Wheels, cautions, inspections
from stemlore.workplan.loss_question import asked_for, day_of, in_order
from stemlore.workplan.loss_reading import judged, ran_low, wanted
from stemlore.workplan.pressure_diagnosis import PressureDiagnosis

__all__ = ["diagnose_many", "diagnose_pressure"]

K = TypeVar("K", bound=Hashable)


def diagnose_pressure(
    readings: Iterable[PressureReading],
    *,
    cold_pressure: object = None,
    warning_pressure: object = None,
    least_pressure: object = None,
    expected_temperature: object = None,
    expected_ambient: object = None,
    uncertainty: object = None,
    temperature_between: tuple[object, object] | None = None,
    assembly: Assembly | None = None,
    tyre_changed: date | None = None,
    wheels: Wheels | None = None,
    confidence: float = 0.95,
) -> PressureDiagnosis:
    """Say from dated readings of one tyre how fast it loses air, why, by when, and where to look.

    Needs the extra ``science``.

    Parameters
    ----------
    readings : iterable of PressureReading
        In any order, without air added between them. A reading that lacks its temperature or its
        ambient pressure is left out and told; nothing is assumed for it.
    cold_pressure : str or quantity, optional
        Recommended cold gauge pressure, such as "250 kPa" or "36 psi". Without it nobody can say whether
        the tyre ran too low.
    warning_pressure, least_pressure : str or quantity, optional
        Gauge pressures whose day is wanted: where monitoring warns, and the least for the load.
    expected_temperature : str or quantity, optional
        Temperature of the cold tyre in the days to come; else that of the last reading.
    expected_ambient : str or quantity, optional
        Ambient pressure in the days to come, absolute; else that of the last reading.
    uncertainty : str or quantity, optional
        Standard uncertainty of one reading as pressure, gauge and temperature together. Two readings
        say nothing without it.
    temperature_between : pair of str or quantity, optional
        Lowest and highest that the air in the tyre can have had where its temperature was not read.
        Such readings then count at both ends, which widens the answer.
    assembly : Assembly, optional
        What is known of tyre, wheel, valve, sensor, materials and condition.
    tyre_changed : date, optional
        Day of the tyre change after which the loss was first seen. Readings before it are left out, for
        the air was let out; readings of that day must be from after the work.
    wheels : {'one', 'all'}, optional
        Whether only this wheel of the vehicle loses, or all do.
    confidence : float
        Of the intervals.

    Returns
    -------
    PressureDiagnosis
        With verdict, evidence, expected days, inspections and cautions.

    Raises
    ------
    RecordError
        If a value is impossible, contradicts another, or days and times are mixed.
    BareNumberError, UnitError
        If a value has no unit, or one of another kind.
    OutOfRangeError
        If a reading lies outside the range of ``pressure_after``.
    MissingExtraError
        If the extra ``science`` is not installed.

    Examples
    --------
    >>> from datetime import date
    >>> from stemlore.formulas import PressureReading
    >>> from stemlore.workplan import diagnose_pressure
    >>> readings = [
    ...     PressureReading(when=date(2026, 11, day), pressure=f"{pressure} kPa", temperature="10 degC",
    ...                     altitude="0 m")
    ...     for day, pressure in ((1, 250), (8, 241), (15, 233), (22, 224))
    ... ]
    >>> found = diagnose_pressure(readings, cold_pressure="250 kPa", warning_pressure="200 kPa")
    >>> found.verdict, str(found.warning), found.ran_low
    ('slow leak', '2026-12-09 to 2026-12-15', False)
    >>> [each.place for each in found.inspections]
    ['valve_core', 'valve_base', 'bead_seats', 'rim', 'tread']
    """
    asked = asked_for(
        cold_pressure,
        warning_pressure,
        least_pressure,
        expected_temperature,
        expected_ambient,
        uncertainty,
        temperature_between,
        wheels,
        confidence,
    )
    every = in_order(readings)
    changed = tyre_changed.date() if isinstance(tyre_changed, datetime) else tyre_changed
    listed = [each for each in every if changed is None or day_of(each.when) >= changed]
    early = tuple(
        f"{each.when}: before the tyre change, in which the air was let out"
        for each in every
        if changed is not None and day_of(each.when) < changed
    )
    found = judged(listed, asked)
    low = ran_low(found, listed, asked)
    found = attrs.evolve(found, left_out=early + found.left_out, ran_low=low)
    shown = found.fall_low is not None and found.fall_low > 0
    looked_at = inspections(
        found.verdict,
        shown=shown,
        assembly=assembly,
        cold_pressure=asked.cold,
        tyre_changed=changed,
        wheels=wheels,
    )
    return attrs.evolve(
        found,
        inspections=looked_at,
        cautions=cautions(found.verdict, ran_low=low, looked_at=looked_at),
        wanted=wanted(found, listed, asked),
    )


def diagnose_many(
    series: Mapping[K, Iterable[PressureReading]] | Iterable[tuple[K, Iterable[PressureReading]]],
    *,
    options: Callable[[K], Mapping[str, Any]] | None = None,
    together: Callable[[K], Hashable] | None = None,
    on_fault: Callable[[K, StemloreError], None] | None = None,
    **shared: Any,
) -> dict[K, PressureDiagnosis]:
    """Diagnose many tyres, such as all wheels that a direct monitoring system reports.

    A wheel of ten readings costs about 0.6 ms on one core, nearly all of it the estimate; a second
    estimate is made where both warning and least pressure are asked for, and where temperatures are only
    bounded. Time grows with wheels and readings. Wheels are taken one after another; nothing of a wheel
    is kept but its answer, and the readings of a losing wheel where ``together`` is given, for that wheel
    is judged once more.

    Parameters
    ----------
    series : mapping or iterable of (key, readings)
        Keys of any hashable kind, such as (plate, position).
    options : callable, optional
        Gives keywords of :func:`diagnose_pressure` for a key, such as its cold pressure; they go before
        ``shared``.
    together : callable, optional
        Gives the vehicle of a key. Where it has several wheels here with a verdict, ``wheels`` is told
        from them: one of them loses, or all do.
    on_fault : callable, optional
        Called with key and error where a wheel cannot be judged; that wheel is left out. Without it the
        error is raised, with the key as a note.
    **shared
        Keywords of :func:`diagnose_pressure` for all wheels.

    Returns
    -------
    dict
        In the order given.

    Raises
    ------
    RecordError
        If a key comes twice.
    """
    out: dict[K, PressureDiagnosis] = {}
    kept: dict[K, tuple[PressureReading, ...]] = {}
    for key, readings in series.items() if isinstance(series, Mapping) else series:
        if key in out:
            raise RecordError(
                "diagnosis of many", [Fault(repr(key), "comes twice", "put its readings together")]
            )
        given = tuple(readings)
        try:
            out[key] = diagnose_pressure(given, **{**shared, **(options(key) if options else {})})
        except MissingExtraError:
            raise  # no wheel could be judged
        except StemloreError as error:
            if on_fault is None:
                error.add_note(f"at {key!r}")
                raise
            on_fault(key, error)
            continue
        if together is not None and out[key].is_losing:
            kept[key] = given
    if together is not None:
        vehicles: dict[Hashable, list[K]] = {}
        for key, found in out.items():
            if found.verdict != "not enough readings":
                vehicles.setdefault(together(key), []).append(key)
        for members in vehicles.values():
            losing = [key for key in members if key in kept]
            if len(members) > 1 and len(losing) in (1, len(members)):
                told: Wheels = "one" if len(losing) == 1 else "all"
                for key in losing:
                    given_options = {"wheels": told, **shared, **(options(key) if options else {})}
                    out[key] = diagnose_pressure(kept[key], **given_options)
    return out
