"""What a frame may hold, and where Polars by itself would compute something else than one wheel's reading."""

from __future__ import annotations

import math
import random
import sys
from datetime import date

import polars as pl
import pytest
from trees import jobs_from

from stemlore.audit import counts, frame_of, outcomes, translate
from stemlore.audit._arithmetic import quotient, settled
from stemlore.audit.columns import Columns
from stemlore.audit.outcomes import ColumnRule, judged
from stemlore.errors import DocumentError, MissingExtraError, RuleError
from stemlore.model import Assembly, Axle, Job, Tyre, Vehicle
from stemlore.rules import _kleene as kleene
from stemlore.rules import (
    choose,
    constant,
    every,
    field,
    first_known,
    log,
    lookup,
    rulebook,
    same,
    spread,
    years_since,
)
from stemlore.rules._lower import lowered
from stemlore.rules.nodes import (
    DIMENSIONLESS,
    Age,
    Arithmetic,
    Constant,
    DateBound,
    Function,
    Node,
    Span,
    Step,
)
from stemlore.units import settle

DAY = date(2026, 11, 25)
PRESSURE = field("tyre.pressure")
DEPTH = field("tyre.tread_depth_main_grooves")


def read(tree: Node, frame: pl.DataFrame, day: date = DAY, engine: str = "in-memory") -> list[object]:
    columns = Columns(frame.schema, day)
    made = translate(lowered(tree) if tree.kind == "flag" else tree, columns).alias("made")
    lazy = frame.lazy().with_columns(*columns.cleaned()).select(made)
    got = lazy.collect(engine=engine)["made"].to_list()  # type: ignore[call-overload]
    return got * frame.height if len(got) == 1 else got


def depths(*values: float | None) -> pl.DataFrame:
    return pl.DataFrame(
        {"tyre_tread_depth_main_grooves_mm": values}, schema={"tyre_tread_depth_main_grooves_mm": pl.Float64}
    )


def test_a_number_that_is_not_finite_is_missing_not_great():
    # Polars itself says that NaN >= 1.6 is true
    frame = depths(1.6, 1.5, math.nan, math.inf, -math.inf, None, -0.0)
    assert read(DEPTH >= "1.6 mm", frame) == [True, False, None, None, None, None, False]


def test_a_quotient_by_zero_is_missing_not_great():
    frame = pl.DataFrame(
        {"tyre_pressure_kpa": [1.0, 1.0, 0.0, -1.0], "wheel_rated_pressure_kpa": [0.0, -0.0, 0.0, 2.0]}
    )
    ratio = PRESSURE / field("wheel.rated_pressure")
    assert read(ratio >= 0, frame) == [None, None, None, False]


@pytest.mark.parametrize("engine", ["in-memory", "streaming"])
@pytest.mark.parametrize("rows", [1, 2, 20_000])
def test_values_are_settled_to_the_same_double(engine: str, rows: int):
    # Polars divides by one value by multiplying with its reciprocal, which makes 1.5999999999999999 of 1.6
    made = random.Random(1)
    values = [1.6, 0.0000005, -0.0000005, 2.5e-6, 999_999_999.999_999_5, 1e9, -1e9, 1e300][:rows]
    values += [made.uniform(-1, 1) * 10 ** made.uniform(-8, 10) for _ in range(rows - len(values))]
    frame = pl.DataFrame({"x": values}, schema={"x": pl.Float64}).lazy()
    assert frame.select(settled(pl.col("x"))).collect(engine=engine)["x"].to_list() == [
        settle(each) for each in values
    ]  # type: ignore[call-overload]


@pytest.mark.parametrize("divisor", [3.0, 7.0, 1e6, 0.1])
def test_a_quotient_by_a_constant_is_the_same_double(divisor: float):
    values = [random.Random(2).uniform(-500, 500) for _ in range(2000)]
    for some in (values, values[:1]):
        made = pl.DataFrame({"x": some}).lazy().select(quotient(pl.col("x"), pl.lit(divisor))).collect()
        assert made["x"].to_list() == [each / divisor for each in some]


