"""Which subjects a job has: its vehicle, axles, pairs and positions.

The fitment of an axle says how many wheels it carries; a wheel that is not in
the job is still a subject, of which nothing is known. Where the fitment
itself is not known, one more subject stands for the wheels not told of.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import lru_cache
from itertools import repeat
from operator import attrgetter, itemgetter
from typing import Any, Literal, NamedTuple

import attrs

from stemlore.model import NO_INSTRUCTION, Assembly, Axle, Job, MakerInstruction, Position, from_stored
from stemlore.model.position import Place, Side

__all__ = ["Group", "Layout", "Member", "Subject", "layout_of"]

SubjectKind = Literal["vehicle", "axle", "pair", "position"]


@attrs.frozen(order=False)
class Subject:
    """What a finding is about.

    Attributes
    ----------
    kind : {'vehicle', 'axle', 'pair', 'position'}
        Kind of subject.
    axle : int or None
        Axle number from the front.
    position : Position or None
        Position of one wheel.
    side : str or None
        Side of a pair.
    unstated : str
        The field that must be known before this subject can be told apart; else empty.
    """

    kind: SubjectKind
    axle: int | None = None
    position: Position | None = None
    side: str | None = None
    unstated: str = ""

    def __str__(self) -> str:
        if self.unstated:
            return f"axle {self.axle}, wheels not stated" if self.axle else "wheels not stated"
        match self.kind:
            case "vehicle":
                return "vehicle"
            case "axle":
                return f"axle {self.axle}"
            case "pair":
                return f"axle {self.axle} {self.side}, pair"
        return str(self.position)


class Member(NamedTuple):
    """One wheel with what stands around it."""

    assembly: Assembly
    axle: Axle
    maker: MakerInstruction
    subject: Subject


class Group(NamedTuple):
    """An axle, pair or vehicle with its wheels."""

    subject: Subject
    axle: Axle
    members: tuple[Member, ...]
    complete: bool


class _Group(NamedTuple):
    """A group of a plan, its wheels by the number of their seat."""

    subject: Subject
    axle: int
    seats: tuple[int, ...]
    complete: bool


Take = Callable[[Sequence[Any]], Sequence[Any]]


class _Seats(NamedTuple):
    """The wheels of a plan: how to take their records from a job's, and their subjects."""

    assemblies: Take
    axles: Take
    subjects: tuple[Subject, ...]


@attrs.frozen
class _Plan:
    """The subjects of all jobs with the same positions and axles; made once for all of them.

    ``absent`` and ``undeclared`` are the records that a job has not, blank.
    """

    seats: Mapping[str, _Seats]
    groups: Mapping[str, tuple[_Group, ...]]
    absent: tuple[Assembly, ...]
    undeclared: tuple[Axle, ...]
    unstated: bool


def _taker(indices: Sequence[int]) -> Take:
    if len(indices) > 1:
        return itemgetter(*indices)
    return lambda values: tuple([values[index] for index in indices])


class Layout:
    """All subjects of a job, by kind; members and groups are put together when they are asked for."""

    __slots__ = ("_assemblies", "_axles", "_made", "_plan", "unstated")

    def __init__(self, job: Job, plan: _Plan) -> None:
        self._plan = plan
        self._assemblies = (*job.assemblies, *plan.absent) if plan.absent else job.assemblies
        self._axles = (*job.vehicle.axles, *plan.undeclared)
        self._made: dict[str, tuple[Any, ...]] = {}
        self.unstated = plan.unstated
        if job.makers:  # read now, for a layout that held its job would make a circle
            self._made = {kind: self._members(seats, job.maker_at) for kind, seats in plan.seats.items()}

    def rows(self, kind: str) -> Iterable[tuple[Any, ...]]:
        """Return the subjects of one kind to go through once: plain tuples, where that saves their making."""
        if kind in self._made or kind not in self._plan.seats:
            return self.subjects(kind)
        assemblies, axles, subjects = self._plan.seats[kind]
        none = repeat(NO_INSTRUCTION)
        return zip(assemblies(self._assemblies), axles(self._axles), none, subjects)  # noqa: B905 - endless

    def subjects(self, kind: str) -> tuple[Any, ...]:
        """Return the subjects of one kind: members for positions and spares, else groups."""
        made = self._made.get(kind)
        if made is None:
            seats = self._plan.seats.get(kind)
            made = self._made[kind] = self._groups(kind) if seats is None else self._members(seats)
        return made

    def _members(
        self, seats: _Seats, maker_at: Callable[[Position], MakerInstruction] = lambda _: NO_INSTRUCTION
    ) -> tuple[Member, ...]:
        return tuple(
            Member(
                assembly, axle, NO_INSTRUCTION if subject.unstated else maker_at(assembly.position), subject
            )
            for assembly, axle, subject in zip(
                seats.assemblies(self._assemblies), seats.axles(self._axles), seats.subjects, strict=True
            )
        )

    def _groups(self, kind: str) -> tuple[Group, ...]:
        members = self.subjects("position")
        return tuple(
            Group(subject, self._axles[axle], tuple([members[seat] for seat in seats]), complete)
            for subject, axle, seats, complete in self._plan.groups[kind]
        )

    @property
    def positions(self) -> tuple[Member, ...]:
        """All running wheels, and what stands for those not told of."""
        return self.subjects("position")

    @property
    def spares(self) -> tuple[Member, ...]:
        """The wheels that are carried."""
        return self.subjects("spare")

    @property
    def vehicle(self) -> tuple[Group, ...]:
        """The vehicle with all its running wheels."""
        return self.subjects("vehicle")

    @property
    def axles(self) -> tuple[Group, ...]:
        """Each axle with its wheels."""
        return self.subjects("axle")

    @property
    def pairs(self) -> tuple[Group, ...]:
        """Each pair of twin wheels."""
        return self.subjects("pair")


