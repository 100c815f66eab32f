"""Invented fleets: what is planted is found, nothing else fails, mess is told, seeds give the same again."""

from __future__ import annotations

from datetime import date

import polars as pl
import pytest

from stemlore.audit import AuditRun, audit_fleet
from stemlore.errors import StemloreError
from stemlore.rules import rulebook
from stemlore.testing._fleet_jobs import job_of_rows
from stemlore.testing._fleet_kinds import KINDS
from stemlore.testing._fleet_models import models_of
from stemlore.testing.fleet import MESS, Fleet, synthetic_fleet

DAY = date(2026, 11, 25)
KEYS = ["row", "vehicle_id", "position", "rule"]
PLACES = ("DE", "GB", "US-TX", "JP", "NO", "AU-WA")


def audited(fleet: Fleet, place: str, on: date = DAY) -> tuple[AuditRun, pl.DataFrame]:
    run = audit_fleet(fleet.wheels, rulebook(place, on=on))
    return run, run.findings_of("fail").select(KEYS).collect()


# --- faults --------------------------------------------------------------------------------------


@pytest.mark.parametrize("place", PLACES)
def test_a_fault_of_every_rule_is_found_and_nothing_else(place: str) -> None:
    fleet = synthetic_fleet(250, place=place, seed=3, faults=0.6)
    run, found = audited(fleet, place)
    assert found.sort(KEYS).equals(fleet.planted.select(KEYS).sort(KEYS))
    meant = set(fleet.planted.filter("meant")["rule"])
    assert meant | set(fleet.unplanted["rule"]) == set(rulebook(place, on=DAY).rules)
    assert meant.isdisjoint(fleet.unplanted["rule"])
    assert run.quality.collect().is_empty()


@pytest.mark.parametrize("place", PLACES)
def test_rules_without_a_fault_are_few_and_give_way_to_others(place: str) -> None:
    silent = synthetic_fleet(1, place=place, faults=1.0).unplanted
    assert set(silent["rule"]) == {
        "DE": {"eu.tyre.tread_depth", "eu.axle.construction"},
        "NO": {"world.vehicle.retorque_told"},
        "AU-WA": {"au.tyre.tread_depth", "au.tyre.tread_depth_heavy"},
    }.get(place, set())
    assert all(why.startswith("gives way to ") for why in silent["reason"])


def test_most_faults_are_of_one_rule_alone() -> None:
    planted = synthetic_fleet(200, seed=1, faults=0.6).planted
    assert planted["meant"].sum() / planted.height > 0.5


# --- without faults --------------------------------------------------------------------------------


@pytest.mark.parametrize("place", [*PLACES, "CA-QC", "US-WA", "SE"])
def test_of_other_vehicles_nothing_fails(place: str) -> None:
    fleet = synthetic_fleet(300, place=place, seed=7, faults=0.0)
    _, found = audited(fleet, place)
    assert found.is_empty()
    assert set(fleet.wheels["vehicle_category"]) >= {"M1", "N1", "N3", "M3", "L", "O1", "O4"}


@pytest.mark.parametrize(("place", "on"), [("DE", date(2026, 7, 1)), ("US-TX", date(2026, 6, 1))])
def test_another_day_gives_a_fleet_of_that_day(place: str, on: date) -> None:
    fleet = synthetic_fleet(150, place=place, on=on, seed=2, faults=0.3)
    _, found = audited(fleet, place, on)
    assert found.sort(KEYS).equals(fleet.planted.select(KEYS).sort(KEYS))
    assert (fleet.wheels["tyre_manufactured"].drop_nulls() < on).all()


def test_hardly_anything_is_unknown() -> None:
    run, _ = audited(synthetic_fleet(200, seed=7, faults=0.0), "DE")
    summary = run.summary
    assert summary["unknown"].sum() == 0
    assert summary["pass"].sum() > 20_000


def test_figures_of_a_vehicle_hang_together() -> None:
    wheels = synthetic_fleet(400, place="NO", seed=4, faults=0.0).wheels
    # what the constructors derive and compare must agree with what the rows say
    for _, rows in wheels.drop("vehicle_id").with_columns(v=wheels["vehicle_id"]).group_by("v"):
        job_of_rows(rows.drop("v").to_dicts())
    depth, made = "tyre_tread_depth_main_grooves_mm", "tyre_manufactured"
    cars = wheels.filter(pl.col("vehicle_category") == "M1").with_columns(
        age=(DAY - pl.col(made)).dt.total_days()
    )
    assert cars.select(pl.corr("age", depth)).item() < -0.5  # older tyres are more worn
    both = cars.group_by("vehicle_id", "axle_number").agg(pl.col(depth).max() - pl.col(depth).min())
    assert (both[depth] < 0.5).all()  # both sides alike
    assert (wheels["tyre_pressure_kpa"] >= wheels["axle_cold_pressure_partial_kpa"]).all()
    assert set(wheels["sensor_frequency_mhz"].drop_nulls()) == {433.92}
    assert (wheels["vehicle_manufactured"] < wheels["vehicle_first_registration"]).all()


