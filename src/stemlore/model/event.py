"""The visit of a vehicle to the workshop."""

from __future__ import annotations

from typing import Any

import attrs

from stemlore.errors import Fault
from stemlore.model._converters import to_date, to_kpa
from stemlore.model._record import meaning, record
from stemlore.notation import DateSpan

__all__ = ["EVENT_KINDS", "RELEARNS", "Event"]

EVENT_KINDS = ("tyre_change", "seasonal_change", "repair", "inspection", "pressure_check")
"""What vehicles come to the workshop for."""
RELEARNS = ("none", "done", "not_needed")
"""Whether the vehicle was taught where its sensors are."""


@record("event", level="vehicle")
@attrs.frozen(kw_only=True, slots=False)
class Event:
    """One visit of the vehicle to the workshop."""

    on: DateSpan | None = attrs.field(
        default=None,
        converter=to_date,
        metadata=meaning(
            "day of the visit", kind="date", walk=10, how="Write the day on which the vehicle leaves."
        ),
    )
    kind: str | None = attrs.field(
        default=None,
        metadata=meaning(
            "kind of visit", kind="word", walk=10, words=EVENT_KINDS, how="Take it from the workshop's order."
        ),
    )
    relearn: str | None = attrs.field(
        default=None,
        metadata=meaning(
            "relearn of the sensors' places",
            kind="word",
            walk=80,
            words=RELEARNS,
            how="Note whether the vehicle was taught its sensors after the work.",
        ),
    )
    retorque_told: bool | None = attrs.field(
        default=None,
        metadata=meaning(
            "whether the driver was told to have the wheel fixings retightened",
            kind="flag",
            walk=80,
            how="Note it when the vehicle is handed over.",
        ),
    )
    winter_road: bool | None = attrs.field(
        default=None,
        metadata=meaning(
            "whether ice, packed snow, slush or frost lies on the roads to be driven",
            kind="flag",
            walk=10,
            how="Ask the driver, and look at road and forecast.",
        ),
    )
    gauge_error: float | None = attrs.field(
        default=None,
        converter=to_kpa,
        metadata=meaning(
            "greatest error of the pressure gauge used",
            unit="kPa",
            walk=10,
            how="Read it from the gauge's certificate.",
        ),
    )
    gauge_verified: DateSpan | None = attrs.field(
        default=None,
        converter=to_date,
        metadata=meaning(
            "date of the last verification of the pressure gauge",
            kind="date",
            walk=10,
            how="Read it from the seal or certificate.",
        ),
    )
    pressure_recorded: bool | None = attrs.field(
        default=None,
        metadata=meaning(
            "whether the pressures after the work stand on the invoice",
            kind="flag",
            walk=80,
            how="Look at the invoice before it is handed over.",
        ),
    )

    @staticmethod
    def _derive(inside: dict[str, Any]) -> list[Fault]:
        on: DateSpan | None = inside["on"]
        if on is None or on.is_day:
            return []
        return [Fault("on", f"{on} is more than one day", "write the day of the visit, such as 2024-03-15")]
