"""What is drawn is valid, covers every field, shrinks to what is small, and keeps its bounds."""

from __future__ import annotations

import math
import subprocess
import sys
from collections import Counter
from datetime import date
from typing import Any

import pytest
from hypothesis import HealthCheck, Phase, find, given, settings
from hypothesis import strategies as st

from stemlore.errors import UnknownFieldError
from stemlore.model import FIELDS, Assembly, Job, Tyre, Vehicle, change, field_spec, specs_of
from stemlore.notation import RimSize, ServiceDescription, TyreIdentificationNumber, TyreSize, ValveCode
from stemlore.rules import check, rulebook
from stemlore.testing import strategies
from stemlore.testing._limits import limits_of
from stemlore.testing.strategies import jobs, readings, sample, tyres

FEW = settings(
    max_examples=60, derandomize=True, database=None, deadline=None, suppress_health_check=list(HealthCheck)
)
QUICK = settings(
    max_examples=2000, derandomize=True, deadline=None, database=None, suppress_health_check=list(HealthCheck)
)
BOOK = rulebook("DE", on="2026-11-25")
ALL = sorted(name for name in strategies.__all__ if name not in ("readings", "sample"))
RECORDS = ("tyres", "wheels", "valves", "sensors", "works", "axles", "vehicles", "events", "makers")


def made_again(record: Any) -> Any:
    """Return a record as its public constructor makes it from what is stored."""
    values = {}
    for name, spec in specs_of(type(record)).items():
        value = record.__dict__[name]
        if value is None:
            continue
        if spec.kind == "number":
            value = f"{value!r} {spec.unit}"
        elif spec.kind == "record":
            value = made_again(value)
        elif spec.kind == "records":
            value = [
                made_again(each) if hasattr(type(each), "__stemlore_specs__") else each for each in value
            ]
        values[name] = value
    return type(record)(**values)


def seen_in(record: Any) -> set[str]:
    """Return the paths of the fields that are given."""
    out = set()
    for name, spec in specs_of(type(record)).items():
        value = record.__dict__[name]
        if value is None or value == () or (spec.kind == "own" and not value):
            continue
        out.add(spec.path)
        for each in value if isinstance(value, tuple) else (value,):
            if hasattr(type(each), "__stemlore_specs__"):
                out |= seen_in(each)
    return out


@pytest.fixture(scope="module")
def fleet() -> list[Job]:
    return sample(jobs(), 150, seed=3)


@pytest.fixture(scope="module")
def messy() -> list[Job]:
    return sample(jobs(messy=True, book=BOOK), 150, seed=3)


# --- valid by construction -------------------------------------------------------------------


def test_jobs_are_what_the_constructor_makes(fleet: list[Job]) -> None:
    for job in fleet:
        assert made_again(job) == job


@pytest.mark.parametrize("name", RECORDS)
def test_records_are_what_the_constructor_makes(name: str) -> None:
    for record in sample(getattr(strategies, name)(), 40):
        assert made_again(record) == record


@pytest.mark.parametrize(
    "drawn, cls",
    [
        (strategies.tyre_sizes(), TyreSize),
        (strategies.rim_sizes(), RimSize),
        (strategies.service_descriptions(), ServiceDescription),
        (strategies.tyre_numbers(), TyreIdentificationNumber),
        (strategies.valve_codes(), ValveCode),
        (strategies.date_spans(), type(strategies.sample(strategies.date_spans(), 1)[0])),
        (strategies.positions(), type(strategies.sample(strategies.positions(), 1)[0])),
    ],
    ids=lambda each: getattr(each, "__name__", ""),
)
def test_designations_read_back(drawn: st.SearchStrategy[Any], cls: Any) -> None:
    for value in sample(drawn, 80):
        assert cls.parse(str(value)) == value


@FEW
@given(jobs(messy=True, book=BOOK))
def test_no_rule_raises_on_messy_jobs(job: Job) -> None:
    report = check(job, BOOK)
    assert report.faults == ()
    assert check(job, BOOK).fingerprint == report.fingerprint


# --- what is covered -------------------------------------------------------------------------