@pytest.mark.parametrize("exponent", [-1.0, 0.0, 0.5, 2.0, 3.0, 4.0, 5.0, 7.0, 1 / 3])
@pytest.mark.parametrize("engine", ["in-memory", "streaming"])
def test_a_power_is_that_of_the_c_library(exponent: float, engine: str):
    # for a single whole exponent Polars multiplies, which differs in the last bit for a third of all cubes
    made = random.Random(3)
    values = [settle(made.uniform(-5, 50)) for _ in range(2000)]
    tree = Arithmetic("**", PRESSURE, Constant(exponent, "number", DIMENSIONLESS), DIMENSIONLESS)
    for some in (values, values[:1]):
        frame = pl.DataFrame({"tyre_pressure_kpa": some})
        assert read(tree, frame, engine=engine) == [kleene.power(each, exponent) for each in some]


@pytest.mark.parametrize(("name", "plainly"), [("exp", kleene.exponential), ("log", kleene.logarithm)])
def test_exp_and_log_are_those_of_the_c_library(name, plainly):
    values = [settle(random.Random(4).uniform(-800, 800)) for _ in range(5000)] + [0.0, -0.0, 1e300]
    frame = pl.DataFrame({"tyre_pressure_kpa": values})
    assert read(Function(name, PRESSURE), frame) == [plainly(each) for each in values]


@pytest.mark.parametrize("engine", ["in-memory", "streaming"])
@pytest.mark.parametrize("how", ["stepped", "interpolated", "exact"])
def test_lookups_outside_the_table_are_missing(how, engine):
    # ETRTO load index: 91 carries 615 kg, 92 carries 630 kg; the table runs from 0 to 279
    frame = pl.DataFrame({"tyre_load_index": [91.0, 91.5, -1.0, 279.0, 280.0, math.nan, None]})
    got = read(lookup("load_index", field("tyre.load_index"), "load_kg", how=how), frame, engine=engine)
    between = {"stepped": 615.0, "interpolated": 622.5, "exact": None}[how]
    assert got == [615.0, between, None, 136_000.0, None, None, None]


def test_ages_are_calendar_years_and_keep_29_february():
    days = [date(2020, 2, 29), date(2020, 3, 1), date(2023, 2, 28), date(2023, 3, 1), None, date(1, 1, 1)]
    frame = pl.DataFrame({"tyre_manufactured": days})
    for day in (date(2023, 2, 28), date(2024, 2, 29), date(2100, 2, 28)):
        for clamp in (True, False):
            tree = Age(DateBound("tyre.manufactured", "earliest"), clamp)
            assert read(tree, frame, day) == [kleene.calendar_years(each, day, clamp) for each in days]
    assert read(Age(DateBound("tyre.manufactured", "latest")), frame, date(2023, 2, 28))[0] == 3.0


def test_a_date_may_be_one_column_or_a_span_of_two():
    made = field("tyre.manufactured")
    span = pl.DataFrame(
        {"tyre_manufactured_earliest": [date(2018, 6, 4)], "tyre_manufactured_latest": [date(2018, 6, 10)]}
    )
    assert read(date(2018, 6, 7) < made, span) == [None]
    assert read(date(2018, 6, 3) < made, span) == [True]
    assert read(date(2018, 6, 3) < made, pl.DataFrame({"tyre_manufactured": [date(2018, 6, 4)]})) == [True]
    assert read(years_since(made) <= "6 year", pl.DataFrame({"x": [1]})) == [None]


def test_a_step_is_known_where_the_span_lies_in_one_value():
    starts = (date(2000, 1, 1), date(2010, 1, 1), date(2020, 1, 1))
    tree = Step("tyre.manufactured", starts, (1.0, 1.0, 1.6), "number", DIMENSIONLESS)
    earliest = [
        date(1999, 12, 31),
        date(2000, 1, 1),
        date(2009, 1, 1),
        date(2019, 1, 1),
        date(2020, 1, 1),
        None,
    ]
    latest = [
        date(2000, 1, 1),
        date(2000, 1, 1),
        date(2011, 1, 1),
        date(2020, 1, 1),
        date(2030, 1, 1),
        date(2001, 1, 1),
    ]
    frame = pl.DataFrame({"tyre_manufactured_earliest": earliest, "tyre_manufactured_latest": latest})
    assert read(tree, frame) == [None, 1.0, 1.0, None, 1.6, None]


def test_a_choice_of_unknown_condition_is_known_where_both_agree():
    frame = pl.DataFrame({"tyre_studded": [True, False, None], "tyre_pressure_kpa": [2.0, 2.0, 2.0]})
    assert read(choose(field("tyre.studded"), PRESSURE, "3 kPa"), frame) == [2.0, 3.0, None]
    assert read(choose(field("tyre.studded"), PRESSURE, "2 kPa"), frame) == [2.0, 2.0, 2.0]
    assert read(first_known(field("maker.cold_pressure"), "3 kPa"), frame) == [3.0] * 3


