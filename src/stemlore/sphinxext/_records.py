"""Records of the model, field by field."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from docutils import nodes

from stemlore import model
from stemlore.errors import UnknownFieldError
from stemlore.model import FieldSpec, specs_of
from stemlore.sphinxext._base import StemloreDirective
from stemlore.sphinxext._build import Content, breakable, code, joined, paragraph, table

__all__ = ["RECORDS", "RecordFields"]

RECORDS: Mapping[str, type[Any]] = {
    "assembly": model.Assembly,
    "axle": model.Axle,
    "condition": model.Condition,
    "event": model.Event,
    "job": model.Job,
    "maker": model.MakerInstruction,
    "sensor": model.Sensor,
    "tyre": model.Tyre,
    "valve": model.Valve,
    "vehicle": model.Vehicle,
    "wheel": model.Wheel,
    "work": model.Work,
}


def kind_words(spec: FieldSpec) -> Content:
    """Say what a field takes."""
    holds = spec.holds.__name__ if spec.holds else ""
    match spec.kind:
        case "number":
            return f"{spec.unit}" if str(spec.unit) != "1" else "number"
        case "integer":
            return "whole number"
        case "word":
            return joined([code(word) for word in spec.words])
        case "flag":
            return "yes or no"
        case "date":
            return "date or span of dates"
        case "notation" | "record":
            return holds or spec.kind
        case "records":
            return f"list of {holds}"
        case "own":
            return "fields of packs"
    return spec.kind


class RecordFields(StemloreDirective):
    """The fields of a record: what each is, its unit, how it is read, and its column."""

    def made(self) -> Sequence[nodes.Node]:
        """Return one table."""
        name = self.arguments[0].strip()
        if name not in RECORDS:
            raise UnknownFieldError(name, RECORDS)
        made = table(
            ["Field", "What it is", "Unit or words", "How it is read"],
            [self._row(spec, of=name) for spec in specs_of(RECORDS[name]).values()],
            classes=["stemlore-record"],
        )
        return [made]

    def _row(self, spec: FieldSpec, *, of: str) -> list[Content]:
        first: list[nodes.Node] = [paragraph(breakable(spec.name))]
        if spec.kind in ("number", "integer", "word", "flag", "text", "date", "notation") and of != "job":
            first.append(paragraph("column ", breakable(spec.column), classes=["stemlore-column"]))
        impossible = f"; not below {spec.least:g}" if spec.least not in (None, 0.0) else ""
        kind = kind_words(spec)
        return [first, spec.meaning, f"{kind}{impossible}" if isinstance(kind, str) else kind, spec.how]