_PLACES: dict[str, tuple[tuple[Side, Place], ...]] = {
    "single": (("left", "single"), ("right", "single")),
    "dual": (("left", "outer"), ("left", "inner"), ("right", "inner"), ("right", "outer")),
    "centre": (("centre", "single"),),
}


_place = attrgetter("position.key")  # of plain numbers, which are found faster than positions
_shape = attrgetter("number", "fitment")


def layout_of(job: Job) -> Layout:
    """Return the subjects of a job; made once a job."""
    kept: Layout | None = job.__dict__.get("_layout")
    if kept is None:
        plan = _plan(tuple(map(_place, job.assemblies)), tuple(map(_shape, job.vehicle.axles)))
        kept = job.__dict__["_layout"] = Layout(job, plan)
    return kept


class _Planner:
    """Collects the seats of one plan."""

    def __init__(self, positions: tuple[Position, ...], axles: tuple[tuple[int, str | None], ...]) -> None:
        self.given = {position: index for index, position in enumerate(positions)}
        self.first_absent = len(positions)
        self.absent: list[Assembly] = []
        self.axles = {number: index for index, (number, _) in enumerate(axles)}
        self.first_undeclared = len(axles)
        self.undeclared: list[Axle] = []
        self.seats: list[tuple[int, int, Subject]] = []

    def assembly(self, position: Position) -> int:
        """Return the number of the assembly at a position, blank where the job has none."""
        index = self.given.get(position)
        if index is None:
            index = self.first_absent + len(self.absent)
            self.absent.append(Assembly(position=position))
        return index

    def axle(self, number: int | None) -> int:
        """Return the number of an axle's record, blank where it is not declared."""
        index = None if number is None else self.axles.get(number)
        if index is None:
            index = self.first_undeclared + len(self.undeclared)
            # nothing is known of no axle in particular, not even its number
            self.undeclared.append(from_stored(Axle, {"number": number}))
            if number is not None:
                self.axles[number] = index
        return index

    def seat(self, number: int, position: Position) -> int:
        """Add a running wheel and return the number of its seat."""
        subject = Subject("position", number, position)
        self.seats.append((self.assembly(position), self.axle(number), subject))
        return len(self.seats) - 1

    def unstated(self, number: int | None, field: str) -> None:
        """Add the seat that stands for wheels nobody told of."""
        index = self.first_absent + len(self.absent)
        self.absent.append(from_stored(Assembly, {"position": None}))
        subject = Subject("position", number, None, unstated=field)
        self.seats.append((index, self.axle(number), subject))


@lru_cache(maxsize=2048)
def _plan(places: tuple[tuple[int, int, int], ...], shape: tuple[tuple[int, str | None], ...]) -> _Plan:
    positions = tuple(Position.from_key(each) for each in places)
    fitments: dict[int, str | None] = dict(shape)
    declared = bool(fitments)
    for position in positions:
        if not position.spare and position.axle is not None:
            fitments.setdefault(position.axle, None)
    made = _Planner(positions, shape)
    groups: list[_Group] = []
    pairs: list[_Group] = []
    for number in sorted(fitments):
        fitment = fitments[number]
        wanted = [Position.at(number, side, place=place) for side, place in _PLACES.get(fitment or "", ())]
        others = sorted(p for p in positions if not p.spare and p.axle == number and p not in wanted)
        seats = {position: made.seat(number, position) for position in (*wanted, *others)}
        axle = made.axle(number)
        groups.append(_Group(Subject("axle", number), axle, tuple(seats.values()), fitment is not None))
        if fitment == "dual":
            for side in ("left", "right"):
                twins = tuple(seat for position, seat in seats.items() if position.side == side)
                pairs.append(_Group(Subject("pair", number, side=side), axle, twins, True))
        if fitment is None and declared:
            made.unstated(number, "axle.fitment")
            if all(position.place != "single" for position in seats):  # nothing says that it has no pair
                pairs.append(_Group(Subject("pair", number, unstated="axle.fitment"), axle, (), False))
    running = tuple(seat for group in groups for seat in group.seats)
    whole = declared and all(group.complete for group in groups)
    vehicle = _Group(Subject("vehicle"), made.axle(None), running, whole)
    if not declared:
        made.unstated(None, "vehicle.axles")
        subject = Subject("axle", None, unstated="vehicle.axles")
        groups.append(_Group(subject, made.axle(None), (), False))
        subject = Subject("pair", None, unstated="vehicle.axles")
        pairs.append(_Group(subject, made.axle(None), (), False))
    spares = [
        (made.given[p], made.axle(None), Subject("position", None, p)) for p in sorted(positions) if p.spare
    ]
    return _Plan(
        seats={kind: _seats(each) for kind, each in (("position", made.seats), ("spare", spares))},
        groups={"vehicle": (vehicle,), "axle": tuple(groups), "pair": tuple(pairs)},
        absent=tuple(made.absent),
        undeclared=tuple(made.undeclared),
        unstated=any(subject.unstated for _, _, subject in made.seats),
    )


def _seats(of: Sequence[tuple[int, int, Subject]]) -> _Seats:
    assemblies, axles, subjects = zip(*of, strict=True) if of else ((), (), ())
    return _Seats(_taker(assemblies), _taker(axles), subjects)


def record_of(prefix: str, job: Job, member: Member | None, axle: Axle) -> Any:
    """Return the record that a field's prefix names, seen from one subject."""
    if prefix == "vehicle":
        return job.vehicle
    if prefix == "event":
        return job.event
    if prefix == "axle":
        return axle
    if member is None:
        return None
    if prefix == "maker":
        return member.maker
    if prefix == "assembly":
        return member.assembly
    return getattr(member.assembly, prefix)
