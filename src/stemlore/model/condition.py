"""The state of the assembly at one position, as eye and hand find it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, ClassVar

import attrs

from stemlore.errors import Fault
from stemlore.model._converters import to_mm
from stemlore.model._derive import follow
from stemlore.model._record import meaning, record

__all__ = ["RUBBING", "SOUND", "Condition"]

RUBBING = ("nothing", "spray_guard", "other_part")
"""What a tyre touches: nothing, a flexible guard against spray, or another part of the vehicle."""

SOUND: Mapping[str, Any] = {
    "cord_exposed": False,
    "bulge": False,
    "cut_to_cord": False,
    "rubbing": "nothing",
    "touches_twin": False,
    "mounted_as_marked": True,
    "fixings_missing": 0,
    "wheel_cracked": False,
    "wheel_distorted": False,
    "valve_damaged": False,
    "valve_leaks": False,
    "valve_reachable": True,
}
"""What follows for fields left out where an assembly was looked over and nothing was found."""


@record("condition", level="position")
@attrs.frozen(kw_only=True, slots=False)
class Condition:
    """Damage, wear and reach of tyre, wheel and valve at one position.

    Where ``sound`` is told, what eye and hand would have found follows from it
    for the fields left out; what is measured does not.
    """

    sound: bool | None = attrs.field(
        default=None,
        metadata=meaning(
            "whether tyre, wheel and valve were looked over all round and nothing was found",
            kind="flag",
            walk=30,
            how="Look over the whole assembly as the fields after this one say; give those that differ.",
        ),
    )
    cord_exposed: bool | None = attrs.field(
        default=None,
        metadata=meaning(
            "whether cord or ply of the tyre is exposed",
            kind="flag",
            walk=30,
            how="Look at tread and both sidewalls all round.",
        ),
    )
    bulge: bool | None = attrs.field(
        default=None,
        metadata=meaning(
            "whether the tyre has a lump, bulge or separation",
            kind="flag",
            walk=30,
            how="Look and feel over tread and both sidewalls all round.",
        ),
    )
    cut_to_cord: bool | None = attrs.field(
        default=None,
        metadata=meaning(
            "whether a cut or crack reaches the tyre's cord",
            kind="flag",
            walk=30,
            how="Open each cut with a blunt probe; do not widen it.",
        ),
    )
    cut_length: float | None = attrs.field(
        default=None,
        converter=to_mm,
        metadata=meaning(
            "length of the longest cut or crack in the tyre",
            unit="mm",
            walk=30,
            how="Measure it on the outside in any direction; 0 mm where there is none.",
        ),
    )
    rubbing: str | None = attrs.field(
        default=None,
        metadata=meaning(
            "what the tyre touches",
            kind="word",
            walk=30,
            words=RUBBING,
            how="Turn the steering from lock to lock and look for marks of rubbing.",
        ),
    )
    touches_twin: bool | None = attrs.field(
        default=None,
        metadata=meaning(
            "whether the tyre touches its twin",
            kind="flag",
            walk=30,
            how="Look between the tyres where they stand on the road.",
        ),
    )
    mounted_as_marked: bool | None = attrs.field(
        default=None,
        metadata=meaning(
            "whether direction and side marked on the tyre are followed",
            kind="flag",
            walk=30,
            how="Look for an arrow, or for the words outside and inside, on the sidewall.",
        ),
    )
    fixings_missing: int | None = attrs.field(
        default=None,
        metadata=meaning(
            "number of wheel fixings that are loose or missing",
            kind="integer",
            walk=30,
            how="Count them at each wheel.",
        ),
    )
    wheel_cracked: bool | None = attrs.field(
        default=None,
        metadata=meaning(
            "whether the wheel has a crack, or a weld repair or fault",
            kind="flag",
            walk=60,
            how="Look at rim, disc and fixing holes, inside too when the wheel is off.",
        ),
    )
    wheel_distorted: bool | None = attrs.field(
        default=None,
        metadata=meaning(
            "whether the wheel is badly bent or worn",
            kind="flag",
            walk=60,
            how="Spin it and watch the rim; look at the fixing holes and the bead seats.",
        ),
    )
    ring_seated: bool | None = attrs.field(
        default=None,
        metadata=meaning(
            "whether the retaining ring of a multi-piece rim is seated",
            kind="flag",
            walk=60,
            how="Look at the ring's whole round before and after inflating, in the cage.",
        ),
    )
    flange_wear: float | None = attrs.field(
        default=None,
        converter=to_mm,
        metadata=meaning(
            "wear of the rim flange",
            unit="mm",
            walk=70,
            how="Measure how much thinner the flange is than new.",
        ),
    )
    valve_damaged: bool | None = attrs.field(
        default=None,
        metadata=meaning(
            "whether the valve is worn, cut, cracked or bent",
            kind="flag",
            walk=40,
            how="Bend a rubber valve to all sides and look at its base; look along a metal one.",
        ),
    )
    valve_leaks: bool | None = attrs.field(
        default=None,
        metadata=meaning(
            "whether the valve leaks",
            kind="flag",
            walk=40,
            how="Wet core, stem and base with leak spray.",
        ),
    )
    valve_reachable: bool | None = attrs.field(
        default=None,
        metadata=meaning(
            "whether the valve can be inflated and gauged with the wheel fitted",
            kind="flag",
            walk=40,
            how="Try the inflator and the gauge, on the inner twin too.",
        ),
    )

    _derived: ClassVar[Mapping[str, tuple[str, ...]]] = {"sound": tuple(SOUND)}

    @staticmethod
    def _derive(inside: dict[str, Any]) -> list[Fault]:
        if not inside["sound"]:
            return []
        return [fault for name, value in SOUND.items() for fault in follow(inside, name, value, "sound")]