def test_every_kind_has_a_place() -> None:
    assert {kind.name for kind in models_of("GB", DAY).kinds} == {kind.name for kind in KINDS}


# --- several places ----------------------------------------------------------------------------------


def test_of_several_places_each_row_says_by_whose_law_it_is_judged() -> None:
    fleet = synthetic_fleet(120, place=("DE", "JP"), seed=5, faults=0.5)
    assert set(fleet.wheels["law_place"]) == {"DE", "JP"}
    assert set(fleet.wheels["law_day"]) == {DAY}
    judged = []
    for place in ("DE", "JP"):
        rows = fleet.wheels.with_row_index("was", offset=1).filter(pl.col("law_place") == place)
        found = audit_fleet(rows.drop("was"), rulebook(place, on=DAY)).findings_of("fail").collect()
        was = rows["was"].cast(pl.Int64).gather(found["row"] - 1)
        judged.append(found.with_columns(was.alias("row")).select(KEYS))
    assert pl.concat(judged).sort(KEYS).equals(fleet.planted.select(KEYS).sort(KEYS))


def test_a_place_without_a_pack_is_no_place_for_a_fleet_with_rules_of_its_own() -> None:
    with pytest.raises(StemloreError):
        synthetic_fleet(1, place="nowhere at all")


# --- mess --------------------------------------------------------------------------------------------


def test_mess_is_told_and_takes_no_fault_away() -> None:
    clean = synthetic_fleet(250, seed=9, faults=0.4)
    fleet = synthetic_fleet(250, seed=9, faults=0.4, mess=0.4)
    run, found = audited(fleet, "DE")
    assert found.sort(KEYS).equals(fleet.planted.select(KEYS).sort(KEYS))
    assert set(fleet.mess["kind"]) == set(MESS)
    told = fleet.mess.filter(pl.col("told") != "").select("row", kind="told")
    quality = run.quality.select("row", "kind").collect()
    assert quality.sort("row", "kind").equals(told.sort("row", "kind"))
    assert fleet.planted.height == clean.planted.height
    spoilt = set(fleet.mess["row"])
    hit = set(fleet.planted["vehicle_id"])
    assert hit.isdisjoint(fleet.wheels["vehicle_id"].gather([row - 1 for row in spoilt]))


def test_a_reading_in_another_unit_is_the_same_reading() -> None:
    clean = synthetic_fleet(200, seed=9, faults=0.0)
    fleet = synthetic_fleet(200, seed=9, faults=0.0, mess=0.3)
    twice = fleet.mess.filter(pl.col("kind") == "duplicate")["row"]
    key = ["vehicle_id", "position", "rule"]
    rules = ("world.tyre.pressure", "de.tyre.tread_depth")
    was, now = (
        audit_fleet(each.wheels, rulebook("DE", on=DAY))
        .findings.filter(pl.col("rule").is_in(rules))
        .select("row", *key, "measured")
        .collect()
        for each in (clean, fleet)
    )
    now = now.filter(~pl.col("row").is_in(twice.implode())).join(was, on=key, suffix="_was")
    units = fleet.mess.filter(pl.col("kind") == "unit")
    near = {"tyre_pressure": (rules[0], 0.51), "tyre_tread_depth_main_grooves": (rules[1], 0.8)}
    for column, (rule, most) in near.items():
        rows = units.filter(pl.col("column") == column)["row"]
        read = now.filter(pl.col("rule") == rule, pl.col("row").is_in(rows.implode()))
        assert read.height > 10
        assert ((read["measured"] - read["measured_was"]).abs() < most).all()


# --- seeds -------------------------------------------------------------------------------------------


def test_the_same_seed_gives_the_same_fleet() -> None:
    one, same, other = (synthetic_fleet(60, seed=seed, faults=0.5, mess=0.2) for seed in (1, 1, 2))
    for name in ("wheels", "planted", "mess", "unplanted"):
        assert getattr(one, name).equals(getattr(same, name))
    assert not one.wheels.equals(other.wheels)


def test_batches_do_not_change_it(monkeypatch: pytest.MonkeyPatch) -> None:
    whole = synthetic_fleet(60, seed=1, faults=0.5)
    monkeypatch.setattr("stemlore.testing.fleet._BATCH", 7)
    cut = synthetic_fleet(60, seed=1, faults=0.5)
    assert cut.wheels.equals(whole.wheels)
    assert cut.planted.equals(whole.planted)
