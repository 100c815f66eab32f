"""What a foreman looks for in a plan beyond part and value: metals, radio, covers, heat, order, sources."""

from __future__ import annotations

import csv
import json
import sys
from pathlib import Path
from typing import Any

import pytest

from stemlore import rulebook
from stemlore.errors import RecordError
from stemlore.interchange import read_job
from stemlore.model import Job, Position
from stemlore.provenance import Grade
from stemlore.workplan import Choice, Conditions, Step, WorkPlan, plan_work, read_catalogue
from stemlore.workplan.ordering import _once

sys.path.insert(0, str(Path(__file__).parent))

from worked_plans import NAMES, WORKED, worked  # noqa: E402

DE = rulebook("DE", on="2026-11-25")


def document(name: str) -> dict[str, Any]:
    made: dict[str, Any] = json.loads((WORKED / f"{name}.json").read_text("utf-8"))
    return made


def altered(name: str, *, vehicle: dict[str, Any] | None = None, **records: dict[str, Any]) -> Job:
    """Return a worked job with other values at every wheel."""
    made = document(name)
    made["vehicle"] |= vehicle or {}
    for wheel in made["assemblies"]:
        for record, values in records.items():
            wheel[record] = {**wheel.get(record, {}), **values}
    return read_job(made)


def step(plan: WorkPlan, key: str) -> Step:
    return next(each for each in plan.steps if each.key == key)


def verdicts(choice: Choice) -> dict[str, tuple[str, ...]]:
    """Return for each part the rules that exclude it; none where it fits or may fit."""
    return {each.item.code: each.rules for each in choice.excluded} | {
        each.item.code: () for each in (*choice.fits, *choice.undecided)
    }


CLAMP = {"kind": "clamp_in", "length_with_cap": "40 mm", "for_hole": "11.5 mm", "rated_pressure": "10 bar"}
STEEL = {"kind": "snap_in", "table_code": "TR413", "length_with_cap": "40 mm"}


# --- metals ------------------------------------------------------------------------------------


def metals(job: Job) -> tuple[WorkPlan, Choice]:
    items = read_catalogue(
        [
            {"code": "brass core", **CLAMP, "stem_material": "aluminium", "core_material": "brass"},
            {"code": "a bare stem", **CLAMP, "stem_material": "brass", "core_material": "nickel_plated"},
            {"code": "plated", **CLAMP, "stem_material": "nickel_plated", "core_material": "brass"},
            {"code": "core not told", **CLAMP, "stem_material": "aluminium"},
        ]
    )
    plan = plan_work(job, DE, catalogue=items)
    return plan, plan.choices[0]


def test_a_brass_core_in_an_aluminium_stem_is_excluded_and_a_bare_stem_in_light_metal_comes_last() -> None:
    job = altered("car_alloy", wheel={"valve_seat_depth": "60 mm", "valve_hole": "11.5 mm"})
    _, choice = metals(job)
    found = verdicts(choice)
    assert found["brass core"] == ("world.valve.core_pairing",)
    # the core is renewed with the tyre: the plan sees to it that it is plated
    assert found["core not told"] == found["plated"] == ()
    assert [each.item.code for each in choice.fits][-1] == "a bare stem"
    codes = [
        each.item.code for each in metals(altered("car_steel", wheel={"valve_seat_depth": "60 mm"}))[1].fits
    ]
    assert codes[0] == "a bare stem"  # in steel no advice stands against it, and the alphabet decides


def test_the_core_of_an_aluminium_stem_is_ordered_plated() -> None:
    job = altered("car_alloy", wheel={"valve_seat_depth": "60 mm", "valve_hole": "11.5 mm"})
    plan = plan_work(
        job, DE, catalogue=read_catalogue([{"code": "a", **CLAMP, "stem_material": "aluminium"}])
    )
    assert {each.valve.core_material for each in plan.planned.assemblies} == {"nickel_plated"}
    assert any("nickel-plated core only" in each for each in step(plan, "fit_core").details)


# --- radio -------------------------------------------------------------------------------------

RADIO = "direct_clamp_in_and_snap_in"


def radio(vehicle: dict[str, Any], place: str = "DE", **sensor: str) -> tuple[WorkPlan, list[Choice]]:
    made = document(RADIO)
    made["vehicle"] |= vehicle
    for wheel in made["assemblies"]:  # all are old enough to be renewed
        wheel["sensor"] |= {"battery_age": "12 year"}
    row = CLAMP | {"code": "s", "core_material": "nickel_plated", "sensor.mount": "clamp_in"}
    items = read_catalogue([row | {f"sensor.{name}": value for name, value in sensor.items()}])
    plan = plan_work(read_job(made), rulebook(place, on="2026-11-25"), catalogue=items)
    return plan, [each for each in plan.choices if not each.keep]


