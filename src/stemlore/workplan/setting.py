"""Values to set: pressures and torques, within what the rules allow."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import Any, Literal

import attrs

from stemlore.errors import OutOfRangeError
from stemlore.formulas import compute
from stemlore.formulas.torque import highest_setting, lowest_setting
from stemlore.model import Assembly, Job, Position, field_spec
from stemlore.rules import Gravity, Rulebook
from stemlore.units import Unit
from stemlore.workplan.bands import Band, band
from stemlore.workplan.plan import Gap, SetPoint

__all__ = [
    "PRACTICE_FIRST",
    "TORQUES",
    "Conditions",
    "Load",
    "pressure_points",
    "restraint_points",
    "seating_points",
    "torque_points",
    "wanted_pressure",
]

Load = Literal["partial", "full"]

TORQUES = {
    "work.valve_core_torque": "Torque of the valve core",
    "work.valve_nut_torque": "Torque of the valve nut",
    "work.sensor_nut_torque": "Torque of the sensor's nut",
    "work.sensor_screw_torque": "Torque of the sensor's screw",
    "work.wheel_fixing_torque": "Torque of the wheel fixings",
}
"""What is tightened, in the order of the work."""


PRACTICE_FIRST = "look for the maker's figure first"
"""Note of a value that is practice of the trade, and no maker's."""


@attrs.frozen(kw_only=True)
class Conditions:
    """Under which conditions values are set.

    Attributes
    ----------
    load : {'partial', 'full'}
        Which of the placard's pressures; full is the one that never is too low.
    expected_temperature : str or None
        Temperature of the cold tyre in use, such as "5 degC", where it is another than now.
    expected_ambient : str or None
        Ambient pressure in use, such as "80 kPa", where it is another than now.
    ambient : str or None
        Ambient pressure now; with it and the temperatures the gauge's reading now is computed.
    hot_temperature : str or None
        Temperature of the tyre at its hottest in use, such as "75 degC", as measured or told by a
        maker; none is assumed. With it the pressure of the hot tyre is computed.
    tool_tolerance : float or None
        Of the torque tool, as a share: 0.06 for 6 %.
    """

    load: Load = "full"
    expected_temperature: str | None = None
    expected_ambient: str | None = None
    ambient: str | None = None
    hot_temperature: str | None = None
    tool_tolerance: float | None = None


def _unit(path: str) -> Unit:
    unit = field_spec(path).unit
    assert unit is not None
    return unit


def _together(points: Iterable[SetPoint]) -> list[SetPoint]:
    """Put points of the same values at several wheels together."""
    found: dict[SetPoint, list[Position]] = {}
    for each in points:
        found.setdefault(attrs.evolve(each, positions=()), []).extend(each.positions)
    return [attrs.evolve(each, positions=tuple(positions)) for each, positions in found.items()]


def _gap(text: str, of: Band, positions: Sequence[Position]) -> Gap:
    rule = of.unknown[0].rule.id if of.unknown else of.rules[0].rule.id if of.rules else ""
    return Gap(text=text, rule=rule, positions=tuple(positions), missing=of.missing)


# --- torques ---------------------------------------------------------------------------------


def torque_points(
    job: Job, book: Rulebook, day: date, wheels: Sequence[Assembly], conditions: Conditions
) -> tuple[list[SetPoint], list[Gap]]:
    """Return the torques that the work asks for, and those that only a maker could give."""
    points: list[SetPoint] = []
    gaps: list[Gap] = []
    for path, title in TORQUES.items():
        for assembly in wheels:
            found = band(job, book, day, assembly, path)
            if not found.rules:
                continue
            at = (assembly.position,)
            if found.low is None or found.high is None or found.is_empty:
                why = "the bounds contradict each other" if found.is_empty else "only the maker gives it"
                gaps.append(_gap(f"{title}: {why}", found, at))
                points.append(_point(path, title, at, found, None, f"{why}; look it up"))
                continue
            target, note = _reachable(found.low, found.high, conditions.tool_tolerance)
            if not found.told_by:
                note = "; ".join(filter(None, (PRACTICE_FIRST, note)))
            if target is None:
                gaps.append(_gap(f"{title}: {note}", found, at))
            points.append(_point(path, title, at, found, target, note))
    return _together(points), _merged(gaps)