def test_every_field_is_drawn(fleet: list[Job]) -> None:
    # other tests declare records of their own
    records = {"vehicle", "axle", "tyre", "wheel", "valve", "sensor", "work", "event", "maker", "assembly"}
    ours = {path for path, spec in FIELDS.items() if path.partition(".")[0] in records and spec.name != "own"}
    seen = set().union(*(seen_in(job) for job in fleet))
    for seed in range(5):
        if not ours <= seen:
            seen |= set().union(*(seen_in(job) for job in sample(jobs(), 100, seed=seed)))
    assert ours - seen == set()


@pytest.mark.parametrize(
    "sort",
    [
        lambda job: {axle.fitment for axle in job.vehicle.axles} >= {"single", "dual"},
        lambda job: {axle.fitment for axle in job.vehicle.axles} >= {None, "centre"},
        lambda job: not job.vehicle.axles and len(job.assemblies) > 1,
        lambda job: any(str(each.position) == "spare" for each in job.assemblies),
        lambda job: len(job.makers) == 2,
        lambda job: len(job.assemblies) > 3 and len({each.tyre for each in job.assemblies}) == 1,
        lambda job: len(job.assemblies) > 3 and len({each.tyre for each in job.assemblies}) == 2,
        lambda job: job.vehicle.axles and not job.assemblies,
    ],
)
def test_jobs_are_of_all_sorts(sort: Any) -> None:
    find(jobs(), sort, settings=settings(QUICK, phases=[Phase.generate]))


def test_messy_jobs_hold_what_no_constructor_lets_in(messy: list[Job]) -> None:
    numbers = [
        value
        for job in messy
        for each in job.assemblies
        for name, spec in specs_of(Tyre).items()
        if spec.kind == "number" and (value := getattr(each.tyre, name)) is not None
    ]
    assert all(math.isfinite(number) for number in numbers)  # what is not finite is missing
    assert any(number < 0 for number in numbers)
    assert any(number > 1e14 for number in numbers)


def test_limits_of_a_rulebook_are_met(messy: list[Job]) -> None:
    depths = Counter(sample(readings("tyre.tread_depth_main_grooves", book=BOOK), 300))
    assert depths[1.6] > 1
    assert depths[1.5] + depths[1.7] > 1
    outcomes = Counter(found.outcome.word for job in messy for found in check(job, BOOK).findings)
    assert outcomes["pass"] > 300
    assert outcomes["fail"] > 300


def test_limits_are_numbers_by_dimension_and_days_by_field() -> None:
    limits = limits_of(BOOK)
    near = limits.near(field_spec("tyre.tread_depth_main_grooves"))
    assert {1.5, 1.6, 1.7} <= set(near)
    days = limits.days_near("vehicle.first_registration")
    assert {date(2014, 10, 31), date(2014, 11, 1), date(2014, 11, 2)} <= set(days)
    assert limits.near(field_spec("tyre.studded")) == ()


def test_own_fields_of_packs_are_drawn(author: Any) -> None:
    from stemlore.rules import PackFolder

    book = rulebook("XA", on="2024-01-15", also=[PackFolder(author.folder)])
    owns = [each.own for job in sample(jobs(book=book), 40) for each in job.assemblies]
    assert any("xa.dust" in own for own in owns)


# --- shrinking -------------------------------------------------------------------------------


def test_a_job_shrinks_to_what_matters() -> None:
    def worn(job: Job) -> bool:
        return any((each.tyre.tread_depth_main_grooves or 9) > 9.5 for each in job.assemblies)

    found = find(jobs(), worn, settings=QUICK)
    (assembly,) = found.assemblies
    assert seen_in(assembly) == {
        "assembly.position",
        *(f"assembly.{part}" for part in ("tyre", "wheel", "valve", "sensor", "condition", "work")),
        "tyre.tread_depth_main_grooves",
    }
    assert assembly.tyre.tread_depth_main_grooves == 9.6
    assert len(found.makers) == 0


def test_a_tyre_shrinks_to_what_matters() -> None:
    found = find(tyres(), lambda tyre: (tyre.tread_depth_main_grooves or 0) > 9.5, settings=QUICK)
    assert seen_in(found) == {"tyre.tread_depth_main_grooves"}


def test_a_size_shrinks_to_a_usual_one() -> None:
    found = find(strategies.tyre_sizes(), lambda size: size.width > 0 and size.construction, settings=QUICK)
    assert found.construction == "radial"
    assert str(found).endswith("/55 R16")


