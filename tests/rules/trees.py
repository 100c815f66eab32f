"""Random well-typed trees and random jobs, for the readings to be held equal on."""

from __future__ import annotations

import random
from datetime import date, timedelta
from typing import Any

from hypothesis import strategies as st

from stemlore.model import (
    Assembly,
    Axle,
    Event,
    Job,
    MakerInstruction,
    Position,
    Tyre,
    Vehicle,
    Wheel,
    from_stored,
)
from stemlore.notation import DateSpan, TyreSize
from stemlore.rules import choose, every, exp, first_known, log, lookup, same, some, spread, years_since
from stemlore.rules.nodes import (
    UNKNOWN,
    Age,
    And,
    Arithmetic,
    Compare,
    Constant,
    DateBound,
    Equals,
    Field,
    MonthDay,
    Node,
    Not,
    Or,
    Settled,
    Step,
    Today,
)
from stemlore.rules.seasons import MovingDay, Season
from stemlore.units import DIMENSIONLESS, settle

__all__ = ["DAY", "NUMBERS", "conditions", "jobs_from", "numbers"]

DAY = date(2024, 2, 29)
NUMBERS = (0.0, -0.0, 0.5, 1.0, 1.6, 2.0, 3.0, -1.0, -2.5, 91.0, 250.0, 1e-6, 1e8 + 0.25, 1e9, 1e15, 1e300)
ODD = (None, None, float("nan"), float("inf"), float("-inf"))
WORDS = {
    "tyre.construction": ("radial", "diagonal", "bias_belted"),
    "tyre.speed_symbol": ("A1", "H", "V", "Y"),
    "vehicle.category": ("M1", "N1", "N3", "O4"),
    "axle.fitment": ("single", "dual", "centre"),
    "event.kind": ("repair", "inspection"),
    "tyre.size": ("205/55 R16 91V", "195/65 R15"),
    "maker.source": ("manual, page 3",),
    "assembly.position": ("axle 1 left", "spare"),
}
FIELDS: dict[str, tuple[tuple[str, ...], ...]] = {
    "number": (
        ("vehicle.gross_mass", "vehicle.design_speed"),
        ("axle.permitted_mass", "axle.number"),
        (
            "tyre.tread_depth_main_grooves",
            "tyre.pressure",
            "tyre.ambient_temperature",
            "tyre.load_index",
            "wheel.rated_load",
            "maker.cold_pressure",
        ),
    ),
    "flag": (
        ("vehicle.monitoring_works", "event.retorque_told"),
        ("axle.steered",),
        ("tyre.studded", "tyre.snowflake"),
    ),
    "word": (
        ("vehicle.category", "event.kind"),
        ("axle.fitment",),
        ("tyre.construction", "tyre.speed_symbol", "tyre.size", "maker.source", "assembly.position"),
    ),
    "date": (("vehicle.first_registration", "vehicle.manufactured", "event.on"), (), ("tyre.manufactured",)),
}
DAYS = (
    date(1, 1, 1),
    date(2000, 2, 29),
    date(2020, 2, 28),
    date(2020, 2, 29),
    date(2020, 3, 1),
    date(2023, 2, 28),
    date(2024, 2, 29),
    date(2024, 3, 1),
    date(2024, 12, 31),
    date(2030, 6, 15),
)


def paths(kind: str, level: int) -> list[str]:
    """Return the fields of a kind that a subject of this level can read."""
    return [path for each in FIELDS[kind][: level + 1] for path in each]


def field(path: str, kind: Any) -> Node:
    """Return a field, of no dimension so that any two can be put together."""
    return Field(path, kind, DIMENSIONLESS if kind == "number" else None)


def number(value: float | None) -> Node:
    return Constant(value, "number", DIMENSIONLESS)


constants = st.sampled_from(NUMBERS).map(number)


SEASONS = (
    Season((2, 29), (3, 1)),
    Season((10, 1), (4, 15)),
    Season((11, 1), MovingDay("easter + 7")),
    Season(MovingDay("saturday before 11-11"), MovingDay("last sunday of 03")),
)


@st.composite
def steps(draw: st.DrawFn, level: int, kind: Any, values: Any) -> Node:
    starts = tuple(sorted(draw(st.sets(st.sampled_from(DAYS), min_size=1, max_size=4))))
    held = tuple(draw(st.sampled_from((*values, None))) for _ in starts)
    return Step(
        draw(st.sampled_from(paths("date", level))),
        starts,
        held,
        kind,
        DIMENSIONLESS if kind == "number" else None,
    )


