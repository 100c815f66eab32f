"""The job sheet: one page that lies beside the wheel, with boxes to tick."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache
from importlib.resources import files
from typing import Any

import attrs
from jinja2 import Environment, StrictUndefined, Template

from stemlore.errors import MissingExtraError
from stemlore.interchange import ChoiceRecord, GapRecord, PlanRecord, SetPointRecord, StepRecord, plan_record
from stemlore.interchange.plan_words import (
    Values,
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
from stemlore.model import Assembly, Position, Valve
from stemlore.pages._sources import capital, sources_of, split_source
from stemlore.pages.density import BOX, FLOOR, LEVELS, LONG, Level, paged
from stemlore.units import show, unit
from stemlore.workplan import Choice, WorkPlan
from stemlore.workplan.setting import PRACTICE_FIRST

__all__ = ["job_sheet"]

_MOST_BOXES = 12  # wheels side by side; beyond that one box a step
_MOST_BLANKS = 8  # lines to write on beside the figure
_MOST_CELLS = 6  # wheels side by side whose values are written down
_MOST_OTHERS = 3  # parts that are named; the plan has them all
_MARK = "*"  # of values whose note stands once below the table
_PRESSURES = ("kPa", "bar", "psi")
_SMALL_TORQUES, _TORQUES = ("N.m", "lbf.in"), ("N.m", "lbf.ft")
_SMALL = 20.0  # newton metres, below which a torque wrench is graded in inches
_WORDS = {
    "tyre_change": "tyre change",
    "seasonal_change": "seasonal change",
    "repair": "repair",
    "inspection": "inspection",
    "sale": "sale",
}


def job_sheet(plan: WorkPlan | PlanRecord, *, figures: bool = True, units: Sequence[str] = ()) -> str:
    """Return the job sheet as one HTML page that needs no network.

    It prints on one page of A4, in grey as in colour, in type of at least
    7.5 points. Where a plan has more to say than that holds, the steps go on
    overleaf under a header of their own.

    Parameters
    ----------
    plan : WorkPlan or PlanRecord
        What :func:`~stemlore.plan_work` answered; a plan read back has no figures.
    figures : bool
        Draw the section through rim, hole and valve beside the parts, if the extra ``figures`` is installed.
    units : sequence of str
        Units of the large values, such as ``("psi", "lbf.ft")``; others stand beside them.
    """
    record = plan_record(plan)
    drawn = _figures(plan, record) if figures else []
    for level in (*LEVELS, LONG):
        sheet = _sheet(record, drawn, level, units)
        pages = paged(sheet, level)
        if len(pages) == 1:
            break
    return _template().render(sheet, pages=pages, level=level, floor=FLOOR, box=BOX)


def _sheet(
    record: PlanRecord, figures: list[dict[str, Any]], level: Level, units: Sequence[str]
) -> dict[str, Any]:
    wheels = [each.position for each in record.wheels]
    gaps = gaps_of(record)
    boxes = [(each, _short(each)) for each in wheels] if 0 < len(wheels) <= _MOST_BOXES else []
    cells = boxes if len(boxes) <= _MOST_CELLS else []
    values = [_value(each, record, units) for each in record.set_points]
    steps = [_step(each, record, units) for each in record.steps]
    return {
        "plan": record,
        "head": _head(record),
        "stops": record.stops,
        "notices": [each for each in record.notices if not each.stops and each.text != record.safety],
        "tyres": _tyres(record),
        "values": values,
        "footnote": f"{_MARK} {capital(PRACTICE_FIRST)}." if any(each["mark"] for each in values) else "",
        "cells": cells,
        "cell": 24.0 if not cells else 11.0 if len(cells) <= 4 else 8.0,  # millimetres
        "parts": _parts(record, level, units),
        "renewals": _renewals(record),
        "boxes": boxes,
        "legend": _legend(wheels if boxes else []),
        "steps": _told_once(steps) if level.is_brief else steps,
        "gaps": [(each.text, wheels_in_words(each.positions, record)) for each in gaps],
        "readings": (readings := _readings(gaps, values)),
        "is_wide": len(readings) > _MOST_BLANKS,
        "sources": sources_of(record, level),
        "figures": figures[: level.figures],
    }


def _readings(gaps: Iterable[GapRecord], values: Sequence[dict[str, Any]]) -> list[str]:
    """Return what is to be found out, but for values whose line stands in the table to set."""
    open_ = tuple(f"{each['title']}:" for each in values if not each["is_known"])
    asked = [each for each in gaps if not each.text.startswith(open_)]
    return list(dict.fromkeys(meaning_of(path) for each in asked for path in each.missing))


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
    return [(text, capital(wheels_in_words(positions, plan))) for text, positions in alike.items()]


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


def _value(point: SetPointRecord, plan: PlanRecord, units: Sequence[str]) -> dict[str, Any]:
    shown = values_of(point, units)
    wheels = wheels_in_words(point.positions, plan)
    symbol = show(1.0, unit(point.unit)).removeprefix("1").strip()
    return {
        "title": point.title,
        "label": point.title if _is_all(point, plan) else f"{point.title}, {wheels}",
        "wheels": wheels,
        "positions": point.positions,
        "value": shown.value,
        "bound": shown.bound,
        "is_known": shown.is_known,
        "unit": symbol,
        "mark": _MARK if shown.is_known and PRACTICE_FIRST in point.note else "",
        "aside": "; ".join(_aside(point, shown)),
    }


def _is_all(point: SetPointRecord, plan: PlanRecord) -> bool:
    """Tell whether it holds for all wheels, which the columns then show."""
    every = {each.position for each in plan.wheels}
    return set(point.positions) == every and len(every) <= _MOST_CELLS


def _aside(point: SetPointRecord, shown: Values) -> Iterator[str]:
    """Give what stands beside a value: other units, what is allowed, and how it is meant."""
    also = [each for each in _also(point) if each != shown.value] if shown.is_known else []
    if also:
        yield ", ".join(also)
    if not shown.is_known:
        yield shown.value
    if shown.band:
        yield f"allowed {shown.band}"
    note = "; ".join(each for each in point.note.split("; ") if each != PRACTICE_FIRST)
    if note and shown.is_known:
        yield note


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


def _parts(plan: PlanRecord, level: Level, units: Sequence[str]) -> list[tuple[str, list[tuple[str, str]]]]:
    alike: dict[tuple[tuple[str, str], ...], list[str]] = {}
    for choice in plan.choices:
        alike.setdefault(tuple(_chosen(choice, level.others, units)), []).extend(choice.positions)
    return [(capital(wheels_in_words(positions, plan)), list(lines)) for lines, positions in alike.items()]


def _chosen(choice: ChoiceRecord, others: int, units: Sequence[str]) -> Iterator[tuple[str, str]]:
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
    if told and others:
        texts = [f"{each.codes}: {each.why[0] or each.rules[0]}" for each in told[:others]]
        left = sum(each.count for each in told[others:])
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
            capital(detail_in_words(split_source(each)[0], plan)) for each in step.details if each not in told
        ],
        "cautions": [split_source(each)[0] for each in cautions_of(step)],
    }


def _told_once(steps: Iterable[dict[str, Any]]) -> list[dict[str, Any]]:
    """Refer to the first step where a caution stands word for word."""
    first: dict[str, int] = {}
    out = []
    for number, step in enumerate(steps, start=1):
        again = sorted({first[each] for each in step["cautions"] if each in first})
        new = [each for each in step["cautions"] if each not in first]
        first |= dict.fromkeys(new, number)
        if again:
            new.append(f"As at step {in_a_row([str(each) for each in again])}")
        out.append({**step, "cautions": new})
    return out


# --- figures ---------------------------------------------------------------------------------


def _figures(plan: WorkPlan | PlanRecord, record: PlanRecord) -> list[dict[str, Any]]:
    """Draw the section for each valve that was chosen, those that look alike once, chosen ones first."""
    if not isinstance(plan, WorkPlan):
        return []
    try:
        from stemlore.figures import wheel_section
    except MissingExtraError:
        return []
    alike: dict[str, tuple[Any, str, list[str]]] = {}
    for choice in sorted(plan.choices, key=lambda each: not _is_chosen(each)):
        assembly = plan.planned.at(choice.positions[0]) if choice.positions else None
        if assembly is None:
            continue
        figure, named = wheel_section(_shown(assembly, choice), compact=True), _name(assembly, choice)
        key = f"{named}: {figure.description.removeprefix(figure.title)}"
        alike.setdefault(key, (figure, named, []))[2].extend(map(str, choice.positions))
    drawn = []
    for figure, named, positions in alike.values():
        svg = figure.svg()
        high = float(_POINTS_HIGH.search(svg)[1]) * 25.4 / 72  # type: ignore[index]
        unknown = "; ? not measured" if figure.missing else ""
        words = f"{capital(wheels_in_words(positions, record))}: {named} (mm{unknown})"
        drawn.append({"svg": svg, "high": high, "caption": words})
    return drawn


_POINTS_HIGH = re.compile(r'height="([0-9.]+)pt"')


def _is_chosen(choice: Choice) -> bool:
    return bool(choice.best or choice.likely or choice.keep)


def _shown(assembly: Assembly, choice: Choice) -> Assembly:
    """Return the assembly to draw: a valve that nobody chose is not drawn as if it were."""
    return assembly if _is_chosen(choice) else attrs.evolve(assembly, valve=Valve())


def _name(assembly: Assembly, choice: Choice) -> str:
    if choice.keep:
        return "valve that stays"
    chosen = choice.best or choice.likely
    return chosen.item.code if chosen is not None else "valve not chosen"
