"""What a visit means for the work at each wheel, where the job does not say."""

from __future__ import annotations

from typing import Any

from stemlore.model import Assembly, Event, Job, Work
from stemlore.workplan._records import with_values

__all__ = ["finished_event", "intended_work", "is_off", "opened_work", "stem_stays", "with_old_stem"]

_SEALS = ("seals_renewed", "nut_renewed", "nut_loosened")


def is_off(work: Work) -> bool:
    """Return whether the tyre comes off the rim."""
    return bool(work.tyre_demounted or work.tyre_renewed)


def finished_event(job: Job) -> Event:
    """Return the visit as it will have been when the plan was followed."""
    event = job.event
    monitored = job.vehicle.monitoring in ("direct", "indirect")
    changed = event.kind in ("tyre_change", "seasonal_change", "repair")
    values: dict[str, Any] = {}
    if event.relearn is None and changed:
        values["relearn"] = "done" if monitored else "not_needed"
    if event.retorque_told is None and changed:
        values["retorque_told"] = True
    return with_values(event, **values)  # type: ignore[no-any-return]


def intended_work(kind: str | None, assembly: Assembly) -> Work:
    """Return the work at a wheel that the kind of visit means, where the job does not say."""
    spare = assembly.position.spare
    wanted = {
        "tyre_renewed": kind == "tyre_change" and not spare if kind else None,
        "wheel_removed": kind in ("tyre_change", "seasonal_change", "repair") and not spare if kind else None,
        "tyre_demounted": kind in ("tyre_change", "repair") and not spare if kind else None,
    }
    return _where_not_told(assembly.work, wanted)


def opened_work(assembly: Assembly, work: Work, *, with_sensor: bool) -> Work:
    """Return the work at a wheel whose tyre comes off: valve or its seals, core and cap are renewed.

    ``with_sensor`` says that the sensor is renewed, and its stem with it.
    """
    own_stem = assembly.sensor.fitted and assembly.valve.kind == "clamp_in" and not with_sensor
    values: dict[str, Any] = {
        "valve_renewed": bool(work.tyre_renewed or with_sensor) and not own_stem,
        "core_renewed": True,
    }
    return _where_not_told(work, values | (dict.fromkeys(_SEALS, True) if own_stem else {}))


def with_old_stem(work: Work) -> Work:
    """Return the work at a wheel whose metal stem stays, with new seals."""
    return _where_not_told(with_values(work, valve_renewed=False), dict.fromkeys(_SEALS, True))


def stem_stays(assembly: Assembly) -> bool:
    """Return whether a sensor's stem stays on purpose, so that nothing is chosen for it."""
    return bool(assembly.sensor.fitted and assembly.work.seals_renewed and is_off(assembly.work))


def _where_not_told(work: Work, values: dict[str, Any]) -> Work:
    told = {name: value for name, value in values.items() if getattr(work, name) is None}
    return with_values(work, **told)  # type: ignore[no-any-return]