def test_kleene_settles_what_is_missing_only_where_it_can():
    frame = pl.DataFrame({"tyre_studded": [True, False, None]})
    studded, never, always = field("tyre.studded"), constant(False), constant(True)
    assert read(studded & never, frame) == [False] * 3
    assert read(studded | always, frame) == [True] * 3
    assert read(studded & always, frame) == [True, False, None]
    assert read(~studded, frame) == [False, True, None]
    assert read(field("tyre.construction").one_of("radial", "diagonal"), frame) == [None] * 3


def test_columns_of_other_types_are_read():
    category, index = field("vehicle.category"), field("tyre.load_index")
    frame = pl.DataFrame(
        {
            "vehicle_category": pl.Series(["M1", "N1", None], dtype=pl.Categorical),
            "tyre_load_index": pl.Series([91, 92, None], dtype=pl.UInt8),
            "tyre_tread_depth_main_grooves_mm": pl.Series([1.6, 1.5, math.nan], dtype=pl.Float32),
            "tyre_manufactured": pl.Series(["2020-02-29", None, None]).str.to_datetime(),
        }
    )
    assert read(category.equals("M1"), frame) == [True, False, None]
    assert read(index >= 92, frame) == [False, True, None]
    # 1.6 in 32 bits is 1.60000002384; it is settled as every reading is
    assert read(DEPTH.equals("1.6 mm"), frame) == [True, False, None]
    assert read(field("tyre.manufactured") <= date(2020, 2, 29), frame) == [True, None, None]


def test_a_column_of_one_value_is_read_as_any_other():
    frame = depths(1.6, 3.0).with_columns(tyre_pressure_kpa=pl.lit(3.0))
    assert read(DEPTH / PRESSURE, frame)[0] == 1.6 / 3.0


def test_what_is_not_resolved_is_refused():
    with pytest.raises(RuleError, match="Span"):
        translate(Span(PRESSURE, PRESSURE, None), Columns({}, DAY))


# --- subjects --------------------------------------------------------------------------------


def car(*given: tuple[str, str | None], fitment: str | None = "single", axles: int = 2) -> Job:
    assemblies = [Assembly(position=at, tyre=Tyre(construction=word)) for at, word in given]
    made = [Axle(number=at + 1, fitment=fitment) for at in range(axles)]
    return Job(vehicle=Vehicle(axles=made), assemblies=assemblies)


FOUR = ("axle 1 left", "axle 1 right", "axle 2 left", "axle 2 right")


@pytest.mark.parametrize("contiguous", [True, False])
def test_known_members_settle_a_fail_but_never_a_pass(contiguous: bool):
    whole = car(*((at, "radial") for at in FOUR))
    one_missing = car(*((at, "radial") for at in FOUR[:3]))
    mixed = car((FOUR[0], "radial"), (FOUR[1], "diagonal"))
    untold = car(*((at, "radial") for at in FOUR), fitment=None)
    construction = field("tyre.construction")
    rules = [
        ColumnRule("same", "vehicle", None, same(construction)),
        ColumnRule("every", "vehicle", None, every(construction.equals("radial"))),
        ColumnRule("axle", "axle", None, same(construction)),
    ]
    frame = frame_of([whole, one_missing, mixed, untold])
    made = judged(frame, rules, DAY, contiguous=contiguous).collect()
    assert made["same"].drop_nulls().to_list() == [0, 2, 1, 2]
    assert made["every"].drop_nulls().to_list() == [0, 2, 1, 2]
    assert made["axle"].drop_nulls().to_list() == [0, 0, 0, 2, 1, 2, 2, 2]
    # a row that was left out is a wheel that is missing, too
    short = judged(
        frame.filter(pl.col("tyre_construction").is_not_null()), rules, DAY, contiguous=contiguous
    ).collect()
    assert short["same"].drop_nulls().to_list() == [0, 2, 1, 2]


def test_rows_of_a_vehicle_need_not_stand_together():
    frame = frame_of(jobs_from(5, 20))
    rules = [ColumnRule("same", "axle", None, same(field("tyre.construction")))]
    plain = judged(frame, rules, DAY).collect()
    shuffled = judged(frame.sample(fraction=1.0, shuffle=True, seed=1), rules, DAY).collect()
    by_axle = [
        made.drop_nulls("same").select("vehicle_id", "axle_number", "same").sort("vehicle_id", "axle_number")
        for made in (plain, shuffled)
    ]
    assert by_axle[0].equals(by_axle[1])


