"""One job: a vehicle, its assemblies, the visit and what makers instruct."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from itertools import combinations, pairwise
from types import MappingProxyType
from typing import Any

import attrs

from stemlore.errors import Fault
from stemlore.model._converters import to_own, to_position
from stemlore.model._readers import NO_OWN
from stemlore.model._record import from_stored, meaning, record, specs_of
from stemlore.model.condition import Condition
from stemlore.model.event import Event
from stemlore.model.maker import ISSUERS, NO_INSTRUCTION, SEATED_BY, MakerInstruction
from stemlore.model.position import Position
from stemlore.model.sensor import Sensor
from stemlore.model.tyre import Tyre
from stemlore.model.valve import Valve
from stemlore.model.vehicle import Axle, Vehicle
from stemlore.model.wheel import Wheel
from stemlore.model.work import Work
from stemlore.units import show

__all__ = ["Assembly", "Job", "maker_faults", "place_faults"]

_OWN = meaning("fields of packs by their full name", kind="own", how="See the pack.")


@record("assembly", level="position")
@attrs.frozen(kw_only=True, slots=False)
class Assembly:
    """Tyre, wheel, valve and maybe sensor at one position, and what was done there."""

    position: Position = attrs.field(
        converter=to_position,
        metadata=meaning(
            "position on the vehicle",
            kind="notation",
            walk=10,
            holds=Position,
            how="Count axles from the front; left and right as seen in driving direction.",
        ),
    )
    tyre: Tyre = attrs.field(default=Tyre(), metadata=meaning("tyre", kind="record", holds=Tyre))
    wheel: Wheel = attrs.field(default=Wheel(), metadata=meaning("wheel", kind="record", holds=Wheel))
    valve: Valve = attrs.field(default=Valve(), metadata=meaning("valve", kind="record", holds=Valve))
    sensor: Sensor = attrs.field(default=Sensor(), metadata=meaning("sensor", kind="record", holds=Sensor))
    condition: Condition = attrs.field(
        default=Condition(), metadata=meaning("condition", kind="record", holds=Condition)
    )
    work: Work = attrs.field(
        default=Work(), metadata=meaning("work at this visit", kind="record", holds=Work)
    )
    own: Mapping[str, Any] = attrs.field(default=NO_OWN, converter=to_own, eq=True, hash=False, metadata=_OWN)


def to_assemblies(value: Iterable[Assembly]) -> tuple[Assembly, ...]:
    """Return assemblies as a tuple."""
    return tuple(value)


def to_makers(value: Iterable[MakerInstruction]) -> tuple[MakerInstruction, ...]:
    """Return makers' instructions as a tuple."""
    return tuple(value)


@record("", level="none")
@attrs.frozen(kw_only=True, slots=False)
class Job:
    """A vehicle with its assemblies at one visit; assemblies stand in order of position."""

    vehicle: Vehicle = attrs.field(
        default=Vehicle(), metadata=meaning("vehicle", kind="record", holds=Vehicle, walk=10)
    )
    assemblies: tuple[Assembly, ...] = attrs.field(
        default=(),
        converter=to_assemblies,
        metadata=meaning("assemblies on the vehicle", kind="records", holds=Assembly, walk=30),
    )
    event: Event = attrs.field(
        default=Event(), metadata=meaning("visit", kind="record", holds=Event, walk=10)
    )
    makers: tuple[MakerInstruction, ...] = attrs.field(
        default=(),
        converter=to_makers,
        metadata=meaning("makers' instructions", kind="records", holds=MakerInstruction, walk=10),
    )
    own: Mapping[str, Any] = attrs.field(default=NO_OWN, converter=to_own, eq=True, hash=False, metadata=_OWN)

    @staticmethod
    def _derive(inside: dict[str, Any]) -> list[Fault]:
        assemblies: tuple[Assembly, ...] = inside["assemblies"]
        positions = [assembly.position for assembly in assemblies]
        faults = place_faults(dict(enumerate(positions)), inside["vehicle"].axles)
        if len(inside["makers"]) > 1:
            faults += maker_faults(dict(enumerate(inside["makers"])))
        keys = [position.key for position in positions]
        if any(one > other for one, other in pairwise(keys)):
            inside["assemblies"] = tuple(sorted(assemblies, key=lambda assembly: assembly.position.key))
        return faults

    def at(self, position: Position | str) -> Assembly | None:
        """Return the assembly at a position; None where the job has none."""
        wanted = to_position(position)
        return next((assembly for assembly in self.assemblies if assembly.position == wanted), None)

    def instructions_at(self, position: Position | str) -> Mapping[str, tuple[Any, str]]:
        """Return what makers instruct for a position: field, stored value and source."""
        place = to_position(position)
        told: dict[str, tuple[Any, str]] = {}
        for maker in self.makers:
            if maker.applies_to(place):
                for name in _INSTRUCTED:
                    value = getattr(maker, name)
                    if value is not None:
                        told.setdefault(name, (value, maker.source))
        return MappingProxyType(told)

    def maker_at(self, position: Position | str) -> MakerInstruction:
        """Return all instructions for a position as one; its fields are None where makers are silent.

        Where several issued them, ``issued_by`` is who tells the ceiling while
        beads seat, the one figure that counts by its issuer; else None.
        """
        if not self.makers:
            return NO_INSTRUCTION
        merged: dict[Position, MakerInstruction] = self.__dict__.setdefault("_makers_at", {})
        place = to_position(position)
        if place not in merged:
            merged[place] = self._merged(place)
        return merged[place]

    def _merged(self, place: Position) -> MakerInstruction:
        told = self.instructions_at(place)
        if not told:
            return NO_INSTRUCTION
        return from_stored(
            MakerInstruction,
            {
                **{name: value for name, (value, _) in told.items()},
                "source": "; ".join(dict.fromkeys(source for _, source in told.values())),
                "issued_by": self._issuer(place),
                "positions": (place,),
            },
        )

    def _issuer(self, place: Position) -> str | None:
        """Return who issued what is told for a position; of several who tells the ceiling at seating."""
        telling = [
            maker
            for maker in self.makers
            if maker.applies_to(place) and any(getattr(maker, name) is not None for name in _INSTRUCTED)
        ]
        issuers = {maker.issued_by for maker in telling}
        if len(issuers) == 1:
            return issuers.pop()
        ceiling = {maker.issued_by for maker in telling if maker.seating_pressure_max is not None}
        return min(ceiling, key=_WEIGHT.index, default=None)


