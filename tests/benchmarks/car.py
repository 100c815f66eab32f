"""The invented car, pack and rulebook that the benchmarks of one job share."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import Any

from stemlore.interchange import read_job
from stemlore.model import Job
from stemlore.rules import PackFolder, Rulebook, discover
from stemlore.rules._resolve import compile_rules, open_rules
from stemlore.rules.rule import Tie
from stemlore.rules.rulebook import Coverage, TieCoverage

__all__ = ["DAY", "PACK", "book_of_sixty", "document", "fresh", "job_of", "text_of"]

PACK = Path(__file__).parent / "pack"
DAY = date(2026, 6, 1)

_TYRE = {
    "load_index": 91,
    "speed_symbol": "V",
    "construction": "radial",
    "tread_pattern": "directional",
    "tread_depth_main_grooves_mm": 5.2,
    "tread_depth_whole_tread_mm": 4.1,
    "tread_depth_two_adjacent_grooves_mm": 5.0,
    "tread_depth_at_wear_bar_mm": 3.4,
    "pressure_kpa": 230.0,
    "tyre_temperature_deg_c": 24.0,
    "ambient_temperature_deg_c": 19.0,
}
_WHEEL = {
    "material": "aluminium",
    "rim_pieces": "single_piece",
    "valve_hole_mm": 11.5,
    "thickness_at_hole_mm": 3.5,
    "rated_load_kg": 690.0,
    "rated_pressure_kpa": 450.0,
    "valve_seat_depth_mm": 12.0,
}
_VALVE = {
    "kind": "clamp_in",
    "effective_length_mm": 33.0,
    "length_with_cap_mm": 44.0,
    "core": "short",
    "core_material": "nickel_plated",
    "cap": "sealing",
    "rated_pressure_kpa": 500.0,
    "rated_speed_km_h": 240.0,
}
_SENSOR = {
    "mount": "clamp_in",
    "frequency_mhz": 433.92,
    "battery_age_years": 4.0,
    "battery_distance_km": 62000.0,
    "angle_deg": 22.0,
}
_WORK = {
    "valve_nut_torque_nm": 4.0,
    "sensor_nut_torque_nm": 8.0,
    "sensor_screw_torque_nm": 3.0,
    "valve_core_torque_nm": 0.35,
    "wheel_fixing_torque_nm": 120.0,
    "seating_pressure_kpa": 300.0,
    "restraint": "none",
}
# what is wrong at each wheel, and what nobody read there
_FAULTS: tuple[dict[str, dict[str, Any]], ...] = (
    {"tyre": {"tread_depth_main_grooves_mm": 1.4, "pressure_kpa": 140.0}},
    {"valve": {"core_material": "brass", "length_with_cap_mm": 49.0}},
    {"work": {"wheel_fixing_torque_nm": 75.0}, "sensor": {"battery_age_years": 9.0}},
    {},
)
_GAPS: tuple[tuple[tuple[str, str], ...], ...] = (
    (("tyre", "tread_depth_at_wear_bar_mm"), ("work", "valve_core_torque_nm")),
    (("sensor", "battery_age_years"), ("sensor", "battery_distance_km")),
    (("work", "sensor_screw_torque_nm"),),
    (("wheel", "rated_load_kg"), ("wheel", "rated_pressure_kpa"), ("valve", "rated_speed_km_h")),
)


def document(*, gaps: bool) -> dict[str, Any]:
    """Return the job's document: a car with readings out of order, with or without some missing."""
    assemblies = []
    for position, faults, absent in zip(
        ("axle 1 left", "axle 1 right", "axle 2 left", "axle 2 right"), _FAULTS, _GAPS, strict=True
    ):
        parts = {"tyre": _TYRE, "wheel": _WHEEL, "valve": _VALVE, "sensor": _SENSOR, "work": _WORK}
        made: dict[str, Any] = {name: {**values, **faults.get(name, {})} for name, values in parts.items()}
        for part, name in absent if gaps else ():
            del made[part][name]
        assemblies.append({"position": position, **made})
    axles = [{"number": number, "fitment": "single"} for number in (1, 2)]
    return {
        "schema": "stemlore.job/1",
        "vehicle": {"category": "M1", "gross_mass_kg": 1900.0, "axles": axles},
        "assemblies": assemblies,
    }


def text_of(*, gaps: bool) -> str:
    """Return the document as text."""
    return json.dumps(document(gaps=gaps))


def job_of(*, gaps: bool) -> Job:
    """Return the job."""
    return read_job(text_of(gaps=gaps))


def fresh(job: Job) -> Job:
    """Return the job as if just read: what is worked out once a job is forgotten."""
    job.__dict__.pop("_layout", None)
    return job


def book_of_sixty() -> Rulebook:
    """Return a rulebook of the sixty rules of the invented pack and no others."""
    pack = PackFolder(PACK).load()
    opened = open_rules([(rule, pack) for rule in pack.rules.values()], [pack], DAY)
    ties = tuple(TieCoverage(tie=tie, place="XA", packs=("xa",), covered=True) for tie in Tie)
    return Rulebook(
        on=DAY,
        coverage=Coverage(ties),
        epoch=(DAY, DAY),
        decision="simple",
        packs={"xa": pack},
        compiled=compile_rules(opened),
        found=discover(),
    )
