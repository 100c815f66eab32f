"""The worked plans written by hand: each pair of files is sound and speaks the house's words."""

from __future__ import annotations

import tomllib
from collections import Counter
from pathlib import Path
from typing import Any

import pytest

from stemlore import Job, Rulebook, read_job, rulebook, table
from stemlore.formulas import formulas
from stemlore.model import FIELDS, Position
from stemlore.tables import table_names
from stemlore.units import measure, unit

WORKED = Path(__file__).parent / "worked"
NAMES = (
    "car_steel",
    "car_alloy",
    "fast_car",
    "van",
    "caravan",
    "light_truck",
    "heavy_truck_dual",
    "motorcycle",
    "classic_with_tubes",
    "direct_clamp_in_and_snap_in",
    "incomplete_job",
)
STEPS = (
    "receive",
    "read_monitoring",
    "remove_wheel",
    "deflate",
    "break_beads",
    "demount_tyre",
    "inspect_tyre",
    "inspect_wheel",
    "remove_valve",
    "clean_hole",
    "fit_valve",
    "fit_sensor",
    "torque_valve_nut",
    "torque_sensor_screw",
    "lubricate",
    "mount_tyre",
    "restrain",
    "seat_beads",
    "fit_core",
    "torque_core",
    "set_pressure",
    "leak_test",
    "fit_cap",
    "balance",
    "refit_wheel",
    "torque_fixings",
    "relearn",
    "check_spare",
    "retorque_advice",
    "record",
)
PLAN_KEYS = {
    *("place", "on", "story", "steps", "steps_open", "cautions", "missing", "notes"),
    *("seating", "set_points", "sources", "assembly"),
}
ASSEMBLY_KEYS = {
    *("position", "positions", "valves_fit", "valves_fit_if", "valves_undecided", "valves_excluded"),
    *("excluded_without_rule", "keep_valve", "renew", "renew_open", "renew_beyond_table", "sensor"),
    *("torques", "cap", "restraint", "not_here"),
}
TORQUES = {"core", "valve_nut", "sensor_screw", "fixings"}
PLACARD = {"pressure": "cold_pressure_full", "partial": "cold_pressure_partial"}
PRACTICE = {
    "core": ("torque.core", "torque.truck_core"),
    "valve_nut": ("torque.clamp_in_nut", "torque.truck_steel_nut", "torque.truck_aluminium_nut"),
}
NEWTON_METRE = unit("N.m")
KPA = unit("kPa")


def plan_of(name: str) -> dict[str, Any]:
    return tomllib.loads((WORKED / f"{name}.toml").read_text(encoding="utf-8"))


def job_of(name: str) -> Job:
    return read_job(WORKED / f"{name}.json")


def book_of(plan: dict[str, Any]) -> Rulebook:
    return rulebook(plan["place"], on=plan["on"])


def positions_of(assembly: dict[str, Any]) -> list[Position]:
    texts = assembly["positions"] if "positions" in assembly else [assembly["position"]]
    return [Position.parse(text) for text in texts]


def in_order(keys: list[str]) -> bool:
    return all(key in STEPS for key in keys) and keys == sorted(set(keys), key=STEPS.index)


def printed(plan: dict[str, Any], parameter: str) -> str:
    """Return the figures of a parameter of the pack for all places, as it prints them."""
    history = book_of(plan).packs["world"].parameters[f"world.{parameter}"]
    return " / ".join(history.values[-1].figures)


def ends_of(text: str) -> tuple[float, float]:
    """Return the widest range that a torque's text prints, in N·m."""
    sides = [side.split(" / ") for side in text.split(" to ")]
    low, *_ = sides
    least = min(measure(part, NEWTON_METRE) or 0.0 for part in low)
    greatest = max(measure(part, NEWTON_METRE) or 0.0 for part in sides[-1])
    return least, greatest


each = pytest.mark.parametrize("name", NAMES)


def test_there_is_a_pair_for_each_name_and_no_other_file() -> None:
    assert {file.name for file in WORKED.iterdir()} == {
        f"{name}.{ending}" for name in NAMES for ending in ("json", "toml")
    }


@each
def test_a_plan_has_the_known_keys(name: str) -> None:
    plan = plan_of(name)
    optional = {"steps_open", "notes"}
    assert PLAN_KEYS - optional <= plan.keys() <= PLAN_KEYS
    for assembly in plan["assembly"]:
        assert assembly.keys() <= ASSEMBLY_KEYS
        assert ("position" in assembly) != ("positions" in assembly)
        assert {"valves_fit", "valves_excluded", "renew", "torques"} <= assembly.keys()
        assert assembly["torques"].keys() <= TORQUES


@each
def test_job_and_plan_are_of_one_day_and_the_same_wheels(name: str) -> None:
    plan, job = plan_of(name), job_of(name)
    assert job.event.on is not None
    assert job.event.on.earliest == plan["on"]
    planned = Counter(position for assembly in plan["assembly"] for position in positions_of(assembly))
    assert planned == Counter(assembly.position for assembly in job.assemblies)


@each
def test_steps_are_known_and_in_order(name: str) -> None:
    plan = plan_of(name)
    assert plan["steps"]
    assert in_order(plan["steps"])
    assert in_order(plan.get("steps_open", []))
    assert not set(plan["steps"]) & set(plan.get("steps_open", []))
    for assembly in plan["assembly"]:
        assert set(assembly.get("not_here", [])) <= set(plan["steps"])


