"""The tyre pressure sensor at one position."""

from __future__ import annotations

import attrs

from stemlore.model._converters import to_deg, to_km, to_mhz, to_years
from stemlore.model._record import meaning, record

__all__ = ["MOUNTS", "Sensor"]

MOUNTS = ("snap_in", "clamp_in", "band", "tyre")
"""How sensors are held: by a rubber or metal valve, a band round the rim, or in the tyre."""


@record("sensor", level="position")
@attrs.frozen(kw_only=True, slots=False)
class Sensor:
    """One tyre pressure sensor, or the fact that there is none."""

    fitted: bool | None = attrs.field(
        default=None,
        metadata=meaning(
            "whether a sensor is fitted",
            kind="flag",
            walk=40,
            how="Wake it with a service tool beside the valve.",
        ),
    )
    mount: str | None = attrs.field(
        default=None,
        metadata=meaning(
            "mount of the sensor",
            kind="word",
            walk=70,
            words=MOUNTS,
            how="Look inside the rim with the tyre off.",
        ),
    )
    frequency: float | None = attrs.field(
        default=None,
        converter=to_mhz,
        metadata=meaning(
            "radio frequency of the sensor",
            unit="MHz",
            walk=40,
            how="Read it from the service tool or the sensor.",
        ),
    )
    protocol: str | None = attrs.field(
        default=None,
        metadata=meaning(
            "radio protocol of the sensor, as a key",
            kind="text",
            walk=40,
            how="Take the name that the service tool or the sensor's list gives it; only sameness counts.",
        ),
    )
    battery_age: float | None = attrs.field(
        default=None,
        converter=to_years,
        metadata=meaning(
            "age of the sensor's battery",
            unit="year",
            walk=70,
            how="Count from the date on the sensor, or take it from the workshop's records.",
        ),
    )
    battery_distance: float | None = attrs.field(
        default=None,
        converter=to_km,
        metadata=meaning(
            "distance driven with the sensor's battery",
            unit="km",
            walk=10,
            how="Take the odometer's reading less that of the day it was fitted.",
        ),
    )
    angle: float | None = attrs.field(
        default=None,
        converter=to_deg,
        metadata=meaning(
            "angle of the sensor's valve",
            unit="deg",
            walk=70,
            least=None,
            how="Compare it with the maker's gauge for the sensor's angle.",
        ),
    )
