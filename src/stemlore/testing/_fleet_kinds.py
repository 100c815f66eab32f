"""Kinds of vehicle of an invented fleet.

Nothing here is of a make. Load capacities, speeds and valves come from our
own tables, so that the figures of a kind hang together.
"""

from __future__ import annotations

from functools import cached_property
from typing import Any

import attrs

__all__ = ["KINDS", "FleetAxle", "Kind"]

_SEATS = {
    "single": (("left", "single"), ("right", "single")),
    "dual": (("left", "outer"), ("left", "inner"), ("right", "inner"), ("right", "outer")),
    "centre": (("centre", "single"),),
}


@attrs.frozen
class FleetAxle:
    """Fitment, permitted mass, pressure partly and fully laden, tyre; whether it steers and drives."""

    fitment: str
    mass: float
    pressure: tuple[float, float]
    size: str
    service: tuple[int, int | None, str]
    rim: str
    steered: bool = False
    driven: bool = False


@attrs.frozen(slots=False)
class Kind:
    """A kind of vehicle.

    Attributes
    ----------
    name : str
        For people.
    share : float
        How common it is.
    category : str
        As rules know it.
    axles : tuple
        From the front.
    gross_mass, design_speed : float
        In kg and km/h.
    new_tread : float
        Tread depth of a new tyre, mm.
    torque : tuple of float
        Torque of the wheel fixings that the maker gives, N.m.
    seats : int
        Passenger seats.
    valve : str
        Kind of valve where no sensor is fitted.
    monitored_from : int or None
        Year from which such vehicles are registered with a direct monitoring system; None = never.
    distance : tuple of int
        Distance in a year, km, from and to.
    """

    name: str
    share: float
    category: str
    axles: tuple[FleetAxle, ...]
    gross_mass: float
    design_speed: float
    new_tread: float
    torque: tuple[float, float]
    valve: str
    seats: int = 0
    monitored_from: int | None = None
    distance: tuple[int, int] = (6_000, 22_000)

    @cached_property
    def seated(self) -> tuple[tuple[int, str, str], ...]:
        """Axle, side and place of each wheel."""
        return tuple(
            (number, side, place)
            for number, axle in enumerate(self.axles, start=1)
            for side, place in _SEATS[axle.fitment]
        )

    @property
    def heavy(self) -> bool:
        """Whether it is above 3.5 t and no light vehicle."""
        return self.category in ("M2", "M3", "N2", "N3", "O3", "O4")

    @property
    def motor(self) -> bool:
        """Whether it has an engine."""
        return not self.category.startswith("O")


_CAR: dict[str, Any] = {
    "new_tread": 8.0,
    "torque": (110.0, 130.0),
    "valve": "snap_in",
    "seats": 4,
    "monitored_from": 2012,
}
_VAN: dict[str, Any] = {
    "new_tread": 8.5,
    "torque": (160.0, 180.0),
    "valve": "high_pressure_snap_in",
    "seats": 2,
    "monitored_from": 2012,
    "distance": (15_000, 35_000),
}
_TRUCK: dict[str, Any] = {
    "torque": (560.0, 640.0),
    "valve": "truck_clamp_in",
    "monitored_from": 2021,
    "distance": (30_000, 90_000),
}


def _two(
    first: FleetAxle, mass: float, pressure: tuple[float, float] | None = None, **told: Any
) -> tuple[FleetAxle, ...]:
    """Return a steered axle and one more like it."""
    other = attrs.evolve(first, mass=mass, pressure=pressure or first.pressure, **told)
    return (attrs.evolve(first, steered=True), other)


