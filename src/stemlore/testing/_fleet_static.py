"""All readings of an invented vehicle that are the same for every one of its kind."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, Literal

from stemlore.model import FIELDS
from stemlore.notation import TyreSize
from stemlore.tables import table
from stemlore.testing._fleet_jobs import Row
from stemlore.testing._fleet_kinds import FleetAxle, Kind

__all__ = ["VISITS", "Visit", "outer_diameter", "static_rows"]

Visit = Literal["inspection", "pressure_check", "seasonal_change", "tyre_change"]
VISITS: Mapping[Visit, float] = {
    "inspection": 0.55,
    "pressure_check": 0.15,
    "seasonal_change": 0.15,
    "tyre_change": 0.15,
}
"""What a vehicle came for, with the share of vehicles."""


def outer_diameter(size: str) -> float:
    """Return the outer diameter that a size tells, mm."""
    made = TyreSize.parse(size)
    width, ratio, rim = made.width_mm, made.aspect_ratio, made.rim_diameter_code
    if width is None or ratio is None or rim is None:
        raise ValueError(f"{size} does not tell its diameter")
    return round(25.4 * rim + 2 * width * ratio / 100, 1)


def static_rows(kind: Kind, *, winter: bool, monitored: bool, visit: Visit, frequency: float) -> list[Row]:
    """Return the rows of a vehicle with all that is the same for each of a kind.

    Parameters
    ----------
    kind : Kind
        Which.
    winter : bool
        Whether its tyres are marked for snow.
    monitored : bool
        Whether it has sensors.
    visit : str
        What it came for.
    frequency : float
        At which sensors send, MHz.
    """
    about = _vehicle(kind, monitored, visit)
    rows = []
    for number, side, place in kind.seated:
        axle = kind.axles[number - 1]
        told = {
            **about,
            **dict(_tyre(kind, axle, winter)),
            **dict(_wheel(kind, axle, monitored, frequency)),
            **dict(_work(kind, visit, monitored)),
        }
        keys = {
            "axle_number": number, "side": side, "place": place, "vehicle_axle_count": len(kind.axles),
        }  # fmt: skip
        rows.append({**keys, **{FIELDS[path].column: value for path, value in told.items()}})
    return rows


def _vehicle(kind: Kind, monitored: bool, visit: Visit) -> dict[str, Any]:
    changed = visit in ("tyre_change", "seasonal_change")
    return {
        "vehicle.category": kind.category,
        "vehicle.gross_mass": float(kind.gross_mass),
        "vehicle.design_speed": float(kind.design_speed),
        "vehicle.monitoring": "direct" if monitored else "none",
        "vehicle.monitoring_works": True if monitored else None,
        "vehicle.monitoring_lamp": "goes_out" if monitored else None,
        "vehicle.off_road": False,
        "vehicle.passenger_seats": kind.seats,
        "vehicle.permit_100": False,
        "vehicle.tyre_speed_shown": False,
        "vehicle.stud_sign": False,
        "vehicle.chains_aboard": 2 if kind.heavy and kind.motor else 0,
        "vehicle.light_two_wheeler": False,
        "vehicle.twin_wheels": any(axle.fitment == "dual" for axle in kind.axles),
        "event.kind": visit,
        "event.relearn": ("done" if changed and monitored else "not_needed"),
        "event.retorque_told": changed,
        "event.winter_road": False,
        "event.gauge_error": 5.0 if not kind.heavy else 10.0,
        "event.pressure_recorded": True,
    }


def _tyre(kind: Kind, axle: FleetAxle, winter: bool) -> Iterator[tuple[str, Any]]:
    index, dual, symbol = axle.service
    yield from {
        "axle.fitment": axle.fitment,
        "axle.permitted_mass": float(axle.mass),
        "axle.steered": axle.steered,
        "axle.driven": axle.driven,
        "axle.cold_pressure_partial": float(axle.pressure[0]),
        "axle.cold_pressure_full": float(axle.pressure[1]),
        "tyre.size": axle.size,
        "tyre.load_index": index,
        "tyre.load_index_dual": dual,
        "tyre.speed_symbol": symbol,
        "tyre.construction": "radial",
        "tyre.mud_snow": winter,
        "tyre.snowflake": winter,
        "tyre.studded": False,
        "tyre.retread": False,
        "tyre.run_flat": False,
        "tyre.tread_pattern": "directional" if winter or kind.category == "L" else "asymmetric",
        "tyre.make": "A",
        "tyre.pattern_name": "winter" if winter else "road",
        "tyre.approval_mark": True,
        "tyre.date_code_legible": True,
        "tyre.highway_barred": False,
        "tyre.temporary_use": False,
        "tyre.professional_off_road": False,
        "tyre.regrooved": False,
        "tyre.regroovable": kind.heavy and kind.category != "M2",
        "tyre.part_worn_mark": False,
        "tyre.outer_diameter": outer_diameter(axle.size),
        "tyre.sidewall_pressure": float(axle.pressure[1] + 60),
        "maker.cold_pressure": float(axle.pressure[0]),
    }.items()


def _wheel(kind: Kind, axle: FleetAxle, monitored: bool, frequency: float) -> Iterator[tuple[str, Any]]:
    valve = kind.valve if not monitored or kind.valve == "truck_clamp_in" else "clamp_in"
    name = {"snap_in": "TR413", "high_pressure_snap_in": "TR600HP"}.get(valve)
    listed = table("tubeless_valves").lookup(name, column="max_cold_pressure_kpa").row if name else None
    truck = valve == "truck_clamp_in"
    yield from {
        "condition.cord_exposed": False, "condition.bulge": False,
        "condition.cut_to_cord": False, "condition.cut_length": 0.0, "condition.rubbing": "nothing",
        "condition.touches_twin": False if axle.fitment == "dual" else None,
        "condition.mounted_as_marked": True, "condition.fixings_missing": 0,
        "condition.wheel_cracked": False, "condition.wheel_distorted": False,
        "condition.flange_wear": 0.2, "condition.valve_damaged": False, "condition.valve_leaks": False,
        "condition.valve_reachable": True,
        "valve.kind": valve,
        "valve.table_code": name,
        "valve.core": "short" if monitored else "long",
        "valve.core_material": "nickel_plated" if valve == "clamp_in" else "brass",
        "valve.cap": "sealing",
        "valve.extension": False,
        "valve.for_hole": 9.7 if truck else 11.5,
        "valve.bending_limited": True if kind.valve == "clamp_in" else None,
        "valve.length_with_cap": 70.0 if truck else 34.0,
        "valve.rated_pressure": _figure(listed, "max_cold_pressure_kpa", 1400.0),
        "valve.rated_speed": _figure(listed, "max_speed_km_h", None),
        "valve.for_thickness": _figure(listed, "max_rim_thickness_mm", None),
        "wheel.material": "steel" if kind.valve != "clamp_in" else "aluminium",
        "wheel.rim": axle.rim,
        "wheel.rim_pieces": "single_piece",
        "wheel.valve_hole": 9.7 if truck else 11.5,
        "wheel.thickness_at_hole": 8.0 if truck else 2.8,
        "wheel.valve_seat_depth": 90.0 if truck else 40.0,
        "wheel.rated_load": float(round(axle.mass / (4 if axle.fitment == "dual" else 2) * 1.1)),
        "wheel.rated_pressure": float(axle.pressure[1] + 100),
        "sensor.fitted": monitored,
        "sensor.mount": None if not monitored else "band" if truck else "clamp_in",
        "sensor.frequency": frequency if monitored else None,
    }.items()  # fmt: skip


def _figure(row: Mapping[str, Any] | None, column: str, otherwise: float | None) -> float | None:
    if row is None:
        return otherwise
    value = row[column]
    return otherwise if value is None else float(value)


def _work(kind: Kind, visit: Visit, monitored: bool) -> Iterator[tuple[str, Any]]:
    renewed = visit == "tyre_change"
    for name in (
        "tyre_renewed", "tyre_demounted", "valve_renewed", "core_renewed", "seals_renewed", "nut_renewed",
        "cap_renewed", "nut_loosened",
    ):  # fmt: skip
        yield f"work.{name}", renewed
    yield "work.wheel_removed", visit in ("tyre_change", "seasonal_change")
    yield "work.part_worn_supplied", False
    yield "maker.wheel_fixing_torque_min", kind.torque[0]
    yield "maker.wheel_fixing_torque_max", kind.torque[1]
    if visit in ("tyre_change", "seasonal_change"):
        yield "work.wheel_fixing_torque", sum(kind.torque) / 2
    if not renewed:
        return
    yield "work.leak_tested", True
    nut = (4.0, 6.5) if kind.valve == "truck_clamp_in" else (4.0, 6.0)
    yield from {
        "maker.valve_nut_torque_min": nut[0], "maker.valve_nut_torque_max": nut[1],
        "work.valve_nut_torque": sum(nut) / 2,
        "maker.valve_core_torque_min": 0.17, "maker.valve_core_torque_max": 0.34,
        "work.valve_core_torque": 0.25,
        "maker.seating_pressure_max": 275.0, "work.seating_pressure": 250.0,
        "work.remote_inflation": kind.heavy,
        "work.restraint": "cage" if kind.heavy else "none",
        "work.restraint_rating": 1600.0 if kind.heavy else None,
    }.items()  # fmt: skip
    if monitored:
        yield "maker.sensor_nut_torque_min", 3.5  # a fixed-angle sensor of the table of torques
        yield "maker.sensor_nut_torque_max", 4.5
        yield "work.sensor_nut_torque", 4.0
