"""Jobs as a frame: one row a wheel."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from typing import Any

from stemlore.audit._polars import pl
from stemlore.model import FIELDS, FieldSpec, Job
from stemlore.rules._layout import Member, layout_of
from stemlore.rules._walker import View

__all__ = ["frame_of"]

_TYPES: dict[str, Any] = {"number": pl.Float64, "integer": pl.Int64, "flag": pl.Boolean, "date": pl.Date}
_KEYS: dict[str, Any] = {
    "vehicle_id": pl.Int64,
    "axle_number": pl.Int64,
    "side": pl.String,
    "place": pl.String,
    "spare": pl.Boolean,
    "unstated": pl.Boolean,
    "vehicle_axle_count": pl.Int64,
}
_UNREADABLE = ("record", "records", "own")


def _columns() -> Iterator[tuple[FieldSpec, str, str]]:
    """Yield each field that a rule can read with its column and the end of a span."""
    for spec in FIELDS.values():
        if spec.level == "none" or spec.kind in _UNREADABLE or spec.column in _KEYS:
            continue
        if spec.path == "event.on":
            yield spec, spec.column, "earliest"
        elif spec.kind == "date":
            yield spec, f"{spec.column}_earliest", "earliest"
            yield spec, f"{spec.column}_latest", "latest"
        else:
            yield spec, spec.column, ""


def frame_of(jobs: Sequence[Job]) -> pl.DataFrame:
    """Return jobs as a frame, one row for each wheel that the fitment demands or the job has.

    Rows stand vehicle by vehicle; ``vehicle_id`` counts the jobs from 0. A
    wheel that is not in the job has a row in which nothing of it is known.
    ``unstated`` marks a row for wheels that nobody told of.
    """
    wanted = list(_columns())
    data: dict[str, list[Any]] = {name: [] for name in (*_KEYS, *(column for _, column, _ in wanted))}
    for number, job in enumerate(jobs):
        layout = layout_of(job)
        for member in (*layout.positions, *layout.spares):
            for name, value in _place(number, job, member).items():
                data[name].append(value)
            view = View(job, date.min, member.axle, member)
            for spec, column, end in wanted:
                value = view.load(spec.path)
                if value is not None:
                    value = getattr(value, end) if end else str(value) if spec.kind == "notation" else value
                data[column].append(value)
    types = {**_KEYS, **{column: _TYPES.get(spec.kind, pl.String) for spec, column, _ in wanted}}
    return pl.DataFrame(data, schema=types)


def _place(number: int, job: Job, member: Member) -> dict[str, Any]:
    position = member.subject.position
    return {
        "vehicle_id": number,
        "axle_number": member.subject.axle,
        "side": position.side if position else None,
        "place": position.place if position else None,
        "spare": bool(position and position.spare),
        "unstated": bool(member.subject.unstated),
        "vehicle_axle_count": len(job.vehicle.axles) or None,
    }
