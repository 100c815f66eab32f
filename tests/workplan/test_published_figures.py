"""Plans against published figures, and single cases that random jobs seldom hit."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from stemlore import rulebook
from stemlore.interchange import read_job
from stemlore.model import Job
from stemlore.units import measure, unit
from stemlore.workplan import Conditions, SetPoint, WorkPlan, plan_work, read_catalogue, table_catalogue

BOOK = rulebook("DE", on=date(2026, 11, 25))
WORKED = Path(__file__).parent / "worked"


def job(name: str, **vehicle: Any) -> Job:
    document = json.loads((WORKED / f"{name}.json").read_text("utf-8"))
    makers = vehicle.pop("makers", None)
    pressure = vehicle.pop("pressure", None)
    document["vehicle"] |= vehicle
    if makers is not None:
        document.setdefault("makers", []).append({"source": "another sheet", **makers})
    for axle in document["vehicle"]["axles"] if pressure else ():
        axle |= {"cold_pressure_full": pressure, "cold_pressure_partial": pressure}
    return read_job(json.dumps(document))


def verdicts(plan: WorkPlan) -> dict[str, set[str]]:
    """Return the rules by which each part fails at the first wheels; none where it does not."""
    choice = plan.choices[0]
    return {
        each.item.code: set(each.rules) if each.verdict == "excluded" else set()
        for each in (*choice.fits, *choice.undecided, *choice.excluded)
    }


def point(plan: WorkPlan, what: str) -> SetPoint:
    return next(each for each in plan.set_points if each.what == what)


@pytest.mark.parametrize(
    ("pressure", "code", "fails"),
    [
        ("65 psi", "TR413", False),
        ("450 kPa", "TR413", False),
        ("66 psi", "TR413", True),
        ("451 kPa", "TR413", True),
        ("80 psi", "TR600HP", False),
        ("81 psi", "TR600HP", True),
        ("552 kPa", "TR600HP", True),
    ],
)
def test_ratings_of_the_snap_in_tables(pressure: str, code: str, fails: bool) -> None:
    rules = verdicts(plan_work(job("car_steel", pressure=pressure), BOOK))[code]
    assert ("world.valve.pressure_rating" in rules) == fails


@pytest.mark.parametrize("pressure, fails", [("100 psi", False), ("101 psi", True)])
def test_ratings_of_the_large_high_pressure_snap_in(pressure: str, fails: bool) -> None:
    rules = verdicts(plan_work(job("light_truck", pressure=pressure), BOOK))["TR801HP"]
    assert ("world.valve.pressure_rating" in rules) == fails


@pytest.mark.parametrize(
    ("speed", "fails"), [("210 km/h", False), ("130 mph", False), ("211 km/h", True), ("131 mph", True)]
)
@pytest.mark.parametrize("code", ["TR413", "TR600HP"])
def test_speed_of_the_snap_in_tables(speed: str, fails: bool, code: str) -> None:
    # the table of the numbers prints 210 km/h; 130 mph is 209.2 km/h
    rules = verdicts(plan_work(job("car_steel", design_speed=speed), BOOK))[code]
    assert ("world.valve.speed" in rules) == fails


@pytest.mark.parametrize(
    ("name", "at", "what", "low", "high"),
    [
        ("car_steel", 0, "work.valve_core_torque", "0.17 N.m", "0.34 N.m"),
        ("fast_car", 0, "work.valve_nut_torque", "4 N.m", "6 N.m"),
        ("heavy_truck_dual", 0, "work.valve_nut_torque", "80 lbf.in", "11 lbf.ft"),
        ("heavy_truck_dual", 1, "work.valve_nut_torque", "35 lbf.in", "5 lbf.ft"),
    ],
)
def test_published_torques(name: str, at: int, what: str, low: str, high: str) -> None:
    place = "US" if name == "heavy_truck_dual" else "DE"
    plan = plan_work(job(name), rulebook(place, on=date(2026, 11, 25)))
    found = [each for each in plan.set_points if each.what == what][at]
    newton_metre = unit("N.m")
    assert found.low == pytest.approx(measure(low, newton_metre))
    assert found.high == pytest.approx(measure(high, newton_metre))


@pytest.mark.parametrize(
    ("maker", "ceiling"),
    [
        ({}, "40 psi"),
        ({"seating_pressure_max": "200 kPa"}, "200 kPa"),
        ({"seating_pressure_max": "350 kPa"}, "40 psi"),  # nobody says whose figure it is
        ({"seating_pressure_max": "350 kPa", "issued_by": "vehicle_maker"}, "40 psi"),
        ({"seating_pressure_max": "350 kPa", "issued_by": "tyre_maker"}, "350 kPa"),
        ({"seating_pressure_max": "200 kPa", "issued_by": "wheel_maker"}, "200 kPa"),
    ],
)
def test_the_stricter_seating_ceiling_is_told(maker: dict[str, str], ceiling: str) -> None:
    name = "incomplete_job"  # it has no other maker, so that the one who issued it is plain
    found = point(plan_work(job(name, makers=maker or None), BOOK), "work.seating_pressure")
    assert found.high == pytest.approx(measure(ceiling, unit("kPa")))
    assert found.target is None


def test_the_gauge_is_told_by_the_rule_of_the_textbooks() -> None:
    """Gas at one volume: 250 kPa at 0 degrees is (351.325 * 293.15 / 273.15 - 101.325) kPa at 20."""
    document = json.loads((WORKED / "van.json").read_text("utf-8"))
    for axle in document["vehicle"]["axles"]:
        axle |= {"cold_pressure_full": "250 kPa", "cold_pressure_partial": "250 kPa"}
    for each in document["assemblies"]:
        each["tyre"]["tyre_temperature"] = "20 degC"
    now = Conditions(expected_temperature="0 degC", ambient="101.325 kPa")
    found = point(plan_work(read_job(json.dumps(document)), BOOK, conditions=now), "tyre.pressure")
    assert "the gauge reads 276 kPa now" in found.note
    assert round((250 + 101.325) * 293.15 / 273.15 - 101.325) == 276


def test_the_lamp_is_told_by_where_the_vehicle_is_registered() -> None:
    def lamp(plan: WorkPlan) -> str:
        step = next(each for each in plan.steps if each.key == "relearn")
        return " ".join(each for each in step.details if "the lamp must light" in each)

    us = plan_work(job("car_alloy"), rulebook("US", on=date(2026, 11, 25)))
    assert "188 kPa at the latest, for 250 kPa" in lamp(us)
    assert "200 kPa at the latest, for 250 kPa" in lamp(plan_work(job("car_alloy"), BOOK))


def test_the_balance_tolerance_is_that_of_the_table() -> None:
    step = next(each for each in plan_work(job("car_alloy"), BOOK).steps if each.key == "balance")
    assert any("5-10 g" in each for each in step.details)


def test_a_told_valve_that_the_catalogue_lacks_is_a_gap() -> None:
    told = plan_work(job("car_alloy", makers={"valve_table_code": "ZZ99"}), BOOK)
    assert any("ZZ99" in gap.text for gap in told.gaps)
    known = plan_work(job("car_alloy", makers={"valve_table_code": "TR600HP"}), BOOK)
    assert not any("the catalogue does not have" in gap.text for gap in known.gaps)


@pytest.mark.parametrize("frequency", ["433.92 MHz", "315 MHz"])
def test_a_sensor_is_chosen_where_its_battery_is_due(frequency: str) -> None:
    document = json.loads((WORKED / "direct_clamp_in_and_snap_in.json").read_text("utf-8"))
    for each in document["assemblies"]:
        each["sensor"]["frequency"] = "433.92 MHz"
    row = {
        "code": "new sensor",
        "kind": "clamp_in",
        "for_hole": "11.5 mm",
        "length_with_cap": "30 mm",
        "rated_pressure": "500 kPa",
        "core_material": "nickel_plated",
        "sensor.mount": "clamp_in",
        "sensor.frequency": frequency,
        "protocol": "P7",
    }
    plan = plan_work(read_job(json.dumps(document)), BOOK, catalogue=read_catalogue([row]))
    front = next(each for each in plan.choices if any(p.axle == 1 for p in each.positions))
    assert front.best is not None
    assert front.best.item.carried["protocol"] == "P7"
    assert {p.axle for p in front.positions} == {1}  # behind the batteries last
    assert any("does not hear it" in gap.text for gap in plan.gaps) == (frequency == "315 MHz")
    nut = point(plan, "work.sensor_nut_torque")
    assert "a new one of another make brings its own" in nut.note


def test_tube_valves_are_for_tubes_alone() -> None:
    tubes = {item.code for item in table_catalogue() if item.valve.kind == "tube_stem"}
    assert tubes == {"TR13", "TR15"}
    assert verdicts(plan_work(job("classic_with_tubes"), BOOK)).keys() == tubes
    assert not tubes & verdicts(plan_work(job("car_steel"), BOOK)).keys()
