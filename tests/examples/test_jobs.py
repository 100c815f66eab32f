"""The example jobs, with what a foreman would find in them, written by hand."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from stemlore import check, read_job, rulebook
from stemlore.rules import Outcome, Report

JOBS = Path(__file__).parents[2] / "examples" / "jobs"
WHEELS = ["axle 1 left", "axle 1 right", "axle 2 left", "axle 2 right"]


def judged(name: str, on: str = "2026-11-25", place: str = "DE") -> Report:
    return check(read_job(JOBS / f"{name}.json"), rulebook(place, on=on))


def failing(report: Report) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for finding in report.failing:
        found.setdefault(finding.rule, []).append(str(finding.subject))
    return found


def test_a_sound_car_is_clean() -> None:
    report = judged("sound_car")
    assert report.is_clean
    assert report.failing == ()
    assert report.unknown == ()
    assert report.next_readings == ()
    passed = {finding.rule for finding in report.findings if finding.outcome is Outcome.PASS}
    assert {"de.tyre.tread_depth", "world.valve.speed", "world.valve.hole", "eu.tyre.load_single"} <= passed


def test_a_fast_car_on_snap_in_valves_is_held() -> None:
    report = judged("fast_car_on_snap_in_valves")
    assert not report.is_clean
    assert {finding.rule for finding in report.holding} == {"world.valve.speed"}
    assert [str(finding.subject) for finding in report.holding] == WHEELS
    first = report.holding[0]
    # Tire and Rim Association: above 210 km/h (130 mph) a clamp-in valve
    assert (first.measured, first.limit, first.margin) == (250.0, 210.0, -40.0)
    assert str(first.unit) == "km/h"
    assert {finding.rule for finding in report.unknown} == {"world.valve.bending"}


def test_a_van_at_4_75_bar_on_65_psi_valves_is_held_at_its_rear_wheels() -> None:
    report = judged("van_at_4_75_bar_on_65_psi_valves")
    rear = ["axle 2 left", "axle 2 right"]
    assert {rule: at for rule, at in failing(report).items() if rule.startswith("world.valve")} == {
        "world.valve.pressure_rating": rear,
        "world.valve.set_pressure": rear,
    }
    rating = next(each for each in report.holding if each.rule == "world.valve.pressure_rating")
    # 65 psi is printed as 450 kPa, and the more permissive figure counts
    assert (rating.measured, rating.limit, rating.margin) == (475.0, 450.0, -25.0)
    front = [
        finding.outcome
        for finding in report.findings
        if finding.rule == "world.valve.pressure_rating" and finding.subject.axle == 1
    ]
    assert front == [Outcome.PASS, Outcome.PASS]  # 4.0 bar


def test_nine_year_old_sensors_are_told_of_and_do_not_hold_the_car() -> None:
    report = judged("car_with_nine_year_old_sensors")
    assert report.is_clean
    found = failing(report)
    # common practice: batteries last 5 to 10 years or 100,000 to 150,000 km
    assert found["world.sensor.battery_age"] == WHEELS
    assert found["world.sensor.battery_distance"] == WHEELS
    assert {finding.gravity.value for finding in report.failing} == {"advise"}
    nuts = [finding for finding in report.findings if finding.rule == "world.sensor.nut_torque"]
    assert [finding.outcome for finding in nuts] == [Outcome.PASS] * 4
    assert nuts[0].instruction == "vehicle maker's workshop manual, section 40, edition 2024"


def test_without_the_makers_figure_a_sensors_nut_is_not_settled() -> None:
    text = (JOBS / "car_with_nine_year_old_sensors.json").read_text("utf-8")
    for key in ("sensor_nut_torque_min", "sensor_nut_torque_max"):
        text = text.replace(f'"{key}": "8 N.m"', f'"{key}": null')
    report = check(read_job(text), rulebook("DE", on="2026-11-25"))
    assert not report.is_clean
    nuts = [finding for finding in report.unknown if finding.rule == "world.sensor.nut_torque"]
    assert [str(finding.subject) for finding in nuts] == WHEELS
    assert nuts[0].missing == ("maker.sensor_nut_torque_max", "maker.sensor_nut_torque_min")
    assert "maker" in nuts[0].advice


def test_almost_nothing_measured_asks_and_never_passes() -> None:
    report = judged("car_with_almost_nothing_measured")
    assert not report.is_clean
    # 1.4 mm is below the law and is not bald; nothing else was measured
    passed = [finding.rule for finding in report.findings if finding.outcome is Outcome.PASS]
    assert passed == ["world.tyre.bald"]
    # what is known settles a fail even here
    assert {rule: at for rule, at in failing(report).items() if not rule.startswith("de.tyre.winter")} == {
        "de.tyre.tread_depth": ["axle 1 right"]
    }
    asked = [reading.field for reading in report.next_readings]
    assert asked[0].startswith("vehicle.")  # the papers come first on the walk
    assert "tyre.tread_depth_main_grooves" in asked
    assert all(reading.how for reading in report.next_readings)


@pytest.mark.parametrize(
    ("on", "rules"),
    [
        ("2024-09-30", {"de.tyre.winter_mark": False, "de.tyre.winter_mark_transition": True}),
        ("2024-10-01", {"de.tyre.winter_mark": True, "de.tyre.winter_mark_transition": False}),
    ],
)
def test_the_same_car_around_a_change_of_law(on: str, rules: dict[str, bool]) -> None:
    """StVZO § 36(4a): M+S tyres made up to 2017-12-31 count as winter tyres until 2024-09-30."""
    report = judged("car_on_older_winter_tyres", on)
    in_force = {finding.rule for finding in report.findings}
    assert {rule: rule in in_force for rule in rules} == rules
    outcomes = {f.outcome for f in report.findings if f.rule.startswith("de.tyre.winter_mark")}
    assert outcomes == ({Outcome.PASS} if on == "2024-09-30" else {Outcome.FAIL})


def test_the_change_of_law_is_the_only_difference() -> None:
    before, after = (judged("car_on_older_winter_tyres", on) for on in ("2024-09-30", "2024-10-01"))
    assert before.day == date(2024, 9, 30)
    season = {"de.tyre.winter_season"}  # begins on the same day, as it happens
    changed = {"de.tyre.winter_mark", "de.tyre.winter_mark_transition"} | season
    assert {(f.rule, str(f.subject), f.outcome) for f in before.findings if f.rule not in changed} == {
        (f.rule, str(f.subject), f.outcome) for f in after.findings if f.rule not in changed
    }


@pytest.mark.parametrize("path", sorted(JOBS.glob("*.json")), ids=lambda path: path.stem)
def test_no_example_job_breaks_a_rule(path: Path) -> None:
    for place in ("DE", "US"):
        report = check(read_job(path), rulebook(place, on="2026-11-25"))
        assert report.faults == ()
        assert sum(report.counts.values()) == len(report.findings)
        for finding in (*report.failing, *report.unknown):
            assert "None" not in finding.sentence()
