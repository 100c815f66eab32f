"""The package as shipped: valid for anyone's tools, sourced row by row."""

from __future__ import annotations

import csv
import hashlib
import json
import re
from importlib.resources import files
from pathlib import Path
from typing import Any

import frictionless
import polars as pl
import pytest

from stemlore.errors import NotInTableError, TableError
from stemlore.provenance import Grade
from stemlore.tables import sources, table, table_names
from stemlore.tables._reader import read_package
from stemlore.units import unit

DATA = Path(str(files("stemlore.tables"))) / "data"
DESCRIPTOR = json.loads((DATA / "datapackage.json").read_text(encoding="utf-8"))
NAMES = tuple(each["name"] for each in DESCRIPTOR["resources"] if each["name"] != "sources")
# the trade, subject by subject; a table that goes missing is a break for users
SUBJECTS = {
    "valves": {
        "tubeless_valves",
        "valve_holes",
        "torques",
        "valve_threads",
        "grommets",
        "designation_equivalence",
        "service_parts",
        "valve_guidelines",
        "valve_test_limits",
        "valve_standards",
        "valve_failures",
    },
    "rims": {
        "rim_contours",
        "rim_flanges",
        "hump_marks",
        "rim_symbols",
        "rim_widths",
        "rim_runout",
        "tyre_rims",
    },
    "tyres": {
        "load_index",
        "speed_symbols",
        "load_ranges",
        "dual_index",
        "load_pressure",
        "load_pressure_psi",
        "load_speed",
        "load_speed_motorcycle",
        "reference_pressures",
        "tyre_dimensions",
    },
    "pressure": {"atmosphere", "pressure_loss", "fuel_sensitivity", "rules_of_thumb", "gauge_limits"},
    "sensors": {"monitoring_thresholds", "monitoring_radio"},
    "service": {
        "balance_grades",
        "balance_limits",
        "temporary_spare",
        "repair_rules",
        "retorque_guidance",
        "measuring_tools",
    },
}


def test_frictionless_finds_nothing_wrong() -> None:
    report = frictionless.validate(str(DATA / "datapackage.json"))
    assert report.valid, report.flatten(["title", "rowNumber", "fieldName", "message"])
    assert len(report.tasks) == len(NAMES) + 1


def test_the_tables_are_these() -> None:
    assert set(table_names()) == set(NAMES) == set().union(*SUBJECTS.values())
    assert len(NAMES) == sum(map(len, SUBJECTS.values()))


@pytest.mark.parametrize("resource", DESCRIPTOR["resources"], ids=lambda item: item["name"])
def test_descriptor_speaks_of_the_file_beside_it(resource: dict[str, Any]) -> None:
    content = (DATA / resource["path"]).read_bytes()
    assert resource["hash"] == "sha256:" + hashlib.sha256(content).hexdigest()
    assert resource["bytes"] == len(content)
    assert b"\r" not in content
    assert resource["title"]
    assert resource["description"]
    assert resource["schema"]["primaryKey"]
    for field in resource["schema"]["fields"]:
        assert field["title"], field
        assert field["type"] in {"string", "integer", "number", "date"}, field
        assert "unit" in field, field
        if field["unit"]:
            assert unit(field["unit"]).symbol == field["unit"]
        ends = {
            "_mm": "mm",
            "_kpa": "kPa",
            "_km_h": "km/h",
            "_kg": "kg",
            "_nm": "N.m",
            "_km": "km",
            "_percent": "%",
            "_psi": "psi",
            "_in": "in",
            "_deg": "deg",
            "_g": "g",
            "_m": "m",
            "_k": "K",
        }
        for end, symbol in ends.items():
            if field["name"].endswith(end):
                assert field["unit"] == symbol
    if resource["name"] != "sources":
        keys = resource["schema"]["foreignKeys"]
        assert keys == [{"fields": ["source"], "reference": {"resource": "sources", "fields": ["id"]}}]


def test_one_line_loads_a_table_without_us() -> None:
    frame = pl.read_csv(str(files("stemlore.tables") / "data" / "load_index.csv"))
    assert frame.filter(pl.col("load_index") == 91)["load_kg"].to_list() == [615.0]


@pytest.mark.parametrize("name", NAMES)
def test_every_row_says_where_it_comes_from(name: str) -> None:
    for row in table(name):
        assert row.citation.source is not None
        assert row.citation.at
        assert row.citation.grade is not Grade.MEMORY
        assert row.citation.grade.strength <= row.citation.source.grade.strength
        assert row.citation.source.id not in {source.id for source in row.also}


def test_every_source_is_cited_somewhere() -> None:
    cited = set()
    for name in NAMES:
        for row in table(name):
            assert row.citation.source is not None
            cited |= {row.citation.source.id, *(source.id for source in row.also)}
    assert set(sources()) == cited


def test_no_address_of_a_page_that_is_not_the_issuers() -> None:
    with_page = {source.issuer for source in sources().values() if source.url}
    assert with_page <= {"Irish Independent"}
    for path in DATA.iterdir():
        if path.name != "sources.csv":
            assert not re.search(r"https?://|www\.", path.read_text(encoding="utf-8")), path


