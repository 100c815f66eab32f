"""Jobs to and from JSON."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import msgspec

from stemlore.errors import DocumentError, Fault, StemloreError, near_misses
from stemlore.interchange._records import BAD, Reading, Slots
from stemlore.interchange._text import Document, depth_faults, duplicate_faults, open_document
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
    plain_values,
)
from stemlore.model._record import read_field
from stemlore.model.job import maker_faults, place_faults

__all__ = ["JOB_SCHEMA", "job_to_json", "read_job"]

JOB_SCHEMA = "stemlore.job/1"
"""What the key ``schema`` of a job's document says."""

_Nested = Callable[[Reading, Any, str], Any]


def _one(slots: Slots) -> _Nested:
    return lambda reading, source, path: reading.record(slots, source, path)


def _many(read: _Nested) -> _Nested:
    return lambda reading, source, path: reading.listed(read, source, path)


def _own(reading: Reading, source: Any, path: str) -> Any:
    if isinstance(source, Mapping):
        reading.pairs += len(source)
    try:
        return read_field(Job, "own", source)
    except StemloreError as error:
        reading.note(path, error)
        return BAD


_ASSEMBLY = Slots(
    Assembly,
    tyre=_one(Slots(Tyre)),
    wheel=_one(Slots(Wheel)),
    valve=_one(Slots(Valve)),
    sensor=_one(Slots(Sensor)),
    condition=_one(Slots(Condition)),
    work=_one(Slots(Work)),
    own=_own,
)


def _assemblies(reading: Reading, source: Any, path: str) -> tuple[Any, ...]:
    def read(reading: Reading, item: Any, place: str) -> Any:
        before = len(reading.faults)
        values = reading.values(_ASSEMBLY, item, place)
        index = next(count)
        if values is None:
            return BAD
        if isinstance(position := values["position"], Position):
            reading.positions[index] = position
        return BAD if len(reading.faults) != before else reading.made(_ASSEMBLY, values, place, item)

    count = iter(range(len(source) if isinstance(source, (list, tuple)) else 0))
    return reading.listed(read, source, path)


_JOB = Slots(
    Job,
    vehicle=_one(Slots(Vehicle, axles=_many(_one(Slots(Axle))))),
    assemblies=_assemblies,
    event=_one(Slots(Event)),
    makers=_many(_one(Slots(MakerInstruction))),
    own=_own,
)


def read_job(source: Path | str | bytes | Mapping[str, Any]) -> Job:
    """Read a job from a document.

    Parameters
    ----------
    source : Path, str, bytes or mapping
        A Path is a file; str and bytes are the document itself; a mapping
        holds its values.

    Raises
    ------
    DocumentError
        With all faults and their paths, such as ``assemblies[2].tyre.pressure``.

    Examples
    --------
    >>> job = read_job('{"schema": "stemlore.job/1", "vehicle": {"category": "M1"}}')
    >>> job.vehicle.category
    'M1'
    """
    document = open_document("job", source)
    root = dict(document.root)
    reading = Reading(owned=document.body is not None)
    _check_schema(root, reading)
    values = reading.values(_JOB, root, "") or {}
    job = BAD if reading.faults else reading.made(_JOB, values, "", root)
    if job is BAD:
        _raise(document, reading, values)
    doubles = list(duplicate_faults(document, reading.pairs))
    if doubles:
        raise DocumentError(document.what, doubles)
    return job  # type: ignore[no-any-return]


def _check_schema(root: dict[str, Any], reading: Reading) -> None:
    """Take the schema out of the document and note whether it is ours."""
    advice = f'write "schema": "{JOB_SCHEMA}"'
    if "schema" not in root:
        reading.faults.append(Fault("schema", "must be given", advice))
        return
    reading.pairs += 1
    given = root.pop("schema")
    if given == JOB_SCHEMA:
        return
    if isinstance(given, str) and given.startswith("stemlore.job/"):
        advice = f"this release reads {JOB_SCHEMA}"
    elif isinstance(given, str) and near_misses(given, [JOB_SCHEMA]):
        advice = f"did you mean {JOB_SCHEMA}?"
    reading.faults.append(Fault("schema", f"{str(given)[:60]!r} is not a job's schema", advice))


def _raise(document: Document, reading: Reading, values: dict[str, Any]) -> None:
    """Raise for a job that cannot be made, with what else is wrong across its parts."""
    told = [fault.path for fault in reading.faults]
    vehicle = values.get("vehicle")
    axles = vehicle.axles if isinstance(vehicle, Vehicle) else ()
    makers = values.get("makers") or ()
    across = place_faults(reading.positions, axles)
    across += maker_faults({index: maker for index, maker in enumerate(makers) if maker is not BAD})
    faults = [*reading.faults, *(fault for fault in across if fault.path not in told)]
    deep = list(depth_faults(document.root))
    doubles = [] if deep else list(duplicate_faults(document, reading.pairs))
    raise DocumentError(document.what, [*deep, *doubles, *faults])


def job_to_json(job: Job, *, indent: int = 0) -> str:
    """Write a job as JSON that :func:`read_job` reads back to an equal job.

    Parameters
    ----------
    job : Job
        What to write; missing values are left out, numbers stand in the
        stored unit under names that end with it.
    indent : int
        Spaces a level; 0 for one line.
    """
    text = msgspec.json.encode({"schema": JOB_SCHEMA, **plain_values(job)})
    return (msgspec.json.format(text, indent=indent) if indent > 0 else text).decode()