# Whose word on the ceiling counts first: the makers of what is seated, then whoever may be one of them.
_WEIGHT = tuple(sorted((None, *ISSUERS), key=lambda each: (each not in SEATED_BY, each is not None)))
_ABOUT = ("source", "issued_by", "positions")
_INSTRUCTED = tuple(name for name in specs_of(MakerInstruction) if name not in _ABOUT)


def _fitment(position: Position) -> str:
    if position.side == "centre":
        return "centre"
    return "single" if position.place == "single" else "dual"


def place_faults(positions: Mapping[int, Position], axles: Iterable[Axle]) -> list[Fault]:
    """Return what is wrong with positions, by their index in the list of assemblies."""
    declared: dict[int | None, Axle] = {axle.number: axle for axle in axles}
    faults: list[Fault] = []
    first: dict[Position, int] = {}
    seen: dict[int | None, str] = {}
    for index, position in positions.items():
        if first.setdefault(position, index) != index:
            faults.append(_misplaced(index, f"{position} is already assemblies[{first[position]}]"))
        number = position.axle
        if number is None:
            continue
        if declared and number not in declared:
            known = ", ".join(str(axle) for axle in declared)
            advice = f"declared by vehicle.axles: {known}"
            faults.append(_misplaced(index, f"the vehicle declares no axle {number}", advice))
            continue
        fitment = declared[number].fitment if declared else None
        own = _fitment(position)
        if fitment is None:
            other = seen.setdefault(number, own)
            if other != own:
                faults.append(
                    _misplaced(index, f"{position} is {own}, but others on axle {number} are {other}")
                )
        elif fitment != own:
            message = f"{position} is {own}, but axle {number} is declared {fitment}"
            faults.append(_misplaced(index, message, _WRITE[fitment]))
    return faults


def _misplaced(index: int, message: str, advice: str = "") -> Fault:
    return Fault(f"assemblies[{index}].position", message, advice)


_WRITE = {
    "single": "write for example 'axle 1 left'",
    "dual": "write for example 'axle 2 left inner'",
    "centre": "write for example 'axle 1 centre'",
}


def maker_faults(makers: Mapping[int, MakerInstruction]) -> list[Fault]:
    """Return where instructions for one position differ, by their index in the list of makers."""
    faults: list[Fault] = []
    for (first, one), (second, other) in combinations(makers.items(), 2):
        shared = set(one.positions) & set(other.positions)
        if one.positions and other.positions and not shared:
            continue
        where = ", ".join(str(position) for position in sorted(shared or {*one.positions, *other.positions}))
        for name in _INSTRUCTED:
            said, against = getattr(one, name), getattr(other, name)
            if said is not None and against is not None and said != against:
                faults.append(
                    Fault(
                        f"makers[{second}].{name}",
                        f"{other.source!r} says {_shown(name, against)}, "
                        f"but {one.source!r} (makers[{first}]) says {_shown(name, said)} "
                        f"for {where or 'every position'}",
                        "keep the one that holds for this vehicle, or name the positions of each",
                    )
                )
    return faults


def _shown(name: str, value: Any) -> str:
    unit = specs_of(MakerInstruction)[name].unit
    return str(value) if unit is None else show(value, unit)
