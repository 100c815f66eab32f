"""Cells as tables of workshops hold them: marks in numbers, figures that cannot be, dates, fractions."""

from __future__ import annotations

from datetime import date
from typing import Any

import polars as pl
import pytest

from stemlore.audit import FleetMapping, audit_fleet, read_mapping
from stemlore.audit._cells import read_column
from stemlore.audit._numerals import DEFAULT_MOST, MOST, most_of
from stemlore.audit.mapping import ColumnMap
from stemlore.errors import DocumentError
from stemlore.model import FIELDS
from stemlore.rules import rulebook
from stemlore.tables import table
from stemlore.units import unit

BOOK = rulebook(registered_in="DE", used_in="DE", workshop="DE", on="2026-11-25")
TREAD, PRESSURE, MASS = "tyre.tread_depth_main_grooves", "tyre.pressure", "vehicle.gross_mass"
MADE, NUMBER, VISIT = "tyre.manufactured", "tyre.identification_number", "event.on"


def read(
    value: Any, to: str, *, of: str = "", dtype: Any = None, **mapping: str
) -> tuple[Any, tuple[str, str] | None]:
    """Return what a cell gives, and the kind and message of what is wrong with it."""
    told = ColumnMap("it", to, unit(of) if of else None)
    values, faults = read_column(pl.Series("it", [value], dtype=dtype), told, FleetMapping(**mapping))  # type: ignore[arg-type]
    found = next(iter(values.values()))[0]
    return found, (faults.select("kind", "message").row(0) if faults.height else None)


@pytest.mark.parametrize(
    ("text", "to", "of"),
    [
        ("1,250 kg", MASS, ""),
        ("1.250 kg", MASS, ""),
        ("1,250", MASS, "kg"),
        ("1.250", "axle.permitted_mass", "kg"),
        ("33,000 lb", MASS, ""),
        ("+33,000 lb", MASS, ""),
        ("1.250 kPa", PRESSURE, ""),
        ("1,250,000", MASS, "kg"),
        ("1.250,5", MASS, "kg"),
        ("1 250 kg", MASS, ""),
        ("1\u202f250", MASS, "kg"),
        ("1'250,5", MASS, "kg"),
    ],
)
def test_a_mark_that_may_part_thousands_is_not_read_until_the_mapping_settles_it(
    text: str, to: str, of: str
) -> None:
    value, fault = read(text, to, of=of)
    assert value is None
    assert fault is not None
    assert fault[0] == "unreadable"
    assert "decimal" in fault[1]


def test_the_message_names_both_meanings() -> None:
    _, fault = read("1,250 kg", MASS)
    assert fault is not None
    assert fault[1].startswith("1,250 may be 1250 or 1.25: write it without a mark, or say decimal")


@pytest.mark.parametrize(
    ("text", "decimal", "meant"),
    [
        ("1,250 kg", ",", 1.25),
        ("1,250 kg", ".", 1250.0),
        ("1.250 kg", ",", 1250.0),
        ("1.250 kg", ".", 1.25),
        ("1.250,5", ",", 1250.5),
        ("1,250.5 kg", ".", 1250.5),
        ("1,250,000", ".", 1_250_000.0),
        ("12,5", ",", 12.5),
        ("12.5", ".", 12.5),
        ("2600", ",", 2600.0),
        ("1 250,5", ",", 1250.5),
        ("1'250.5 kg", ".", 1250.5),
        ("1\u00a0250\u00a0000", ",", 1_250_000.0),
        ("12,5", ".", None),
        ("12.5 kg", ",", None),
        ("1,25,000", ".", None),
        ("1250,000.5", ".", None),
        ("1.250.5", ".", None),
    ],
)
def test_the_decimal_mark_of_the_mapping_makes_the_other_part_groups_of_three(
    text: str, decimal: str, meant: float | None
) -> None:
    value, fault = read(text, "sensor.battery_distance", of="km", decimal=decimal)
    if text.endswith("kg"):
        value, fault = read(text, "wheel.rated_load", decimal=decimal)
    assert value == meant
    assert (fault is None) == (meant is not None)


@pytest.mark.parametrize(
    ("text", "to", "meant"),
    [
        ("1.600 mm", TREAD, 1.6),  # 1600 mm of tread there is not
        ("1,600 mm", TREAD, 1.6),
        ("2.500 bar", PRESSURE, 250.0),
        ("220.632 kPa", PRESSURE, 220.632),
        ("433.920 MHz", "sensor.frequency", 433.92),
        ("0.350 N.m", "work.valve_core_torque", 0.35),
        ("0,500 kg", MASS, 0.5),
        ("1250.125 kg", MASS, 1250.125),
        ("1250.5 kg", MASS, 1250.5),
    ],
)
def test_where_only_one_reading_can_be_it_is_taken(text: str, to: str, meant: float) -> None:
    assert read(text, to) == (meant, None)


