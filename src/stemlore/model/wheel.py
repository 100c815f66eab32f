"""The wheel at one position: rim, disc and valve hole."""

from __future__ import annotations

import attrs

from stemlore.model._converters import to_kg, to_kpa, to_mm, to_rim_size
from stemlore.model._record import meaning, record
from stemlore.notation import RimSize

__all__ = ["COVERS", "MATERIALS", "RIM_PIECES", "Wheel"]

MATERIALS = ("steel", "aluminium", "magnesium", "composite")
"""What wheels are made of."""
RIM_PIECES = ("single_piece", "multi_piece")
"""Whether a rim comes apart."""
COVERS = ("none", "open_at_valve", "over_valve")
"""Whether a cover sits on the wheel, and lets the valve through or hides it."""


@record("wheel", level="position")
@attrs.frozen(kw_only=True, slots=False)
class Wheel:
    """One wheel: rim and disc with the hole for the valve."""

    material: str | None = attrs.field(
        default=None,
        metadata=meaning(
            "material of the wheel", kind="word", walk=30, words=MATERIALS, how="Look at it, or try a magnet."
        ),
    )
    rim: RimSize | None = attrs.field(
        default=None,
        converter=to_rim_size,
        metadata=meaning(
            "size of the rim",
            kind="notation",
            walk=60,
            holds=RimSize,
            how="Read it from the wheel, mostly on the back of the disc or a spoke.",
        ),
    )
    rim_pieces: str | None = attrs.field(
        default=None,
        metadata=meaning(
            "build of the rim",
            kind="word",
            walk=30,
            words=RIM_PIECES,
            how="Look for a side ring or lock ring before any air goes in.",
        ),
    )
    valve_hole: float | None = attrs.field(
        default=None,
        converter=to_mm,
        metadata=meaning(
            "diameter of the valve hole",
            unit="mm",
            walk=70,
            how="Measure it across with a calliper, valve out.",
        ),
    )
    thickness_at_hole: float | None = attrs.field(
        default=None,
        converter=to_mm,
        metadata=meaning(
            "rim thickness at the valve hole",
            unit="mm",
            walk=70,
            how="Measure it with a calliper, valve out.",
        ),
    )
    rated_load: float | None = attrs.field(
        default=None,
        converter=to_kg,
        metadata=meaning(
            "rated load of the wheel", unit="kg", walk=60, how="Read it from the wheel or its maker's papers."
        ),
    )
    rated_pressure: float | None = attrs.field(
        default=None,
        converter=to_kpa,
        metadata=meaning(
            "rated inflation pressure of the wheel",
            unit="kPa",
            walk=60,
            how="Read it from the wheel or its maker's papers.",
        ),
    )
    valve_seat_depth: float | None = attrs.field(
        default=None,
        converter=to_mm,
        metadata=meaning(
            "depth of the valve's seat below the wheel's outer edge",
            unit="mm",
            walk=70,
            how="Measure along the valve's axis from the seat to a straight edge across the wheel.",
        ),
    )
    cover: str | None = attrs.field(
        default=None,
        metadata=meaning(
            "cover on the wheel",
            kind="word",
            walk=30,
            words=COVERS,
            how="Look whether a cover or hub cap reaches the valve, and whether it is cut out there.",
        ),
    )
    cover_depth: float | None = attrs.field(
        default=None,
        converter=to_mm,
        metadata=meaning(
            "room under the cover above the valve's seat",
            unit="mm",
            walk=70,
            how="Measure along the valve's axis from the seat to the inside of the cover in its place.",
        ),
    )
    lateral_runout: float | None = attrs.field(
        default=None,
        converter=to_mm,
        metadata=meaning(
            "lateral run-out of the rim",
            unit="mm",
            walk=60,
            how="Turn the wheel with a dial gauge on the flange or bead seat; keep the total reading.",
        ),
    )
    radial_runout: float | None = attrs.field(
        default=None,
        converter=to_mm,
        metadata=meaning(
            "radial run-out of the rim",
            unit="mm",
            walk=60,
            how="Turn the wheel with a dial gauge on the bead seat; keep the total reading.",
        ),
    )
