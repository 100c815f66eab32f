"""Reports as JSON: in full, to be read back, or compact, to be written fast."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any, Literal
from weakref import WeakKeyDictionary

import msgspec

from stemlore.errors import DocumentError, Fault
from stemlore.interchange._report_records import (
    FORMS,
    REPORT_SCHEMA,
    SAFETY,
    CoverageRecord,
    FaultRecord,
    ReportRecord,
    TieRecord,
)
from stemlore.interchange._report_writing import coverage_record, fault_record, record_of
from stemlore.interchange._text import Document, duplicate_faults, open_document
from stemlore.rules import Outcome, Report, Rulebook

__all__ = ["REPORT_SCHEMA", "Form", "report_from_json", "report_schema", "report_to_json"]

Form = Literal["full", "compact"]

_COLUMNS = ["rule", "subject", "outcome", "measured", "limit", "margin"]
_WORDS = [outcome.word for outcome in Outcome]
_encoder = msgspec.json.Encoder()


def report_to_json(
    report: Report | ReportRecord,
    *,
    form: Form = "full",
    indent: int = 0,
    language: str = "en",
    units: tuple[str, ...] = (),
) -> str:
    """Write a report as JSON.

    Parameters
    ----------
    report : Report or ReportRecord
        What :func:`check` answered, or a record read back.
    form : {'full', 'compact'}
        ``full`` names every public attribute and is read back by
        :func:`report_from_json`. ``compact`` lists each rule once and every
        finding as a row; it has no readings and no fingerprint.
    indent : int
        Spaces a level; 0 for one line.
    language : str
        Language of the sentences of the full form.
    units : tuple of str
        Units of the sentences; values stay in the stored unit.

    Raises
    ------
    ValueError
        If the form is neither, or a record is asked for in compact form.
    """
    if form not in FORMS:
        raise ValueError(f"form {form!r} is neither 'full' nor 'compact'")
    if form == "compact":
        if not isinstance(report, Report):
            raise ValueError("only a Report has a compact form; write the record with form='full'")
        text = _compact(report)
        return msgspec.json.format(text, indent=indent) if indent > 0 else text
    record = report if isinstance(report, ReportRecord) else record_of(report, language, units)
    body = _encoder.encode(record)
    return (msgspec.json.format(body, indent=indent) if indent > 0 else body).decode()


# --- compact ---------------------------------------------------------------------------------

# Text about the rules of a rulebook, the longest part, is the same for every job.
_rules_text: WeakKeyDictionary[Any, str] = WeakKeyDictionary()


def _compact(report: Report) -> str:
    book = report.book
    rules = _rules_text.get(book.compiled)
    if rules is None:
        rules = _rules_text[book.compiled] = _encoder.encode(_rules(book)).decode()
    subjects, rows = report.rows()
    head = {
        "schema": REPORT_SCHEMA,
        "form": "compact",
        "is_clean": report.is_clean,
        "counts": dict(zip(_WORDS, report.counts.values(), strict=True)),
        "on": book.on,
        "day": report.day,
        "notes": report.notes,
        "faults": [fault_record(fault) for fault in report.faults],
        "coverage": coverage_record(report.coverage),
        "safety": SAFETY,
        "outcomes": _WORDS,
        "columns": _COLUMNS,
        "subjects": [str(subject) for subject in subjects],
        "rows": rows,
    }
    return f'{_encoder.encode(head).decode()[:-1]},"rules":{rules}}}'


def _rules(book: Rulebook) -> list[dict[str, Any]]:
    return [
        {
            "rule": each.rule.id,
            "title": each.rule.title,
            "gravity": each.rule.gravity,
            "basis": each.rule.basis,
            "tie": each.rule.tie,
            "unit": None
            if each.shows is None or each.shows.measured.unit is None
            else str(each.shows.measured.unit),
            "citation": str(each.citation),
            "grade": each.citation.grade,
            "advice": each.rule.advice,
            "caution": each.rule.caution,
            "reason": each.reason,
            "pack": each.pack.id,
            "version": each.pack.version,
        }
        for each in book.rules.values()
    ]


# --- reading ---------------------------------------------------------------------------------


def report_from_json(source: Path | str | bytes | Mapping[str, Any]) -> ReportRecord:
    """Read a report that was written in full.

    Parameters
    ----------
    source : Path, str, bytes or mapping
        A Path is a file; str and bytes are the document itself.

    Returns
    -------
    ReportRecord
        Read-only, with the names of :class:`~stemlore.rules.Report`.

    Raises
    ------
    DocumentError
        If it is no such document, or its verdict contradicts its findings.
    """
    document = open_document("report", source)
    root = document.root
    _check_head(document)
    doubles = list(duplicate_faults(document, -1))
    if doubles:
        raise DocumentError(document.what, doubles)
    try:
        record = msgspec.convert(root, ReportRecord)
    except msgspec.ValidationError as error:
        why, _, path = str(error).partition(" - at ")
        place = path.strip("`").removeprefix("$").removeprefix(".")
        raise DocumentError(document.what, [Fault(place, why)]) from error
    faults = record.contradictions()
    if faults:
        raise DocumentError(document.what, faults)
    return record


def _check_head(document: Document) -> None:
    given = document.root.get("schema")
    if given != REPORT_SCHEMA:
        told = "must be given" if given is None else f"{str(given)[:60]!r} is not a report's schema"
        raise DocumentError(document.what, [Fault("schema", told, f"this release reads {REPORT_SCHEMA}")])
    form = document.root.get("form")
    if form == "compact":
        advice = "write it with form='full' to read it back"
        raise DocumentError(
            document.what, [Fault("form", "the compact form leaves out what a record needs", advice)]
        )


# --- schema ----------------------------------------------------------------------------------


def report_schema(form: Form = "full") -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of a report's document.

    Raises
    ------
    ValueError
        If the form is neither ``full`` nor ``compact``.
    """
    if form not in FORMS:
        raise ValueError(f"form {form!r} is neither 'full' nor 'compact'")
    head = {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": REPORT_SCHEMA}
    if form == "full":
        (top,), parts = msgspec.json.schema_components([ReportRecord], ref_template="#/$defs/{name}")
        own = parts.pop(top["$ref"].rpartition("/")[2])
        return {**own, **head, "$defs": parts}
    (_, fault, coverage), parts = msgspec.json.schema_components(
        [TieRecord, FaultRecord, CoverageRecord], ref_template="#/$defs/{name}"
    )
    return {**head, **_compact_schema(fault, coverage), "$defs": parts}


def _compact_schema(fault: dict[str, Any], coverage: dict[str, Any]) -> dict[str, Any]:
    text, day, whole = (
        {"type": "string"},
        {"type": "string", "format": "date"},
        {"type": "integer", "minimum": 0},
    )
    shown = {"type": ["number", "string", "boolean", "null"]}
    names = "rule title gravity basis tie citation grade advice caution reason pack version".split()
    rule: dict[str, Any] = dict.fromkeys(names, text)
    rule["unit"] = {"type": ["string", "null"]}
    row = [
        whole,
        whole,
        {"type": "integer", "minimum": 0, "maximum": 3},
        shown,
        shown,
        {"type": ["number", "null"]},
    ]
    properties: dict[str, Any] = {
        "schema": {"const": REPORT_SCHEMA},
        "form": {"const": "compact"},
        "is_clean": {"type": "boolean"},
        "counts": _closed(dict.fromkeys(_WORDS, whole)),
        "on": day,
        "day": day,
        "notes": {"type": "array", "items": text},
        "faults": {"type": "array", "items": fault},
        "coverage": coverage,
        "safety": text,
        "outcomes": {"const": _WORDS},
        "columns": {"const": _COLUMNS},
        "subjects": {"type": "array", "items": text},
        "rows": {
            "type": "array",
            "items": {"type": "array", "prefixItems": row, "items": False, "minItems": 6},
        },
        "rules": {"type": "array", "items": _closed(rule)},
    }
    return _closed(properties)


def _closed(properties: Mapping[str, Any]) -> dict[str, Any]:
    return {
        "type": "object",
        "properties": dict(properties),
        "required": list(properties),
        "additionalProperties": False,
    }