def _reachable(low: float, high: float, tolerance: float | None) -> tuple[float | None, str]:
    """Return the setting in the middle of what a tool surely keeps, or why it cannot."""
    if tolerance is None:
        return (low + high) / 2, ""
    least, most = float(lowest_setting(low, tolerance)), float(highest_setting(high, tolerance))
    if least > most:
        return None, f"a tool of {tolerance:.1%} cannot keep within {low:.3g} to {high:.3g}; use a finer one"
    return (least + most) / 2, f"set the tool between {least:.3g} and {most:.3g} for its {tolerance:.1%}"


def _point(
    path: str, title: str, at: tuple[Position, ...], of: Band, target: float | None, note: str
) -> SetPoint:
    setting = [each for each in (of.low_by, of.high_by) if each is not None] or of.rules[:1]
    cited = "; ".join(dict.fromkeys(str(each.citation) for each in setting))
    return SetPoint(
        what=path,
        title=title,
        positions=at,
        unit=_unit(path),
        target=None if target is None else round(target, 6),
        low=of.low,
        high=of.high,
        rules=tuple(each.rule.id for each in of.rules),
        told_by=of.told_by or cited,
        note=note,
    )


def _merged(gaps: Iterable[Gap]) -> list[Gap]:
    """Put gaps of one reason at several wheels together."""
    found: dict[Gap, list[Position]] = {}
    for each in gaps:
        found.setdefault(attrs.evolve(each, positions=()), []).extend(each.positions)
    return [attrs.evolve(each, positions=tuple(positions)) for each, positions in found.items()]


# --- pressures -------------------------------------------------------------------------------


def seating_points(
    job: Job, book: Rulebook, day: date, wheels: Sequence[Assembly]
) -> tuple[list[SetPoint], list[Gap]]:
    """Return the ceiling while beads seat, a limit and no target, and where it is not known."""
    path = "work.seating_pressure"
    points: list[SetPoint] = []
    gaps: list[Gap] = []
    for assembly in wheels:
        found = band(job, book, day, assembly, path, with_advice=True)  # the strictest that anybody tells
        at = (assembly.position,)
        if found.high is not None:
            note = "no target: stop once both beads sit"
            points.append(_point(path, "Pressure while the beads seat", at, found, None, note))
        else:
            gaps.append(_gap("No ceiling is known for the pressure while the beads seat", found, at))
    return _together(points), _merged(gaps)


def restraint_points(
    job: Job, book: Rulebook, day: date, wheels: Sequence[Assembly]
) -> tuple[list[SetPoint], list[Gap]]:
    """Return what the restraint must be rated for, where a rule in force asks for it."""
    path = "work.restraint_rating"
    points: list[SetPoint] = []
    gaps: list[Gap] = []
    for assembly in wheels:
        found = band(job, book, day, assembly, path, with_advice=True)
        at = (assembly.position,)
        if found.low is not None:
            note = "read on the plate of cage or barrier that it is rated for this"
            points.append(_point(path, "Rating of the restraint", at, found, None, note))
        elif any(each.rule.gravity is not Gravity.ADVISE for each in found.rules):
            gaps.append(_gap("What the restraint must be rated for is not known", found, at))
    return _together(points), _merged(gaps)


