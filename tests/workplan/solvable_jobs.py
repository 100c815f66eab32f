"""Jobs for which a complete plan exists, with a catalogue that holds a part that fits."""

from __future__ import annotations

import json
from typing import Any

from hypothesis import strategies as st

from stemlore.interchange import read_job
from stemlore.model import Job

__all__ = ["read", "solvable"]


@st.composite
def solvable(draw: st.DrawFn) -> tuple[dict[str, Any], list[dict[str, str]]]:
    """Draw a car, van or truck of which all is read, and a catalogue with a valve that fits it."""
    category, truck = draw(st.sampled_from([("M1", False), ("N1", False), ("N3", True)]))
    hole = "15.9 mm" if truck else draw(st.sampled_from(["11.5 mm", "15.9 mm"]))
    metal = truck or draw(st.booleans())
    speed = draw(st.integers(90, 120)) if truck else draw(st.integers(130, 260 if metal else 205))
    cold = [draw(st.integers(600, 850) if truck else st.integers(200, 420)) for _ in (1, 2)]
    partial = [each - draw(st.integers(0, 40)) for each in cold]
    thickness = draw(st.integers(15, 39)) / 10
    seat = draw(st.integers(38, 60))
    material = draw(st.sampled_from(["steel", "aluminium"]))
    kind = "truck_clamp_in" if truck else "clamp_in" if metal else "snap_in"
    direct = not truck and draw(st.booleans())
    axles = [
        {
            "number": number,
            "fitment": "dual" if truck and number == 2 else "single",
            "steered": number == 1,
            "driven": number == 2,
            "cold_pressure_full": f"{cold[number - 1]} kPa",
            "cold_pressure_partial": f"{partial[number - 1]} kPa",
        }
        for number in (1, 2)
    ]
    behind = ("left outer", "left inner", "right inner", "right outer") if truck else ("left", "right")
    seats = ["axle 1 left", "axle 1 right", *(f"axle 2 {at}" for at in behind)]
    # with a sensor the stem is the sensor's: its maker's figures are given
    sensor: dict[str, Any] = {"fitted": direct}
    if direct:
        mount = "clamp_in" if metal else "snap_in"
        sensor |= {"mount": mount, "battery_age": "2 year", "battery_distance": "20000 km"}
    wheel = {
        "material": material,
        "rim_pieces": "single_piece",
        "valve_hole": hole,
        "thickness_at_hole": f"{thickness} mm",
        "valve_seat_depth": f"{seat} mm",
    }
    old = {"kind": kind, "cap": "dust", "extension": False, "core_material": "nickel_plated"}
    if direct:  # the stem stays, so what it is made for is known
        old |= {
            "for_hole": hole,
            "for_thickness": "5 mm",
            "length_with_cap": "37 mm",
            "rated_pressure": "460 kPa",
        }
    document: dict[str, Any] = {
        "schema": "stemlore.job/1",
        "vehicle": {
            "category": category,
            "design_speed": f"{speed} km/h",
            "gross_mass": "18000 kg" if truck else "2500 kg",
            "monitoring": "direct" if direct else draw(st.sampled_from(["none", "indirect"])),
            "axles": axles,
        },
        "assemblies": [
            {
                "position": at,
                "tyre": {
                    "size": "315/80 R22.5 156/150L" if truck else "205/55 R16 94W",
                    "sidewall_pressure": "900 kPa" if truck else "450 kPa",
                },
                "wheel": wheel,
                "valve": old,
                "sensor": sensor,
            }
            for at in seats
        ],
        "event": {"on": "2026-11-25", "kind": "tyre_change"},
        "makers": [
            {
                "source": "handbook",
                "issued_by": "vehicle_maker",
                "wheel_fixing_torque_min": "110 N.m",
                "wheel_fixing_torque_max": "120 N.m",
                "sensor_nut_torque_min": "7 N.m",
                "sensor_nut_torque_max": "8 N.m",
                "sensor_screw_torque_min": "1.2 N.m",
                "sensor_screw_torque_max": "1.5 N.m",
            }
        ],
    }
    rating = max(cold) + draw(st.integers(0, 60))
    fitting = {
        "code": "fits",
        "kind": kind,
        "for_hole": hole,
        "for_thickness": f"{thickness + draw(st.integers(0, 9)) / 10} mm",
        "length_with_cap": f"{seat - draw(st.integers(0, 8))} mm",
        "rated_pressure": f"{rating} kPa",
    }
    wrong = {
        "too weak": {"rated_pressure": f"{min(cold) - 1} kPa"},
        "other hole": {"for_hole": "11.5 mm" if hole == "15.9 mm" else "15.9 mm"},
        "too long": {"length_with_cap": f"{seat + 1} mm"},
    }
    rows = [fitting, *({**fitting, **change_, "code": code} for code, change_ in wrong.items())]
    return document, draw(st.permutations(rows))


def read(document: dict[str, Any]) -> Job:
    return read_job(json.dumps(document))
