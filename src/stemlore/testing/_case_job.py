"""The job that a case's readings make: two axles of single wheels, unless it says otherwise."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from stemlore.errors import Fault, RecordError
from stemlore.model import (
    Assembly,
    Axle,
    Condition,
    Event,
    Job,
    MakerInstruction,
    Position,
    Sensor,
    Tyre,
    Valve,
    Vehicle,
    Wheel,
    Work,
    field_spec,
)

__all__ = ["job_of"]

_WHEEL_PARTS = {
    "tyre": Tyre,
    "wheel": Wheel,
    "valve": Valve,
    "sensor": Sensor,
    "condition": Condition,
    "work": Work,
}
_PLACES = {
    "single": ("left", "right"),
    "dual": ("left outer", "left inner", "right inner", "right outer"),
    "centre": ("centre",),
}


def job_of(given: Mapping[str, Any]) -> Job:
    """Return the job of readings by path; position fields go to every wheel that they are not told for."""
    vehicle: dict[str, Any] = {}
    event: dict[str, Any] = {}
    maker: dict[str, Any] = {}
    own: dict[str, Any] = {}
    axles: dict[int, dict[str, Any]] = {1: {"fitment": "single"}, 2: {"fitment": "single"}}
    wheels: list[tuple[str, str, str, Any]] = []
    # readings for one axle or wheel come last, so that they win
    for key, value in sorted(given.items(), key=lambda item: ":" in item[0]):
        spot, _, path = key.rpartition(":")
        path = path.strip()
        prefix, _, name = path.partition(".")
        spec = field_spec(path)
        if prefix == "own" and spec.level == "vehicle":
            own[name] = value
        elif prefix in ("vehicle", "event", "maker"):
            {"vehicle": vehicle, "event": event, "maker": maker}[prefix][name] = value
        elif prefix == "axle":
            if spot and re.fullmatch(r"axle \d+", spot) is None:
                raise _lost(key, "axle", "axle 2: axle.fitment")
            numbers = [int(spot.removeprefix("axle"))] if spot else list(axles)
            for number in numbers:
                axles.setdefault(number, {"fitment": "single"})[name] = value
        else:
            wheels.append((spot.strip(), prefix, name, value))
    assemblies: list[Assembly] = []
    for number, about in axles.items():
        if about["fitment"] not in _PLACES:
            why, known = f"{about['fitment']!r} is no fitment", ", ".join(_PLACES)
            raise RecordError("readings of a case", [Fault(f"axle {number}: axle.fitment", why, known)])
        for side in _PLACES[about["fitment"]]:
            position = f"axle {number} {side}"
            parts: dict[str, dict[str, Any]] = {}
            for spot, prefix, name, value in wheels:
                if not spot or position == spot or position.startswith(f"{spot} "):
                    parts.setdefault(prefix, {})[name] = value
            assemblies.append(
                Assembly(
                    position=Position.parse(position),
                    own=parts.pop("own", {}),
                    **{prefix: _WHEEL_PARTS[prefix](**values) for prefix, values in parts.items()},
                )
            )
    positions = [str(each.position) for each in assemblies]
    for spot, prefix, name, _ in wheels:
        if spot and not any(position == spot or position.startswith(f"{spot} ") for position in positions):
            raise _lost(f"{spot}: {prefix}.{name}", "wheel", "axle 2 right: tyre.size")
    return Job(
        vehicle=Vehicle(axles=tuple(Axle(number=each, **about) for each, about in axles.items()), **vehicle),
        assemblies=tuple(assemblies),
        event=Event(**event),
        makers=(MakerInstruction(source="maker's manual", **maker),) if maker else (),
        own=own,
    )


def _lost(key: str, what: str, example: str) -> RecordError:
    return RecordError(
        "readings of a case", [Fault(key, f"names no {what} of the case", f"such as {example!r}")]
    )
