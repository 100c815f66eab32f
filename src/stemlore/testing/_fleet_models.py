"""Models of a fleet in one place on a day: kinds with tyres, visits and sensors of which nothing fails."""

from __future__ import annotations

import random
from collections.abc import Iterator, Mapping
from datetime import date, timedelta
from functools import lru_cache
from typing import Any

import attrs

from stemlore.errors import StemloreError
from stemlore.model import FIELDS
from stemlore.notation import TyreSize
from stemlore.rules import Rulebook, rulebook
from stemlore.rules.trial import fields_read
from stemlore.tables import table
from stemlore.testing._fleet_jobs import Row, failing
from stemlore.testing._fleet_kinds import KINDS, Kind
from stemlore.testing._fleet_static import VISITS, outer_diameter, static_rows

__all__ = ["OLDEST", "VARIED", "Model", "Models", "filled", "models_of", "varied"]

_YEAR = 365.25
_LIFE = {True: 140_000, False: 45_000}
"""Kilometres to a tyre's end, of heavy vehicles and of others; so that treads go with age, no claim."""
_OLDEST_TYRE = 9.2  # years; above it an adviser of every place speaks up
OLDEST = {True: 11.0, False: 18.0}
"""Greatest age of a vehicle in years, of heavy vehicles and of others."""
_EARLY, _EARLY_FROM = ("US",), 2007
"""Where light vehicles had sensors years before others."""
_OTHER_BAND = ("US", "CA", "JP")
"""Places whose own vehicles' sensors send at 315 MHz; elsewhere the carrier is that of Europe."""

VARIED: Mapping[str, str] = {
    "registered": "vehicle.first_registration",
    "made": "vehicle.manufactured",
    "approved": "vehicle.type_approval",
    "gauge": "event.gauge_verified",
    "tyre": "tyre.manufactured",
    "main": "tyre.tread_depth_main_grooves",
    "adjacent": "tyre.tread_depth_two_adjacent_grooves",
    "whole": "tyre.tread_depth_whole_tread",
    "bar": "tyre.tread_depth_at_wear_bar",
    "pressure": "tyre.pressure",
    "lateral": "wheel.lateral_runout",
    "radial": "wheel.radial_runout",
    "battery": "sensor.battery_age",
    "sent": "sensor.battery_distance",
    "torque": "work.wheel_fixing_torque",
}
"""Readings that differ from vehicle to vehicle, with their fields."""


@attrs.frozen(eq=False)
class Model:
    """Vehicles that are alike but for :data:`VARIED`.

    Attributes
    ----------
    kind : Kind
        What it is.
    visit : str
        What it came for.
    winter, monitored : bool
        Whether tyres are marked for snow; whether it has sensors.
    floor : int
        Least tread depth at which nothing fails, in tenths of a mm.
    rows : list of dict
        Its wheels, with what is the same for all.
    """

    kind: Kind
    visit: str
    winter: bool
    monitored: bool
    floor: int
    rows: list[Row]


@attrs.frozen(eq=False)
class Models:
    """All models of a place and day."""

    book: Rulebook
    kinds: tuple[Kind, ...]
    shares: tuple[float, ...]
    by_what: Mapping[tuple[str, str, bool, bool], Model]
    place: str

    def draw(self, chance: random.Random, on: date) -> tuple[Model, float]:
        """Return a model and the age of the vehicle in years."""
        kind = chance.choices(self.kinds, self.shares)[0]
        visit = chance.choices(tuple(VISITS), tuple(VISITS.values()))[0]
        return self.of(kind, visit, winter=chance.random() < 0.5, on=on, age=_age(kind, chance))

    def of(self, kind: Kind, visit: str, *, winter: bool, on: date, age: float) -> tuple[Model, float]:
        """Return the model of a kind that fits the age; with the other tyres where these are not allowed."""
        monitored = _monitored(kind, self.place, on, age)
        found = self.by_what.get((kind.name, visit, winter, monitored))
        return found or self.by_what[kind.name, visit, not winter, monitored], age


def _age(kind: Kind, chance: random.Random) -> float:
    return chance.triangular(0.1, OLDEST[kind.heavy], 4.0)


def _monitored(kind: Kind, place: str, on: date, age: float) -> bool:
    since = kind.monitored_from
    if since is not None and place[:2] in _EARLY:
        since = min(since, _EARLY_FROM)
    return since is not None and _before(on, age).year >= since


def _before(on: date, years: float) -> date:
    return on - timedelta(days=int(years * _YEAR))


# --- what differs ------------------------------------------------------------------------------


def varied(model: Model, on: date, age: float, chance: random.Random) -> Iterator[tuple[Any, ...]]:
    """Yield for each wheel its values in the order of :data:`VARIED`.

    A tread goes with the distance since the tyre was fitted, and both sides of
    an axle go alike; no sensor or tyre fitted new is older than its vehicle.
    """
    kind = model.kind
    registered = _before(on, age)
    made = registered - timedelta(days=int(20 + 100 * chance.random()))
    approved = made - timedelta(days=int(300 + 900 * chance.random()))
    gauge = on - timedelta(days=int(10 + 600 * chance.random()))
    yearly = kind.distance[0] + (kind.distance[1] - kind.distance[0]) * chance.random()
    new, life = round(kind.new_tread * 10), _LIFE[kind.heavy]
    changed, battery, sent = model.visit == "tyre_change", None, None
    if model.monitored:
        years = min(age, 4.8 * chance.random())
        battery, sent = round(years, 1), float(round(min(years * yearly, 95_000)))
    loosened = model.visit in ("tyre_change", "seasonal_change")
    number, base, tyre, pressure = 0, 0.0, on, 0.0
    for row in model.rows:
        if row["axle_number"] != number:
            number = row["axle_number"]
            partial = row["axle_cold_pressure_partial_kpa"]
            pressure = partial + 2 + int(8 * chance.random())
            years = min(chance.betavariate(2.0, 1.6) * life / yearly, age, _OLDEST_TYRE - 0.6)
            years = 0.0 if changed else years
            base = new - (new - model.floor) * years * yearly / life
            tyre = on - timedelta(days=int(years * _YEAR + 15 + 180 * chance.random()))
        depth = min(new, max(model.floor, int(base) + (0 if changed else int(3 * chance.random()) - 1)))
        yield (
            registered,
            made,
            approved,
            gauge,
            tyre,
            depth / 10,
            (depth - 1) / 10,
            (depth - 3) / 10,
            max(0, depth - 16) / 10,
            float(pressure + int(4 * chance.random())),
            int(9 * chance.random()) / 10,
            int(9 * chance.random()) / 10,
            battery,
            sent,
            float(round(kind.torque[0] + (kind.torque[1] - kind.torque[0]) * chance.random()))
            if loosened
            else None,
        )


