"""Synthetic fleets: any size, seeded, with faults planted by rule and with mess.

Numbers of a vehicle hang together: its size of tyre, load index, masses, speed
and pressures come from one kind of vehicle. Planted faults are known by rule,
so that an audit can be held against them.
"""

from __future__ import annotations

import random
from collections.abc import Iterator, Mapping
from datetime import date, timedelta
from types import MappingProxyType
from typing import Any

import attrs

from stemlore.audit._polars import pl

__all__ = ["MESS", "PLANTS", "Fleet", "Plant", "synthetic_fleet"]

_DAY = date(2026, 11, 25)


@attrs.frozen
class _Kind:
    """A kind of vehicle: what hangs together."""

    share: float
    category: str
    size: str
    load_index: int
    load_index_dual: int | None
    speed_symbol: str
    axles: tuple[tuple[str, float], ...]
    gross_mass: float
    design_speed: float
    pressure: float


_KINDS = (
    _Kind(40, "M1", "205/55 R16", 91, None, "V", (("single", 1050), ("single", 1000)), 1900, 205, 240),
    _Kind(25, "M1", "225/45 R17", 94, None, "W", (("single", 1150), ("single", 1100)), 2100, 235, 250),
    _Kind(20, "N1", "215/65 R16 C", 109, 107, "T", (("single", 1650), ("single", 1700)), 3100, 165, 400),
    _Kind(5, "O1", "185/70 R13", 86, None, "T", (("single", 750),), 750, 100, 250),
    _Kind(10, "N3", "315/80 R22.5", 156, 150, "L", (("single", 7500), ("dual", 11500)), 18000, 90, 850),
)
_SEATS = {
    "single": (("left", "single"), ("right", "single")),
    "dual": (("left", "outer"), ("left", "inner"), ("right", "inner"), ("right", "outer")),
}


@attrs.frozen
class Plant:
    """A fault that can be planted on one wheel.

    Attributes
    ----------
    change : mapping
        What it alters.
    found_by : tuple of str
        The rules of Germany that must find it.
    subject : str
        ``wheel`` or ``vehicle``, of which they find it.
    categories : tuple of str
        Vehicles that it is planted on.
    """

    change: Mapping[str, Any]
    found_by: tuple[str, ...]
    subject: str = "wheel"
    categories: tuple[str, ...] = ("M1", "N1", "O1", "N3")


PLANTS: Mapping[str, Plant] = MappingProxyType(
    {
        "worn": Plant({"tyre_tread_depth_main_grooves_mm": 1.5}, ("de.tyre.tread_depth",)),
        "studded": Plant({"tyre_studded": True}, ("de.tyre.studs",)),
        "overloaded": Plant(
            {"tyre_load_index": 75}, ("de.tyre.load_single", "eu.tyre.load_single"), categories=("N1",)
        ),
        "too slow": Plant(
            {"tyre_speed_symbol": "Q"},
            ("eu.tyre.speed_symbol", "de.tyre.winter_speed_label"),
            categories=("M1",),
        ),
        "old": Plant({"tyre_manufactured": date(2012, 3, 5)}, ("world.tyre.age",), categories=("M1",)),
        "mixed": Plant(
            {"tyre_construction": "diagonal", "tyre_size": None},
            ("de.vehicle.construction",),
            "vehicle",
            categories=("M1",),
        ),
    }
)
"""The faults that can be planted, by name."""
MESS = ("missing", "typo", "unit")
"""Kinds of mess: a reading left out, a word misspelt, a pressure in another unit with the unit written."""


@attrs.frozen(eq=False)
class Fleet:
    """A fleet and what is wrong with it.

    Attributes
    ----------
    wheels : DataFrame
        One row a wheel, columns named as fields.
    planted : DataFrame
        ``row``, ``vehicle_id``, ``position`` and ``rule`` of each finding that must
        come of it; no mess is made of such vehicles.
    mess : DataFrame
        ``row``, ``column`` and ``kind`` of each cell that was spoilt.
    """

    wheels: pl.DataFrame
    planted: pl.DataFrame
    mess: pl.DataFrame