def pressure_points(
    job: Job, book: Rulebook, day: date, wheels: Sequence[Assembly], conditions: Conditions
) -> tuple[list[SetPoint], list[Gap]]:
    """Return the cold pressure of each wheel, and what stands against setting it."""
    points: list[SetPoint] = []
    gaps: list[Gap] = []
    for assembly in wheels:
        at = (assembly.position,)
        wanted, told_by = wanted_pressure(job, assembly, conditions.load)
        found = band(job, book, day, assembly, "tyre.pressure")
        if wanted is None:
            spare = assembly.position.spare
            lacking = ("maker.cold_pressure",) if spare else (f"axle.cold_pressure_{conditions.load}",)
            text = f"Cold pressure at {conditions.load} load: neither placard nor maker tells it"
            gaps.append(Gap(text=text, positions=at, missing=lacking))
            continue
        beyond = _beyond(wanted, found)
        if beyond:
            gaps.append(_gap(f"Cold pressure {wanted:g} kPa {beyond}", found, at))
        notes = () if beyond else (_now(wanted, assembly, conditions), _hot(wanted, found, conditions))
        note = "; ".join(filter(None, notes))
        points.append(
            SetPoint(
                what="tyre.pressure",
                title="Cold inflation pressure",
                positions=at,
                unit=_unit("tyre.pressure"),
                target=None if beyond else wanted,
                low=found.low,
                high=found.high,
                rules=tuple(each.rule.id for each in found.rules),
                told_by=told_by,
                note=beyond or note,
            )
        )
    return _together(points), _merged(gaps)


def wanted_pressure(job: Job, assembly: Assembly, load: Load) -> tuple[float | None, str]:
    """Return the cold pressure that the maker or the placard tells for a wheel, and who tells it."""
    told = job.instructions_at(assembly.position).get("cold_pressure")
    if told is not None:
        return told[0], str(told[1])
    number = assembly.position.axle
    axle = None if number is None or assembly.position.spare else job.vehicle.axle(number)
    if axle is None:
        return None, ""
    placard = axle.cold_pressure_full if load == "full" else axle.cold_pressure_partial
    return placard, f"placard, {load} load"


def _beyond(wanted: float, of: Band) -> str:
    if of.high is not None and wanted > of.high:
        return f"lies above {of.high:g} kPa, which the rules allow here"
    if of.low is not None and wanted < of.low:
        return f"lies below {of.low:g} kPa, which the rules ask for here"
    return ""


def _computed(name: str, given: Mapping[str, Any]) -> tuple[float | None, str]:
    """Compute what a gauge reads; None where the formula does not hold, as far beyond what a tyre sees."""
    try:
        value, unit = compute(name, **given)
    except OutOfRangeError:
        return None, ""
    return (None if value is None or value != value else value), str(unit)


def _now(wanted: float, assembly: Assembly, conditions: Conditions) -> str:
    """Say what the gauge should read now, for it to be right in use; nothing where it cannot be known."""
    now = assembly.tyre.tyre_temperature
    if conditions.expected_temperature is None or conditions.ambient is None or now is None:
        return ""
    given: dict[str, Any] = {
        "target_pressure": f"{wanted} kPa",
        "temperature_in_use": conditions.expected_temperature,
        "ambient_in_use": conditions.expected_ambient or conditions.ambient,
        "temperature": f"{now} degC",
        "ambient": conditions.ambient,
    }
    value, unit = _computed("filling_pressure", given)
    if value is None:
        return ""
    return (
        f"the gauge reads {value:.0f} {unit} now, with the tyre at {now:g} °C, for {wanted:g} kPa at "
        f"{conditions.expected_temperature}"
    )


def _hot(wanted: float, of: Band, conditions: Conditions) -> str:
    """Say what the hot tyre reads, and what is left to the limit, which ratings tell for the cold one."""
    cold, ambient = conditions.expected_temperature, conditions.expected_ambient or conditions.ambient
    if conditions.hot_temperature is None or cold is None or ambient is None:
        return ""
    given = {
        "pressure": f"{wanted} kPa",
        "temperature": cold,
        "new_temperature": conditions.hot_temperature,
        "ambient": ambient,
        "new_ambient": ambient,
        "volume_ratio": "1 1",
    }
    value, unit = _computed("pressure_after", given)
    if value is None:
        return ""
    told = f"at {conditions.hot_temperature} it rises to {value:.0f} {unit}: let none of that out"
    if of.high is None:
        return told
    apart = of.high - value
    left = f"{apart:.0f} kPa below" if apart >= 0 else f"{-apart:.0f} kPa above"
    return f"{told}; that is {left} the least limit here, {of.high:.0f} kPa, which is told for the cold tyre"
