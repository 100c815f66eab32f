"""Strategies for the records of a job and for whole jobs."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import Any, TypeVar

import attrs
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import seed as seeded
from hypothesis import strategies as st

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
    change,
)
from stemlore.model.vehicle import FITMENTS
from stemlore.rules import Rulebook
from stemlore.testing._designations import positions
from stemlore.testing._readings import limits_in, own_values, readings, records

__all__ = [
    "assemblies",
    "axles",
    "conditions",
    "events",
    "jobs",
    "makers",
    "sample",
    "sensors",
    "tyres",
    "valves",
    "vehicles",
    "wheels",
    "works",
]

T = TypeVar("T")
Fields = Any
"""A value that every record must have, as its constructor takes it, or a strategy of such values."""

_PARTS: Mapping[str, type[Any]] = {
    "tyre": Tyre, "wheel": Wheel, "valve": Valve, "sensor": Sensor, "condition": Condition, "work": Work,
}  # fmt: skip
_SEATS = {
    "single": ("left", "right"),
    "dual": ("left outer", "left inner", "right inner", "right outer"),
    "centre": ("centre",),
}


def tyres(*, messy: bool = False, book: Rulebook | None = None, **fields: Fields) -> st.SearchStrategy[Tyre]:
    """Return a strategy of tyres; see :func:`jobs` for ``messy`` and ``book``.

    Parameters
    ----------
    **fields
        What every tyre must have: a value as the constructor takes it, or a
        strategy of such values: ``tyres(pressure="2.5 bar")``.
    """
    return records(Tyre, messy=messy, book=book, fields=fields)


def wheels(
    *, messy: bool = False, book: Rulebook | None = None, **fields: Fields
) -> st.SearchStrategy[Wheel]:
    """Return a strategy of wheels; parameters as for :func:`tyres`."""
    return records(Wheel, messy=messy, book=book, fields=fields)


def valves(
    *, messy: bool = False, book: Rulebook | None = None, **fields: Fields
) -> st.SearchStrategy[Valve]:
    """Return a strategy of valves; parameters as for :func:`tyres`."""
    return records(Valve, messy=messy, book=book, fields=fields)


def sensors(
    *, messy: bool = False, book: Rulebook | None = None, **fields: Fields
) -> st.SearchStrategy[Sensor]:
    """Return a strategy of sensors; parameters as for :func:`tyres`."""
    return records(Sensor, messy=messy, book=book, fields=fields)


def conditions(
    *, messy: bool = False, book: Rulebook | None = None, **fields: Fields
) -> st.SearchStrategy[Condition]:
    """Return a strategy of what eye and hand find at one wheel; parameters as for :func:`tyres`."""
    return records(Condition, messy=messy, book=book, fields=fields)


def works(*, messy: bool = False, book: Rulebook | None = None, **fields: Fields) -> st.SearchStrategy[Work]:
    """Return a strategy of what was done at one wheel; parameters as for :func:`tyres`."""
    return records(Work, messy=messy, book=book, fields=fields)


def events(
    *, messy: bool = False, book: Rulebook | None = None, **fields: Fields
) -> st.SearchStrategy[Event]:
    """Return a strategy of visits; parameters as for :func:`tyres`."""
    return records(Event, messy=messy, book=book, fields=fields)


def axles(*, messy: bool = False, book: Rulebook | None = None, **fields: Fields) -> st.SearchStrategy[Axle]:
    """Return a strategy of axles, numbered from 1 to 4; parameters as for :func:`tyres`."""
    needed = {"number": st.integers(1, 4)}
    return records(Axle, messy=messy, book=book, needed=needed, fields=fields)


def _axles_in_order(messy: bool, book: Rulebook | None, most: int) -> st.SearchStrategy[tuple[Axle, ...]]:
    each = [axles(messy=messy, book=book, number=number) for number in range(1, most + 1)]
    return st.integers(0, most).flatmap(lambda count: st.tuples(*each[:count]))


def vehicles(
    *, messy: bool = False, book: Rulebook | None = None, max_axles: int = 3, **fields: Fields
) -> st.SearchStrategy[Vehicle]:
    """Return a strategy of vehicles; parameters as for :func:`tyres`.

    Parameters
    ----------
    max_axles : int
        Most axles that are declared; they are numbered from 1 without gap.
    """
    needed = {"axles": _axles_in_order(messy, book, max_axles)}
    return records(Vehicle, messy=messy, book=book, needed=needed, fields=fields)


def makers(
    *, messy: bool = False, book: Rulebook | None = None, **fields: Fields
) -> st.SearchStrategy[MakerInstruction]:
    """Return a strategy of makers' instructions; parameters as for :func:`tyres`."""
    needed = {"source": readings("maker.source")}
    both = {"valve_nut", "sensor_nut", "sensor_screw", "valve_core", "wheel_fixing"}
    without = tuple(
        f"{of}_torque_{end}" for of in both for end in ("min", "max") if f"{of}_torque_min" in fields
    )
    return records(
        MakerInstruction,
        messy=messy,
        book=book,
        without=without,
        needed=needed,
        settled=_paired,
        fields=fields,
    )