@pytest.mark.parametrize(
    ("name", "least", "most"),
    [("valve_holes", "min_mm", "max_mm"), ("torques", "torque_min_nm", "torque_max_nm")],
)
def test_least_is_not_above_greatest(name: str, least: str, most: str) -> None:
    for row in table(name):
        low, high = row[least], row[most]
        if isinstance(low, float) and isinstance(high, float):
            assert low <= high, row
        if name == "valve_holes" and isinstance(low, float):
            nominal = row["nominal_mm"]
            assert isinstance(nominal, float)
            assert low <= nominal <= (high if isinstance(high, float) else nominal), row


@pytest.mark.parametrize("name", NAMES)
def test_units_in_cells_are_read_by_us(name: str) -> None:
    spans = [("value_min", "value_max"), ("loss_min_kpa", "loss_max_kpa"), ("value_min_g", "value_max_g")]
    spans += [("distance_min_km", "distance_max_km"), ("rim_width_min_in", "rim_width_max_in")]
    for row in table(name):
        for column in ("value_unit", "step_unit"):
            symbol = row.get(column)
            if symbol is not None:
                assert unit(str(symbol)).symbol == symbol, row
        figures = [row.get(column) for column in ("value", "value_min", "value_max")]
        if "value_unit" in row:
            # a figure has a unit, and a unit a figure
            assert (row["value_unit"] is None) == all(figure is None for figure in figures), row
        for low, high in ((row.get(least), row.get(most)) for least, most in spans):
            if isinstance(low, float) and isinstance(high, float):
                assert low <= high, row


@pytest.mark.parametrize("name", NAMES)
def test_no_two_rows_of_a_table_say_the_same(name: str) -> None:
    rows = [tuple(row.items()) for row in table(name)]
    assert len(set(rows)) == len(rows)
    found = table(name)
    keys = [tuple(row[part] for part in (*found.key, "source")) for row in found]
    assert len(set(keys)) == len(keys)
    assert all(None not in key for key in keys)
    for column in found.columns:
        if column.name != "also":
            assert any(row[column.name] is not None for row in found), column.name


def test_reading_one_table_reads_no_other(tmp_path: Path) -> None:
    # only descriptor, sources and the table asked for lie here
    for name in ("datapackage.json", "sources.csv", "speed_symbols.csv"):
        (tmp_path / name).write_bytes((DATA / name).read_bytes())
    package = read_package(tmp_path)
    assert package.names == NAMES
    assert package.read("speed_symbols").lookup("H").value == 210
    with pytest.raises(TableError, match=r"load_index\.csv"):
        package.read("load_index")


def test_figures_are_settled_to_a_millionth() -> None:
    for name in NAMES:
        for row in table(name):
            for value in row.values():
                if isinstance(value, float):
                    assert value == round(value, 6)


# Valve numbers and figures that nobody could show in a document, or that a
# better source contradicts; they must not come back unnoticed.
@pytest.mark.parametrize(
    ("name", "keys"),
    [
        ("tubeless_valves", ("TR416",)),
        ("tubeless_valves", ("TR501",)),
        ("tubeless_valves", ("TR545D",)),
        ("tubeless_valves", ("TR218A",)),
        ("speed_symbols", ("SR",)),
        ("speed_symbols", ("HR",)),
        ("load_index", (181,)),
        ("load_index", (200,)),
        ("load_index", (278,)),
        ("load_index", (280,)),
        # names of one valve with several bodies, rounded passenger widths, and a misprint: 635.8 for 685.8
        ("designation_equivalence", ("TR413", "TRA")),
        ("rim_widths", ("6 1/2",)),
        ("rim_widths", ("DW27",)),
        ("rim_flanges", ("E", "GOST 10410-82")),
        # the letters I and K are not used
        ("load_ranges", ("K", "truck")),
    ],
)
def test_what_has_no_source_is_not_in_the_table(name: str, keys: tuple[str | int, ...]) -> None:
    with pytest.raises(NotInTableError):
        table(name).lookup(*keys)


def test_refused_figures_are_not_in_the_tables() -> None:
    valves, torques, holes = table("tubeless_valves"), table("torques"), table("valve_holes")
    # a trader's table lists TR415 a second time with the short hole; the Year Book has .625 in only
    assert {row["valve_hole_mm"] for row in valves if row["designation"] == "TR415"} == {15.875}
    assert {row["effective_length_mm"] for row in valves if row["designation"] == "TR415"} == {31.75}
    # 2 to 5 in-lb for a core is contradicted by three better sources
    assert all(row["torque_max_nm"] <= 0.452 for row in torques if row["part"] == "valve_core")  # type: ignore[operator]
    assert all(row["nominal_mm"] not in (9.7, 8.8) for row in holes)
    # the screw of a rubber sensor valve: no document
    assert {row["part"] for row in torques} == {
        "valve_nut",
        "valve_core",
        "valve_core_test",
        "tpms_clamp_in_nut",
    }


def test_csv_is_readable_by_the_plain_module() -> None:
    for name in NAMES:
        with (DATA / f"{name}.csv").open(encoding="utf-8", newline="") as file:
            assert len(list(csv.DictReader(file))) == len(table(name))
