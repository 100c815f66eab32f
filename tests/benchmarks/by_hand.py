"""The sixty comparisons as a good programmer would write them by hand, without a library.

Outcomes are True, False or None (not known), in the order of the rulebook's
rules; where a rule does not apply it is True. The numbers are those of the
invented pack beside this file.
"""

from __future__ import annotations

from typing import Any

from stemlore.model import Job

__all__ = ["booleans", "booleans_if_complete"]

_FAST = frozenset(("T", "U", "H", "V", "W", "Y"))
Row = tuple[bool | None, ...]


def _unless(applies: bool | None) -> bool | None:
    """Return what stands where a rule does not apply, or where that is not known."""
    return None if applies is None else True


def booleans(job: Job) -> list[Row]:
    """Return sixty outcomes for each wheel; what was not measured is None."""
    category, mass = job.vehicle.category, job.vehicle.gross_mass
    light = None if category is None else category in ("M1", "N1")
    lorry = None if category is None else category in ("N2", "N3")
    heavy = None if mass is None else mass > 3500.0
    if light is False or heavy is True:
        car: bool | None = False
    else:
        car = None if light is None or heavy is None else True
    not_light, not_lorry, not_heavy, not_car = _unless(light), _unless(lorry), _unless(heavy), _unless(car)
    out: list[Row] = []
    for assembly in job.assemblies:
        tyre, wheel, valve = assembly.tyre, assembly.wheel, assembly.valve
        sensor, work = assembly.sensor, assembly.work
        depth = tyre.tread_depth_main_grooves
        whole = tyre.tread_depth_whole_tread
        adjacent = tyre.tread_depth_two_adjacent_grooves
        bar = tyre.tread_depth_at_wear_bar
        pressure = tyre.pressure
        load_index = tyre.load_index
        ambient = tyre.ambient_temperature
        warmth = tyre.tyre_temperature
        construction = tyre.construction
        speed_symbol = tyre.speed_symbol
        tread_pattern = tyre.tread_pattern
        wheel_load = wheel.rated_load
        wheel_pressure = wheel.rated_pressure
        thickness = wheel.thickness_at_hole
        seat = wheel.valve_seat_depth
        hole = wheel.valve_hole
        material = wheel.material
        rim_pieces = wheel.rim_pieces
        length = valve.effective_length
        valve_pressure = valve.rated_pressure
        speed = valve.rated_speed
        capped = valve.length_with_cap
        valve_kind = valve.kind
        core = valve.core
        core_material = valve.core_material
        cap = valve.cap
        age = sensor.battery_age
        distance = sensor.battery_distance
        angle = sensor.angle
        frequency = sensor.frequency
        mount = sensor.mount
        fixing = work.wheel_fixing_torque
        seating = work.seating_pressure
        screw = work.sensor_screw_torque
        nut = work.valve_nut_torque
        sensor_nut = work.sensor_nut_torque
        core_torque = work.valve_core_torque
        restraint = work.restraint
        out.append(
            (
                None if pressure is None else pressure <= 1000.0,
                (None if construction is None else construction in ("radial", "bias_belted"))
                if light
                else not_light,
                (None if pressure is None else pressure <= 350.0) if car else not_car,
                (None if depth is None else depth >= 1.6) if car else not_car,
                (None if depth is None else depth >= 2.0) if lorry else not_lorry,
                (None if whole is None else whole >= 1.0) if light else not_light,
                (None if load_index is None else load_index >= 70) if car else not_car,
                (None if load_index is None else load_index >= 120) if lorry else not_lorry,
                (None if pressure is None else pressure >= 150.0) if light else not_light,
                (None if pressure is None else pressure >= 500.0) if heavy else not_heavy,
                (None if speed_symbol is None else speed_symbol in _FAST) if car else not_car,
                (None if valve_pressure is None else valve_pressure >= 450.0) if light else not_light,
                (None if valve_pressure is None else valve_pressure >= 1000.0) if heavy else not_heavy,
                (None if speed is None else speed >= 210.0) if car else not_car,
                (
                    None
                    if valve_kind is None
                    else valve_kind in ("snap_in", "high_pressure_snap_in", "clamp_in")
                )
                if car
                else not_car,
                (None if valve_kind is None else valve_kind in ("truck_clamp_in", "tube_stem"))
                if lorry
                else not_lorry,
                (None if hole is None else 11.3 <= hole <= 11.7) if car else not_car,
                None if hole is None else 8.0 <= hole <= 16.0,
                (None if hole is None else 9.6 <= hole <= 15.9) if lorry else not_lorry,
                (None if wheel_load is None else wheel_load >= 450.0) if light else not_light,
                (None if wheel_load is None else wheel_load >= 2000.0) if heavy else not_heavy,
                (None if rim_pieces is None else rim_pieces == "single_piece") if car else not_car,
                (None if fixing is None else 90.0 <= fixing <= 160.0) if car else not_car,
                (None if fixing is None else 300.0 <= fixing <= 650.0) if lorry else not_lorry,
                (None if seating is None else seating <= 330.0) if car else not_car,
                None if seating is None else seating <= 800.0,
                (None if fixing is None else fixing >= 80.0) if light else not_light,
                (None if restraint is None else restraint in ("cage", "bolted_on_vehicle"))
                if heavy
                else not_heavy,
                (None if frequency is None else 433.0 <= frequency <= 435.0) if light else not_light,
                (None if mount is None else mount in ("snap_in", "clamp_in")) if light else not_light,
                None if warmth is None else warmth <= 80.0,
                None if adjacent is None else adjacent >= 1.6,
                None if cap is None else cap in ("dust", "sealing"),
                None if core is None else core == "short",
                (None if capped is None else capped <= 48.5) if light else not_light,
                (None if length is None else length <= 120.0) if lorry else not_lorry,
                None if length is None else length >= 25.0,
                (None if material is None else material in ("steel", "aluminium")) if light else not_light,
                (None if thickness is None else thickness <= 6.0) if light else not_light,
                None if thickness is None else thickness >= 1.8,
                None if wheel_pressure is None else wheel_pressure >= 400.0,
                None if core_torque is None else 0.2 <= core_torque <= 0.6,
                (None if nut is None else nut <= 15.0) if heavy else not_heavy,
                (None if screw is None else screw <= 4.0) if light else not_light,
                (None if nut is None else 3.0 <= nut <= 8.0) if light else not_light,
                None if screw is None else 1.0 <= screw <= 6.0,
                (None if sensor_nut is None else 3.5 <= sensor_nut <= 9.0) if light else not_light,
                (None if angle is None else angle <= 30.0) if light else not_light,
                None if age is None else age <= 8.0,
                None if distance is None else distance <= 160000.0,
                (None if depth is None else depth >= 3.0) if light else not_light,
                (None if pressure is None else 200.0 <= pressure <= 300.0) if light else not_light,
                None if ambient is None else ambient <= 50.0,
                (None if depth is None else depth <= 12.0) if light else not_light,
                None if ambient is None else ambient >= -40.0,
                (None if bar is None else bar >= 0.2) if light else not_light,
                None if tread_pattern is None else tread_pattern in ("symmetric", "directional"),
                None if warmth is None else -20.0 <= warmth <= 60.0,
                (None if core_material is None else core_material == "nickel_plated") if light else not_light,
                None if seat is None else seat <= 18.0,
            )
        )
    return out