def _paired(values: dict[str, Any]) -> dict[str, Any]:
    """Put the two bounds of each torque in order; one alone is both."""
    out = dict(values)
    for name in values:
        if name.endswith(("_torque_min", "_torque_max")):
            low, high = f"{name[:-4]}_min", f"{name[:-4]}_max"
            told = [values.get(low), values.get(high)]
            known = sorted(each for each in told if each is not None and each - each == 0)
            out[low], out[high] = (known[0], known[-1]) if known else (None, None)
    return out


Parts = st.SearchStrategy[dict[str, Any]]
"""What one position carries, without the position."""


@lru_cache(maxsize=16)
def _own_at(book: Rulebook | None, level: str) -> Parts:
    return own_values(limits_in(book).packs, level)


@lru_cache(maxsize=16)
def _usual_part(name: str, messy: bool, book: Rulebook | None) -> st.SearchStrategy[Any]:
    return records(_PARTS[name], messy=messy, book=book, fields={})


def _parts(messy: bool, book: Rulebook | None, given: Mapping[str, st.SearchStrategy[Any] | None]) -> Parts:
    wished = {name for name in _PARTS if given.get(name) is not None}
    made: dict[str, Any] = {
        name: given[name] if name in wished else _usual_part(name, messy, book) for name in _PARTS
    }
    own = _own_at(book, "position")

    @st.composite
    def drawn(draw: st.DrawFn) -> dict[str, Any]:
        told = {name: draw(part) for name, part in made.items() if name in wished or draw(_LOT)}
        extra = draw(own)
        return {**told, "own": extra} if extra else told

    return drawn()


_LOT = st.integers(
    0, 7
)  # a lot of nought leaves the part out: what is drawn is little where little is wanted


def assemblies(
    *,
    messy: bool = False,
    book: Rulebook | None = None,
    position: Position | str | st.SearchStrategy[Position] | None = None,
    tyre: st.SearchStrategy[Tyre] | None = None,
    wheel: st.SearchStrategy[Wheel] | None = None,
    valve: st.SearchStrategy[Valve] | None = None,
    sensor: st.SearchStrategy[Sensor] | None = None,
    condition: st.SearchStrategy[Condition] | None = None,
    work: st.SearchStrategy[Work] | None = None,
) -> st.SearchStrategy[Assembly]:
    """Return a strategy of assemblies.

    Parameters
    ----------
    messy, book
        As for :func:`jobs`.
    position : Position, str or strategy, optional
        Where it sits; anywhere when left out.
    tyre, wheel, valve, sensor, condition, work : strategy, optional
        What it may carry.
    """
    given = {
        "tyre": tyre,
        "wheel": wheel,
        "valve": valve,
        "sensor": sensor,
        "condition": condition,
        "work": work,
    }
    if position is None:
        position = positions()
    place = position if isinstance(position, st.SearchStrategy) else st.just(position)
    return st.builds(lambda at, parts: Assembly(position=at, **parts), place, _parts(messy, book, given))