@st.composite
def numbers(draw: st.DrawFn, level: int, depth: int, members: bool = False) -> Node:
    """Draw a number that a subject of this level can read."""
    if depth <= 0 or draw(st.integers(0, 3)) == 0:
        which = draw(st.integers(0, 9))
        if which < 5:
            return field(draw(st.sampled_from(paths("number", level))), "number")
        if which < 7:
            return draw(constants)
        if which == 7:
            return draw(steps(level, "number", (1.6, 3.0)))
        if which == 8:
            end: Any = draw(st.sampled_from(("earliest", "latest")))
            start = DateBound(draw(st.sampled_from(paths("date", level))), end)
            return Age(start, draw(st.booleans()), unit=DIMENSIONLESS)
        return draw(st.sampled_from((MonthDay(), number(None))))
    inner = numbers(level, depth - 1, members)
    which = draw(st.integers(0, 10))
    if which < 6:
        operator: Any = draw(st.sampled_from(("+", "-", "*", "/", "/", "**")))
        return Arithmetic(operator, draw(inner), draw(inner), DIMENSIONLESS)
    if which == 6:
        return exp(draw(inner)) if draw(st.booleans()) else log(draw(inner))
    if which == 7:
        return choose(draw(conditions(level, depth - 1, members)), draw(inner), draw(inner))
    if which == 8:
        return first_known(draw(inner), draw(inner))
    if which == 9:
        how: Any = draw(st.sampled_from(("exact", "stepped", "interpolated")))
        key = draw(inner)
        return Arithmetic("*", lookup("load_index", key, "load_kg", how=how), number(1.0), DIMENSIONLESS)
    return Settled(draw(inner), DIMENSIONLESS)


@st.composite
def words(draw: st.DrawFn, level: int, depth: int) -> Node:
    if depth > 0 and draw(st.integers(0, 3)) == 0:
        inner = words(level, depth - 1)
        if draw(st.booleans()):
            return choose(draw(conditions(level, depth - 1)), draw(inner), draw(inner))
        return first_known(draw(inner), draw(inner))
    which = draw(st.integers(0, 5))
    if which == 0:
        word = Constant(draw(st.sampled_from(("radial", "M1", "single", "ä'\"\n", "", None))), "word")
        return first_known(Constant(None, "word"), word)  # no word of the field beside it, perhaps
    if which == 1:
        return draw(steps(level, "word", ("radial", "M1")))
    if which == 2:
        return lookup("tubeless_valves", Constant("TR412", "word"), "scheme")
    return field(draw(st.sampled_from(paths("word", level))), "word")


@st.composite
def days(draw: st.DrawFn, level: int) -> Node:
    """Draw a day; of a field the span that it can mean."""
    which = draw(st.integers(0, 4))
    if which == 0:
        return Today()
    if which == 1:
        return Constant(draw(st.sampled_from(DAYS)), "date")
    path = draw(st.sampled_from(paths("date", level)))
    if which == 2:
        return choose(draw(conditions(level, 0)), DateBound(path, "earliest"), Today())
    return field(path, "date")


@st.composite
def conditions(draw: st.DrawFn, level: int, depth: int, members: bool = False) -> Node:
    """Draw a condition that a subject of this level can read; with ``members``, also over its members."""
    if depth <= 0:
        which = draw(st.integers(0, 4))
        if which == 0:
            return draw(st.sampled_from((UNKNOWN, Constant(True, "flag"), Constant(False, "flag"))))
        if which == 1:
            return draw(steps(level, "flag", (True, False)))
        return field(draw(st.sampled_from(paths("flag", level))), "flag")
    inner = conditions(level, depth - 1, members)
    of_number = numbers(level, depth - 1, members)
    which = draw(st.integers(0, 14 if members else 11))
    match which:
        case 0 | 1:
            parts = tuple(draw(st.lists(inner, min_size=2, max_size=3)))
            return And(parts) if which else Or(parts)
        case 2:
            return Not(draw(inner))
        case 3 | 4:
            operator: Any = draw(st.sampled_from(("<", "<=", ">", ">=")))
            a, b = draw(of_number), draw(of_number)
            if which == 3:  # not rounded: the readings must agree to the last bit
                return Compare(operator, a, b)
            return {"<": a.__lt__, "<=": a.__le__, ">": a.__gt__, ">=": a.__ge__}[operator](b)
        case 5:
            return draw(of_number).within(draw(of_number), draw(of_number))
        case 6:
            return draw(of_number).equals(draw(of_number))
        case 7:
            value = draw(of_number)
            return value.one_of(*draw(st.lists(st.sampled_from(NUMBERS), min_size=1, max_size=3)))
        case 8:
            if draw(st.booleans()):
                return Equals(draw(words(level, depth - 1)), draw(words(level, depth - 1)))
            path = draw(st.sampled_from(("vehicle.category", "event.kind")))
            return field(path, "word").one_of(*WORDS[path][:2])
        case 9:
            a, b = draw(days(level)), draw(days(level))
            return draw(st.sampled_from((a.__lt__, a.__le__, a.__gt__, a.__ge__, a.equals)))(b)
        case 10:
            age = years_since(field(draw(st.sampled_from(paths("date", level))), "date"))
            limit = Constant(draw(st.sampled_from((0.0, 4.0, 24.0))), "number", age.unit)
            return draw(st.sampled_from((age.__le__, age.__gt__)))(limit)
        case 11:
            if draw(st.booleans()):
                return draw(st.sampled_from(SEASONS)).node()
            if draw(st.booleans()):
                return choose(draw(inner), draw(inner), draw(inner))
            return Equals(draw(inner), draw(inner))
        case 12:
            condition = draw(conditions(2, depth - 1))
            return every(condition) if draw(st.booleans()) else some(condition)
        case 13:
            return same(draw(st.one_of(numbers(2, depth - 1), words(2, depth - 1), conditions(2, depth - 1))))
    gap = spread(draw(numbers(2, depth - 1)))
    limit = draw(constants)
    return draw(st.sampled_from((gap.__le__, gap.__lt__, gap.__ge__)))(limit)


