"""What follows from other cells is what a record derives from its fields, and contradictions are told."""

from __future__ import annotations

from datetime import date
from typing import Any

import polars as pl
import pytest

from stemlore.audit import audit_fleet
from stemlore.model import Assembly, Axle, Condition, Job, Tyre, Valve, Vehicle
from stemlore.rules import rulebook

BOOK = rulebook("DE", on="2026-11-25")


def audited(**columns: list[Any]) -> tuple[list[Job], pl.DataFrame]:
    run = audit_fleet(pl.DataFrame(columns), BOOK)
    return [job for _, job in run.jobs()], run.quality.collect()


def one(**cells: Any) -> tuple[Assembly, pl.DataFrame]:
    given = {"vehicle_id": "x", "position": "axle 1 left", **cells}
    (job,), quality = audited(**{name: [value] for name, value in given.items()})
    return job.assemblies[0], quality


def test_a_valve_code_tells_its_row_of_the_table() -> None:
    made, quality = one(valve_code="TR413")
    assert made.valve == Valve(code="TR413")
    assert made.valve.table_code is not None
    assert not quality.height
    made, quality = one(valve_code="TR413", valve_table_code="TR600HP")
    assert made.valve.table_code is None
    assert quality["message"].to_list() == [
        f"contradicts the valve code, which says {Valve(code='TR413').table_code}"
    ]


def test_a_sound_assembly_has_none_of_the_damages() -> None:
    made, quality = one(condition_sound=True)
    assert made.condition == Condition(sound=True)
    made, quality = one(condition_sound=True, condition_bulge=True)
    assert made.condition.bulge is None
    assert quality["column"].to_list() == ["condition_bulge"]
    made, _ = one(condition_sound=False)
    assert made.condition == Condition(sound=False)


@pytest.mark.parametrize("number", ["DOT ABCD 1223", "1223"])
def test_an_identification_number_tells_the_week_unless_a_day_is_given(number: str) -> None:
    made, _ = one(tyre_identification_number=number)
    assert made.tyre.manufactured == Tyre(identification_number="DOT ABCD 1223").manufactured
    made, quality = one(tyre_identification_number=number, tyre_manufactured=date(2023, 3, 28))
    assert str(made.tyre.manufactured) == "2023-03-28"
    assert not quality.height
    made, quality = one(tyre_identification_number=number, tyre_manufactured=date(2021, 3, 28))
    assert made.tyre.manufactured is None
    assert quality["kind"].to_list() == ["contradiction"]


FITMENTS = [["single"], ["single", "dual"], ["single", None], [None, "dual"], ["dual", "dual"]]


@pytest.mark.parametrize("fitments", FITMENTS)
@pytest.mark.parametrize("declared", [0, 1, 2])
def test_twin_wheels_follow_from_the_axles(fitments: list[str | None], declared: int) -> None:
    if declared and declared < len(fitments):
        return  # the table contradicts itself
    numbers = list(range(1, len(fitments) + 1))
    jobs, _ = audited(
        vehicle_id=["x"] * len(fitments),
        axle_number=numbers,
        side=["left"] * len(fitments),
        place=["outer" if each == "dual" else "single" for each in fitments],
        axle_fitment=fitments,
        vehicle_axle_count=[declared or None] * len(fitments),
    )
    axles = [
        Axle(number=number, fitment=fitments[number - 1] if number <= len(fitments) else None)
        for number in range(1, declared + 1)
    ]
    assert jobs[0].vehicle.twin_wheels == Vehicle(axles=axles).twin_wheels


def test_a_vehicle_that_contradicts_its_axles_is_told() -> None:
    jobs, quality = audited(
        vehicle_id=["x"], axle_number=[1], side=["left"], place=["outer"], axle_fitment=["dual"],
        vehicle_axle_count=[1], vehicle_twin_wheels=[False],
    )  # fmt: skip
    assert jobs[0].vehicle.twin_wheels is None
    assert quality["column"].to_list() == ["vehicle_twin_wheels"]


@pytest.mark.parametrize("order", [[0, 1, 2, 3, 4], [0, 2, 1, 3, 4], [4, 3, 2, 1, 0]])
def test_rows_that_contradict_each_other_are_found_in_any_order(order: list[int]) -> None:
    frame = pl.DataFrame(
        {
            "vehicle_id": ["x", "x", "x", "x", "y"],
            "axle_number": [1, 1, 2, 2, 1],
            "side": ["left", "right", "left", "right", "left"],
            "vehicle_category": ["M1", None, None, "N1", "M1"],
            "axle_permitted_mass_kg": [1000.0, 1100.0, 900.0, 900.0, 800.0],
        }
    )[order]
    told = audit_fleet(frame, BOOK).quality.filter(pl.col("kind") == "contradiction").collect()
    found = dict(told.group_by("column").len().iter_rows())
    assert found == {"vehicle_category": 4, "axle_permitted_mass_kg": 2}
