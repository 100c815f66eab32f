"""Lookups: the best graded row answers, what is missing is said."""

from __future__ import annotations

import os
import pickle
import random
import subprocess
import sys
from dataclasses import FrozenInstanceError, replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stemlore.errors import NotInTableError, UnknownFieldError, UnknownTableError
from stemlore.provenance import Citation, Grade
from stemlore.tables import Row, sources, table, table_names


def test_tables_are_read_once() -> None:
    assert table("torques") is table("torques")
    edition = "ISO 9413:1998"
    assert table("valve_holes", edition=edition) is table("valve_holes", edition=edition)


def test_unknown_table_names_the_near_ones() -> None:
    with pytest.raises(UnknownTableError) as caught:
        table("load_indx")
    assert caught.value.near[0] == "load_index"
    assert "load_index" in str(pickle.loads(pickle.dumps(caught.value)))


def test_unknown_edition_names_the_known_ones() -> None:
    with pytest.raises(NotInTableError) as caught:
        table("valve_holes", edition="ISO 9413:1999")
    assert caught.value.nearest[0] == "ISO 9413:1998"
    with pytest.raises(NotInTableError):
        table("load_index", edition="2019")


def test_an_edition_keeps_only_its_rows() -> None:
    whole = table("valve_holes")
    assert sum(len(table("valve_holes", edition=name)) for name in whole.editions) == len(whole)
    part = table("valve_holes", edition="TRA")
    assert {row["edition"] for row in part} == {"TRA"}
    assert part.fingerprint != whole.fingerprint


def test_best_grade_answers_though_several_sources_speak() -> None:
    valves = table("tubeless_valves")
    rows = [row for row in valves if row["designation"] == "TR413"]
    assert len(rows) == 3
    found = valves.lookup("TR413", column="valve_hole_mm")
    assert found.citation.grade is Grade.REPRODUCTION
    assert found.citation.source == sources()["tra-snap-in"]
    assert found.row is rows[0]


def test_grade_counts_more_than_order() -> None:
    valves = table("tubeless_valves")
    turned = replace(valves, rows=valves.rows[::-1])
    assert turned.lookup_map("max_cold_pressure_kpa") == valves.lookup_map("max_cold_pressure_kpa")


def test_order_counts_within_a_grade() -> None:
    valves = table("tubeless_valves")
    weak = tuple(row for row in valves if row.citation.grade is Grade.SECONDARY)
    names = {"retailer-valves": 11.5062, "jp-snap-in": 11.5}
    assert (
        replace(valves, rows=weak).lookup("TR413", column="valve_hole_mm").value == names["retailer-valves"]
    )
    turned = replace(valves, rows=weak[::-1])
    assert turned.lookup("TR413", column="valve_hole_mm").value == names["jp-snap-in"]


def test_empty_cell_is_not_in_the_table() -> None:
    with pytest.raises(NotInTableError, match=r"TR570C.*valve_hole_mm"):
        table("tubeless_valves").lookup("TR570C", column="valve_hole_mm")
    assert "TR570C" not in table("tubeless_valves").lookup_map("valve_hole_mm")


def test_nearest_keys_are_named() -> None:
    with pytest.raises(NotInTableError) as caught:
        table("load_index").lookup(181)
    assert caught.value.nearest == (180, 179, 178)
    with pytest.raises(NotInTableError) as caught:
        table("tubeless_valves").lookup("TR600", column="core")
    assert "TR600HP" in caught.value.nearest
    with pytest.raises(NotInTableError) as caught:
        table("torques").lookup("valve_nut", "truck tubeless, steel", column="torque_min_nm")
    assert caught.value.nearest[0] == ("valve_nut", "truck tubeless, steel wheel")


@pytest.mark.parametrize("key", ["91", True, 91.5, None, (91,)])
def test_a_key_of_another_kind_is_not_found(key: object) -> None:
    with pytest.raises(NotInTableError):
        table("load_index").lookup(key)  # type: ignore[arg-type]