@pytest.mark.parametrize(
    "keys", [["fit_core", "seat_beads"], ["receive", "receive"], ["receive", "weld_the_rim"]]
)
def test_a_wrong_order_is_seen(keys: list[str]) -> None:
    assert not in_order(keys)


@each
def test_steps_agree_with_torques_and_monitoring(name: str) -> None:
    plan, job = plan_of(name), job_of(name)
    worked_on = [assembly for assembly in plan["assembly"] if assembly["torques"]]
    for step, torque in (("torque_valve_nut", "valve_nut"), ("torque_sensor_screw", "sensor_screw")):
        for assembly in worked_on:
            here = step in plan["steps"] and step not in assembly.get("not_here", [])
            assert here == (torque in assembly["torques"])
    for assembly in worked_on:
        assert {"core", "fixings"} <= assembly["torques"].keys()
    monitored = job.vehicle.monitoring in ("direct", "indirect")
    assert ("relearn" in plan["steps"]) == monitored
    spare = any(assembly.position.spare for assembly in job.assemblies)
    assert ("check_spare" in plan["steps"]) == spare


@each
def test_large_wheels_are_restrained(name: str) -> None:
    plan, job = plan_of(name), job_of(name)
    restrained = [assembly for assembly in plan["assembly"] if "restraint" in assembly]
    assert ("restrain" in plan["steps"]) == bool(restrained)
    if job.vehicle.category in ("M2", "M3", "N2", "N3", "O3", "O4"):
        assert restrained == plan["assembly"]
    rules = book_of(plan).rules
    for assembly in restrained:
        assert assembly["restraint"]["rule"] in rules
        assert set(assembly["restraint"]["of"]) <= {"cage", "barrier", "bolted_on_vehicle"}


@each
def test_valves_are_in_the_table_and_each_in_one_place(name: str) -> None:
    known = {row["designation"] for row in table("tubeless_valves").rows}
    for assembly in plan_of(name)["assembly"]:
        lists = (
            "valves_fit",
            "valves_fit_if",
            "valves_undecided",
            "valves_excluded",
            "excluded_without_rule",
        )
        named = Counter(code for key in lists for code in assembly.get(key, ()))
        assert named.keys() <= known
        assert set(named.values()) <= {1}


@each
def test_rules_that_exclude_are_in_force(name: str) -> None:
    plan = plan_of(name)
    rules = book_of(plan).rules
    for assembly in plan["assembly"]:
        assert set(assembly["valves_excluded"].values()) <= rules.keys()


@each
def test_parts_are_those_of_the_table(name: str) -> None:
    parts = {row["part"] for row in table("service_parts").rows}
    for assembly in plan_of(name)["assembly"]:
        assert set(assembly["renew"]) <= parts
        assert not set(assembly.get("renew_beyond_table", [])) & parts


@each
def test_missing_readings_are_fields(name: str) -> None:
    missing = plan_of(name)["missing"]
    assert set(missing) <= FIELDS.keys()
    assert len(missing) == len(set(missing))


@each
def test_set_points_are_those_of_the_placard(name: str) -> None:
    plan, job = plan_of(name), job_of(name)
    told = {f"axle {axle.number}" for axle in job.vehicle.axles if axle.cold_pressure_full is not None}
    assert plan["set_points"].keys() == told
    for axle in job.vehicle.axles:
        point = plan["set_points"].get(f"axle {axle.number}", {})
        for key, attribute in PLACARD.items():
            given = measure(point[key], KPA) if key in point else None
            assert given == getattr(axle, attribute)
        assert not point or point["from"] == "placard full load"


@each
def test_torques_are_the_makers_or_of_the_parameters(name: str) -> None:
    plan, job = plan_of(name), job_of(name)
    for assembly in plan["assembly"]:
        for position in positions_of(assembly):
            maker = job.maker_at(position)
            for part, text in assembly["torques"].items():
                on_sensor = part == "valve_nut" and "sensor" in assembly
                field = {"core": "valve_core", "fixings": "wheel_fixing"}.get(part, part)
                field = "sensor_nut" if on_sensor else field
                least = getattr(maker, f"{field}_torque_min")
                greatest = getattr(maker, f"{field}_torque_max")
                if text == "maker":
                    assert (least, greatest) == (None, None)
                    assert f"maker.{field}_torque_min" in plan["missing"]
                elif least is not None:
                    assert ends_of(text) == (least, greatest)
                else:
                    pairs = PRACTICE[part]
                    assert text in {
                        f"{printed(plan, f'{of}_min')} to {printed(plan, f'{of}_max')}" for of in pairs
                    }


@each
def test_the_seating_ceiling_is_that_of_safety(name: str) -> None:
    plan, job = plan_of(name), job_of(name)
    assert all(maker.seating_pressure_max is None for maker in job.makers)
    assert plan["seating"]["ceiling"] == printed(plan, "seating.max_pressure")


@each
def test_each_source_exists(name: str) -> None:
    plan = plan_of(name)
    book = book_of(plan)
    parameters = {parameter for pack in book.packs.values() for parameter in pack.parameters}
    known = {
        "table": set(table_names()),
        "rule": set(book.rules),
        "parameter": parameters,
        "job": set(FIELDS),
        "formula": set(formulas()),
    }
    assert plan["sources"]
    for sources in plan["sources"].values():
        assert sources
        for source in sources:
            kind, _, what = source.partition(" ")
            assert kind in ("maker", "practice") or what in known[kind], source