@pytest.mark.parametrize(
    ("value", "to", "of"),
    [
        ("1650 mm", TREAD, ""),
        ("1650", TREAD, "mm"),
        (1650.0, TREAD, "mm"),
        (5.0, TREAD, "in"),
        ("5", TREAD, "in"),
        ("5 in", TREAD, ""),
        ("36", PRESSURE, "bar"),
        (36, PRESSURE, "bar"),
        (36.0, "axle.cold_pressure_full", "bar"),
    ],
)
def test_a_value_beyond_what_there_is_cannot_be(value: Any, to: str, of: str) -> None:
    found, fault = read(value, to, of=of)
    assert found is None
    assert fault is not None
    assert fault[0] == "impossible"
    assert "above" in fault[1]
    assert "unit" in fault[1]


def test_limits_are_of_fields_there_are_and_above_all_that_the_tables_print() -> None:
    assert set(MOST) <= {path for path, spec in FIELDS.items() if spec.kind == "number"}
    assert set(DEFAULT_MOST) <= {str(spec.unit) for spec in FIELDS.values()}
    printed = {
        ("tubeless_valves", "max_cold_pressure_kpa"): "valve.rated_pressure",
        ("reference_pressures", "pressure_kpa"): "maker.cold_pressure",
        ("tubeless_valves", "effective_length_mm"): "valve.effective_length",
        ("tubeless_valves", "valve_hole_mm"): "wheel.valve_hole",
        ("load_index", "load_kg"): "wheel.rated_load",
        ("speed_symbols", "speed_km_h"): "vehicle.design_speed",
        ("rim_runout", "radial_max_mm"): "wheel.radial_runout",
        ("torques", "torque_max_nm"): "maker.valve_nut_torque_max",
    }
    for (name, column), path in printed.items():
        greatest = max(value for row in table(name).rows if (value := row.get(column)) is not None)
        most = most_of(FIELDS[path])
        assert most is None or float(getattr(greatest, "value", greatest)) < most, (name, path)


@pytest.mark.parametrize(("text", "to"), [("1_5", TREAD), ("1_5", PRESSURE), ("1_5 mm", TREAD)])
def test_an_underscore_is_no_part_of_a_number(text: str, to: str) -> None:
    value, fault = read(text, to, of="mm" if to == TREAD else "kPa")
    assert value is None
    assert fault is not None
    assert fault[0] == "unreadable"


@pytest.mark.parametrize("text", ["1_5", "²", "٣x", "1.5"])
def test_a_whole_number_is_made_of_figures(text: str) -> None:
    for to in ("vehicle.passenger_seats", "axle_number"):
        value, fault = read(text, to)
        assert value is None
        assert fault is not None
        assert fault[0] == "unreadable"


@pytest.mark.parametrize(("value", "dtype"), [(323, pl.Int64), (323.0, pl.Float64), (101, pl.Int32)])
def test_three_figures_of_a_column_of_numbers_may_have_lost_a_nought(value: Any, dtype: Any) -> None:
    found, fault = read(value, NUMBER, dtype=dtype)
    assert found is None
    assert fault is not None
    assert fault[0] == "unreadable"
    assert f"0{value:.0f}" in fault[1]
    assert "text" in fault[1]


def test_a_nought_that_was_lost_can_be_put_back_by_a_word() -> None:
    told = ColumnMap("it", NUMBER, words={"323": "0323"})
    values, faults = read_column(pl.Series([323, 408]), told, FleetMapping())
    assert next(iter(values.values())).to_list() == ["DOT 0323", None]
    assert faults["value"].to_list() == ["408"]


def test_four_figures_of_a_column_of_numbers_and_three_of_texts_are_read() -> None:
    assert read(2318, NUMBER, dtype=pl.Int64) == ("DOT 2318", None)
    assert read("323", NUMBER) == ("DOT 323", None)
    assert read("0323", NUMBER) == ("DOT 0323", None)


@pytest.mark.parametrize(
    ("value", "to"),
    [
        ("0323", MADE),
        ("1899", "vehicle.first_registration"),
        ("0021-04-03", VISIT),
        (date(21, 4, 3), MADE),
        (date(1899, 12, 30), "vehicle.first_registration"),
        (date(1899, 12, 30), VISIT),
    ],
)
def test_no_year_lies_before_1900(value: Any, to: str) -> None:
    found, fault = read(value, to)
    assert found is None
    assert fault is not None
    assert fault[0] == "impossible"
    assert "1900" in fault[1]


def test_a_date_code_among_dates_is_told() -> None:
    _, fault = read("0323", MADE)
    assert fault is not None
    assert 'split = "date code"' in fault[1]
    assert read("1900-01-01", MADE) == (date(1900, 1, 1), None)