@pytest.mark.parametrize(
    ("sensor", "rules"),
    [
        ({"frequency": "433.92 MHz", "protocol": "A"}, set()),
        ({"frequency": "434 MHz", "protocol": "A"}, set()),
        ({"frequency": "315 MHz", "protocol": "A"}, {"world.sensor.frequency"}),
        ({"frequency": "433.92 MHz", "protocol": "B"}, {"world.sensor.protocol"}),
    ],
)
def test_a_sensor_that_the_vehicle_does_not_hear_is_excluded(sensor: dict[str, str], rules: set[str]) -> None:
    _, choices = radio({"monitoring_frequency": "433.92 MHz", "monitoring_protocol": "A"}, **sensor)
    assert choices
    for choice in choices:
        assert set(verdicts(choice)["s"]) >= rules
        assert not {"world.sensor.frequency", "world.sensor.protocol"} - rules & set(verdicts(choice)["s"])


def test_what_the_vehicle_hears_and_what_the_new_sensor_speaks_are_asked_for() -> None:
    plan, _ = radio({})
    texts = [gap.text for gap in plan.gaps if gap.missing in (("sensor.frequency",), ("sensor.protocol",))]
    assert any("usual in Europe: 433.92 MHz" in text for text in texts)
    assert any("the protocol of vehicle, old or new is not known" in text for text in texts)
    plan, _ = radio({}, place="US")
    assert not any("usual in" in gap.text for gap in plan.gaps)  # no row of the table tells it there


def test_japan_is_told_of_the_band_that_its_cars_may_not_use() -> None:
    plan, _ = radio({}, place="JP", frequency="433.92 MHz", protocol="A")
    assert any("not to be allowed in cars of Japan" in gap.text for gap in plan.gaps)
    plan, _ = radio({}, place="DE", frequency="433.92 MHz", protocol="A")
    assert not any("Japan" in gap.text for gap in plan.gaps)


# --- cover, heat -------------------------------------------------------------------------------


def test_a_valve_has_room_under_the_cover_that_hides_it() -> None:
    items = read_catalogue([STEEL | {"code": "short"}, STEEL | {"code": "long", "length_with_cap": "45 mm"}])
    for cover, wanted in (("over_valve", ("world.valve.under_cover",)), ("open_at_valve", ())):
        job = altered(
            "car_steel", wheel={"cover": cover, "cover_depth": "42 mm", "valve_seat_depth": "60 mm"}
        )
        found = verdicts(plan_work(job, DE, catalogue=items).choices[0])
        assert found == {"short": (), "long": wanted}
    job = altered(
        "car_steel", wheel={"cover": "over_valve", "cover_depth": "42 mm", "valve_seat_depth": "60 mm"}
    )
    (long,) = plan_work(job, DE, catalogue=items).choices[0].excluded
    (finding,) = long.findings()
    assert (finding.measured, finding.limit, finding.margin) == (45.0, 42.0, -3.0)


def test_whether_there_is_a_cover_is_looked_for() -> None:
    looked = step(worked("car_steel")[2], "inspect_wheel").details
    assert any("whether it has a bracket for the valve" in each for each in looked)
    job = altered("car_steel", wheel={"cover": "none"})
    assert not any("bracket" in each for each in step(plan_work(job, DE), "inspect_wheel").details)


def test_the_hot_tyre_is_judged_where_the_maker_tells_a_hot_limit() -> None:
    # (230 + 101.325) * 1.2729 - 101.325 = 320.4 kPa at 100 degC
    items = read_catalogue(
        [
            STEEL | {"code": "320", "rated_hot_pressure": "320 kPa"},
            STEEL | {"code": "321", "rated_hot_pressure": "321 kPa"},
        ]
    )
    job = altered("car_steel", wheel={"valve_seat_depth": "60 mm"})
    assert job.vehicle.axles[0].cold_pressure_full == 230.0
    (front,) = [e for e in plan_work(job, DE, catalogue=items).choices if e.positions[0].axle == 1]
    assert verdicts(front) == {"320": ("world.valve.hot_pressure",), "321": ()}


def test_the_pressure_of_the_hot_tyre_is_told_where_its_temperature_is() -> None:
    told = Conditions(expected_temperature="20 degC", ambient="101.325 kPa", hot_temperature="75 degC")
    job = altered("car_steel", wheel={"valve_seat_depth": "60 mm"})
    plan = plan_work(job, DE, conditions=told, catalogue=read_catalogue([STEEL | {"code": "a"}]))
    point = next(each for each in plan.set_points if each.what == "tyre.pressure")
    # (230 + 101.325) * 348.15 / 293.15 - 101.325 = 292.2; 450 - 292.2 = 157.8
    assert "at 75 degC it rises to 292 kPa" in point.note
    assert "158 kPa below the least limit here, 450 kPa" in point.note
    assert "hot" not in next(e for e in plan_work(job, DE).set_points if e.what == "tyre.pressure").note