_COLUMNS = tuple(FIELDS[path].column for path in VARIED.values())


def filled(model: Model, on: date, age: float, chance: random.Random) -> list[Row]:
    """Return the whole rows of one vehicle."""
    return [
        {**row, **dict(zip(_COLUMNS, values, strict=True))}
        for row, values in zip(model.rows, varied(model, on, age, chance), strict=True)
    ]


# --- what is allowed -----------------------------------------------------------------------------


@lru_cache(maxsize=16)
def models_of(place: str, on: date) -> Models:
    """Return all models of which nothing fails in a place on a day.

    Raises
    ------
    StemloreError
        If there is none, or as :func:`stemlore.rules.rulebook` does.
    """
    book = rulebook(place, on=on)
    carrier = table("monitoring_radio").lookup("carrier", "Europe", column="value").value
    frequency = 315.0 if place[:2] in _OTHER_BAND else float(str(carrier))
    owned = sorted({path for each in book.rules.values() for path in fields_read(each) if path[:4] == "own."})
    found: dict[tuple[str, str, bool, bool], Model] = {}
    kinds = []
    for kind in KINDS:
        # the newest and the oldest show whether there are such with sensors and such without
        ages = {_monitored(kind, place, on, age): age for age in (0.1, OLDEST[kind.heavy])}
        whole = True
        for monitored, age in ages.items():
            floors: dict[bool, int] = {}
            for visit in VISITS:
                made = []
                for winter in (False, True):
                    rows = static_rows(
                        kind, winter=winter, monitored=monitored, visit=visit, frequency=frequency
                    )
                    for row in rows:
                        row |= {FIELDS[path].column: _own(path, kind, row) for path in owned}
                    bare = Model(kind, visit, winter, monitored, round(kind.new_tread * 10), rows)
                    model = _allowed(bare, on, age, floors.get(winter, 16), book)
                    if model is not None:
                        floors[winter] = model.floor
                        found[kind.name, visit, winter, monitored] = model
                    made.append(model)
                whole = whole and any(each is not None for each in made)
        if whole:
            kinds.append(kind)
    if not kinds:
        raise StemloreError(f"no invented vehicle has nothing that fails in {place} on {on}")
    return Models(book, tuple(kinds), tuple(each.share for each in kinds), found, place)


def _allowed(bare: Model, on: date, age: float, likely: int, book: Rulebook) -> Model | None:
    """Return the model with its least tread; None where something fails of it though the tread is new."""
    middle = filled(bare, on, age, random.Random(0))

    def fails(depth: int) -> bool:
        for row in middle:
            row["tyre_tread_depth_main_grooves_mm"] = depth / 10
            row["tyre_tread_depth_two_adjacent_grooves_mm"] = (depth - 1) / 10
            row["tyre_tread_depth_whole_tread_mm"] = (depth - 3) / 10
            row["tyre_tread_depth_at_wear_bar_mm"] = max(0, depth - 16) / 10
        return bool(failing(middle, book))

    if fails(bare.floor):
        return None
    low, high = 15, bare.floor
    while high - low > 1:
        half = likely if low < likely < high else (low + high) // 2
        low, high = (half, high) if fails(half) else (low, half)
        likely = likely - 1 if high == likely else 0
    return attrs.evolve(bare, floor=high)


def _own(path: str, kind: Kind, row: Row) -> Any:
    """Return what a pack's own field is on a vehicle of which nothing fails."""
    light = kind.category in ("N1", "M2") or (kind.category == "N2" and kind.gross_mass <= 4536)
    known: Mapping[str, Any] = {
        "own.us.commercial": kind.heavy and kind.gross_mass > 4536,
        "own.us.light_truck": light,
        "own.us_mi.light_truck": light,
        "own.us_wa.light_truck": light,
        "own.us.rim_compatible": True,
        "own.ca_bc.tread_accepted": True,
        "own.gb.car_tyre": kind.category in ("M1", "O1", "O2"),
        "own.gb.load_variation": 100.0,
        "own.gb.section_width": TyreSize.parse(row["tyre_size"]).width_mm,
        "own.gb.service_description": True,
        "own.gb.front_axle": row["axle_number"] == 1 and kind.motor,
        "own.fr.pattern_visible": True,
        "own.fr.points_below": 0.0,
        "own.fr.winter_steered_wheels": 2.0,
        "own.fr.winter_driven_wheels": 2.0,
        "own.it.pattern_visible": True,
        "own.es.approved_diameter": outer_diameter(row["tyre_size"]),
        "own.nz.winter_tyre": row["tyre_snowflake"],
    }
    return known[path] if path in known else False if FIELDS[path].kind == "flag" else None
