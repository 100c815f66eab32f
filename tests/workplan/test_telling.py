"""What a plan tells at its steps: in order, once, and by whom."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

import pytest

from stemlore import rulebook
from stemlore.interchange import read_job
from stemlore.workplan import Step, WorkPlan, plan_work
from stemlore.workplan.ordering import _once

sys.path.insert(0, str(Path(__file__).parent))

from worked_plans import WORKED, worked  # noqa: E402

DE = rulebook("DE", on="2026-11-25")


def document(name: str) -> dict[str, Any]:
    made: dict[str, Any] = json.loads((WORKED / f"{name}.json").read_text("utf-8"))
    return made


def step(plan: WorkPlan, key: str) -> Step:
    return next(each for each in plan.steps if each.key == key)


@pytest.mark.parametrize("place", ["DE", "US"])
def test_a_placard_that_tells_no_pressure_tells_no_warning_either(place: str) -> None:
    made = document("car_alloy")
    for axle in made["vehicle"]["axles"]:
        axle |= {"cold_pressure_full": "0 kPa", "cold_pressure_partial": "0 kPa"}
    told = plan_work(read_job(made), rulebook(place, on="2026-11-25"))
    assert not any("the lamp must light" in each for each in step(told, "relearn").details)
    usual = plan_work(read_job(document("car_alloy")), rulebook(place, on="2026-11-25"))
    assert any("the lamp must light" in each for each in step(usual, "relearn").details)


def test_the_wheel_maker_s_ceiling_counts_beside_what_others_tell() -> None:
    made = document("car_steel")
    wheel_maker = {"source": "papers", "issued_by": "wheel_maker", "seating_pressure_max": "300 kPa"}
    assert {each["issued_by"] for each in made["makers"]} == {"vehicle_maker"}
    for tellers in ([*made["makers"], wheel_maker], [wheel_maker, *made["makers"]]):
        plan = plan_work(read_job({**made, "makers": tellers}), DE)
        (point,) = [each for each in plan.set_points if each.what == "work.seating_pressure"]
        assert point.high == pytest.approx(300.0)
        (fixings,) = [each for each in plan.set_points if each.what == "work.wheel_fixing_torque"]
        assert fixings.target is not None


def test_a_sensor_is_fitted_before_its_nut_is_tightened() -> None:
    keys = [each.key for each in worked("direct_clamp_in_and_snap_in")[2].steps]
    assert keys.index("fit_sensor") < keys.index("torque_valve_nut")


@pytest.mark.parametrize(
    ("cautions", "told"),
    [
        (
            (
                "Stand clear of tyre and rim while air goes in.",
                "Stay out of the trajectory while air goes in.",
            ),
            ("Stand clear of tyre and rim while air goes in.",),
        ),
        (
            ("Stand clear of the valve.", "It is rated so. Stand clear of the valve while letting air out."),
            ("Stand clear of the valve.", "It is rated so."),
        ),
        (
            (
                "Tighten or loosen the nut on a deflated tyre only.",
                "It parts. Let all air out before the valve, core or nut is loosened; stand clear.",
            ),
            ("Tighten or loosen the nut on a deflated tyre only.", "It parts. Stand clear."),
        ),
        (
            ("Let all air out before the valve, core or nut is loosened; stand clear of the valve.",),
            ("Let all air out before the valve, core or nut is loosened; stand clear of the valve.",),
        ),
    ],
)
def test_like_sentences_are_told_once_and_none_is_lost(
    cautions: tuple[str, ...], told: tuple[str, ...]
) -> None:
    assert _once(cautions) == told


def test_one_part_at_several_axles_is_named_once_at_its_step() -> None:
    fit = step(worked("fast_car")[2], "fit_valve").details
    codes = [each.partition(",")[0] for each in fit if "once this is measured" in each]
    assert len(codes) == len(set(codes)) == 1