# --- ranking, reasons --------------------------------------------------------------------------


def test_one_kind_of_valve_all_round_comes_first() -> None:
    made = document("car_steel")
    for wheel in made["assemblies"]:
        wheel["wheel"] |= {"valve_seat_depth": "60 mm"}
        front = wheel["position"].startswith("axle 1")
        wheel["wheel"]["thickness_at_hole"] = "2.8 mm" if front else "6 mm"  # too thick for a snap-in
    rows = [STEEL | {"code": "snap"}, CLAMP | {"code": "clamp"}]
    choices = plan_work(read_job(made), DE, catalogue=read_catalogue(rows)).choices
    assert {each.best.item.code for each in choices if each.best} == {"clamp"}
    # of two clamp-ins, of which each suits one axle alone, the kind still is one
    front_only = CLAMP | {"code": "clamp front", "length_with_cap": "55 mm"}
    rear_only = CLAMP | {"code": "clamp rear", "length_with_cap": "40 mm", "for_hole": "16 mm"}
    for wheel in made["assemblies"]:
        wheel["wheel"]["valve_hole"] = "11.5 mm" if wheel["position"].startswith("axle 1") else "15.9 mm"
    rows = [STEEL | {"code": "snap"}, front_only, rear_only]
    choices = plan_work(read_job(made), DE, catalogue=read_catalogue(rows)).choices
    assert {each.best.item.code for each in choices if each.best} == {"clamp front", "clamp rear"}


def test_where_nothing_fits_the_condition_is_told_with_its_figures() -> None:
    items = read_catalogue([STEEL | {"code": "long", "length_with_cap": "70 mm"}])
    plan = plan_work(altered("car_steel", wheel={"valve_seat_depth": "60 mm"}), DE, catalogue=items)
    gap = next(each for each in plan.gaps if each.rule == "world.valve.protrusion")
    assert "world.valve.protrusion alone stands in the way of long" in gap.text
    assert "70" in gap.text
    assert "60" in gap.text


# --- order -------------------------------------------------------------------------------------

TRUCK = "heavy_truck_dual"


def test_a_large_wheel_is_emptied_before_it_is_loosened() -> None:
    _, job, plan = worked(TRUCK)
    keys = [each.key for each in plan.steps]
    assert keys.index("deflate_on_vehicle") < keys.index("remove_wheel")
    assert set(step(plan, "deflate_on_vehicle").positions) == {each.position for each in job.assemblies}
    assert "deflate" not in keys
    assert step(plan, "deflate_on_vehicle").citation.source is not None
    assert "deflate_on_vehicle" not in [each.key for each in worked("car_steel")[2].steps]


def test_both_of_twins_are_emptied_though_one_alone_comes_off() -> None:
    made = document(TRUCK)
    made["event"]["kind"] = "repair"
    for wheel in made["assemblies"]:
        off = wheel["position"] == "axle 2 left outer"
        wheel["work"] = dict.fromkeys(("wheel_removed", "tyre_demounted"), off) | {"tyre_renewed": False}
        wheel["work"] |= {} if off else {"valve_renewed": False, "core_renewed": False}
    emptied = step(plan_work(read_job(made), rulebook("US", on="2026-11-25")), "deflate_on_vehicle")
    left = {Position.parse(f"axle 2 left {place}") for place in ("inner", "outer")}
    assert set(emptied.positions) == left
    assert any("only for its twin's sake: axle 2 left inner" in each for each in emptied.details)


@pytest.mark.parametrize("name", NAMES)
def test_what_is_wetted_is_wetted_before_it_is_fitted(name: str) -> None:
    plan = worked(name)[2]
    keys = [each.key for each in plan.steps]
    for wet, dry in (
        ("lubricate_valve", "fit_valve"),
        ("lubricate", "mount_tyre"),
        ("lubricate", "seat_beads"),
    ):
        if wet in keys and dry in keys:
            assert keys.index(wet) < keys.index(dry)
    snap_ins = {
        each.position
        for each in plan.planned.assemblies
        if each.work.valve_renewed and each.valve.kind in ("snap_in", "high_pressure_snap_in")
    }
    assert not snap_ins or snap_ins <= set(step(plan, "lubricate_valve").positions)


def test_a_truck_s_stem_in_light_metal_is_wetted_and_one_in_steel_is_not() -> None:
    found = step(worked(TRUCK)[2], "lubricate_valve")
    assert {each.axle for each in found.positions} == {1}
    assert any("corrosion between valve and wheel" in each for each in found.details)
    assert found.citation.grade is Grade.REPRODUCTION


