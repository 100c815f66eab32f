"""The job sheet: one page that lies beside the wheel, with boxes to tick."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from functools import lru_cache
from importlib.resources import files
from typing import Any

from jinja2 import Environment, StrictUndefined, Template

from stemlore.errors import MissingExtraError
from stemlore.interchange import ChoiceRecord, PlanRecord, SetPointRecord, StepRecord, plan_record
from stemlore.interchange.plan_words import (
    cautions_of,
    detail_in_words,
    gaps_of,
    in_a_row,
    meaning_of,
    meanings,
    reasons,
    values_of,
    wheels_in_words,
)
from stemlore.model import Position
from stemlore.pages.density import type_size
from stemlore.units import show, unit
from stemlore.workplan import WorkPlan

__all__ = ["job_sheet"]

_MOST_BOXES = 12  # wheels side by side; beyond that one box a step
_MOST_OTHERS = 3  # parts and reasons that are named; the plan has them all
_PRESSURES = ("kPa", "bar", "psi")
_SMALL_TORQUES, _TORQUES = ("N.m", "lbf.in"), ("N.m", "lbf.ft")
_SMALL = 20.0  # newton metres, below which a torque wrench is graded in inches
_SOURCE = re.compile(r"(.+?) \(([^\[\]]*\[[a-z ,]+\])\)\.?", re.DOTALL)
"""A line that ends in a source with its grade."""
_WORDS = {
    "tyre_change": "tyre change",
    "seasonal_change": "seasonal change",
    "repair": "repair",
    "inspection": "inspection",
    "sale": "sale",
}


def job_sheet(plan: WorkPlan | PlanRecord, *, figures: bool = True, units: Sequence[str] = ()) -> str:
    """Return the job sheet as one HTML page that needs no network.

    The sheet of four wheels prints on one page of A4, in grey as in colour.
    Figures follow where there is room, else on the back, in the size at
    which their text can be read.

    Parameters
    ----------
    plan : WorkPlan or PlanRecord
        What :func:`~stemlore.plan_work` answered; a plan read back has no figures.
    figures : bool
        Draw the section through rim, hole and valve, if the extra ``figures`` is installed.
    units : sequence of str
        Units of the large values, such as ``("psi", "lbf.ft")``; others stand beside them.
    """
    record = plan_record(plan)
    wheels = [each.position for each in record.wheels]
    gaps = gaps_of(record)
    boxes = wheels if 0 < len(wheels) <= _MOST_BOXES else []
    sheet: dict[str, Any] = {
        "plan": record,
        "head": _head(record),
        "stops": record.stops,
        "notices": [each for each in record.notices if not each.stops and each.text != record.safety],
        "tyres": _tyres(record),
        "cards": _cards(record, units),
        "parts": _parts(record, units),
        "renewals": _renewals(record),
        "boxes": [(each, _short(each)) for each in boxes],
        "legend": _legend(boxes),
        "steps": [_step(each, record, units) for each in record.steps],
        "gaps": [(each.text, wheels_in_words(each.positions, record)) for each in gaps],
        "readings": list(dict.fromkeys(meaning_of(path) for each in gaps for path in each.missing)),
        "sources": _sources(record),
    }
    drawn = _figures(plan) if figures else []
    return _template().render(sheet, figures=drawn, size=type_size(sheet))


@lru_cache(maxsize=1)
def _template() -> Template:
    made = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True)
    return made.from_string(files("stemlore.pages").joinpath("job_sheet.html").read_text("utf-8"))


# --- head ------------------------------------------------------------------------------------


def _head(plan: PlanRecord) -> dict[str, str]:
    ties: dict[str, list[str]] = {}
    for each in plan.coverage.ties:
        ties.setdefault(each.place or "no place given", []).append(each.tie.words)
    places = "; ".join(
        f"{place} ({', '.join(words)})" if len(ties) > 1 else place for place, words in ties.items()
    )
    visit = _WORDS.get(plan.visit or "", (plan.visit or "visit not told").replace("_", " "))
    return {
        "visit": visit,
        "category": plan.category or "not told",
        "places": places,
        "uncovered": "; ".join(each.note for each in plan.coverage.gaps if each.note),
    }


def _tyres(plan: PlanRecord) -> list[tuple[str, str]]:
    """Return tyre and rim, wheels that are alike together."""
    alike: dict[str, list[str]] = {}
    for each in plan.wheels:
        tyre, rim = each.tyre or "tyre size not told", f", rim {each.rim}" if each.rim else ""
        alike.setdefault(f"{tyre}{rim}", []).append(each.position)
    return [(text, _capital(wheels_in_words(positions, plan))) for text, positions in alike.items()]


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _short(position: str) -> str:
    at = Position.parse(position)
    if at.spare:
        return "S"
    side = {"left": "L", "right": "R", "centre": "C"}[at.side or "centre"]
    return f"{at.axle}{side}{'' if at.place == 'single' else at.place[0]}"


def _legend(positions: Sequence[str]) -> str:
    if not positions:
        return ""
    told = [f"{_short(positions[0])} = {positions[0]}"]
    if any(each.endswith(("outer", "inner")) for each in positions):
        told.append("o = outer, i = inner")
    if "spare" in positions:
        told.append("S = spare")
    return "; ".join(told)


# --- values ----------------------------------------------------------------------------------


def _cards(plan: PlanRecord, units: Sequence[str]) -> list[tuple[str, list[dict[str, Any]]]]:
    """Return a card for each thing to set, with a value for each group of wheels."""
    alike: dict[str, list[dict[str, Any]]] = {}
    for each in plan.set_points:
        alike.setdefault(each.title, []).append(_value(each, plan, units))
    return list(alike.items())


def _value(point: SetPointRecord, plan: PlanRecord, units: Sequence[str]) -> dict[str, Any]:
    shown = values_of(point, units)
    symbol = show(1.0, unit(point.unit)).removeprefix("1").strip()
    return {
        "wheels": wheels_in_words(point.positions, plan),
        "value": shown.value,
        "is_ceiling": shown.is_ceiling,
        "is_known": shown.is_known,
        "unit": symbol,
        "band": shown.band,
        "also": [] if not shown.is_known else [each for each in _also(point) if each != shown.value],
        "note": point.note,
    }


def _also(point: SetPointRecord) -> Iterator[str]:
    """Give the value in the other units that gauges and wrenches are graded in."""
    given = unit(point.unit)
    if given.dimension == unit("kPa").dimension:
        symbols: Sequence[str] = _PRESSURES
    elif given.dimension == unit("N.m").dimension:
        value = point.target if point.target is not None else point.high
        symbols = _SMALL_TORQUES if value is not None and value < _SMALL else _TORQUES
    else:
        return
    for symbol in symbols:
        yield values_of(point, (symbol,)).value


# --- parts -----------------------------------------------------------------------------------


def _parts(plan: PlanRecord, units: Sequence[str]) -> list[tuple[str, list[tuple[str, str]]]]:
    alike: dict[tuple[tuple[str, str], ...], list[str]] = {}
    for choice in plan.choices:
        alike.setdefault(tuple(_chosen(choice, units)), []).extend(choice.positions)
    return [(_capital(wheels_in_words(positions, plan)), list(lines)) for lines, positions in alike.items()]


def _chosen(choice: ChoiceRecord, units: Sequence[str]) -> Iterator[tuple[str, str]]:
    if choice.keep:
        yield "keep", choice.keep
        return
    if choice.fits:
        yield "fit", choice.fits[0].code
        if choice.fits[1:]:
            yield "or", _some([each.code for each in choice.fits[1:]])
    elif choice.likely is not None:
        paths = next(each.missing for each in choice.undecided if each.code == choice.likely)
        yield "likely", choice.likely
        yield "if", f"it still fits once measured: {meanings(paths)}"
    else:
        yield "none", "nothing is known to fit"
        if choice.undecided:
            yield "undecided", _some([each.code for each in choice.undecided])
    told = reasons(choice, units)
    if told:
        texts = [f"{each.codes}: {each.why[0] or each.rules[0]}" for each in told[:_MOST_OTHERS]]
        left = sum(each.count for each in told[_MOST_OTHERS:])
        more = f" ({left} more in the plan)" if left else ""
        yield "not", f"{'. '.join(texts)}{more}"


def _some(codes: list[str]) -> str:
    more = len(codes) - _MOST_OTHERS
    return in_a_row(codes[:_MOST_OTHERS]) + (f" and {more} more" if more > 0 else "")


def _renewals(plan: PlanRecord) -> list[tuple[str, str]]:
    """Return what is renewed, for the same wheels together."""
    alike: dict[tuple[str, ...], list[str]] = {}
    for each in plan.renewals:
        alike.setdefault(each.positions, []).append(f"{each.part}: {each.action} ({each.strength})")
    return [(wheels_in_words(positions, plan), "; ".join(texts)) for positions, texts in alike.items()]


# --- steps -----------------------------------------------------------------------------------


def _step(step: StepRecord, plan: PlanRecord, units: Sequence[str]) -> dict[str, Any]:
    # what stands in other lines of the sheet is not said twice
    told = {f"{each.part}: {each.action} ({each.strength})" for each in plan.renewals}
    return {
        "title": step.title,
        "positions": set(step.positions),
        "wheels": wheels_in_words(step.positions, plan),
        "values": [_value(each, plan, units) for each in step.values],
        "details": [
            _capital(detail_in_words(_split(each)[0], plan)) for each in step.details if each not in told
        ],
        "cautions": [_split(each)[0] for each in cautions_of(step)],
    }


def _split(text: str) -> tuple[str, str]:
    """Return a line of a step and the source that stands behind it in brackets, if one does."""
    found = _SOURCE.fullmatch(text)
    plain, source = found.groups() if found else (text, "")
    return plain.rstrip(". "), source


def _sources(plan: PlanRecord) -> list[str]:
    """Return who tells each value and renewal, each source once."""
    alike: dict[str, list[str]] = {}
    numbers = {each.key: number for number, each in enumerate(plan.steps, start=1)}
    for point in plan.set_points:
        if point.told_by:
            alike.setdefault(point.told_by, []).append(point.title.lower())
    for renewal in plan.renewals:
        alike.setdefault(str(renewal.citation), []).append(f"renew {renewal.part}")
    for step in plan.steps:
        alike.setdefault(str(step.citation), []).append("steps")
        for text in (*step.details, *step.cautions):
            if source := _split(text)[1]:
                alike.setdefault(source, []).append(f"step {numbers[step.key]}")
    return [f"{', '.join(dict.fromkeys(what))}: {source}" for source, what in alike.items()]


# --- figures ---------------------------------------------------------------------------------


def _figures(plan: WorkPlan | PlanRecord) -> list[str]:
    """Draw the section at each wheel that gets another valve, those that look alike once."""
    if not isinstance(plan, WorkPlan):
        return []
    try:
        from stemlore.figures import wheel_section
    except MissingExtraError:
        return []
    drawn: dict[str, str] = {}
    for choice in plan.choices:
        if not (choice.best or choice.likely) or not choice.positions:
            continue
        assembly = plan.planned.at(choice.positions[0])
        if assembly is None:
            continue
        figure = wheel_section(assembly)
        drawn.setdefault(figure.description.removeprefix(figure.title), figure.svg())
    return list(drawn.values())
