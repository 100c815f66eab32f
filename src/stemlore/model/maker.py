"""What a maker instructs for a wheel, with the place where it says so."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import attrs

from stemlore.errors import Fault
from stemlore.model._converters import to_kpa, to_nm, to_position, to_years
from stemlore.model._derive import check_pair
from stemlore.model._record import from_stored, meaning, record
from stemlore.model.position import Position

__all__ = ["ISSUERS", "NO_INSTRUCTION", "SEATED_BY", "MakerInstruction"]

ISSUERS = ("vehicle_maker", "tyre_maker", "wheel_maker", "valve_maker", "sensor_maker")
"""Whose instruction it is."""
SEATED_BY = ("tyre_maker", "wheel_maker")
"""Who makes the parts whose beads seat, and alone may allow more pressure for it."""

_HOW = "Look it up in the maker's instructions."


def _torque(bound: str, of: str) -> dict[str, Any]:
    return meaning(f"{bound} torque that the maker gives for {of}", unit="N.m", walk=10, how=_HOW)


def to_positions(value: Iterable[Position | str]) -> tuple[Position, ...]:
    """Return positions as a tuple."""
    return tuple(to_position(item) for item in value)


@record("maker", level="position")
@attrs.frozen(kw_only=True, slots=False)
class MakerInstruction:
    """One instruction of a maker; without positions it holds for every wheel of the vehicle.

    A torque is a pair of bounds; where the maker gives one figure, both are the same.
    """

    source: str = attrs.field(
        metadata=meaning(
            "source of the instruction",
            kind="text",
            walk=10,
            how="Write manual, edition and place, such as a page.",
        )
    )
    issued_by: str | None = attrs.field(
        default=None,
        metadata=meaning(
            "issuer of the instruction", kind="word", walk=10, words=ISSUERS, how="See whose paper it is."
        ),
    )
    positions: tuple[Position, ...] = attrs.field(
        default=(),
        converter=to_positions,
        metadata=meaning(
            "positions that the instruction is for",
            kind="records",
            walk=10,
            holds=Position,
            how="Leave out for all.",
        ),
    )
    valve_nut_torque_min: float | None = attrs.field(
        default=None, converter=to_nm, metadata=_torque("least", "the valve nut")
    )
    valve_nut_torque_max: float | None = attrs.field(
        default=None, converter=to_nm, metadata=_torque("greatest", "the valve nut")
    )
    sensor_nut_torque_min: float | None = attrs.field(
        default=None, converter=to_nm, metadata=_torque("least", "the sensor's nut")
    )
    sensor_nut_torque_max: float | None = attrs.field(
        default=None, converter=to_nm, metadata=_torque("greatest", "the sensor's nut")
    )
    sensor_screw_torque_min: float | None = attrs.field(
        default=None, converter=to_nm, metadata=_torque("least", "the sensor's screw")
    )
    sensor_screw_torque_max: float | None = attrs.field(
        default=None, converter=to_nm, metadata=_torque("greatest", "the sensor's screw")
    )
    valve_core_torque_min: float | None = attrs.field(
        default=None, converter=to_nm, metadata=_torque("least", "the valve core")
    )
    valve_core_torque_max: float | None = attrs.field(
        default=None, converter=to_nm, metadata=_torque("greatest", "the valve core")
    )
    wheel_fixing_torque_min: float | None = attrs.field(
        default=None, converter=to_nm, metadata=_torque("least", "the wheel fixings")
    )
    wheel_fixing_torque_max: float | None = attrs.field(
        default=None, converter=to_nm, metadata=_torque("greatest", "the wheel fixings")
    )
    cold_pressure: float | None = attrs.field(
        default=None,
        converter=to_kpa,
        metadata=meaning("cold inflation pressure that the maker gives", unit="kPa", walk=10, how=_HOW),
    )
    seating_pressure_max: float | None = attrs.field(
        default=None,
        converter=to_kpa,
        metadata=meaning(
            "greatest pressure that the maker allows to seat the beads", unit="kPa", walk=10, how=_HOW
        ),
    )
    valve_table_code: str | None = attrs.field(
        default=None,
        metadata=meaning("code of the valve that the maker prescribes", kind="text", walk=10, how=_HOW),
    )
    battery_age_max: float | None = attrs.field(
        default=None,
        converter=to_years,
        metadata=meaning(
            "age that the maker allows for the sensor's battery", unit="year", walk=10, how=_HOW
        ),
    )

    @staticmethod
    def _derive(inside: dict[str, Any]) -> list[Fault]:
        positions = inside["positions"]
        if len(positions) > 1:
            inside["positions"] = tuple(sorted(set(positions)))
        faults: list[Fault] = []
        for name in ("valve_nut", "sensor_nut", "sensor_screw", "valve_core", "wheel_fixing"):
            faults += check_pair(inside, f"{name}_torque_min", f"{name}_torque_max", "N·m")
        return faults

    def applies_to(self, position: Position) -> bool:
        """Return whether the instruction holds for this position."""
        return not self.positions or position in self.positions


NO_INSTRUCTION = from_stored(MakerInstruction, {"source": ""})
"""What holds where no maker says anything."""