def synthetic_fleet(vehicles: int, *, seed: int = 0, faults: float = 0.02, mess: float = 0.0) -> Fleet:
    """Return a fleet made by chance.

    Parameters
    ----------
    vehicles : int
        How many; a car has four rows, a truck six.
    seed : int
        The same seed gives the same fleet.
    faults : float
        Share of vehicles that are chosen for a fault; on some of them the fault cannot be planted.
    mess : float
        Share of the other rows with one spoilt cell; with any, readings of
        pressure are text.

    Examples
    --------
    >>> fleet = synthetic_fleet(100, seed=1, faults=0.1)
    >>> fleet.wheels.height >= 200, fleet.planted.columns
    (True, ['row', 'vehicle_id', 'position', 'rule'])
    """
    chance = random.Random(seed)
    rows: list[dict[str, Any]] = []
    planted: list[tuple[int, int, str, str]] = []
    kept: set[int] = set()
    for number in range(1, vehicles + 1):
        wheels = list(_vehicle(number, chance))
        if chance.random() < faults:
            plant = chance.choice(list(PLANTS.values()))
            hit = chance.choice(wheels)
            if hit["vehicle_category"] in plant.categories:
                hit.update(plant.change)
                whole = plant.subject == "vehicle"
                row = len(rows) + 1 + (0 if whole else wheels.index(hit))
                where = "vehicle" if whole else _words(hit)
                planted += [(row, number, where, rule) for rule in plant.found_by]
                kept |= set(range(len(rows) + 1, len(rows) + 1 + len(wheels)))
        rows += wheels
    spoilt = _spoil(rows, kept, chance, mess) if mess else []
    if mess:
        for each in rows:
            if not isinstance(each["tyre_pressure"], str):
                each["tyre_pressure"] = f"{each['tyre_pressure']:g} kPa"
    else:
        for each in rows:
            each["tyre_pressure_kpa"] = each.pop("tyre_pressure")
    keys = {"row": pl.Int64, "vehicle_id": pl.Int64, "position": pl.String, "rule": pl.String}
    return Fleet(
        pl.DataFrame(rows, infer_schema_length=None),
        pl.DataFrame(planted, schema=keys, orient="row"),
        pl.DataFrame(spoilt, schema={"row": pl.Int64, "column": pl.String, "kind": pl.String}, orient="row"),
    )


def _vehicle(number: int, chance: random.Random) -> Iterator[dict[str, Any]]:
    kind = chance.choices(_KINDS, [each.share for each in _KINDS])[0]
    registered = _DAY - timedelta(days=int(chance.triangular(30, 5400, 1500)))
    made = _DAY - timedelta(days=int(chance.triangular(14, 1800, 700)))
    wear = chance.betavariate(2.5, 2.0)
    for axle, (fitment, mass) in enumerate(kind.axles, start=1):
        for side, place in _SEATS[fitment]:
            depth = 8.0 - 4.6 * min(1.0, max(0.0, wear + chance.gauss(0.05 * (axle == 1), 0.05)))
            yield {
                "vehicle_id": number,
                "vehicle_category": kind.category,
                "vehicle_gross_mass_kg": kind.gross_mass,
                "vehicle_design_speed_km_h": kind.design_speed,
                "vehicle_first_registration": registered,
                "vehicle_tyre_speed_shown": False,
                "vehicle_axle_count": len(kind.axles),
                "axle_number": axle,
                "axle_fitment": fitment,
                "axle_permitted_mass_kg": float(mass),
                "side": side,
                "place": place,
                "tyre_size": kind.size,
                "tyre_load_index": kind.load_index,
                "tyre_load_index_dual": kind.load_index_dual,
                "tyre_speed_symbol": kind.speed_symbol,
                "tyre_construction": "radial",
                "tyre_snowflake": True,
                "tyre_mud_snow": True,
                "tyre_studded": False,
                "tyre_manufactured": made,
                "tyre_tread_depth_main_grooves_mm": round(depth, 1),
                "tyre_pressure": float(round(chance.gauss(kind.pressure, kind.pressure * 0.03))),
            }


def _words(row: Mapping[str, Any]) -> str:
    place = "" if row["place"] == "single" else f" {row['place']}"
    return f"axle {row['axle_number']} {row['side']}{place}"


def _spoil(
    rows: list[dict[str, Any]], kept: set[int], chance: random.Random, share: float
) -> list[tuple[int, str, str]]:
    spoilt: list[tuple[int, str, str]] = []
    for number, row in enumerate(rows, start=1):
        if number in kept or chance.random() >= share:
            continue
        kind = chance.choice(MESS)
        column = {
            "missing": "tyre_tread_depth_main_grooves_mm",
            "typo": "tyre_construction",
            "unit": "tyre_pressure",
        }[kind]
        if kind == "missing":
            row[column] = None
        elif kind == "typo":
            row[column] = "raidal"
        else:
            row[column] = f"{row[column] / 100:g} bar"
        spoilt.append((number, column, kind))
    return spoilt
