"""The worked plans beside those that the code makes, and what may differ between them."""

from __future__ import annotations

import tomllib
from functools import cache
from pathlib import Path
from typing import Any

from stemlore import rulebook
from stemlore.interchange import read_job
from stemlore.model import Job, Position
from stemlore.units import unit
from stemlore.workplan import Choice, WorkPlan, plan_work

WORKED = Path(__file__).parent / "worked"
NAMES = sorted(file.stem for file in WORKED.glob("*.toml"))
NEWTON_METRE, KPA = unit("N.m"), unit("kPa")
LENGTH = "valve.length_with_cap"

NO_PART = "a row of the table that has neither hole, length nor rating is no part, and no candidate"
HAS_TUBE = "the tyre has a tube: a tubeless valve is no candidate and no rule is asked"
HAS_SENSOR = "the wheel has a sensor: a valve that bears none is no candidate and no rule is asked"
WHY_SNAP_IN = (
    "the foreman bears in mind the sun on a standing trailer; by all rules the valve that was there fits"
)
WHY_SIZE = "rules read what follows from the size, and ask for that"

ACCEPTED: dict[tuple[str, str, str], str] = {
    ("heavy_truck_dual", "fits_if", "truck tubeless valve, aluminium wheel"): NO_PART,
    ("heavy_truck_dual", "fits_if", "truck tubeless valve, steel wheel"): NO_PART,
    ("heavy_truck_dual", "missing", "wheel.thickness_at_hole"): (
        "no rule asks for the thickness under a truck's valve, and all others fail by pressure"
    ),
    ("caravan", "first", "TR600HP"): WHY_SNAP_IN,
    ("caravan", "caution", "no extension on a high-pressure snap-in"): WHY_SNAP_IN,
    **{("classic_with_tubes", "excluded", code): HAS_TUBE for code in ("TR415", "TR418", "TR602HP")},
    **{
        ("direct_clamp_in_and_snap_in", "excluded", code): HAS_SENSOR
        for code in ("TR423", "TR415", "TR801HP")
    },
    ("motorcycle", "excluded", "TR13"): "a tube's valve is no candidate for a tyre without a tube",
    ("motorcycle", "missing", "valve.rated_pressure"): (
        "a metal valve whose rating is not told is judged by the rating of its kind"
    ),
    ("incomplete_job", "missing", "tyre.size"): WHY_SIZE,
}
"""Differences that stay: worked plan, line, word, and why."""

TWO_STEPS = {"lubricate_valve": "fit_valve"}
"""What the plan does as a step of its own and the foreman within another: he wets the valve as he
fits it; written apart it cannot be left for afterwards."""
SOONER = {"deflate": "deflate_on_vehicle"}
"""What the plan does sooner than the foreman wrote it down: of large wheels, or those that may be
large, and of twins the air is out before a fixing is loosened. He wrote it among his cautions; as a
step it has its place."""
STRICT_FIRST = ("heavy_truck_dual",)
"""Where the plan does so."""

used: set[tuple[str, str, str]] = set()


def accepted(name: str, line: str, word: str) -> bool:
    key = (name, line, word)
    if key in ACCEPTED:
        used.add(key)
    return key in ACCEPTED


@cache
def worked(name: str) -> tuple[dict[str, Any], Job, WorkPlan]:
    by_hand = tomllib.loads((WORKED / f"{name}.toml").read_text("utf-8"))
    job = read_job(WORKED / f"{name}.json")
    return by_hand, job, plan_work(job, rulebook(by_hand["place"], on=by_hand["on"]))


def wheels_of(name: str) -> list[tuple[dict[str, Any], Position]]:
    out = []
    for assembly in worked(name)[0]["assembly"]:
        texts = assembly["positions"] if "positions" in assembly else [assembly["position"]]
        out += [(assembly, Position.parse(text)) for text in texts]
    return out


def choice_at(plan: WorkPlan, position: Position) -> Choice | None:
    return next((each for each in plan.choices if position in each.positions), None)


def step_positions(plan: WorkPlan, key: str) -> tuple[Position, ...] | None:
    return next((each.positions for each in plan.steps if each.key == key), None)


CAUTIONS: dict[str, tuple[str, str]] = {
    "makers first": ("notice", "makers of vehicle, wheel, tyre"),
    "trained staff": ("notice", "trained, licensed staff"),
    "support the vehicle": ("remove_wheel", "never work on a vehicle that stands on a jack alone"),
    "air out first": ("deflate", "all air out"),
    "core flies out": ("deflate", "flies out"),
    "stand clear": ("seat_beads", "Stand clear"),
    "seating ceiling": ("seat_beads", "ceiling"),
    "no heat or blows": ("seat_beads", "Never weld, heat or strike"),
    "look inside before filling": ("inspect_tyre", "too low may burst when it is filled"),
    "re-torque": ("retorque_advice", "works loose"),
    "no extension on a high-pressure snap-in": ("fit_valve", "No extension on a high-pressure snap-in"),
    "system reset after pressures are set": ("relearn", "reset it"),
    "relearn after pressures are set": ("relearn", "after all pressures are set"),
    "valve beyond its rating comes out": ("set_pressure", "beyond its rating may come out"),
    "valve beyond its speed": ("fit_valve", "No snap-in valve at this vehicle's speed"),
    "nut on a deflated tyre only": ("torque_valve_nut", "deflated tyre only"),
    "direction of rotation": ("mount_tyre", "direction of travel"),
    "warm tyre reads more": ("set_pressure", "Warm tyres read high"),
    "chock and steady the trailer": ("remove_wheel", "Chock the trailer"),
    "stand the machine upright and lashed": ("remove_wheel", "upright and lash"),
    "sealing cap": ("fit_cap", "sealing cap"),
    "restraint": ("restrain", "Nobody stands in the way"),
    "restraint rating": ("restrain", "rated"),
    "remote inflation": ("seat_beads", "far end of the hose"),
    "air out on the axle when it ran low": ("remove_wheel", "on the axle"),
    "both twins down before one is loosened": ("remove_wheel", "both twins"),
    "twin valves opposite": ("fit_valve", "opposite each other"),
    "mount from the short side": ("mount_tyre", "short side"),
    "rim and tyre of one diameter": ("mount_tyre", "of one diameter"),
    "bead breaker away from the sensor": ("break_beads", "away from the sensor"),
    "torque of this sensor only": ("torque_valve_nut", "this very sensor"),
    "no power tool on the sensor nut": ("torque_valve_nut", "No power tool"),
    "nickel-plated core": ("fit_core", "nickel-plated"),
    "pinched tube": ("mount_tyre", "pinches"),
    "no tubeless valve on a rim for tubes": ("fit_valve", "No tubeless valve"),
    "season": ("notice", "In the winter months the tyre is a winter tyre"),
    "no set-point without a placard": ("gap", "neither placard nor maker tells it"),
    "sensor unknown: treat as fitted": ("break_beads", "as if one were fitted"),
}
"""The foreman's short words, where the plan says the same, and a piece of how."""