def test_a_spread_that_is_not_finite_is_missing():
    job = Job(
        vehicle=Vehicle(axles=[Axle(number=1, fitment="single")]),
        assemblies=[
            Assembly(position="axle 1 left", tyre=Tyre(ambient_temperature="20 degC")),
            Assembly(position="axle 1 right", tyre=Tyre(ambient_temperature="25 degC")),
        ],
    )
    tree = lowered(spread(field("tyre.ambient_temperature")) <= "5 delta_degC")
    frame = frame_of([job])
    made = judged(frame, [ColumnRule("gap", "axle", None, tree)], DAY).collect()
    assert made["gap"].to_list() == [0, None]
    far = frame.with_columns(tyre_ambient_temperature_deg_c=pl.Series([1.7e308, -1.7e308]))
    assert judged(far, [ColumnRule("gap", "axle", None, tree)], DAY).collect()["gap"].to_list() == [2, None]


def test_spares_are_judged_by_rules_for_spares_only():
    frame = frame_of([car((FOUR[0], "radial"), ("spare", "radial"), axles=1)])
    check = field("tyre.construction").equals("radial")
    rules = [
        ColumnRule("road", "position", None, check),
        ColumnRule("both", "position", None, check, spare=True),
    ]
    made = judged(frame, rules, DAY).collect()
    assert made["road"].to_list() == [0, 2, None]
    assert made["both"].to_list() == [0, 2, 0]


def test_nothing_passes_for_wheels_that_nobody_told_of():
    made = outcomes(frame_of([Job()]), rulebook("DE", on=DAY)).collect()
    codes = made.drop("vehicle_id", "axle_number", "side", "place", "spare", "unstated", strict=False)
    assert codes.height == 1
    assert all(code != 0 for code in codes.row(0))


def test_the_day_of_the_visit_counts_where_it_is_told():
    frame = pl.DataFrame({"tyre_manufactured": [date(2020, 1, 1)] * 2, "event_on": [date(2021, 1, 1), None]})
    assert read(Age(DateBound("tyre.manufactured", "latest")), frame, date(2026, 1, 1)) == [1.0, 6.0]


def test_an_empty_frame_and_a_frame_without_readings_are_judged():
    book = rulebook("DE", on=DAY)
    empty = frame_of([])
    assert outcomes(empty, book).collect().height == 0
    assert counts(empty, book).select(pl.sum_horizontal(pl.exclude("rule")).sum()).item() == 0
    bare = counts(pl.DataFrame({"vehicle_id": ["a", "a"]}), book)
    assert bare["pass"].sum() == 0
    assert bare["fail"].sum() == 0


def test_rules_of_vehicles_need_to_know_the_vehicle():
    with pytest.raises(DocumentError, match="vehicle_id"):
        judged(depths(1.6), [ColumnRule("x", "vehicle", None, field("vehicle.monitoring_works"))], DAY)
    rule = ColumnRule("x", "position", None, DEPTH >= "1.6 mm")
    assert judged(depths(1.6, None), [rule], DAY).collect()["x"].to_list() == [0, 2]


def test_rows_keep_their_order_and_frames_are_read_lazily():
    frame = frame_of(jobs_from(7, 30))
    book = rulebook("DE", on=DAY)
    made = outcomes(frame.lazy(), book)
    assert isinstance(made, pl.LazyFrame)
    got = made.collect()
    assert got["vehicle_id"].to_list() == frame["vehicle_id"].to_list()
    assert got.equals(outcomes(frame, book).collect(engine="streaming"))


def test_without_polars_the_error_says_what_to_install(monkeypatch):
    monkeypatch.setitem(sys.modules, "polars", None)
    for name in [name for name in sys.modules if name.startswith("stemlore.audit")]:
        monkeypatch.delitem(sys.modules, name)
    with pytest.raises(MissingExtraError, match=r"stemlore\[audit\]"):
        import stemlore.audit  # noqa: F401


def test_log_of_what_has_no_logarithm_is_missing():
    frame = depths(1.0, 0.0, -0.0, -1.0, None)
    assert read(log(DEPTH / "1 mm"), frame) == [0.0, None, None, None, None]
