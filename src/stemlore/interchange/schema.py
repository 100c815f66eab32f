"""The JSON Schema of documents, made from what each field is."""

from __future__ import annotations

from typing import Any

from stemlore.interchange.jobs import JOB_SCHEMA
from stemlore.model import (
    Assembly,
    Axle,
    Condition,
    Event,
    FieldSpec,
    Job,
    MakerInstruction,
    Sensor,
    Tyre,
    Valve,
    Vehicle,
    Wheel,
    Work,
    specs_of,
)
from stemlore.model._readers import OWN_NAME

__all__ = ["job_schema"]

_RECORDS = (Assembly, Axle, Condition, Event, MakerInstruction, Sensor, Tyre, Valve, Vehicle, Wheel, Work)

# A quantity has a figure, and after it something that is neither figure nor exponent.
_QUANTITY = r"^\s*[-+\u2212]?[.,]?\d.*[^\d\s.,/eE+-]"
_DATE = r"^\s*\d{4}(-[Ww]\d{2}|-\d{2}(-\d{2})?)?(\s*/\s*\d{4}(-[Ww]\d{2}|-\d{2}(-\d{2})?)?)?\s*$"
_TEXT = r"\S"


def job_schema() -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of a job's document.

    It holds for the words in the form in which they are written;
    :func:`read_job` is laxer with their case, and reads the designations
    that are only text here.
    """
    job = _record(Job)
    job["properties"] = {"schema": {"const": JOB_SCHEMA}, **job["properties"]}
    job["required"] = ["schema"]
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": JOB_SCHEMA,
        **job,
        "$defs": {cls.__name__: _record(cls) for cls in _RECORDS},
    }


def _record(cls: type[Any]) -> dict[str, Any]:
    needed: tuple[str, ...] = cls.__stemlore_needed__
    properties: dict[str, Any] = {}
    apart: list[dict[str, Any]] = []
    for name, spec in specs_of(cls).items():
        properties[name] = _value(spec, nullable=name not in needed)
        if spec.wire_number:
            properties[spec.wire_number] = _number(spec)
            both = {name: {"type": "string"}, spec.wire_number: {"type": "number"}}
            apart.append({"not": {"required": list(both), "properties": both}})
    made: dict[str, Any] = {
        "type": "object",
        "description": (cls.__doc__ or "").strip().splitlines()[0],
        "properties": properties,
        "additionalProperties": False,
    }
    if needed:
        made["required"] = list(needed)
    if apart:
        made["allOf"] = apart
    return made


def _number(spec: FieldSpec) -> dict[str, Any]:
    made: dict[str, Any] = {"type": ["number", "null"], "description": f"{spec.meaning}, in {spec.unit}"}
    if spec.least is not None:
        made["minimum"] = spec.least
    return made


def _value(spec: FieldSpec, *, nullable: bool) -> dict[str, Any]:
    made = _plain(spec)
    if nullable:
        if "type" in made:
            made["type"] = [made["type"], "null"]
        elif "enum" in made:
            made["enum"] = [*made["enum"], None]
        else:
            made = {"anyOf": [made, {"type": "null"}]}
    return {**made, "description": _described(spec)}


def _described(spec: FieldSpec) -> str:
    unit = f", text with a unit such as '1 {spec.unit}'" if spec.kind == "number" else ""
    return f"{spec.meaning}{unit}"


def _plain(spec: FieldSpec) -> dict[str, Any]:
    if spec.kind == "integer":
        return {"type": "integer"} if spec.least is None else {"type": "integer", "minimum": spec.least}
    if spec.kind == "word":
        return {"enum": list(spec.words)}
    if spec.kind == "flag":
        return {"type": "boolean"}
    if spec.kind == "record" and spec.holds is not None:
        return {"$ref": f"#/$defs/{spec.holds.__name__}"}
    if spec.kind == "records" and spec.holds is not None:
        of = spec.holds
        items = {"$ref": f"#/$defs/{of.__name__}"} if of in _RECORDS else {"type": "string", "pattern": _TEXT}
        return {"type": "array", "items": items}
    if spec.kind == "own":
        return {
            "type": "object",
            "propertyNames": {"pattern": OWN_NAME},
            "additionalProperties": {"type": ["string", "number", "boolean", "null"]},
        }
    return {"type": "string", "pattern": {"number": _QUANTITY, "date": _DATE}.get(spec.kind, _TEXT)}
