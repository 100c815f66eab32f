"""Fleets over many places and days: each row by its own book, and none without one."""

from __future__ import annotations

import subprocess
import sys
from datetime import date
from pathlib import Path
from typing import Any

import polars as pl
import pytest

import stemlore.audit._sources as sources
from stemlore.audit import AuditRun, audit_fleet
from stemlore.errors import ColumnError
from stemlore.rules import Rulebooks, rulebook, rulebooks
from stemlore.testing.fleet import synthetic_fleet

PLACES = ["DE", "GB", "NO"]
DAYS = [date(2021, 1, 10), date(2026, 11, 25)]
KEYS = ["row", "vehicle_id", "position", "rule", "outcome", "measured", "limit", "margin", "missing"]


def fleet_over(vehicles: int = 36, *, seed: int = 5) -> pl.DataFrame:
    wheels = synthetic_fleet(vehicles, seed=seed, faults=0.3).wheels
    number = pl.col("vehicle_id")
    return wheels.with_columns(
        law_place=(number % len(PLACES)).replace_strict(dict(enumerate(PLACES)), return_dtype=pl.String),
        law_day=(number % len(DAYS)).replace_strict(dict(enumerate(DAYS)), return_dtype=pl.Date),
    )


def one_by_one(fleet: pl.DataFrame) -> pl.DataFrame:
    """Return the findings of each place and day, audited by themselves."""
    numbered = fleet.with_row_index("number", offset=1)
    made = []
    for (place, day), part in numbered.partition_by("law_place", "law_day", as_dict=True).items():
        plain = part.drop("law_place", "law_day", "number")
        found = audit_fleet(plain, rulebook(place, on=day)).findings.collect()
        rows = part["number"].cast(pl.Int64).gather(found["row"] - 1)
        made.append(found.with_columns(rows.alias("row")))
    return pl.concat(made)


def ordered(frame: pl.DataFrame) -> pl.DataFrame:
    return frame.select(KEYS).sort("row", "position", "rule")


