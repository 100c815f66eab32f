"""Work plans as JSON, and in words."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path
from typing import Any

import jsonschema
import msgspec
import pytest

from stemlore import plan_from_json, plan_to_json, plan_work, read_catalogue, read_job, rulebook, schema
from stemlore.errors import DocumentError
from stemlore.interchange import PlanRecord, SetPointRecord, StepRecord, plan_record
from stemlore.interchange.plan_words import (
    CEILING,
    FLOOR,
    cautions_of,
    detail_in_words,
    gaps_of,
    reasons,
    values_of,
    wheels_in_words,
)
from stemlore.units import convert, unit
from stemlore.workplan import WorkPlan

WORKED = Path(__file__).parents[1] / "workplan" / "worked"
NAMES = sorted(path.stem for path in WORKED.glob("*.json"))


@cache
def plan_of(name: str, place: str = "US") -> WorkPlan:
    return plan_work(read_job(WORKED / f"{name}.json"), rulebook(place, on="2026-11-25"))


def document(name: str = "car_alloy") -> dict[str, Any]:
    made: dict[str, Any] = json.loads(plan_to_json(plan_of(name)))
    return made


def point(**values: Any) -> SetPointRecord:
    told: dict[str, Any] = {
        "what": "tyre.pressure",
        "title": "Cold inflation pressure",
        "positions": ("axle 1 left",),
        "unit": "kPa",
        "target": None,
        "low": None,
        "high": None,
        "rules": (),
        "told_by": "",
        "note": "",
    }
    return SetPointRecord(**{**told, **values})


# --- there and back ----------------------------------------------------------------------------


@pytest.mark.parametrize("name", NAMES)
def test_a_plan_is_read_back_as_it_was_written(name: str) -> None:
    text = plan_to_json(plan_of(name))
    record = plan_from_json(text)
    assert isinstance(record, PlanRecord)
    assert record == plan_record(plan_of(name))
    assert plan_to_json(record) == text
    jsonschema.Draft202012Validator(schema("plan")).validate(json.loads(text))


def test_the_schema_is_one_and_refuses_what_is_no_plan() -> None:
    made = schema("plan")
    jsonschema.Draft202012Validator.check_schema(made)
    assert made["title"] == "stemlore.plan/1"
    wrong = document()
    wrong["choices"][0]["excluded"][0]["verdict"] = "maybe"
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(wrong, made)
    with pytest.raises(ValueError, match="'job', 'report' or 'plan'"):
        schema("nothing")  # type: ignore[arg-type]


def test_a_record_has_the_names_of_the_plan() -> None:
    plan = plan_of("heavy_truck_dual")
    record = plan_record(plan)
    for name in ("notices", "choices", "renewals", "set_points", "steps", "gaps"):
        assert len(getattr(record, name)) == len(getattr(plan, name)), name
    assert [each.key for each in record.steps] == [each.key for each in plan.steps]
    assert record.is_complete is plan.is_complete
    assert [each.position for each in record.wheels] == [
        str(each.position) for each in plan.planned.assemblies
    ]
    assert str(record.steps[0].citation) == str(plan.steps[0].citation)


@pytest.mark.parametrize("name", NAMES)
def test_every_excluded_part_says_which_rule_fails_and_by_how_much(name: str) -> None:
    seen = 0
    for choice, live in zip(plan_record(plan_of(name)).choices, plan_of(name).choices, strict=True):
        assert [each.code for each in choice.excluded] == [each.item.code for each in live.excluded]
        for each in choice.excluded:
            assert {why.rule for why in each.why} == set(each.rules)
            for why in each.why:
                seen += 1
                assert "cannot be judged" not in why.sentence
                if why.margin is not None and isinstance(why.measured, float):
                    assert isinstance(why.limit, float)
                    assert why.margin < 0
                    assert abs(why.margin) == pytest.approx(abs(why.measured - why.limit))
    assert seen or not any(each.excluded for each in plan_of(name).choices)


def test_what_the_shops_list_says_beside_is_carried() -> None:
    mine = read_catalogue([
        {"code": "A", "kind": "snap_in", "table_code": "TR414", "stock": 40, "price": "1,20"},
        {"code": "B", "kind": "snap_in", "table_code": "TR415", "length_with_cap": "44 mm", "stock": "7"},
    ])  # fmt: skip
    plan = plan_work(read_job(WORKED / "car_steel.json"), rulebook("US", on="2026-11-25"), catalogue=mine)
    choice = plan_from_json(plan_to_json(plan)).choices[0]
    carried = {
        each.code: each.carried for each in (*choice.fits, *choice.undecided, *choice.excluded)
    }  # fmt: skip
    assert carried == {"A": {"stock": "40", "price": "1,20"}, "B": {"stock": "7"}}
    (other,) = choice.excluded
    assert other.valve["length_with_cap_mm"] == 44.0
    assert other.sensor is None


def test_indented_and_in_one_line_say_the_same() -> None:
    plan = plan_of("car_alloy")
    assert "\n" not in plan_to_json(plan)
    assert plan_from_json(plan_to_json(plan, indent=2)) == plan_from_json(plan_to_json(plan))


# --- refusals ----------------------------------------------------------------------------------


def refusal(made: dict[str, Any]) -> str:
    with pytest.raises(DocumentError) as caught:
        plan_from_json(made)
    return str(caught.value)


@pytest.mark.parametrize("given", [None, "stemlore.report/1", "stemlore.plan/2"])
def test_another_document_is_refused(given: str | None) -> None:
    made = document()
    made["schema"] = given
    assert "this release reads stemlore.plan/1" in refusal(made)


def test_a_plan_that_is_said_to_be_complete_with_gaps_is_refused() -> None:
    made = document()
    assert made["gaps"]
    made["is_complete"] = True
    assert "is_complete: says True" in refusal(made)


def test_a_stop_keeps_a_plan_from_being_complete() -> None:
    made = document()
    made["gaps"], made["is_complete"] = [], True
    assert plan_from_json(made).is_complete
    made["notices"][0]["stops"] = True
    assert "is_complete" in refusal(made)


@pytest.mark.parametrize("where", ["set_points", "steps"])
@pytest.mark.parametrize(("name", "factor", "words"), [("high", 0.5, "above"), ("low", 2.0, "below")])
def test_a_target_out_of_its_band_is_refused(where: str, name: str, factor: float, words: str) -> None:
    made = document()
    if where == "set_points":
        points = made["set_points"]
    else:
        points = [each for step in made["steps"] for each in step["values"]]
    one = next(each for each in points if each["target"] is not None)
    one[name] = one["target"] * factor
    told = refusal(made)
    assert words in told
    assert where in told


def test_a_best_part_that_does_not_fit_is_refused() -> None:
    made = document()
    made["choices"][0]["best"] = "TR412"
    assert "choices[0].best" in refusal(made)
    made = document()
    made["choices"][0]["likely"] = "nothing"
    assert "choices[0].likely" in refusal(made)


def test_a_part_in_the_wrong_list_is_refused() -> None:
    made = document()
    choice = made["choices"][0]
    choice["undecided"].append(choice["excluded"].pop())
    assert "stands in undecided" in refusal(made)


def test_a_wrong_kind_of_value_and_a_strange_key_are_told_with_their_place() -> None:
    made = document()
    made["steps"][0]["title"] = 3
    assert "steps[0].title" in refusal(made)
    made = document()
    made["more"] = 1
    assert "more" in refusal(made)


def test_a_key_that_stands_twice_is_refused() -> None:
    text = plan_to_json(plan_of("car_alloy")).replace('{"schema"', '{"safety":"","schema"', 1)
    with pytest.raises(DocumentError, match="stands twice"):
        plan_from_json(text)


# --- in words ----------------------------------------------------------------------------------


@pytest.mark.parametrize("symbol", ["kPa", "bar", "psi", "hPa"])
@pytest.mark.parametrize("name", NAMES)
def test_no_value_is_printed_out_of_its_band(name: str, symbol: str) -> None:
    """A ceiling that is rounded up is none."""
    for each in plan_record(plan_of(name)).set_points:
        if each.unit != "kPa":
            continue
        shown = values_of(each, (symbol,))
        if not shown.is_known:
            continue
        printed = float(shown.value.split()[0])
        back = convert(printed, unit(symbol), unit("kPa"))
        if each.high is not None:
            assert back <= each.high * (1 + 1e-6)
        if each.low is not None:
            assert back >= each.low * (1 - 1e-6)


def test_bounds_are_rounded_into_the_band() -> None:
    shown = values_of(point(target=250.0, low=230.04, high=551.580583))
    assert (shown.value, shown.band) == ("250 kPa", "231 to 551 kPa")
    ceiling = values_of(point(what=CEILING, high=275.790292))
    assert (str(ceiling), ceiling.bound) == ("at most 275 kPa", "at most")
    floor = values_of(point(what=FLOOR, low=1250.0))
    assert (str(floor), floor.is_known, floor.band) == ("at least 1250 kPa", True, "")
    assert str(values_of(point(what=CEILING, high=275.790292), ("psi",))) == "at most 40 psi"


def test_a_target_near_its_bound_gets_more_figures() -> None:
    assert values_of(point(target=230.4, low=230.4, high=230.6)).value == "230.4 kPa"
    assert (
        values_of(point(target=120.0, low=120.0, high=120.0, unit="N.m"), ("lbf.ft",)).value == "88.51 lbf·ft"
    )


def test_what_only_the_maker_tells_has_no_value() -> None:
    shown = values_of(point(unit="N.m"))
    assert (shown.value, shown.band, shown.is_known) == ("the maker's figure is needed", "", False)
    half = values_of(point(unit="N.m", low=100.0))
    assert (half.value, half.band, half.is_known) == ("not set", "at least 100 N·m", False)


def test_wheels_are_told_as_people_say_them() -> None:
    truck = plan_record(plan_of("heavy_truck_dual"))
    every = [each.position for each in truck.wheels]
    assert wheels_in_words(every, truck) == "all 6 wheels"
    assert wheels_in_words(every[2:], truck) == "axle 2"
    assert wheels_in_words(every[1:], truck) == "axle 1 right, axle 2"
    assert wheels_in_words([], truck) == ""
    text = "TR570C, once valve.for_hole is known: axle 1 left, axle 1 right"
    told = detail_in_words(text, truck)
    assert told == "TR570C, once diameter of the hole that the valve is made for is known: axle 1"


def test_the_same_gap_at_several_wheels_is_told_once() -> None:
    record = plan_record(plan_of("car_alloy"))
    again = msgspec.structs.replace(record, gaps=(*record.gaps, *record.gaps))
    assert len(gaps_of(again)) == len(gaps_of(record))


def test_parts_are_told_by_reason_and_none_is_lost() -> None:
    choice = plan_record(plan_of("car_alloy")).choices[0]
    told = reasons(choice)
    assert sum(each.count for each in told) == len(choice.excluded)
    assert [len(each.rules) for each in told] == sorted(len(each.rules) for each in told)
    hole = next(each for each in told if each.rules == ("world.valve.hole",))
    assert hole.why == ("diameter of the valve hole 11.4 mm, at least 15.7 mm, margin -4.3 mm",)
    inches = next(each for each in reasons(choice, ("in",)) if each.rules == ("world.valve.hole",))
    assert "at least 0.618 in" in inches.why[0]


def test_a_caution_that_another_says_in_full_is_told_once() -> None:
    step = plan_record(plan_of("car_alloy")).steps[0]
    cautions = ("Stand clear.", "stand clear; never weld.", "Wear goggles.")
    assert isinstance(step, StepRecord)
    assert cautions_of(msgspec.structs.replace(step, cautions=cautions)) == cautions[1:]