KINDS: tuple[Kind, ...] = (
    Kind(
        "small car",
        22,
        "M1",
        _two(
            FleetAxle("single", 900, (220, 250), "185/65 R15", (88, None, "H"), "6Jx15", driven=True),
            850,
            driven=False,
        ),
        1600,
        175,
        **_CAR,
    ),
    Kind(
        "car",
        26,
        "M1",
        _two(
            FleetAxle("single", 1050, (230, 260), "205/55 R16", (91, None, "V"), "6 1/2Jx16", driven=True),
            1000,
            driven=False,
        ),
        1900,
        205,
        **_CAR,
    ),
    Kind(
        "fast car",
        7,
        "M1",
        _two(
            FleetAxle("single", 1100, (240, 290), "225/45 R17", (94, None, "W"), "7 1/2Jx17"),
            1150,
            driven=True,
        ),
        2100,
        240,
        **{**_CAR, "valve": "clamp_in"},
    ),
    Kind(
        "high car",
        10,
        "M1",
        _two(
            FleetAxle("single", 1300, (240, 280), "235/60 R18", (107, None, "V"), "7 1/2Jx18", driven=True),
            1450,
        ),
        2600,
        200,
        **{**_CAR, "new_tread": 8.5},
    ),
    Kind(
        "van",
        9,
        "N1",
        _two(
            FleetAxle("single", 1600, (350, 400), "215/65 R16 C", (109, 107, "T"), "6 1/2Jx16", driven=True),
            1650,
            driven=False,
        ),
        3000,
        165,
        **_VAN,
    ),
    Kind(
        "van with dual wheels",
        2,
        "N1",
        _two(
            FleetAxle("single", 1750, (400, 425), "195/75 R16 C", (107, 105, "R"), "5Jx16"),
            2400,
            (350, 380),
            fitment="dual",
            driven=True,
        ),
        3500,
        150,
        **_VAN,
    ),
    Kind(
        "minibus",
        1,
        "M2",
        _two(
            FleetAxle("single", 1850, (400, 420), "235/65 R16 C", (115, 113, "R"), "7Jx16"),
            2250,
            (420, 450),
            driven=True,
        ),
        3900,
        150,
        **{**_VAN, "seats": 14},
    ),
    Kind(
        "caravan",
        3,
        "O1",
        (FleetAxle("single", 750, (250, 250), "185/70 R13", (86, None, "T"), "5Jx13"),),
        750,
        100,
        8.0,
        (85.0, 95.0),
        "snap_in",
        distance=(1_000, 6_000),
    ),
    Kind(
        "large caravan",
        2,
        "O2",
        tuple(FleetAxle("single", 900, (270, 270), "185/65 R15", (88, None, "H"), "6Jx15") for _ in range(2)),
        1800,
        100,
        8.0,
        (110.0, 130.0),
        "snap_in",
        distance=(1_000, 6_000),
    ),
    Kind(
        "light truck",
        3,
        "N2",
        _two(
            FleetAxle("single", 2900, (600, 650), "215/75 R17.5", (126, 124, "M"), "6.00x17.5"),
            5200,
            (550, 600),
            fitment="dual",
            driven=True,
        ),
        7500,
        110,
        13.0,
        seats=2,
        **{**_TRUCK, "torque": (320.0, 350.0)},
    ),
    Kind(
        "truck",
        4,
        "N3",
        _two(
            FleetAxle("single", 7500, (800, 850), "315/80 R22.5", (156, 150, "L"), "9.00x22.5"),
            11500,
            (720, 780),
            fitment="dual",
            driven=True,
        ),
        18000,
        95,
        15.0,
        seats=1,
        **_TRUCK,
    ),
    Kind(
        "truck with three axles",
        2,
        "N3",
        (
            *_two(
                FleetAxle("single", 7500, (800, 850), "315/80 R22.5", (156, 150, "L"), "9.00x22.5"),
                11500,
                (720, 780),
                fitment="dual",
                driven=True,
            ),
            FleetAxle("single", 7500, (800, 850), "315/80 R22.5", (156, 150, "L"), "9.00x22.5", steered=True),
        ),
        26000,
        95,
        15.0,
        seats=1,
        **_TRUCK,
    ),
    Kind(
        "bus",
        2,
        "M3",
        _two(
            FleetAxle("single", 7000, (780, 830), "295/80 R22.5", (152, 148, "M"), "9.00x22.5"),
            11500,
            (720, 780),
            fitment="dual",
            driven=True,
        ),
        18000,
        105,
        15.0,
        seats=49,
        **_TRUCK,
    ),
    Kind(
        "motorcycle",
        4,
        "L",
        (
            FleetAxle("centre", 190, (230, 250), "120/70 R17", (58, None, "W"), "3.50x17", steered=True),
            FleetAxle("centre", 300, (250, 290), "180/55 R17", (73, None, "W"), "5.50x17", driven=True),
        ),
        430,
        195,
        6.5,
        (90.0, 110.0),
        "snap_in",
        seats=1,
        distance=(2_000, 9_000),
    ),
    Kind(
        "trailer of two axles",
        1,
        "O3",
        (
            FleetAxle("single", 4800, (750, 800), "235/75 R17.5", (143, 141, "J"), "6.75x17.5", steered=True),
            FleetAxle("single", 4800, (750, 800), "235/75 R17.5", (143, 141, "J"), "6.75x17.5"),
        ),
        9600,
        90,
        13.0,
        **_TRUCK,
    ),
    Kind(
        "semi-trailer",
        2,
        "O4",
        tuple(
            FleetAxle("single", 8000, (850, 900), "385/65 R22.5", (160, None, "K"), "11.75x22.5")
            for _ in range(3)
        ),
        24000,
        90,
        15.0,
        **_TRUCK,
    ),
)