@pytest.mark.parametrize("batch", [40_000, 50], ids=["in one batch", "brought together on disk"])
def test_each_row_is_judged_by_the_book_of_its_place_and_day(
    batch: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    fleet = fleet_over()
    monkeypatch.setattr(sources, "BATCH", batch)
    run = audit_fleet(fleet, rulebooks())
    assert len(run.books) == len(PLACES) * len(DAYS)
    found = run.findings.collect()
    assert ordered(found).equals(ordered(one_by_one(fleet)))
    assert int(run.summary["subjects"].sum()) == found.height
    wide = run.wide.collect()
    assert sorted(wide["row"]) == list(range(1, fleet.height + 1))
    names = [name for name in wide.columns if "." in name]
    assert sum(wide[name].drop_nulls().len() for name in names) == found.height
    assert run.rows == fleet.height


def test_rows_of_one_vehicle_apart_are_brought_together_in_each_book(monkeypatch: pytest.MonkeyPatch) -> None:
    fleet = fleet_over(24)
    shuffled = fleet.sample(fraction=1.0, shuffle=True, seed=2)
    monkeypatch.setattr(sources, "BATCH", 30)
    by = ["vehicle_id", "position", "rule", "outcome", "margin"]
    one = audit_fleet(fleet, rulebooks()).findings.select(by).collect()
    other = audit_fleet(shuffled, rulebooks()).findings.select(by).collect()
    assert one.sort(by).equals(other.sort(by))


def test_a_place_of_the_row_goes_before_that_of_all() -> None:
    fleet = fleet_over(8).drop("law_place").with_columns(used_in=pl.lit("AT"))
    run = audit_fleet(fleet, rulebooks("DE"))
    assert {tuple(each.place for each in book.coverage.ties) for book in run.books} == {("DE", "AT", "DE")}


def test_the_day_of_the_visit_is_the_day_of_law_where_no_other_is_told() -> None:
    fleet = fleet_over(12).drop("law_place").rename({"law_day": "event_on"})
    run = audit_fleet(fleet, rulebooks("DE"))
    assert {book.on for book in run.books} == set(DAYS)


def test_rows_without_a_day_or_with_an_unknown_place_are_told_and_pass_nothing() -> None:
    fleet = fleet_over(12).with_columns(
        law_place=pl.when(pl.col("vehicle_id") == 5).then(pl.lit("QQ")).otherwise("law_place"),
        law_day=pl.when(pl.col("vehicle_id") != 7).then("law_day"),
    )
    run = audit_fleet(fleet, rulebooks())
    lost = fleet.filter(pl.col("vehicle_id").is_in([5, 7])).height
    quality = run.quality.collect()
    assert quality.filter(pl.col("kind") == "not judged").height == lost
    assert quality.filter(pl.col("column") == "law_place")["kind"].unique().to_list() == ["unreadable"]
    vehicles = {row["vehicle_id"]: row for row in run.vehicles.collect().iter_rows(named=True)}
    assert vehicles[7]["outcome"] == "not judged"
    assert vehicles[7]["pass"] == 0
    assert vehicles[5]["outcome"] == "not judged"
    assert not run.complete
    assert run.rows == fleet.height
    assert run.wide.collect().height == fleet.height
    assert any("no day tells which law holds" in note for note in run.notes)


def test_a_vehicle_in_two_places_is_in_none() -> None:
    fleet = fleet_over(6).with_columns(
        law_place=pl.when(pl.int_range(pl.len()) == 0).then(pl.lit("GB")).otherwise(pl.lit("DE"))
    )
    run = audit_fleet(fleet, rulebooks())
    told = run.quality.filter(pl.col("kind") == "contradiction").collect()
    assert set(told["column"]) == {"registered_in", "used_in", "workshop"}
    first = run.vehicles.collect().row(0, named=True)
    assert not first["covered"]


def test_a_change_of_law_is_asked_of_each_book() -> None:
    fleet = fleet_over(24)
    touched = audit_fleet(fleet, rulebooks()).compare("2026-11-26").collect()
    for place in PLACES:
        day = DAYS[0]
        chosen = fleet.with_row_index("n", offset=1).filter(
            (pl.col("law_place") == place) & (pl.col("law_day") == day)
        )
        own = audit_fleet(chosen.drop("law_place", "law_day", "n"), rulebook(place, on=day), day=day)
        alone = own.compare("2026-11-26").collect()
        mine = touched.filter(pl.col("row").is_in(chosen["n"].cast(pl.Int64).implode()))
        by = ["vehicle_id", "position", "rule", "before", "after"]
        assert mine.select(by).sort(by).equals(alone.select(by).sort(by))


# --- summaries -----------------------------------------------------------------------------------


def summed(run: AuditRun, *by: str) -> dict[Any, dict[str, int]]:
    made = run.summary_by(*by)
    return {tuple(row[name] for name in by): row for row in made.iter_rows(named=True)}


def test_summaries_by_place_gravity_category_and_age_add_up() -> None:
    fleet = fleet_over(24)
    run = audit_fleet(fleet, rulebooks())
    words = ["subjects", "pass", "fail", "unknown", "not_applicable"]
    whole = [int(run.summary[word].sum()) for word in words]
    for by in (
        ("used_in",),
        ("gravity",),
        ("vehicle_category",),
        ("age",),
        ("used_in", "rule"),
        ("tyre_age",),
    ):
        made = run.summary_by(*by)
        assert [int(made[word].sum()) for word in words] == whole, by
    found = run.findings_of("fail").collect()
    by_gravity = summed(run, "gravity")
    for gravity, count in found["gravity"].value_counts().iter_rows():
        assert by_gravity[(gravity,)]["fail"] == count


def test_a_column_that_rules_do_not_read_is_kept_and_summed_by() -> None:
    fleet = fleet_over(20).with_columns(Depot=pl.when(pl.col("vehicle_id") % 2 == 0).then(pl.lit("north")))
    run = audit_fleet(fleet, rulebooks(), mapping='keep = ["Depot"]')
    assert run.wide.collect()["Depot"].to_list() == fleet["Depot"].to_list()
    made = summed(run, "Depot")
    assert set(made) == {("north",), (None,)}
    assert "Depot" not in set(run.quality.collect()["column"])
    with pytest.raises(ColumnError, match="Depott"):
        run.summary_by("Depott")


def test_the_age_of_a_vehicle_counts_whole_years_at_its_day() -> None:
    wheels = pl.DataFrame(
        {
            "vehicle_id": [1, 2, 3],
            "position": ["axle 1 left"] * 3,
            "vehicle_first_registration": [date(2020, 11, 25), date(2020, 11, 26), None],
        }
    )
    run = audit_fleet(wheels, rulebook("DE", on="2026-11-25"))
    assert set(summed(run, "age")) == {(6,), (5,), (None,)}


def test_vehicles_are_told_as_a_counter_would(monkeypatch: pytest.MonkeyPatch) -> None:
    from stemlore.rules import Gravity, check

    book = rulebook("DE", on="2026-11-25")
    wheels = synthetic_fleet(80, seed=8, faults=0.5).wheels
    run = audit_fleet(wheels, book)
    told = {row["vehicle_id"]: row for row in run.vehicles.collect().iter_rows(named=True)}
    jobs = dict(run.jobs())
    assert set(jobs) == set(told)
    for number, job in jobs.items():
        report = check(job, book)
        assert (told[number]["outcome"] == "clean") == report.is_clean
        for gravity in Gravity:
            fails = sum(each.gravity is gravity for each in report.failing)
            assert told[number][f"fail_{gravity.value}"] == fails
    monkeypatch.setattr(sources, "BATCH", 30)
    again = audit_fleet(wheels, book).vehicles.collect()
    assert again.equals(run.vehicles.collect())


# --- two tables ----------------------------------------------------------------------------------


def two_tables(wheels: pl.DataFrame) -> tuple[pl.DataFrame, pl.DataFrame]:
    of_vehicle = [name for name in wheels.columns if name.startswith("vehicle_")]
    others = [name for name in wheels.columns if not name.startswith("vehicle_") or name == "vehicle_id"]
    return wheels.select(others), wheels.select(of_vehicle).unique(maintain_order=True)


def test_wheels_and_vehicles_in_two_tables_are_judged_as_in_one() -> None:
    whole = synthetic_fleet(50, seed=9, faults=0.4).wheels
    wheels, vehicles = two_tables(whole)
    book = rulebook("DE", on="2026-11-25")
    one = audit_fleet(whole, book).findings.collect()
    two = audit_fleet(wheels, book, vehicles=vehicles.sample(fraction=1.0, shuffle=True, seed=1))
    assert two.findings.collect().equals(one)


def test_a_vehicle_without_wheels_is_a_vehicle_all_the_same() -> None:
    whole = synthetic_fleet(10, seed=9).wheels
    wheels, vehicles = two_tables(whole)
    run = audit_fleet(
        wheels.filter(pl.col("vehicle_id") != 4), rulebook("DE", on="2026-11-25"), vehicles=vehicles
    )
    told = run.vehicles.collect()
    assert told.height == vehicles.height
    alone = told.filter(pl.col("vehicle_id") == 4).row(0, named=True)
    assert alone["outcome"] == "not settled"
    positions = run.findings.filter(pl.col("vehicle_id") == 4).collect()["position"].unique()
    assert "wheels not stated" in positions or all(
        "not stated" in each for each in positions if each != "vehicle"
    )


def test_a_vehicle_in_several_rows_keeps_only_what_they_agree_on() -> None:
    whole = synthetic_fleet(6, seed=9).wheels
    wheels, vehicles = two_tables(whole)
    other = vehicles.filter(pl.col("vehicle_id") == 2).with_columns(vehicle_category=pl.lit("N3"))
    book = rulebook("DE", on="2026-11-25")
    run = audit_fleet(wheels, book, vehicles=pl.concat([vehicles, other]))
    told = run.quality.filter(pl.col("kind") == "duplicate").collect()
    assert told["row"].to_list() == [2, 7]
    assert told["vehicle_id"].to_list() == ["2", "2"]
    without = whole.with_columns(
        pl.when(pl.col("vehicle_id") != 2).then("vehicle_category").alias("vehicle_category")
    )
    assert run.findings.collect().equals(audit_fleet(without, book).findings.collect())


def test_one_column_in_both_tables_is_refused() -> None:
    whole = synthetic_fleet(3, seed=9).wheels
    with pytest.raises(ColumnError, match="both tables have a column 'vehicle_"):
        audit_fleet(whole, rulebook("DE", on="2026-11-25"), vehicles=two_tables(whole)[1])


def test_books_by_place_need_no_column_where_all_is_told() -> None:
    books = rulebooks("DE", on="2026-11-25")
    assert isinstance(books, Rulebooks)
    wheels = synthetic_fleet(10, seed=1).wheels
    assert (
        audit_fleet(wheels, books)
        .findings.collect()
        .equals(audit_fleet(wheels, rulebook("DE", on="2026-11-25")).findings.collect())
    )


def test_fields_of_packs_are_read_in_a_process_that_has_opened_none() -> None:
    code = """
import polars as pl
from stemlore.audit import audit_fleet, read_mapping
from stemlore.rules import rulebooks
wheels = pl.DataFrame({"vehicle_id": [1], "position": ["axle 1 left"], "own_us_commercial": [True]})
run = audit_fleet(wheels.with_columns(law_place=pl.lit("US-TX")), rulebooks(on="2026-11-25"))
print(run.quality.collect().height, next(run.jobs())[1].own["us.commercial"])
print(read_mapping('columns = { c = "own.us.commercial" }').columns[0].to)
"""
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert told.stdout.split("\n")[:2] == ["0 True", "own.us.commercial"]


def test_a_column_called_row_is_a_column_like_others() -> None:
    wheels = synthetic_fleet(6, seed=1).wheels
    named = wheels.with_columns(row=pl.int_range(pl.len()) * 10)
    run = audit_fleet(named, rulebook("DE", on="2026-11-25"), mapping='keep = ["row"]')
    plain = audit_fleet(wheels, rulebook("DE", on="2026-11-25"))
    assert run.findings.collect().equals(plain.findings.collect())
    assert run.summary_by("row")["row"].to_list() == [each * 10 for each in range(wheels.height)]


# --- what cannot be read is not blank -------------------------------------------------------------

LIKE = {"used_in": "Austria", "law_place": "Austria", "law_day": "25.11.2009", "event_on": "25.11.2009"}


@pytest.mark.parametrize("column", list(LIKE))
def test_a_place_or_day_that_cannot_be_read_is_not_that_of_all(column: str) -> None:
    wheels = synthetic_fleet(6, seed=1).wheels
    if column in wheels.columns:
        wheels = wheels.drop(column)
    first = pl.int_range(pl.len()) == 0
    spoilt = wheels.with_columns(pl.when(first).then(pl.lit(LIKE[column])).alias(column))
    run = audit_fleet(spoilt, rulebooks("DE", on="2026-11-25"))
    told = {row["vehicle_id"]: row["outcome"] for row in run.vehicles.collect().iter_rows(named=True)}
    hit = wheels["vehicle_id"][0]
    assert told.pop(hit) == "not judged"
    assert "not judged" not in told.values()
    why = run.quality.filter(pl.col("kind") == "not judged").collect()
    assert set(why["message"]) == {"the place or day that tells the law cannot be read"}


def test_what_one_row_tells_of_place_and_day_holds_for_the_vehicle() -> None:
    wheels = synthetic_fleet(4, seed=1).wheels
    first = pl.col("vehicle_id").is_first_distinct()
    told = wheels.with_columns(
        law_place=pl.when(first).then(pl.lit("AT")), law_day=pl.when(first).then(pl.lit(date(2023, 7, 1)))
    )
    run = audit_fleet(told, rulebooks("DE", on="2026-11-25"))
    assert [(book.coverage.ties[0].place, book.on) for book in run.books] == [("AT", date(2023, 7, 1))]


# --- ids ------------------------------------------------------------------------------------------


def test_blanks_make_no_vehicle_and_part_none(tmp_path: Path) -> None:
    table = tmp_path / "wheels.csv"
    table.write_text(
        "vehicle_id,axle_number,side,vehicle_category,tyre_tread_depth_main_grooves_mm\n"
        ",1,left,M1,1.0\n,1,left,M1,1.0\n n/a ,1,left,M1,1.0\nA 1,1,left,M1,5\nA 1 ,1,right,M1,1.0\n"
    )
    run = audit_fleet(table, rulebook("DE", on="2026-11-25"), mapping='missing = ["n/a"]')
    assert run.vehicles.collect()["vehicle_id"].to_list() == [None, None, None, "A 1"]
    depth = run.findings.filter(pl.col("rule") == "de.tyre.tread_depth").collect()
    assert depth["outcome"].to_list() == ["fail", "fail", "fail", "pass", "fail"]


def test_a_wheel_in_two_rows_keeps_what_these_agree_on() -> None:
    row = {"vehicle_id": "x", "position": "axle 1 left", "vehicle_category": "M1"}
    wheels = pl.DataFrame(
        [
            {**row, "tyre_tread_depth_main_grooves_mm": 1.0, "tyre_pressure_kpa": 200.0},
            {**row, "tyre_tread_depth_main_grooves_mm": 1.0, "tyre_pressure_kpa": 250.0},
        ]
    )
    run = audit_fleet(wheels, rulebook("DE", on="2026-11-25"))
    depth = run.findings.filter(pl.col("rule") == "de.tyre.tread_depth").collect()
    assert depth["outcome"].to_list() == ["fail", "fail"]
    assert next(run.jobs())[1].assemblies[0].tyre.pressure is None


def test_ids_of_two_kinds_are_joined_as_texts_and_nothing_is_lost() -> None:
    wheels = pl.DataFrame({"no": [12, 12, 13, 99], "side": ["left", "right"] * 2, "axle_number": 1})
    vehicles = pl.DataFrame({"plate": ["12", "13", "A7"], "vehicle_category": ["M1", "N1", "M1"]})
    mapping = '[columns]\nno = "vehicle_id"\nplate = "vehicle_id"\n'
    run = audit_fleet(wheels, rulebook("DE", on="2026-11-25"), vehicles=vehicles, mapping=mapping)
    jobs = dict(run.jobs())
    assert {number: job.vehicle.category for number, job in jobs.items()} == {
        "12": "M1", "13": "N1", "99": None, "A7": "M1",
    }  # fmt: skip
    told = run.quality.filter(pl.col("kind").is_in(["no wheels", "no row of the vehicle"])).collect()
    assert sorted(told.select("kind", "vehicle_id").iter_rows()) == [
        ("no row of the vehicle", "99"),
        ("no wheels", "A7"),
    ]
