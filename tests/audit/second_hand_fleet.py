"""Random vehicles as rows of a fleet frame, with readings on the limits of laws, beside them and missing."""

from __future__ import annotations

import random
from collections.abc import Iterator
from datetime import date, timedelta
from typing import Any

import polars as pl
from second_hand import CARRIES, SPEED
from second_hand_words import later

Row = dict[str, Any]

# Gross masses within each category, the limits of the laws among them.
MASSES = {
    "L": (300, 450),
    "M1": (1400, 2500, 3499, 3500, 3501, 4500, 4501, 4535, 4536, 4600, 7500, 7501),
    "M2": (3000, 3500, 3501, 4500, 4501, 4536, 5000),
    "M3": (5001, 7500, 18000),
    "N1": (1800, 2800, 3500),
    "N2": (3501, 4500, 4501, 4535, 4536, 7500, 12000),
    "N3": (12001, 18000, 26000),
    "O1": (500, 750),
    "O2": (751, 1500, 3500),
    "O3": (3501, 4500, 4535, 4536, 10000),
    "O4": (10001, 24000),
}
DEPTHS = (
    0.9, 0.99, 1.0, 1.4, 1.49, 1.5, 1.58, 1.5875, 1.59, 1.6, 1.61, 1.99, 2.0, 2.9, 2.99, 3.0, 3.1, 3.17,
    3.175, 3.18, 4.9, 4.99, 5.0, 5.9, 5.99, 6.0, 8.0,
)  # fmt: skip
SPEEDS = (25, 26, 30, 31, 39, 40, 41, 48, 49, 80, 90, 100, 160, 161, 190, 210, 240, 241, 300, 301)
INDICES = tuple(CARRIES)


def _near(chance: random.Random, days: tuple[date, ...], spread: int = 2) -> date:
    return chance.choice(days) + timedelta(days=chance.randint(-spread, spread))


def _week(row: Row, column: str, day: date) -> None:
    """A date by its week: the seven days from Monday on."""
    monday = day - timedelta(days=day.weekday())
    row[f"{column}_earliest"], row[f"{column}_latest"] = monday, monday + timedelta(days=6)


def _day(row: Row, column: str, day: date) -> None:
    row[f"{column}_earliest"] = row[f"{column}_latest"] = day


def _lose(chance: random.Random, row: Row, share: float) -> None:
    """Leave out a share of the readings; of a date both ends, as a table would."""
    for name in tuple(row):
        if name != "vehicle_id" and not name.endswith("_latest") and chance.random() < share:
            row[name] = None
            if name.endswith("_earliest"):
                row[name.replace("_earliest", "_latest")] = None


def _vehicle(number: int, chance: random.Random, on: date) -> Iterator[Row]:
    pick = chance.choice
    category = pick(tuple(MASSES))
    whole: Row = {
        "vehicle_id": number,
        "vehicle_category": category,
        "vehicle_gross_mass_kg": float(pick(MASSES[category])),
        "vehicle_design_speed_km_h": float(pick(SPEEDS)),
        "vehicle_passenger_seats": pick((9, 14, 15, 16, 17, 22)) if category in ("M2", "M3") else None,
        "vehicle_light_two_wheeler": chance.random() < 0.5 if category == "L" else False,
        "vehicle_permit_100": pick((True, False)),
        "vehicle_tyre_speed_shown": pick((True, False)),
        "vehicle_monitoring": pick(("none", "none", "direct", "indirect")),
        "event_winter_road": pick((True, True, False)),
    }
    registered = min(on, _near(chance, (date(2014, 11, 1), date(2022, 7, 6), date(2024, 7, 7))))
    (_week if chance.random() < 0.4 else _day)(whole, "vehicle_first_registration", registered)
    large = category in ("M2", "M3", "N1", "N2", "N3", "O3", "O4")
    count = 2 if category in ("L", "M1") else pick((1, 2)) if category[0] == "O" else pick((2, 2, 3, 4))
    steered = pick((1, 1, 2)) if count > 2 else 1
    dual = [large and number > steered and chance.random() < 0.4 for number in range(1, count + 1)]
    trike = category == "L" and chance.random() < 0.2
    whole["vehicle_twin_wheels"] = any(dual)
    whole["vehicle_axle_count"] = count
    _lose(chance, whole, 0.04)
    rows = []
    driven = pick((1, count, count))
    winter = chance.random() < 0.4
    build = pick(("radial", "radial", "radial", "diagonal", "bias_belted"))
    for axle in range(1, count + 1):
        fitment = "dual" if dual[axle - 1] else "single"
        if category == "L" and not (trike and axle == 2):
            fitment = "centre"
        around: Row = {
            "axle_number": axle,
            "axle_fitment": fitment,
            "axle_steered": axle <= steered if category[0] != "O" else False,
            "axle_driven": axle == driven if category[0] != "O" else False,
            "axle_permitted_mass_kg": None,
        }
        index = pick(INDICES)
        carried = 4 * CARRIES[index] if fitment == "dual" else 2 * CARRIES[index]
        around["axle_permitted_mass_kg"] = float(carried + pick((-1, 0, 0, 1)))
        for name in ("axle_fitment", "axle_steered", "axle_driven", "axle_permitted_mass_kg"):
            if chance.random() < 0.03:
                around[name] = None
        seats = {
            "centre": (("centre", "single"),),
            "single": (("left", "single"), ("right", "single")),
            "dual": (("left", "outer"), ("left", "inner"), ("right", "inner"), ("right", "outer")),
        }[fitment]
        rows += [
            {
                **whole,
                **around,
                "side": side,
                "place": place,
                **_wheel(chance, on, index, build, winter=winter),
            }
            for side, place in seats
        ]
    if len(rows) > 1 and chance.random() < 0.06:
        rows.pop(chance.randrange(len(rows)))
    yield from rows


def _wheel(chance: random.Random, on: date, index: int, build: str, *, winter: bool) -> Row:
    pick = chance.choice
    main = pick(DEPTHS[-6:] if winter else DEPTHS)
    row: Row = {
        "tyre_tread_depth_main_grooves_mm": main,
        "tyre_tread_depth_whole_tread_mm": min(main, pick(DEPTHS)),
        "tyre_load_index": pick((index, index, pick(INDICES))),
        "tyre_load_index_dual": pick((index, index, pick(INDICES))),
        "tyre_speed_symbol": pick(tuple(SPEED)),
        "tyre_construction": build if chance.random() < 0.93 else pick(("radial", "diagonal", "bias_belted")),
        "tyre_snowflake": pick((True, False, False)),
        "tyre_mud_snow": winter or pick((True, True, False)),
        "tyre_studded": pick((True, False)),
        "tyre_retread": pick((True, False, False)),
        "tyre_temporary_use": chance.random() < 0.03,
    }
    made = _near(chance, (later(on, -10), later(on, -6), date(2017, 12, 31), on), 9)
    (_day if chance.random() < 0.4 else _week)(row, "tyre_manufactured", min(made, on))
    _lose(chance, row, 0.05)
    return row


def fleet_of(seed: str, on: date, vehicles: int) -> pl.DataFrame:
    chance = random.Random(seed)
    rows = [row for number in range(vehicles) for row in _vehicle(number, chance, on)]
    return pl.DataFrame(rows, infer_schema_length=None)