def jobs(
    *,
    messy: bool = False,
    book: Rulebook | None = None,
    max_axles: int = 3,
    vehicle: st.SearchStrategy[Vehicle] | None = None,
    event: st.SearchStrategy[Event] | None = None,
    tyre: st.SearchStrategy[Tyre] | None = None,
    wheel: st.SearchStrategy[Wheel] | None = None,
    valve: st.SearchStrategy[Valve] | None = None,
    sensor: st.SearchStrategy[Sensor] | None = None,
    condition: st.SearchStrategy[Condition] | None = None,
    work: st.SearchStrategy[Work] | None = None,
) -> st.SearchStrategy[Job]:
    """Return a strategy of whole jobs; the simplest is a job of which nothing is known.

    Axles and positions fit each other, what follows from another reading
    does not contradict it, and makers do not contradict each other. Wheels
    are absent, or alike, or of two kinds; readings are present or not.

    Parameters
    ----------
    messy : bool
        Whether readings may be what no constructor lets in: negative, past
        all measure, or not finite, which is missing.
    book : Rulebook, optional
        Its limits are drawn often, as is what lies one step beside them, and
        its packs' own fields are filled in.
    max_axles : int
        Most axles of a vehicle.
    vehicle, event, tyre, wheel, valve, sensor, condition, work : strategy, optional
        What it is made of.

    Examples
    --------
    >>> from hypothesis import given
    >>> from stemlore.rules import check, rulebook
    >>> from stemlore.testing.strategies import jobs
    >>> book = rulebook("DE", on="2026-11-25")
    >>> @given(jobs(messy=True, book=book))
    ... def test_nothing_is_a_fault(job):
    ...     assert not check(job, book).faults
    """
    return _jobs(
        _JobParts(
            vehicles(messy=messy, book=book, max_axles=max_axles) if vehicle is None else vehicle,
            events(messy=messy, book=book) if event is None else event,
            _parts(
                messy,
                book,
                {
                    "tyre": tyre,
                    "wheel": wheel,
                    "valve": valve,
                    "sensor": sensor,
                    "condition": condition,
                    "work": work,
                },
            ),
            makers(messy=messy, book=book, positions=()),
            _own_at(book, "vehicle"),
            max_axles,
        )
    )


@attrs.frozen(eq=False, repr=False)  # printed, they would fill pages
class _JobParts:
    vehicle: st.SearchStrategy[Vehicle]
    event: st.SearchStrategy[Event]
    parts: Parts
    maker: st.SearchStrategy[MakerInstruction]
    own: Parts
    max_axles: int


@st.composite
def _jobs(draw: st.DrawFn, of: _JobParts) -> Job:
    about = draw(of.vehicle)
    fitments = st.sampled_from(FITMENTS)
    if about.axles:
        told = {axle.number: axle.fitment or draw(fitments) for axle in about.axles}
    else:
        told = {number: draw(fitments) for number in range(1, draw(st.integers(0, of.max_axles)) + 1)}
    kinds = draw(st.lists(of.parts, min_size=1, max_size=2)) if told else []
    complete = draw(st.booleans())
    made = []
    for number, fitment in told.items():
        for seat in _SEATS[fitment]:
            # 0 = nothing is known of the wheel there; drawn also where the job is
            # complete, as the shortest row of choices is taken for the simplest
            lot = draw(st.integers(0, len(kinds)))
            kind = min(number, len(kinds)) if complete else lot
            if kind:
                made.append(Assembly(position=f"axle {number} {seat}", **kinds[kind - 1]))
    if draw(st.booleans()):
        made.append(Assembly(position="spare", **(kinds[0] if kinds else draw(of.parts))))
    own = draw(of.own)
    return Job(
        vehicle=about,
        assemblies=made,
        event=draw(of.event),
        makers=draw(_makers_of([assembly.position for assembly in made], of)),
        **({"own": own} if own else {}),
    )


@st.composite
def _makers_of(draw: st.DrawFn, places: list[Position], of: _JobParts) -> tuple[MakerInstruction, ...]:
    """Draw instructions for no wheel twice, so that they cannot contradict each other."""
    count = draw(st.integers(0, 2))
    if count < 2 or len(places) < 2:
        return tuple(draw(of.maker) for _ in range(min(count, 1)))
    cut = draw(st.integers(1, len(places) - 1))
    return tuple(change(draw(of.maker), positions=some) for some in (places[:cut], places[cut:]))


def sample(strategy: st.SearchStrategy[T], count: int, *, seed: int = 0) -> list[T]:
    """Return values of a strategy as a list, such as a fleet of jobs.

    Parameters
    ----------
    strategy : SearchStrategy
        What is drawn.
    count : int
        How many.
    seed : int
        Another seed gives other values. The same seed gives the same ones
        within a process; between processes Hypothesis may choose otherwise.
    """
    found: list[T] = []
    if count < 1:
        return found

    @settings(
        max_examples=count,
        database=None,
        deadline=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(strategy)
    def collect(value: T) -> None:
        found.append(value)

    turn = 0
    while len(found) < count:  # a strategy of few values ends early
        seeded(f"{seed} {turn}")(collect)()
        turn += 1
    return found[:count]
