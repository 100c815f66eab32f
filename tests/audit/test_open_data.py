"""A table that was not made for us: 406 cars of the model years 1970 to 1982.

Published with the StatLib archive (1983) and shipped by the package
vega_datasets. It tells weight, year and origin, and nothing of wheels: mapped
as far as it goes, it may bring no verdict that it cannot bear.
"""

from __future__ import annotations

import warnings

import polars as pl
import pytest

from stemlore.audit import AuditRun, audit_fleet, inspect_source
from stemlore.rules import rulebook

MAPPING = """
ignore = [
    "Name", "Miles_per_Gallon", "Cylinders", "Displacement", "Horsepower", "Weight_in_lbs", "Acceleration",
]
keep = ["Origin"]
[columns]
car = "vehicle_id"
kind = "vehicle.category"
Year = "vehicle.first_registration"
"""


@pytest.fixture(scope="module")
def cars() -> pl.DataFrame:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of how the package is built
        from vega_datasets import local_data

        table = pl.from_pandas(local_data.cars())
    # A model year is no day: cars of one are registered in it or later, and built from the year before on.
    year = pl.col("Year").dt.year()
    return table.with_columns(
        car=pl.int_range(pl.len()),
        kind=pl.lit("M1"),  # all of them are passenger cars
        Year=year.cast(pl.String),
        vehicle_manufactured_earliest=pl.date(year - 1, 1, 1),
        vehicle_manufactured_latest=pl.date(year, 12, 31),
    )


def run_of(cars: pl.DataFrame, place: str) -> AuditRun:
    return audit_fleet(cars, rulebook(place, on="2026-11-25"), mapping=MAPPING)


def outcomes_of(run: AuditRun, rule: str) -> dict[str, int]:
    row = run.summary.row(by_predicate=pl.col("rule") == rule, named=True)
    return {name: row[name] for name in ("pass", "fail", "unknown", "not_applicable")}


def test_it_is_read_whole(cars: pl.DataFrame) -> None:
    assert cars.height == 406
    run = run_of(cars, "US")
    assert run.quality.collect().height == 0
    assert run.rows == 406
    wide = run.wide.collect()
    assert wide["Origin"].to_list() == cars["Origin"].to_list()
    assert int(run.summary_by("Origin")["subjects"].sum()) == int(run.summary["subjects"].sum())


@pytest.mark.parametrize(
    ("place", "rule"), [("US", "us.vehicle.monitoring_required"), ("DE", "eu.vehicle.monitoring_required")]
)
def test_a_duty_of_this_century_falls_on_none_of_them(cars: pl.DataFrame, place: str, rule: str) -> None:
    # 49 CFR 571.138 S7 begins in 2005, Regulation (EC) No 661/2009 Art. 13 in 2012
    told = outcomes_of(run_of(cars, place), rule)
    assert told["pass"] == told["fail"] == told["unknown"] == 0
    assert told["not_applicable"] == 406


@pytest.mark.parametrize("place", ["US", "DE", "JP", "GB"])
def test_what_it_does_not_tell_is_never_a_pass(cars: pl.DataFrame, place: str) -> None:
    run = run_of(cars, place)
    vehicles = run.vehicles.collect()
    assert vehicles["outcome"].unique().to_list() == ["not settled"]
    wheels = run.findings.filter(pl.col("position") != "vehicle").collect()
    assert set(wheels["outcome"]) <= {"unknown", "not applicable"}
    assert run.needs()["field"].len() > 3


def test_a_proposal_names_what_it_cannot_map(cars: pl.DataFrame) -> None:
    found = inspect_source(cars)
    assert set(found.unmapped) >= {"Miles_per_Gallon", "Horsepower"}
    assert found.mapping.keep == ("Origin",)