def test_the_simplest_job_is_one_of_which_nothing_is_known() -> None:
    assert find(jobs(), lambda job: isinstance(job, Job), settings=settings(QUICK, max_examples=20)) == Job()


# --- bounds and wishes -----------------------------------------------------------------------


@FEW
@given(
    readings("tyre.pressure", min_value="1 bar", max_value="3 bar"),
    readings("tyre.load_index", min_value=88, max_value=91),
    readings("tyre.manufactured", min_value=date(2020, 1, 1), max_value=date(2020, 12, 31)),
    readings("tyre.tread_depth_main_grooves", min_value=1.55, max_value=1.58),
    readings("tyre.pressure", min_value="2 bar", book=BOOK),
)
def test_bounds_are_kept(pressure: float, index: int, made: Any, depth: float, high: float) -> None:
    assert 100 <= pressure <= 300
    assert 88 <= index <= 91
    assert date(2020, 1, 1) <= made.earliest <= made.latest <= date(2020, 12, 31)
    assert 1.55 <= depth <= 1.58
    assert high >= 200


@FEW
@given(tyres(pressure="2.5 bar", size=st.sampled_from(["195/65 R15 91T", "205/55 R16 94V"])))
def test_fields_are_as_wished(tyre: Tyre) -> None:
    assert tyre.pressure == 250.0
    assert (str(tyre.size), tyre.load_index) in (("195/65 R15 91T", 91), ("205/55 R16 94V", 94))


@FEW
@given(jobs(vehicle=st.just(Vehicle(category="M1")), tyre=tyres(studded=True), max_axles=2))
def test_parts_of_a_job_are_as_wished(job: Job) -> None:
    assert job.vehicle == Vehicle(category="M1")
    assert all(each.tyre.studded for each in job.assemblies)
    assert all((each.position.axle or 0) <= 2 for each in job.assemblies)


@FEW
@given(
    strategies.assemblies(position="axle 1 left"),
    strategies.positions(max_axle=2, spare=False),
    strategies.tyre_numbers(min_year=2010, max_year=2012),
    strategies.axles(number=7),
    strategies.makers(valve_nut_torque_min="4 N.m", valve_nut_torque_max="5 N.m", source="manual"),
    strategies.service_descriptions(dual=True),
)
def test_other_wishes(
    assembly: Assembly, position: Any, number: Any, axle: Any, maker: Any, service: ServiceDescription
) -> None:
    assert str(assembly.position) == "axle 1 left"
    assert not position.spare
    assert position.axle <= 2
    assert number.made is None or 2009 <= number.made.earliest.year <= 2012
    assert axle.number == 7
    assert (maker.valve_nut_torque_min, maker.valve_nut_torque_max, maker.source) == (4.0, 5.0, "manual")
    assert service.load_index_dual is not None


def test_a_field_that_is_not_there_is_told_at_once() -> None:
    with pytest.raises(UnknownFieldError, match="pressure"):
        tyres(presure="2.5 bar")
    with pytest.raises(UnknownFieldError):
        readings("tyre.presure")
    with pytest.raises(UnknownFieldError):
        readings("assembly.tyre")


def test_a_sample_is_the_same_for_the_same_seed() -> None:
    assert sample(jobs(), 5, seed=1) == sample(jobs(), 5, seed=1)
    assert sample(jobs(), 5, seed=1) != sample(jobs(), 5, seed=2)
    assert sample(jobs(), 0) == []
    assert sample(st.booleans(), 10)[:10].count(True) > 0


@pytest.mark.parametrize("name", ALL)
def test_a_strategy_is_made_without_drawing(name: str) -> None:
    assert isinstance(getattr(strategies, name)(), st.SearchStrategy)


def test_what_is_drawn_can_be_changed(fleet: list[Job]) -> None:
    job = next(each for each in fleet if each.assemblies)
    assert change(job, assemblies=[]).assemblies == ()


def test_without_hypothesis_it_says_what_to_install() -> None:
    code = "import sys; sys.modules['hypothesis'] = None\nimport stemlore.testing.strategies"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert "MissingExtraError" in done.stderr
    assert "stemlore[testing]" in done.stderr
