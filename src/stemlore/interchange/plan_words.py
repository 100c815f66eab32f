"""A plan in words for people: the same on the command line and on the job sheet."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Sequence
from typing import Literal

import attrs

from stemlore.errors import UnknownFieldError
from stemlore.interchange._plan_records import (
    ChoiceRecord,
    GapRecord,
    PlanRecord,
    SetPointRecord,
    StepRecord,
    WhyRecord,
)
from stemlore.model import Position, field_spec
from stemlore.rules.sentences import shown_in
from stemlore.rules.words import value_words
from stemlore.units import Unit, convert, settle, show, unit

__all__ = [
    "CEILING",
    "MAKER_ONLY",
    "Told",
    "Values",
    "cautions_of",
    "detail_in_words",
    "gaps_of",
    "in_a_row",
    "meaning_of",
    "meanings",
    "reasons",
    "values_of",
    "wheels_in_words",
]

CEILING = "work.seating_pressure"
"""The set-point whose upper bound is no target, but a ceiling."""
FLOOR = "work.restraint_rating"
"""The set-point whose lower bound is read on the equipment."""
AT_MOST, AT_LEAST = "at most", "at least"
MAKER_ONLY = "the maker's figure is needed"
"""What stands where no value is known."""

_DIGITS = (3, 4, 5, 6)
_SIDES = {"least": "at least", "most": "at most", "equal": "wanted"}


# --- values ----------------------------------------------------------------------------------


@attrs.frozen
class Values:
    """A set-point as it is printed.

    Attributes
    ----------
    value : str
        What to set, or a ceiling, or that only the maker may say.
    band : str
        What the rules allow; empty where there is nothing beside the value.
    is_known : bool
        Whether there is a value.
    bound : str
        ``at most`` or ``at least`` where the value is a limit and no target; else empty.
    """

    value: str
    band: str
    is_known: bool
    bound: str = ""

    def __str__(self) -> str:
        return f"{self.bound} {self.value}".strip()


def values_of(point: SetPointRecord, units: Sequence[str] = ()) -> Values:
    """Return target and band in the first of the units that fits, never rounded out of the band."""
    given = unit(point.unit)
    wanted = next((each for each in map(unit, units) if each.dimension == given.dimension), given)
    if point.low is not None and point.low == point.high == point.target:
        return Values(
            _shown(_figures(settle(convert(point.low, given, wanted)), 4, "near"), wanted), "", True
        )
    low = None if point.low is None else _rounded(point.low, given, wanted, "up")
    high = None if point.high is None else _rounded(point.high, given, wanted, "down")
    band = _band(low, high, wanted)
    if point.target is not None:
        target = _within(settle(convert(point.target, given, wanted)), low, high)
        return Values(_shown(target, wanted), band, True)
    if point.what == CEILING and high is not None:
        return Values(_shown(high, wanted), "" if low is None else band, True, AT_MOST)
    if point.what == FLOOR and low is not None and high is None:  # what it bears is read on it, and not set
        return Values(_shown(low, wanted), "", True, AT_LEAST)
    return Values(MAKER_ONLY if not band else "not set", band, False)


def _band(low: float | None, high: float | None, of: Unit) -> str:
    if low is not None and high is not None:
        return f"{low:g} to {_shown(high, of)}"
    if high is not None:
        return f"at most {_shown(high, of)}"
    return "" if low is None else f"at least {_shown(low, of)}"


def _shown(value: float, of: Unit) -> str:
    return show(value, of).replace("lbf.", "lbf·")


def _rounded(value: float, given: Unit, wanted: Unit, way: Literal["up", "down"]) -> float:
    """Round a bound into the band, to three figures: a ceiling that is rounded up is none."""
    return _figures(settle(convert(value, given, wanted)), _DIGITS[0], way)


def _figures(value: float, digits: int, way: Literal["up", "down", "near"]) -> float:
    if value == 0 or not math.isfinite(value):
        return value
    step = digits - 1 - math.floor(math.log10(abs(value)))
    scaled = round(value * 10.0**step, 6)  # what a conversion leaves in the last place moves no bound
    turned = math.ceil(scaled) if way == "up" else math.floor(scaled) if way == "down" else round(scaled)
    return settle(turned / 10.0**step)


def _within(value: float, low: float | None, high: float | None) -> float:
    """Round a target with as few figures as leave it within its band as printed."""
    for digits in _DIGITS:
        near = _figures(value, digits, "near")
        if (low is None or near >= low) and (high is None or near <= high):
            return near
    return value


# --- places and readings ---------------------------------------------------------------------


def wheels_in_words(positions: Sequence[str], plan: PlanRecord) -> str:
    """Write wheels in words: all, whole axles, or each; empty for the whole vehicle."""
    wheels = [each.position for each in plan.wheels if each.position != "spare"]
    if len(wheels) > 2 and set(positions) == set(wheels):
        return f"all {len(wheels)} wheels"
    out: list[str] = []
    for each in positions:
        axle = _axle(each)
        same = [one for one in wheels if axle and _axle(one) == axle]
        word = axle if len(same) > 1 and set(same) <= set(positions) else each
        if word not in out:
            out.append(word)
    return ", ".join(out)


def _axle(position: str) -> str:
    number = Position.parse(position).axle
    return "" if number is None else f"axle {number}"


def meaning_of(path: str) -> str:
    """Return what a field is, in words; its path where it is no field of ours."""
    try:
        return field_spec(path).meaning
    except UnknownFieldError:
        return path


_PATH = re.compile(r"\b[a-z]+\.[a-z_]+\b")


def detail_in_words(text: str, plan: PlanRecord) -> str:
    """Return a line of a step with whole axles and with what a field is, in place of lists and paths."""
    wheels = [each.position for each in plan.wheels if each.position != "spare"]
    groups = [
        wheels,
        *([one for one in wheels if _axle(one) == axle] for axle in dict.fromkeys(map(_axle, wheels))),
    ]
    for group in groups:
        if len(group) > 1:
            text = text.replace(", ".join(group), wheels_in_words(group, plan))
    return _PATH.sub(lambda found: meaning_of(found[0]), text)


def meanings(paths: Iterable[str]) -> str:
    """Return fields in words, each once."""
    return ", ".join(dict.fromkeys(meaning_of(each) for each in paths))


def gaps_of(plan: PlanRecord) -> tuple[GapRecord, ...]:
    """Return what is open, wheels with the same gap together."""
    found: dict[tuple[str, str, tuple[str, ...]], list[str]] = {}
    for each in plan.gaps:
        found.setdefault((each.text, each.rule, each.missing), []).extend(each.positions)
    return tuple(
        GapRecord(text=text, rule=rule, missing=missing, positions=tuple(positions))
        for (text, rule, missing), positions in found.items()
    )


def cautions_of(step: StepRecord) -> tuple[str, ...]:
    """Return the cautions of a step without those that another one says in full."""
    return tuple(
        each
        for index, each in enumerate(step.cautions)
        if not any(_says(other, each) for place, other in enumerate(step.cautions) if place != index)
    )


def _says(other: str, text: str) -> bool:
    plain, more = (each.rstrip(".").casefold() for each in (text, other))
    return plain in more and len(more) > len(plain)


# --- why a part does not fit -----------------------------------------------------------------


@attrs.frozen
class Told:
    """Parts that are excluded for the same reasons."""

    codes: str
    count: int
    why: tuple[str, ...]
    rules: tuple[str, ...]


def reasons(choice: ChoiceRecord, units: Sequence[str] = ()) -> tuple[Told, ...]:
    """Return the excluded parts by reason, those with the fewest reasons first."""
    found: dict[tuple[tuple[str, str], ...], list[str]] = {}
    for each in choice.excluded:
        key = tuple((why.rule, _why(why, units)) for why in each.why)
        found.setdefault(key or tuple((rule, "") for rule in each.rules), []).append(each.code)
    out = [
        Told(in_a_row(codes), len(codes), tuple(text for _, text in key), tuple(rule for rule, _ in key))
        for key, codes in found.items()
    ]
    return tuple(sorted(out, key=lambda each: len(each.rules)))


def in_a_row(codes: Sequence[str]) -> str:
    """Write codes in a row; a code may hold a comma."""
    return ("; " if any("," in each for each in codes) else ", ").join(codes)


def _why(of: WhyRecord, units: Sequence[str]) -> str:
    if of.what is None or of.measured is None:
        return of.title
    given = None if of.unit is None else unit(of.unit)
    parts = [f"{of.what} {_value(of.measured, given, units)}"]
    if of.limit is not None:
        side = _SIDES.get(of.side or "", "limit")
        if isinstance(of.limit, float) and isinstance(of.measured, float) and of.side == "between":
            side = "at least" if of.measured < of.limit else "at most"
        parts.append(f"{side} {_value(of.limit, given, units)}")
    if of.margin is not None:
        margin = float(f"{of.margin:.3g}")
        is_degree = given is not None and given.symbol == "degC"  # a difference of temperatures is none
        parts.append(f"margin {f'{margin:g} K' if is_degree else _value(margin, given, units)}")
    return ", ".join(parts)


def _value(value: object, given: Unit | None, units: Sequence[str]) -> str:
    if isinstance(value, float) and given is not None:
        return shown_in(value, given, tuple(units))
    return value_words(value, given)