def booleans_if_complete(job: Any) -> list[Row]:
    """Return the same without a thought for what is missing: raises where it is."""
    category, mass = job.vehicle.category, job.vehicle.gross_mass
    light = category in ("M1", "N1")
    lorry = category in ("N2", "N3")
    heavy = mass > 3500.0
    car = light and not heavy
    out: list[Row] = []
    for assembly in job.assemblies:
        tyre, wheel, valve = assembly.tyre, assembly.wheel, assembly.valve
        sensor, work = assembly.sensor, assembly.work
        depth = tyre.tread_depth_main_grooves
        whole = tyre.tread_depth_whole_tread
        adjacent = tyre.tread_depth_two_adjacent_grooves
        bar = tyre.tread_depth_at_wear_bar
        pressure = tyre.pressure
        load_index = tyre.load_index
        ambient = tyre.ambient_temperature
        warmth = tyre.tyre_temperature
        construction = tyre.construction
        speed_symbol = tyre.speed_symbol
        tread_pattern = tyre.tread_pattern
        wheel_load = wheel.rated_load
        wheel_pressure = wheel.rated_pressure
        thickness = wheel.thickness_at_hole
        seat = wheel.valve_seat_depth
        hole = wheel.valve_hole
        material = wheel.material
        rim_pieces = wheel.rim_pieces
        length = valve.effective_length
        valve_pressure = valve.rated_pressure
        speed = valve.rated_speed
        capped = valve.length_with_cap
        valve_kind = valve.kind
        core = valve.core
        core_material = valve.core_material
        cap = valve.cap
        age = sensor.battery_age
        distance = sensor.battery_distance
        angle = sensor.angle
        frequency = sensor.frequency
        mount = sensor.mount
        fixing = work.wheel_fixing_torque
        seating = work.seating_pressure
        screw = work.sensor_screw_torque
        nut = work.valve_nut_torque
        sensor_nut = work.sensor_nut_torque
        core_torque = work.valve_core_torque
        restraint = work.restraint
        out.append(
            (
                pressure <= 1000.0,
                not light or construction in ("radial", "bias_belted"),
                not car or pressure <= 350.0,
                not car or depth >= 1.6,
                not lorry or depth >= 2.0,
                not light or whole >= 1.0,
                not car or load_index >= 70,
                not lorry or load_index >= 120,
                not light or pressure >= 150.0,
                not heavy or pressure >= 500.0,
                not car or speed_symbol in _FAST,
                not light or valve_pressure >= 450.0,
                not heavy or valve_pressure >= 1000.0,
                not car or speed >= 210.0,
                not car or valve_kind in ("snap_in", "high_pressure_snap_in", "clamp_in"),
                not lorry or valve_kind in ("truck_clamp_in", "tube_stem"),
                not car or 11.3 <= hole <= 11.7,
                8.0 <= hole <= 16.0,
                not lorry or 9.6 <= hole <= 15.9,
                not light or wheel_load >= 450.0,
                not heavy or wheel_load >= 2000.0,
                not car or rim_pieces == "single_piece",
                not car or 90.0 <= fixing <= 160.0,
                not lorry or 300.0 <= fixing <= 650.0,
                not car or seating <= 330.0,
                seating <= 800.0,
                not light or fixing >= 80.0,
                not heavy or restraint in ("cage", "bolted_on_vehicle"),
                not light or 433.0 <= frequency <= 435.0,
                not light or mount in ("snap_in", "clamp_in"),
                warmth <= 80.0,
                adjacent >= 1.6,
                cap in ("dust", "sealing"),
                core == "short",
                not light or capped <= 48.5,
                not lorry or length <= 120.0,
                length >= 25.0,
                not light or material in ("steel", "aluminium"),
                not light or thickness <= 6.0,
                thickness >= 1.8,
                wheel_pressure >= 400.0,
                0.2 <= core_torque <= 0.6,
                not heavy or nut <= 15.0,
                not light or screw <= 4.0,
                not light or 3.0 <= nut <= 8.0,
                1.0 <= screw <= 6.0,
                not light or 3.5 <= sensor_nut <= 9.0,
                not light or angle <= 30.0,
                age <= 8.0,
                distance <= 160000.0,
                not light or depth >= 3.0,
                not light or 200.0 <= pressure <= 300.0,
                ambient <= 50.0,
                not light or depth <= 12.0,
                ambient >= -40.0,
                not light or bar >= 0.2,
                tread_pattern in ("symmetric", "directional"),
                -20.0 <= warmth <= 60.0,
                not light or core_material == "nickel_plated",
                seat <= 18.0,
            )
        )
    return out
