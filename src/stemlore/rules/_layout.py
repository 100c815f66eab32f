"""Which subjects a job has: its vehicle, axles, pairs and positions.

The fitment of an axle says how many wheels it carries; a wheel that is not in
the job is still a subject, of which nothing is known. Where the fitment
itself is not known, one more subject stands for the wheels not told of.
"""

from __future__ import annotations

from typing import Any, Literal, NamedTuple

import attrs

from stemlore.model import Assembly, Axle, Job, MakerInstruction, Position

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


@attrs.frozen
class Layout:
    """All subjects of a job, by kind."""

    vehicle: tuple[Group, ...]
    axles: tuple[Group, ...]
    pairs: tuple[Group, ...]
    positions: tuple[Member, ...]
    spares: tuple[Member, ...]
    unstated: bool


_Side = Literal["left", "centre", "right"]
_Place = Literal["single", "outer", "inner"]
_PLACES: dict[str, tuple[tuple[_Side, _Place], ...]] = {
    "single": (("left", "single"), ("right", "single")),
    "dual": (("left", "outer"), ("left", "inner"), ("right", "inner"), ("right", "outer")),
    "centre": (("centre", "single"),),
}


def layout_of(job: Job) -> Layout:
    """Return the subjects of a job; made once a job."""
    kept = job.__dict__.get("_layout")
    if kept is None:
        kept = job.__dict__["_layout"] = _lay_out(job)
    return kept


def _lay_out(job: Job) -> Layout:
    given: dict[Position, Assembly] = {each.position: each for each in job.assemblies}
    axles = {each.number: each for each in job.vehicle.axles}
    declared = bool(axles)
    for position in given:
        if not position.spare and position.axle is not None and position.axle not in axles:
            axles[position.axle] = Axle(number=position.axle)

    groups: list[Group] = []
    pairs: list[Group] = []
    positions: list[Member] = []
    for number in sorted(axles):
        axle = axles[number]
        members: list[Member] = []
        expected = _PLACES.get(axle.fitment or "", ())
        wanted = [Position.at(number, side, place=place) for side, place in expected]
        others = sorted(p for p in given if not p.spare and p.axle == number and p not in wanted)
        for position in (*wanted, *others):
            assembly = given.get(position) or Assembly(position=position)
            subject = Subject("position", number, position)
            members.append(Member(assembly, axle, job.maker_at(position), subject))
        complete = axle.fitment is not None
        groups.append(Group(Subject("axle", number), axle, tuple(members), complete))
        if axle.fitment == "dual":
            for side in ("left", "right"):
                twins = tuple(m for m in members if m.subject.position and m.subject.position.side == side)
                pairs.append(Group(Subject("pair", number, side=side), axle, twins, True))
        positions.extend(members)
        if not complete and declared:
            positions.append(_unstated(number, axle, "axle.fitment"))
    if not declared:
        positions.append(_unstated(None, Axle(number=1), "vehicle.axles"))
    spares = tuple(
        Member(given[p], Axle(number=1), job.maker_at(p), Subject("position", None, p))
        for p in sorted(given)
        if p.spare
    )
    whole = declared and all(group.complete for group in groups)
    running = tuple(member for group in groups for member in group.members)
    vehicle = Group(Subject("vehicle"), Axle(number=1), running, whole)
    if not declared:
        groups.append(Group(Subject("axle", None, unstated="vehicle.axles"), Axle(number=1), (), False))
    unstated = any(each.subject.unstated for each in positions)
    return Layout((vehicle,), tuple(groups), tuple(pairs), tuple(positions), spares, unstated)


def _unstated(number: int | None, axle: Axle, field: str) -> Member:
    subject = Subject("position", number, None, unstated=field)
    return Member(
        Assembly(position=Position.at(number or 1, "left")), axle, MakerInstruction(source="none"), subject
    )


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