def test_unknown_column_is_an_error_not_a_gap() -> None:
    for ask in (
        lambda: table("load_index").lookup(91, column="load"),
        lambda: table("load_index").lookup_map("load"),
        lambda: table("load_index").citation_map("load"),
        lambda: table("load_index").column_unit("load"),
        lambda: table("load_index").rows[0]["load"],
    ):
        with pytest.raises(UnknownFieldError, match="load_kg"):
            ask()


def test_without_a_main_column_only_the_row_is_found() -> None:
    found = table("torques").lookup("valve_core", "truck")
    assert (found.value, found.unit) == (None, "")
    assert found.row["printed"] == "1.5-4 in-lb"


@given(st.sampled_from(table_names()), st.data())
def test_maps_and_lookups_agree(name: str, data: st.DataObject) -> None:
    asked = table(name)
    column = data.draw(st.sampled_from([column.name for column in asked.columns]))
    values, citations = asked.lookup_map(column), asked.citation_map(column)
    assert values.keys() == citations.keys()
    for key, value in values.items():
        found = asked.lookup(*(key if isinstance(key, tuple) else (key,)), column=column)
        assert found.value == value
        assert found.citation == citations[key]
        assert found.unit == asked.column_unit(column)


def test_maps_cannot_be_changed() -> None:
    found = table("load_index").lookup_map("load_kg")
    with pytest.raises(TypeError):
        found[91] = 1.0  # type: ignore[index]
    assert table("load_index").lookup_map("load_kg")[91] == 615.0


def test_keys_are_whole_numbers_where_the_column_is() -> None:
    assert all(type(key) is int for key in table("load_index").lookup_map("load_kg"))
    assert all(type(key) is str for key in table("speed_symbols").lookup_map("speed_km_h"))
    assert all(type(key) is tuple for key in table("torques").lookup_map("torque_min_nm"))


def test_a_row_is_a_mapping_that_cannot_be_changed() -> None:
    row = table("load_index").rows[91]
    assert dict(row)["load_kg"] == row["load_kg"] == row.get("load_kg") == 615.0
    assert "load_kg" in row
    assert "load" not in row
    assert len(row) == len(table("load_index").columns)
    assert isinstance(row, Row)
    assert isinstance(row.citation, Citation)
    with pytest.raises(TypeError):
        row["load_kg"] = 0.0  # type: ignore[index]
    with pytest.raises(FrozenInstanceError):
        row.citation = None  # type: ignore[assignment, misc]
    with pytest.raises(FrozenInstanceError):
        table("load_index").rows = ()  # type: ignore[misc]


def test_fingerprint_does_not_hang_on_the_order_of_rows() -> None:
    loads = table("load_index")
    mixed = list(loads.rows)
    random.Random(91).shuffle(mixed)
    assert replace(loads, rows=tuple(mixed)).fingerprint == loads.fingerprint
    assert len(loads.fingerprint) == 64
    int(loads.fingerprint, 16)


def test_fingerprint_changes_with_one_figure() -> None:
    loads = table("load_index")
    first = loads.rows[0]
    changed = Row({**first, "load_kg": 45.5}, first.citation, first.also)
    assert replace(loads, rows=(changed, *loads.rows[1:])).fingerprint != loads.fingerprint


def test_fingerprints_differ_between_tables() -> None:
    assert len({table(name).fingerprint for name in table_names()}) == len(table_names())


def test_sources_cannot_be_changed() -> None:
    with pytest.raises(TypeError):
        sources()["own"] = sources()["tra-snap-in"]  # type: ignore[index]


def test_importing_the_room_reads_no_file() -> None:
    code = (
        "import sys, stemlore.tables as t\n"
        "assert 'importlib.resources' not in sys.modules\n"
        "assert t._package.cache_info().currsize == 0\n"
        "assert not {'pint', 'polars', 'msgspec'} & set(sys.modules)\n"
    )
    subprocess.run(
        [sys.executable, "-c", code], check=True, env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)}
    )