# --- jobs ------------------------------------------------------------------------------------


def _some(random: random.Random, *values: Any, missing: float = 0.2) -> Any:
    return None if random.random() < missing else random.choice(values)


def _number(random: random.Random) -> Any:
    kind = random.random()
    if kind < 0.15:
        return random.choice(ODD)
    if kind < 0.75:
        return random.choice(NUMBERS)
    return settle(random.uniform(-5, 400))


def _span(random: random.Random) -> DateSpan | None:
    if random.random() < 0.2:
        return None
    first = (
        random.choice(DAYS)
        if random.random() < 0.5
        else date(2000, 1, 1) + timedelta(random.randrange(10_000))
    )
    if random.random() < 0.6:
        return DateSpan.day(first)
    return DateSpan(first, first + timedelta(random.choice((1, 6, 365, 3652))))


def _tyre(random: random.Random) -> Tyre:
    size = _some(random, *WORDS["tyre.size"], missing=0.7)
    values: dict[str, Any] = {
        "tread_depth_main_grooves": _number(random),
        "pressure": _number(random),
        "ambient_temperature": _number(random),
        "studded": _some(random, True, False),
        "snowflake": _some(random, True, False),
        "manufactured": _span(random),
    }
    if size is None:
        values["load_index"] = _some(random, 0, 1, 91, 120, 279, 300, 2**53)
        values["construction"] = _some(random, *WORDS["tyre.construction"])
        values["speed_symbol"] = _some(random, *WORDS["tyre.speed_symbol"])
    else:
        values["size"] = TyreSize.parse(size)
    return from_stored(Tyre, values)


def job_from(random: random.Random) -> Job:
    """Return a job with odd values, absent wheels and axles that are or are not declared."""
    declared = random.random() < 0.8
    tidy = random.random() < 0.5  # all alike and nothing missing, so that sameness and completeness occur
    axles, assemblies = [], []
    for at in range(1, random.randint(1, 3) + 1):
        fitment = random.choice(WORDS["axle.fitment"])
        if declared:
            axles.append(
                from_stored(
                    Axle,
                    {
                        "number": at,
                        "fitment": fitment if tidy or random.random() < 0.8 else None,
                        "permitted_mass": _number(random),
                        "steered": _some(random, True, False),
                    },
                )
            )
        elif random.random() < 0.3:
            continue
        places = {
            "single": [("left", "single"), ("right", "single")],
            "centre": [("centre", "single")],
            "dual": [(side, place) for side in ("left", "right") for place in ("outer", "inner")],
        }[fitment]
        tyre, wheel = _tyre(random), from_stored(Wheel, {"rated_load": _number(random)})
        for side, place in places:
            if not tidy and random.random() < 0.2:
                continue
            if not tidy and random.random() < 0.5:
                tyre, wheel = _tyre(random), from_stored(Wheel, {"rated_load": _number(random)})
            position = Position(at, side, place)  # type: ignore[arg-type]
            assemblies.append(Assembly(position=position, tyre=tyre, wheel=wheel))
    if random.random() < 0.2:
        assemblies.append(Assembly(position="spare", tyre=_tyre(random)))
    happened = _some(random, *DAYS[1:], missing=0.5)
    vehicle = {
        "category": _some(random, *WORDS["vehicle.category"]),
        "gross_mass": _number(random),
        "design_speed": _number(random),
        "monitoring_works": _some(random, True, False),
        "first_registration": _span(random),
        "manufactured": _span(random),
        "axles": tuple(axles),
    }
    told = {"source": "manual, page 3", "cold_pressure": _number(random)}
    return Job(
        vehicle=from_stored(Vehicle, vehicle),
        assemblies=assemblies,
        event=from_stored(
            Event,
            {
                "on": None if happened is None else DateSpan.day(happened),
                "kind": _some(random, *WORDS["event.kind"]),
                "retorque_told": _some(random, True, False),
            },
        ),
        makers=[from_stored(MakerInstruction, told)] if random.random() < 0.5 else [],
    )


def jobs_from(seed: int, count: int) -> list[Job]:
    """Return random jobs; the same for the same seed."""
    made = random.Random(seed)
    return [job_from(made) for _ in range(count)]
