"""The vehicle and its axles, as papers and placard tell."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, ClassVar

import attrs

from stemlore.errors import Fault
from stemlore.model._converters import to_date, to_kg, to_km_h, to_kpa, to_mhz
from stemlore.model._derive import follow, repeated
from stemlore.model._record import meaning, record
from stemlore.notation import DateSpan, TyreSize

__all__ = ["CATEGORIES", "FITMENTS", "MONITORING", "MONITORING_LAMPS", "Axle", "Vehicle"]

CATEGORIES = ("L", "M1", "M2", "M3", "N1", "N2", "N3", "O1", "O2", "O3", "O4")
"""Vehicle categories as in UN and EU type approval; L stands for all its kinds."""
MONITORING = ("none", "indirect", "direct")
"""Kinds of tyre pressure monitoring: by wheel speed, or by a sensor in each wheel."""
MONITORING_LAMPS = ("goes_out", "low_pressure", "fault", "never_lights")
"""What the warning lamp tells once the vehicle is switched on."""
FITMENTS = ("single", "dual", "centre")
"""How wheels sit on an axle: one a side, two a side, one in the middle."""


@record("axle", level="axle")
@attrs.frozen(kw_only=True, slots=False)
class Axle:
    """One axle of a vehicle; axles count from the front."""

    number: int = attrs.field(
        metadata=meaning(
            "number of the axle",
            kind="integer",
            walk=10,
            least=1.0,
            how="Count from the front, beginning with 1.",
        )
    )
    permitted_mass: float | None = attrs.field(
        default=None,
        converter=to_kg,
        metadata=meaning(
            "permitted mass on the axle",
            unit="kg",
            walk=10,
            how="Read it from the registration papers or the plate.",
        ),
    )
    fitment: str | None = attrs.field(
        default=None,
        metadata=meaning(
            "fitment of the wheels", kind="word", walk=20, words=FITMENTS, how="Look at one end of the axle."
        ),
    )
    steered: bool | None = attrs.field(
        default=None,
        metadata=meaning(
            "whether the axle is steered",
            kind="flag",
            walk=20,
            how="Read it from the papers, or turn the wheel.",
        ),
    )
    driven: bool | None = attrs.field(
        default=None,
        metadata=meaning("whether the axle is driven", kind="flag", walk=20, how="Read it from the papers."),
    )
    cold_pressure_partial: float | None = attrs.field(
        default=None,
        converter=to_kpa,
        metadata=meaning(
            "cold inflation pressure on the placard at partial load",
            unit="kPa",
            walk=20,
            how="Read the placard for this axle, partly laden.",
        ),
    )
    cold_pressure_full: float | None = attrs.field(
        default=None,
        converter=to_kpa,
        metadata=meaning(
            "cold inflation pressure on the placard at full load",
            unit="kPa",
            walk=20,
            how="Read the placard for this axle, fully laden.",
        ),
    )


def to_axles(value: Iterable[Axle]) -> tuple[Axle, ...]:
    """Return axles as a tuple."""
    return tuple(value)


def to_tyre_sizes(value: Iterable[TyreSize | str]) -> tuple[TyreSize, ...]:
    """Return tyre sizes as a tuple."""
    return tuple(TyreSize.parse(item) if isinstance(item, str) else item for item in value)


@record("vehicle", level="vehicle")
@attrs.frozen(kw_only=True, slots=False)
class Vehicle:
    """A vehicle as its papers and placard describe it; axles stand in order of their number."""

    category: str | None = attrs.field(
        default=None,
        metadata=meaning(
            "category of the vehicle",
            kind="word",
            walk=10,
            words=CATEGORIES,
            how="Read it from the registration papers.",
        ),
    )
    design_speed: float | None = attrs.field(
        default=None,
        converter=to_km_h,
        metadata=meaning(
            "maximum design speed of the vehicle",
            unit="km/h",
            walk=10,
            how="Read it from the registration papers.",
        ),
    )
    gross_mass: float | None = attrs.field(
        default=None,
        converter=to_kg,
        metadata=meaning(
            "permitted gross mass of the vehicle",
            unit="kg",
            walk=10,
            how="Read it from the registration papers.",
        ),
    )
    axles: tuple[Axle, ...] = attrs.field(
        default=(),
        converter=to_axles,
        metadata=meaning(
            "axles of the vehicle", kind="records", walk=10, holds=Axle, how="Count from the front."
        ),
    )
    first_registration: DateSpan | None = attrs.field(
        default=None,
        converter=to_date,
        metadata=meaning(
            "date of first registration", kind="date", walk=10, how="Read it from the registration papers."
        ),
    )
    manufactured: DateSpan | None = attrs.field(
        default=None,
        converter=to_date,
        metadata=meaning(
            "date of manufacture of the vehicle",
            kind="date",
            walk=10,
            how="Read it from the plate or the papers.",
        ),
    )
    type_approval: DateSpan | None = attrs.field(
        default=None,
        converter=to_date,
        metadata=meaning(
            "date of the vehicle's type approval",
            kind="date",
            walk=10,
            how="Read it from the certificate of conformity.",
        ),
    )
    monitoring: str | None = attrs.field(
        default=None,
        metadata=meaning(
            "kind of tyre pressure monitoring",
            kind="word",
            walk=20,
            words=MONITORING,
            how="Read the handbook, or look for sensors with a service tool.",
        ),
    )
    monitoring_works: bool | None = attrs.field(
        default=None,
        metadata=meaning(
            "whether the tyre pressure monitoring works",
            kind="flag",
            walk=20,
            how="Switch on and see whether the warning lamp lights and goes out.",
        ),
    )
    monitoring_lamp: str | None = attrs.field(
        default=None,
        metadata=meaning(
            "what the warning lamp of the tyre pressure monitoring shows",
            kind="word",
            walk=20,
            words=MONITORING_LAMPS,
            how="Switch on: it goes out, stays lit, flashes before it stays lit, or never lights.",
        ),
    )
    monitoring_frequency: float | None = attrs.field(
        default=None,
        converter=to_mhz,
        metadata=meaning(
            "radio frequency that the vehicle's tyre pressure monitoring listens to",
            unit="MHz",
            walk=20,
            how="Look it up in the vehicle maker's parts list or read it with the service tool.",
        ),
    )
    monitoring_protocol: str | None = attrs.field(
        default=None,
        metadata=meaning(
            "radio protocol of the vehicle's tyre pressure monitoring, as a key",
            kind="text",
            walk=20,
            how="Take the name that the service tool or the sensor's list gives it; only sameness counts.",
        ),
    )
    off_road: bool | None = attrs.field(
        default=None,
        metadata=meaning(
            "whether the vehicle is an off-road vehicle (letter G behind the category)",
            kind="flag",
            walk=10,
            how="Read it from the registration papers.",
        ),
    )
    passenger_seats: int | None = attrs.field(
        default=None,
        metadata=meaning(
            "number of passenger seats",
            kind="integer",
            walk=10,
            how="Read it from the registration papers; the driver's seat does not count.",
        ),
    )
    permit_100: bool | None = attrs.field(
        default=None,
        metadata=meaning(
            "whether the vehicle or trailer has a permit for 100 km/h",
            kind="flag",
            walk=10,
            how="Read it from the papers, or look for the badge.",
        ),
    )
    tyre_speed_shown: bool | None = attrs.field(
        default=None,
        metadata=meaning(
            "whether a tyre speed below the vehicle's is shown to the driver",
            kind="flag",
            walk=20,
            how="Look for a label in the driver's view, or in the settings of the instrument panel.",
        ),
    )
    stud_sign: bool | None = attrs.field(
        default=None,
        metadata=meaning(
            "whether the vehicle bears the sign that studded tyres ask for",
            kind="flag",
            walk=20,
            how="Look at the rear of the vehicle.",
        ),
    )
    chains_aboard: int | None = attrs.field(
        default=None,
        metadata=meaning(
            "number of drive wheels for which snow chains are aboard",
            kind="integer",
            walk=20,
            how="Look at what is carried; a pair is for two wheels.",
        ),
    )
    light_two_wheeler: bool | None = attrs.field(
        default=None,
        metadata=meaning(
            "whether the vehicle is a moped or a small or light motorcycle",
            kind="flag",
            walk=10,
            how="Read the class in the registration document.",
        ),
    )
    permitted_sizes: tuple[TyreSize, ...] = attrs.field(
        default=(),
        converter=to_tyre_sizes,
        metadata=meaning(
            "tyre sizes permitted for the vehicle",
            kind="records",
            walk=10,
            holds=TyreSize,
            how="Read them from the registration papers or the certificate of conformity.",
        ),
    )
    twin_wheels: bool | None = attrs.field(
        default=None,
        metadata=meaning(
            "whether the vehicle has twin wheels", kind="flag", walk=20, how="Look at one end of each axle."
        ),
    )

    _derived: ClassVar[Mapping[str, tuple[str, ...]]] = {"axles": ("twin_wheels",)}

    @staticmethod
    def _derive(inside: dict[str, Any]) -> list[Fault]:
        axles: tuple[Axle, ...] = inside["axles"]
        if not axles:
            return []
        faults = [
            Fault(f"axles[{index}].number", f"axle {axles[index].number} is already axles[{first}]")
            for index, first in repeated(axle.number for axle in axles)
        ]
        inside["axles"] = tuple(sorted(axles, key=lambda axle: axle.number))
        fitments = {axle.fitment for axle in axles}
        twin = True if "dual" in fitments else None if None in fitments else False
        return faults + follow(inside, "twin_wheels", twin, "the fitment of the axles")

    def axle(self, number: int) -> Axle | None:
        """Return the axle of this number; None where it is not declared."""
        return next((axle for axle in self.axles if axle.number == number), None)
