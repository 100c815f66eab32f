"""The valve at one position, with its core and cap."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, ClassVar

import attrs

from stemlore.errors import Fault
from stemlore.model._converters import to_date, to_km_h, to_kpa, to_mm, to_valve_code
from stemlore.model._derive import follow
from stemlore.model._record import meaning, record
from stemlore.notation import DateSpan, ValveCode

__all__ = ["CAPS", "CORES", "CORE_MATERIALS", "STEM_MATERIALS", "VALVE_KINDS", "Valve"]

VALVE_KINDS = ("snap_in", "high_pressure_snap_in", "clamp_in", "truck_clamp_in", "tube_stem")
"""How valves are held in the rim, or to a tube."""
CORES = ("short", "long")
"""Lengths of valve cores."""
CORE_MATERIALS = ("brass", "nickel_plated")
"""What valve cores are made of, as seen."""
STEM_MATERIALS = ("brass", "nickel_plated", "aluminium", "steel")
"""What the metal of valve stems is, as seen; nickel-plated is brass under nickel."""
CAPS = ("none", "dust", "sealing")
"""Whether a cap only keeps dirt out, or seals as well."""


@record("valve", level="position")
@attrs.frozen(kw_only=True, slots=False)
class Valve:
    """One valve with core and cap; the number in tables follows from the code."""

    code: ValveCode | None = attrs.field(
        default=None,
        converter=to_valve_code,
        metadata=meaning(
            "valve code",
            kind="notation",
            walk=70,
            holds=ValveCode,
            how="Read it from the valve's base or its package.",
        ),
    )
    table_code: str | None = attrs.field(
        default=None,
        metadata=meaning(
            "code under which tables list the valve",
            kind="text",
            walk=70,
            how="Take it from the valve code; finish and packing letters do not count.",
        ),
    )
    kind: str | None = attrs.field(
        default=None,
        metadata=meaning(
            "kind of valve",
            kind="word",
            walk=50,
            words=VALVE_KINDS,
            how="Look at the stem: rubber all over is snap-in, metal with a nut is clamp-in.",
        ),
    )
    effective_length: float | None = attrs.field(
        default=None,
        converter=to_mm,
        metadata=meaning(
            "effective length of the valve",
            unit="mm",
            walk=70,
            how="Measure from the rim's outer face at the hole to the mouth of the valve.",
        ),
    )
    length_with_cap: float | None = attrs.field(
        default=None,
        converter=to_mm,
        metadata=meaning(
            "length of the valve with its cap",
            unit="mm",
            walk=50,
            how="Measure along the valve from its seat on the rim to the end of the cap.",
        ),
    )
    core: str | None = attrs.field(
        default=None,
        metadata=meaning(
            "length of the valve core",
            kind="word",
            walk=70,
            words=CORES,
            how="Look at the core when it is out.",
        ),
    )
    core_material: str | None = attrs.field(
        default=None,
        metadata=meaning(
            "material of the valve core",
            kind="word",
            walk=50,
            words=CORE_MATERIALS,
            how="Look into the valve: yellow is plain brass, silvery is nickel-plated.",
        ),
    )
    stem_material: str | None = attrs.field(
        default=None,
        metadata=meaning(
            "material of the valve's stem",
            kind="word",
            walk=50,
            words=STEM_MATERIALS,
            how="Look at the bare metal: yellow is brass, silvery and heavy is plated brass, dull and light "
            "is aluminium; else ask the valve's maker.",
        ),
    )
    cap: str | None = attrs.field(
        default=None,
        metadata=meaning(
            "cap on the valve",
            kind="word",
            walk=50,
            words=CAPS,
            how="Look inside the cap for a sealing ring.",
        ),
    )
    extension: bool | None = attrs.field(
        default=None,
        metadata=meaning(
            "whether the valve bears an extension", kind="flag", walk=50, how="Look at the valve."
        ),
    )
    fitted: DateSpan | None = attrs.field(
        default=None,
        converter=to_date,
        metadata=meaning(
            "date on which the valve was fitted",
            kind="date",
            walk=10,
            how="Take it from the workshop's records.",
        ),
    )
    rated_pressure: float | None = attrs.field(
        default=None,
        converter=to_kpa,
        metadata=meaning(
            "rated pressure of the valve",
            unit="kPa",
            walk=70,
            how="Read it from the valve or its maker's papers.",
        ),
    )
    rated_hot_pressure: float | None = attrs.field(
        default=None,
        converter=to_kpa,
        metadata=meaning(
            "greatest pressure that the valve's maker allows in the hot tyre",
            unit="kPa",
            walk=70,
            how="Read it from the maker's papers, where they tell one beside that for the cold tyre.",
        ),
    )
    rated_speed: float | None = attrs.field(
        default=None,
        converter=to_km_h,
        metadata=meaning(
            "rated speed of the valve",
            unit="km/h",
            walk=70,
            how="Read it from the valve's package or its maker's papers.",
        ),
    )
    for_hole: float | None = attrs.field(
        default=None,
        converter=to_mm,
        metadata=meaning(
            "diameter of the hole that the valve is made for",
            unit="mm",
            walk=60,
            how="Read it from the valve's packing or its maker's list.",
        ),
    )
    for_thickness: float | None = attrs.field(
        default=None,
        converter=to_mm,
        metadata=meaning(
            "greatest rim thickness that the valve is made for",
            unit="mm",
            walk=60,
            how="Read it from the valve's packing or its maker's list.",
        ),
    )
    bending_limited: bool | None = attrs.field(
        default=None,
        metadata=meaning(
            "whether the wheel or its cover keeps the valve from bending",
            kind="flag",
            walk=50,
            how="Look whether the stem is held by the edge of the hole or by a support in the cover.",
        ),
    )

    _derived: ClassVar[Mapping[str, tuple[str, ...]]] = {"code": ("table_code",)}

    @staticmethod
    def _derive(inside: dict[str, Any]) -> list[Fault]:
        code: ValveCode | None = inside["code"]
        return [] if code is None else follow(inside, "table_code", code.table_key, "the valve code")
