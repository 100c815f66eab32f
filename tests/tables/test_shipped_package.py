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

from stemlore.errors import NotInTableError
from stemlore.provenance import Grade
from stemlore.tables import sources, table, table_names
from stemlore.units import unit

DATA = Path(str(files("stemlore.tables"))) / "data"
DESCRIPTOR = json.loads((DATA / "datapackage.json").read_text(encoding="utf-8"))
NAMES = ("tubeless_valves", "valve_holes", "load_index", "speed_symbols", "torques")


def test_frictionless_finds_nothing_wrong() -> None:
    report = frictionless.validate(str(DATA / "datapackage.json"))
    assert report.valid, report.flatten(["title", "rowNumber", "fieldName", "message"])
    assert len(report.tasks) == len(NAMES) + 1


def test_the_tables_are_these() -> None:
    assert set(table_names()) == set(NAMES)


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
        ends = {"_mm": "mm", "_kpa": "kPa", "_km_h": "km/h", "_kg": "kg", "_nm": "N.m"}
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
        ("load_index", (171,)),
        ("load_index", (200,)),
        ("load_index", (278,)),
        ("load_index", (280,)),
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
