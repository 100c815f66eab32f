"""What was done at one wheel at this visit."""

from __future__ import annotations

import attrs

from stemlore.model._converters import to_kpa, to_nm
from stemlore.model._record import meaning, record

__all__ = ["RESTRAINTS", "Work"]

RESTRAINTS = ("none", "cage", "barrier", "bolted_on_vehicle")
"""What held the assembly while it was inflated."""


@record("work", level="position")
@attrs.frozen(kw_only=True, slots=False)
class Work:
    """What was done at one wheel at this visit, with the torques and the pressure used."""

    tyre_renewed: bool | None = attrs.field(
        default=None,
        metadata=meaning(
            "whether the tyre was renewed", kind="flag", walk=80, how="Note it when it is done."
        ),
    )
    wheel_removed: bool | None = attrs.field(
        default=None,
        metadata=meaning(
            "whether the wheel was taken off the vehicle",
            kind="flag",
            walk=80,
            how="Note it when it is done.",
        ),
    )
    tyre_demounted: bool | None = attrs.field(
        default=None,
        metadata=meaning(
            "whether the tyre was taken off the rim", kind="flag", walk=80, how="Note it when it is done."
        ),
    )
    valve_renewed: bool | None = attrs.field(
        default=None,
        metadata=meaning(
            "whether the valve was renewed", kind="flag", walk=80, how="Note it when it is done."
        ),
    )
    core_renewed: bool | None = attrs.field(
        default=None,
        metadata=meaning(
            "whether the valve core was renewed", kind="flag", walk=80, how="Note it when it is done."
        ),
    )
    seals_renewed: bool | None = attrs.field(
        default=None,
        metadata=meaning(
            "whether the valve's seals were renewed", kind="flag", walk=80, how="Note it when it is done."
        ),
    )
    nut_renewed: bool | None = attrs.field(
        default=None,
        metadata=meaning(
            "whether the valve nut was renewed", kind="flag", walk=80, how="Note it when it is done."
        ),
    )
    cap_renewed: bool | None = attrs.field(
        default=None,
        metadata=meaning(
            "whether the valve cap was renewed", kind="flag", walk=80, how="Note it when it is done."
        ),
    )
    nut_loosened: bool | None = attrs.field(
        default=None,
        metadata=meaning(
            "whether the valve nut was loosened", kind="flag", walk=80, how="Note it when it is done."
        ),
    )
    leak_tested: bool | None = attrs.field(
        default=None,
        metadata=meaning(
            "whether the assembly was tested for leaks",
            kind="flag",
            walk=80,
            how="Wet valve, core and bead seats with leak spray, or dip the wheel, and look for bubbles.",
        ),
    )
    valve_nut_torque: float | None = attrs.field(
        default=None,
        converter=to_nm,
        metadata=meaning(
            "torque used on the valve nut",
            unit="N.m",
            walk=80,
            how="Read it from the torque tool that was used.",
        ),
    )
    sensor_nut_torque: float | None = attrs.field(
        default=None,
        converter=to_nm,
        metadata=meaning(
            "torque used on the sensor's nut",
            unit="N.m",
            walk=80,
            how="Read it from the torque tool that was used.",
        ),
    )
    sensor_screw_torque: float | None = attrs.field(
        default=None,
        converter=to_nm,
        metadata=meaning(
            "torque used on the sensor's screw",
            unit="N.m",
            walk=80,
            how="Read it from the torque tool that was used.",
        ),
    )
    valve_core_torque: float | None = attrs.field(
        default=None,
        converter=to_nm,
        metadata=meaning(
            "torque used on the valve core",
            unit="N.m",
            walk=80,
            how="Read it from the torque tool that was used.",
        ),
    )
    wheel_fixing_torque: float | None = attrs.field(
        default=None,
        converter=to_nm,
        metadata=meaning(
            "torque used on the wheel fixings",
            unit="N.m",
            walk=80,
            how="Read it from the torque wrench that was used.",
        ),
    )
    tool_class: str | None = attrs.field(
        default=None,
        metadata=meaning(
            "class of the torque tool",
            kind="text",
            walk=80,
            how="Read type and class from the tool's certificate.",
        ),
    )
    seating_pressure: float | None = attrs.field(
        default=None,
        converter=to_kpa,
        metadata=meaning(
            "greatest pressure used to seat the beads",
            unit="kPa",
            walk=80,
            how="Watch the gauge while the beads seat and keep the greatest value.",
        ),
    )
    restraint: str | None = attrs.field(
        default=None,
        metadata=meaning(
            "restraint used while inflating",
            kind="word",
            walk=80,
            words=RESTRAINTS,
            how="Note what held the assembly while air went in.",
        ),
    )
    part_worn_supplied: bool | None = attrs.field(
        default=None,
        metadata=meaning(
            "whether a used tyre was supplied and fitted",
            kind="flag",
            walk=80,
            how="Take it from the workshop's order.",
        ),
    )
    remote_inflation: bool | None = attrs.field(
        default=None,
        metadata=meaning(
            "whether air went in through a clip-on chuck, with valve and gauge at the far end of the hose",
            kind="flag",
            walk=80,
            how="Note what was used; the hose must let the fitter stand out of the way of a burst.",
        ),
    )
    restraint_rating: float | None = attrs.field(
        default=None,
        converter=to_kpa,
        metadata=meaning(
            "inflation pressure that the restraint is rated for",
            unit="kPa",
            walk=80,
            how="Read it from the plate of the cage or barrier.",
        ),
    )