@pytest.mark.parametrize("text", ["03.04.2021", "3/4/2021", "03-04-2021"])
def test_a_date_whose_day_and_month_cannot_be_told_apart_says_so(text: str) -> None:
    for to in (VISIT, "law_day", MADE):
        value, fault = read(text, to)
        assert value is None
        assert fault is not None
        assert fault[0] == "unreadable"
        assert "day and month cannot be told apart" in fault[1]
        assert "dates" in fault[1]
        assert "four figures" not in fault[1]


@pytest.mark.parametrize("to", [VISIT, "law_day", MADE])
@pytest.mark.parametrize(
    ("text", "order", "meant"),
    [
        ("03.04.2021", "day first", date(2021, 4, 3)),
        ("3/4/2021", "day first", date(2021, 4, 3)),
        ("03-04-2021", "month first", date(2021, 3, 4)),
        ("03/04/2021", "month first", date(2021, 3, 4)),
        ("25.11.2021", "day first", date(2021, 11, 25)),
        ("2021-04-03", "month first", date(2021, 4, 3)),
        ("25.11.2021", "month first", None),
        ("31.02.2021", "day first", None),
    ],
)
def test_the_mapping_says_whether_the_day_comes_first(
    to: str, text: str, order: str, meant: date | None
) -> None:
    value, fault = read(text, to, dates=order)
    assert value == meant
    assert (fault is None) == (meant is not None)
    if fault is not None:
        assert "four figures" not in fault[1]


@pytest.mark.parametrize(
    ("text", "of", "meant"), [("5/32", "in", 3.96875), ("1 1/4", "mm", 1.25), ("4/32 in", "mm", 3.175)]
)
def test_a_fraction_takes_the_unit_of_the_column(text: str, of: str, meant: float) -> None:
    assert read(text, TREAD, of=of) == (meant, None)


@pytest.mark.parametrize("text", ["5/32", "5", "worn", "5 gnats"])
def test_advice_names_a_unit_of_the_field(text: str) -> None:
    for to, wrong in ((TREAD, "bar"), (MASS, "bar"), (PRESSURE, " mm")):
        _, fault = read(text, to)
        assert fault is not None
        assert fault[0] == "unreadable"
        assert wrong not in fault[1]
    _, fault = read("5/32", TREAD)
    assert fault is not None
    assert "5/32 in" in fault[1]


def test_a_load_rule_does_not_pass_on_a_mass_whose_mark_is_in_doubt() -> None:
    def outcome(mass: str, **more: str) -> Any:
        head = "".join(f"{key} = {value!r}\n" for key, value in more.items())
        wheels = pl.DataFrame(
            {
                "vehicle_id": ["a"] * 2,
                "position": ["axle 1 left", "axle 1 right"],
                "vehicle_category": ["M1"] * 2,
                "Axle mass": [mass] * 2,
                "axle_fitment": ["single"] * 2,
                "tyre_load_index": [80, 80],
                "vehicle_axle_count": [1, 1],
            }
        )
        mapping = head + 'columns = { "Axle mass" = { to = "axle.permitted_mass", unit = "kg" } }'
        run = audit_fleet(wheels, BOOK, mapping=mapping)
        found = run.findings.collect().filter(pl.col("rule").str.contains("load"))
        quality = run.quality.collect().filter(pl.col("column") == "Axle mass").height
        return set(found.filter(pl.col("outcome").is_in(["pass", "fail"]))["outcome"]), quality

    assert outcome("1,250") == (set(), 2)
    assert outcome("1,250", decimal=".") == ({"fail"}, 0)
    assert outcome("850,5", decimal=",") == ({"pass"}, 0)


@pytest.mark.parametrize(
    ("text", "path"),
    [
        ('decimal = ";"', "decimal"),
        ("decimal = 1", "decimal"),
        ('dates = "day.month"', "dates"),
        ("dates = true", "dates"),
    ],
)
def test_a_mapping_says_which_marks_and_orders_there_are(text: str, path: str) -> None:
    with pytest.raises(DocumentError) as caught:
        read_mapping(text)
    (fault,) = caught.value.faults
    assert fault.path == path
    assert "one of" in fault.message + fault.advice


def test_a_mapping_tells_both() -> None:
    made = read_mapping('decimal = ","\ndates = "day first"')
    assert (made.decimal, made.dates) == (",", "day first")


def test_a_wrong_field_is_one_fault_and_not_two() -> None:
    with pytest.raises(DocumentError) as caught:
        read_mapping('columns = { Tread = { to = "tyre.tread_deptth", unit = "mm" } }')
    (fault,) = caught.value.faults
    assert fault.path == "columns.Tread.to"
