"""The sixty comparisons for other engines, written from the rulebook's trees, and findings by hand."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from operator import attrgetter
from typing import Any

import attrs
import by_hand
import rule_engine
import zen

from stemlore.model import Job, field_spec
from stemlore.rules import Rulebook
from stemlore.rules._resolve import OpenRule
from stemlore.rules.nodes import And, Compare, Constant, Equals, Field, Node, OneOf, Within

__all__ = ["HandFinding", "findings_by_hand", "flat_car", "rule_engine_car", "rules_in_order", "zen_forms"]

Name = Callable[[str], str]
Table = list[list[bool]]


def rules_in_order(book: Rulebook) -> Sequence[OpenRule]:
    """Return the rules of a wheel in the order in which a report tells them."""
    (group,) = book.compiled.groups
    return group.rules


def wire_name(path: str) -> str:
    """Return the key of a field in a document."""
    spec = field_spec(path)
    return spec.wire_number or spec.name


# --- the same text for zen-engine and rule-engine ----------------------------------------------


def _text(of: Node, name: Name) -> str:
    match of:
        case And(parts):
            return " and ".join(f"({_text(part, name)})" for part in parts)
        case Compare(operator, left, right):
            return f"{_text(left, name)} {operator} {_text(right, name)}"
        case Equals(left, right):
            return f"{_text(left, name)} == {_text(right, name)}"
        case Within(value, low, high):
            return (
                f"{_text(value, name)} >= {_text(low, name)} and {_text(value, name)} <= {_text(high, name)}"
            )
        case OneOf(value, options):
            listed = ", ".join(f'"{each}"' for each in options)
            return f"{_text(value, name)} in [{listed}]"
        case Field(path):
            return name(path)
        case Constant(value):
            return f'"{value}"' if isinstance(value, str) else repr(value)
    raise TypeError(type(of).__name__)


def _whole(each: OpenRule, name: Name) -> str:
    check = _text(each.check, name)
    return f"({check})" if each.when is None else f"(not ({_text(each.when, name)}) or ({check}))"


# --- zen-engine: one expression for the whole car ------------------------------------------------


def zen_forms(book: Rulebook, document: Mapping[str, Any]) -> dict[str, Callable[[], Table]]:
    """Return zen-engine judging the whole car by one expression, in the forms that may be fastest."""
    rules = rules_in_order(book)

    def on_document(path: str) -> str:
        prefix = path.partition(".")[0]
        return f"{prefix}.{wire_name(path)}" if prefix == "vehicle" else f"#.{prefix}.{wire_name(path)}"

    def on_flat(path: str) -> str:
        return path.replace(".", "_") if path.startswith("vehicle.") else "#." + path.replace(".", "_")

    def joined(name: Name) -> str:
        return f"[{', '.join(_whole(each, name) for each in rules)}]"

    nested = zen.compile_expression(f"map(assemblies, {joined(on_document)})")
    flat = zen.compile_expression(f"map(wheels, {joined(on_flat)})")
    spread = zen.compile_expression(
        "["
        + ", ".join(
            joined(lambda path, at=at: on_document(path).replace("#", f"assemblies[{at}]")) for at in range(4)
        )
        + "]"
    )
    car = flat_car(document)
    return {
        "map over the document": lambda: nested.evaluate(document),
        "map over flat wheels": lambda: flat.evaluate(car),
        "240 comparisons written out": lambda: spread.evaluate(document),
    }


def zen_from(book: Rulebook) -> Callable[[Mapping[str, Any]], Table]:
    """Return zen-engine's judgement of a decoded document."""
    rules = rules_in_order(book)

    def on_document(path: str) -> str:
        prefix = path.partition(".")[0]
        return f"{prefix}.{wire_name(path)}" if prefix == "vehicle" else f"#.{prefix}.{wire_name(path)}"

    whole = ", ".join(_whole(each, on_document) for each in rules)
    made = zen.compile_expression(f"map(assemblies, [{whole}])")
    return made.evaluate  # type: ignore[no-any-return]


def flat_car(document: Mapping[str, Any]) -> dict[str, Any]:
    """Return vehicle and wheels with one key a field, stored values, no records within."""
    stored = {wire_name(path): path.partition(".")[2] for path in _paths()}
    vehicle = {f"vehicle_{stored[key]}": value for key, value in document["vehicle"].items() if key in stored}
    wheels = [
        {
            f"{prefix}_{stored[key]}": value
            for prefix, values in assembly.items()
            if prefix != "position"
            for key, value in values.items()
        }
        for assembly in document["assemblies"]
    ]
    return {**vehicle, "wheels": wheels}


def _paths() -> list[str]:
    from stemlore.model import FIELDS

    return list(FIELDS)


# --- rule-engine: one compiled Rule a rule -------------------------------------------------------


def rule_engine_car(book: Rulebook, document: Mapping[str, Any]) -> Callable[[], Table]:
    """Return rule-engine judging each wheel rule by rule."""
    made = [
        rule_engine.Rule(_whole(each, lambda path: path.replace(".", "_"))) for each in rules_in_order(book)
    ]
    car = flat_car(document)
    vehicle = {key: value for key, value in car.items() if key != "wheels"}
    wheels = [{**vehicle, **wheel} for wheel in car["wheels"]]
    return lambda: [[rule.matches(wheel) for rule in made] for wheel in wheels]


# --- findings as attrs records, by hand ----------------------------------------------------------


@attrs.frozen
class HandFinding:
    """What one writes first: a frozen record for each finding."""

    rule: str
    subject: str
    outcome: bool | None
    measured: float | str | None
    limit: float | str | None
    margin: float | None
    unit: str
    gravity: str
    advice: str
    citation: str
    missing: tuple[str, ...]
    pack: str


def findings_by_hand(book: Rulebook) -> Callable[[Job], list[HandFinding]]:
    """Return a function that judges by hand and makes 240 frozen attrs records."""
    rules = rules_in_order(book)
    told = []
    for each in rules:
        shows = each.shows
        limit = shows.limit.value if shows is not None and isinstance(shows.limit, Constant) else None
        unit = "" if shows is None or shows.measured.unit is None else shows.measured.unit.symbol
        path = next(part.path for part in _fields(each.check))
        told.append(
            (each.rule.id, limit, unit, each.rule.gravity, each.rule.advice, str(each.citation), (path,))
        )
    read = attrgetter(*(each[6][0] for each in told))

    def judge(job: Job) -> list[HandFinding]:
        out = []
        for assembly, outcomes in zip(job.assemblies, by_hand.booleans(job), strict=True):
            place = str(assembly.position)
            for (rule, limit, unit, gravity, advice, cite, paths), outcome, measured in zip(
                told, outcomes, read(assembly), strict=True
            ):
                known = type(measured) is float and limit is not None
                out.append(
                    HandFinding(
                        rule,
                        place,
                        outcome,
                        measured,
                        limit,
                        abs(measured - limit) if known else None,
                        unit,
                        gravity,
                        advice,
                        cite,
                        () if outcome is not None else paths,
                        "xa",
                    )
                )
        return out

    return judge


def _fields(of: Node) -> list[Field]:
    from stemlore.rules.nodes import walk

    return [part for part in walk(of) if isinstance(part, Field)]
