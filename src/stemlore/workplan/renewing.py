"""What to renew at a visit: maker's instruction first, then the trade's table, with reason and grade."""

from __future__ import annotations

from collections.abc import Sequence

import attrs

from stemlore.formulas.life import QUOTED_LIVES
from stemlore.model import Assembly, Job
from stemlore.provenance import Citation
from stemlore.tables import Row, table
from stemlore.units import show, unit
from stemlore.workplan._records import with_values
from stemlore.workplan.plan import Renewal

__all__ = ["is_battery_due", "renewals", "service_kind"]

_STRENGTHS = ("must", "should", "as needed", "allowed")


def service_kind(assembly: Assembly) -> str:
    """Return the kind of valve under which the table of service parts lists it; empty where not known."""
    kind, sensor = assembly.valve.kind, assembly.sensor.fitted
    if kind in ("snap_in", "high_pressure_snap_in"):
        return "sensor, rubber snap-in" if sensor else "rubber snap-in"
    if kind == "clamp_in":
        return "sensor, clamp-in" if sensor else "clamp-in metal"
    return {"truck_clamp_in": "truck clamp-in"}.get(kind or "", "")


def _events(assembly: Assembly) -> tuple[str, ...]:
    """Return the events of the table that this work is."""
    work = assembly.work
    out: list[str] = []
    if work.tyre_renewed:
        out += [
            "tyre change",
            "tyre changed",
            "tyre replaced",
            "tyre replaced or leak",
            "new tyre or retread",
        ]
    if work.tyre_demounted:
        out += ["tyre removed", "mounting", "core was removed"]
    if work.valve_renewed and assembly.sensor.fitted:
        out += ["sensor removed", "sensor refitted"]
    return tuple(out)


def renewals(job: Job, before: Job, assemblies: Sequence[Assembly]) -> tuple[Renewal, ...]:
    """Return what is renewed, wheel by wheel, wheels that are alike together.

    ``before`` is the job as it came: the parts that come off decide, with the work that is planned.
    """
    found: dict[tuple[object, ...], Renewal] = {}
    for planned in assemblies:
        old = before.at(planned.position) or planned
        valve = old.valve if old.valve.kind else planned.valve
        assembly = with_values(planned, sensor=old.sensor, valve=valve)
        for each in (*_by_table(assembly), *_battery(job, assembly)):
            key = (each.part, each.action, each.reason, each.strength)
            known = found.get(key)
            positions = (*(known.positions if known else ()), assembly.position)
            found[key] = attrs.evolve(each, positions=positions)
    order = {strength: index for index, strength in enumerate(_STRENGTHS)}
    return tuple(sorted(found.values(), key=lambda each: order.get(each.strength, len(order))))


def _by_table(assembly: Assembly) -> list[Renewal]:
    kind = service_kind(assembly)
    events = _events(assembly)
    if not kind or not events:
        return []
    kinds = {kind, "any", "any tubeless"}
    if assembly.sensor.fitted or not assembly.work.valve_renewed:
        # a sensor's stem has rows of its own, and a stem that stays is not renewed
        kinds.discard("any tubeless")
    rows = [
        row for row in table("service_parts").rows if row["valve_kind"] in kinds and row["event"] in events
    ]
    by_part: dict[str, list[Row]] = {}
    for row in sorted(rows, key=lambda each: _STRENGTHS.index(str(each["strength"]))):
        by_part.setdefault(str(row["part"]), []).append(row)
    return [_renewal(assembly, part, same) for part, same in by_part.items()]


def _renewal(assembly: Assembly, part: str, rows: Sequence[Row]) -> Renewal:
    """Return one renewal by the strictest row; what the others say differently is told beside it."""
    first = rows[0]
    notes = [str(first["note"] or "")]
    notes += [
        f"another source: {row['action']} ({row['strength']})"
        for row in rows[1:]
        if (row["action"], row["strength"]) != (first["action"], first["strength"])
    ]
    return Renewal(
        positions=(assembly.position,),
        part=part,
        action=str(first["action"]),
        strength=str(first["strength"]),
        reason=f"{first['valve_kind']}: {first['event']}",
        note="; ".join(note for note in dict.fromkeys(notes) if note),
        citation=first.citation,
    )


def is_battery_due(job: Job, assembly: Assembly, *, tyre_off: bool) -> bool:
    """Return whether a sensor is to be renewed now, by what is known of its battery."""
    states = [state for state, _ in _lives(job, assembly)]
    return bool(assembly.sensor.fitted and states and max(states) >= (1 if tyre_off else 2))


def _lives(job: Job, assembly: Assembly) -> list[tuple[int, str]]:
    """Return how far each quoted life is used up: 0 not, 1 it may end, 2 it is over."""
    sensor, maker = assembly.sensor, job.maker_at(assembly.position)
    out: list[tuple[int, str]] = []
    for quoted in QUOTED_LIVES:
        used = sensor.battery_age if quoted.unit == "year" else sensor.battery_distance
        if used is None:
            continue
        low, high = quoted.low, quoted.high
        if quoted.unit == "year" and maker.battery_age_max is not None:
            low = high = maker.battery_age_max
        state = 2 if used >= high else 1 if used >= low else 0
        life = f"{'' if low == high else f'{low:g} to '}{show(high, unit(quoted.unit))}"
        out.append((state, f"{show(used, unit(quoted.unit))} against a life of {life}"))
    return out


def _battery(job: Job, assembly: Assembly) -> list[Renewal]:
    """Say whether a sensor's battery is kept, renewed now, or with the next tyres."""
    if not assembly.sensor.fitted:
        return []
    verdicts = _lives(job, assembly)
    cite = Citation(None, "common practice of the trade", QUOTED_LIVES[0].grade)
    if not verdicts:
        return [
            Renewal(
                positions=(assembly.position,),
                part="sensor",
                action="find out its age",
                strength="should",
                reason="neither age nor distance of the battery is known",
                citation=cite,
            )
        ]
    state, _ = max(verdicts)
    off = bool(assembly.work.tyre_demounted)
    action = (
        "keep",
        "renew now, while the tyre is off" if off else "renew with the next tyres",
        "renew now",
    )[state]
    return [
        Renewal(
            positions=(assembly.position,),
            part="sensor",
            action=action,
            strength=("allowed", "should", "should")[state],
            reason="; ".join(told for _, told in verdicts),
            note="the battery is not renewed alone",
            citation=cite,
        )
    ]