def test_the_valve_steps_leave_out_the_sensors_that_stay() -> None:
    plan = worked(RADIO)[2]
    kept = {position for choice in plan.choices if choice.keep for position in choice.positions}
    renewed = {each.position for each in plan.planned.assemblies if each.work.valve_renewed}
    assert kept - renewed
    for key in ("remove_valve", "fit_valve"):
        named = {position for each in plan.steps if each.key == key for position in each.positions}
        assert named == renewed
    cleaned = step(plan, "clean_hole")
    assert set(cleaned.positions) >= renewed


def test_the_distance_of_twins_is_told_for_their_size() -> None:
    # 12.5 in = 317.5 mm
    details = step(worked(TRUCK)[2], "refit_wheel").details
    assert any("twins of 11R22.5 stand at least 317.5 mm" in each for each in details)
    made = document(TRUCK)
    for wheel in made["assemblies"]:
        wheel["tyre"]["size"] = "13R22.5 154/150K"
    other = step(plan_work(read_job(made), rulebook("US", on="2026-11-25")), "refit_wheel").details
    assert any("not known for this size" in each for each in other)
    assert not any("twins" in each for each in step(worked("car_steel")[2], "refit_wheel").details)


# --- words and sources -------------------------------------------------------------------------


def test_a_detail_names_a_reading_in_words() -> None:
    for name in NAMES:
        for each in worked(name)[2].steps:
            for text in each.details:
                assert "valve.length_with_cap" not in text
    assert any(
        "this is measured on it: length of the valve with its cap" in text
        for text in step(worked("car_steel")[2], "fit_valve").details
    )


def test_a_caution_is_said_once() -> None:
    assert _once(("Stand clear. Mind the gap.", "Stand clear; never weld.", "Never weld.")) == (
        "Stand clear. Mind the gap.",
        "Never weld.",
    )
    for name in NAMES:
        for each in worked(name)[2].steps:
            said = [part.strip(" .;").lower() for text in each.cautions for part in text.split(". ")]
            assert len(said) == len(set(said)), (name, each.key)
        seat = " ".join(step(worked(name)[2], "seat_beads").cautions).lower()
        assert seat.count("stand clear of tyre and rim") == 1
        assert seat.count("never weld, heat or strike") == 1


def test_a_step_cites_what_says_so_and_the_others_say_that_they_are_practice() -> None:
    car, truck = worked("car_steel")[2], worked(TRUCK)[2]
    for plan in (car, truck):
        for each in plan.steps:
            practice = each.citation.source is None
            assert (each.citation.grade is Grade.PRACTICE) == practice
            assert each.citation.at
    assert step(car, "fit_valve").citation.at == "8.3, of commercial vehicles; followed here for cars too"
    assert step(car, "clean_hole").citation.at == "7.3"
    assert step(truck, "clean_hole").citation.at == "8.3"
    assert step(car, "receive").citation.source is None
    assert "item 9" in str(step(truck, "seat_beads").citation)
    assert step(truck, "torque_core").citation != step(car, "torque_core").citation


def test_the_stricter_ceiling_while_seating_is_printed_with_its_own_source() -> None:
    """The German insurer tells 4 bar for cars, the safety list 2.75 bar: no more than the lesser.

    Where the wheel's maker lifts the list's to 5 bar, the insurer's is the lesser.
    """
    point = next(e for e in worked("car_steel")[2].set_points if e.what == "work.seating_pressure")
    assert point.high == pytest.approx(275.790292)
    assert "item 9" in point.told_by
    made = document("car_steel")
    wheels_maker = {"source": "wheel papers", "issued_by": "wheel_maker", "seating_pressure_max": "5 bar"}
    made["makers"] = [wheels_maker]
    plan = plan_work(read_job(made), DE)
    point = next(e for e in plan.set_points if e.what == "work.seating_pressure")
    assert point.high == pytest.approx(400.0)
    assert "de.bead.seating_pressure" in point.rules
    assert "annex A.1" in point.told_by


# --- the shop's own list -----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("content", "why"),
    [(b"code,kind\nA,\xff\xfe\n", "UTF-8"), (b"code,kind\nA," + b"x" * 200_000 + b"\n", "field larger")],
)
def test_a_list_that_cannot_be_read_is_named(tmp_path: Path, content: bytes, why: str) -> None:
    csv.field_size_limit(131_072)  # of the whole process, and others may have raised it
    file = tmp_path / "shelf.csv"
    file.write_bytes(content)
    with pytest.raises(RecordError) as caught:
        read_catalogue(file)
    (fault,) = caught.value.faults
    assert why in str(fault)
    assert fault.where == str(file)
    assert fault.advice
    assert caught.value.__cause__ is not None


def test_a_list_that_is_not_there_is_named(tmp_path: Path) -> None:
    with pytest.raises(RecordError, match="No such file"):
        read_catalogue(tmp_path / "none.csv")
