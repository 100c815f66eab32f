"""What a workshop knows of a job, as frozen records.

Here belong the vehicle, its assemblies, the visit, and what each field is:
unit, meaning, how a reading is taken, place on a walk round the vehicle. How
records travel as JSON belongs to interchange, what they must satisfy to rules.

May import errors, units, provenance, notation and attrs.
"""

from __future__ import annotations

from stemlore.model._plain import plain_values
from stemlore.model._readers import NO_OWN
from stemlore.model._record import (
    FIELDS,
    FieldSpec,
    Level,
    Quantity,
    change,
    field_spec,
    from_stored,
    given_text,
    specs_of,
)
from stemlore.model.condition import Condition
from stemlore.model.event import Event
from stemlore.model.job import Assembly, Job
from stemlore.model.maker import NO_INSTRUCTION, MakerInstruction
from stemlore.model.own import declare_own, own_faults, own_fields, own_reader
from stemlore.model.position import Position
from stemlore.model.sensor import Sensor
from stemlore.model.tyre import Tyre
from stemlore.model.valve import Valve
from stemlore.model.vehicle import Axle, Vehicle
from stemlore.model.wheel import Wheel
from stemlore.model.work import Work

__all__ = [
    "FIELDS",
    "NO_INSTRUCTION",
    "NO_OWN",
    "Assembly",
    "Axle",
    "Condition",
    "Event",
    "FieldSpec",
    "Job",
    "Level",
    "MakerInstruction",
    "Position",
    "Quantity",
    "Sensor",
    "Tyre",
    "Valve",
    "Vehicle",
    "Wheel",
    "Work",
    "change",
    "declare_own",
    "field_spec",
    "from_stored",
    "given_text",
    "own_faults",
    "own_fields",
    "own_reader",
    "plain_values",
    "specs_of",
]
