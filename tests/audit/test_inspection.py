"""Proposals for tables of workshops in several countries: headers, wheels, what to keep, what to say."""

from __future__ import annotations

from pathlib import Path

import polars as pl
import pytest

from stemlore.audit import inspect_source, read_mapping
from stemlore.audit._trade_words import ALIASES, plain_words, wheel_meant
from stemlore.audit.mapping import KEYS
from stemlore.model import FIELDS, Position

WHEELS = {"vehicle_id": ["a"] * 2, "position": ["axle 1 left", "axle 1 right"]}


def proposed(name: str, values: list[object] | None = None) -> tuple[str, str] | None:
    found = inspect_source(pl.DataFrame({**WHEELS, name: values or [None, None]}))
    told = {each.name: each for each in found.mapping.columns}.get(name)
    return None if told is None else (told.to, str(told.unit or ""))


@pytest.mark.parametrize(
    ("name", "to", "of"),
    [
        ("Profiltiefe", "tyre.tread_depth_main_grooves", ""),
        ("Profiltiefe (mm)", "tyre.tread_depth_main_grooves", "mm"),
        ("Profondeur mm", "tyre.tread_depth_main_grooves", "mm"),
        ("Profundidad", "tyre.tread_depth_main_grooves", ""),
        ("Luftdruck [bar]", "tyre.pressure", "bar"),
        ("Pression", "tyre.pressure", ""),
        ("Presión psi", "tyre.pressure", "psi"),
        ("Reifengröße", "tyre.size", ""),
        ("REIFENGRÖSSE", "tyre.size", ""),
        ("Reifengroesse", "tyre.size", ""),
        ("DOT", "tyre.identification_number", ""),
        ("Erstzulassung", "vehicle.first_registration", ""),
        ("Gross mass", "vehicle.gross_mass", ""),
        ("Gross mass kg", "vehicle.gross_mass", "kg"),
        ("GVW lb", "vehicle.gross_mass", "lb"),
        ("zul. Gesamtmasse", "vehicle.gross_mass", ""),
        ("Höchstgeschwindigkeit", "vehicle.design_speed", ""),
        ("treadDepth", "tyre.tread_depth_main_grooves", ""),
        ("Anzahl Achsen", "vehicle_axle_count", ""),
        ("Tyre size count", "", ""),  # a count is a unit of none
        ("Pressure mm", "", ""),
        ("Hersteller", "", ""),
        ("Filiale", "", ""),
        ("Solldruck", "", ""),
    ],
)
def test_headers_of_the_trade_are_known_in_several_languages(name: str, to: str, of: str) -> None:
    assert proposed(name) == ((to, of) if to else None)


@pytest.mark.parametrize("name", ["Kennzeichen", "FIN", "Fahrgestellnummer", "Matrícula", "Immatriculation"])
def test_vehicles_are_told_apart_by_plate_or_number(name: str) -> None:
    found = inspect_source(pl.DataFrame({name: ["a"], "Position": ["axle 1 left"], "Achse": [1]}))
    assert [each.to for each in found.mapping.columns] == ["vehicle_id", "position", "axle_number"]
    assert found.vehicle


def test_all_aliases_name_a_field_or_key_and_are_written_as_headers_are_read() -> None:
    assert set(ALIASES.values()) <= {*FIELDS, *KEYS}
    assert [name for name in ALIASES if plain_words(name) != name] == []


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("VL", "axle 1 left"),
        ("vr", "axle 1 right"),
        ("HL", "axle 2 left"),
        ("HR", "axle 2 right"),
        ("FL", "axle 1 left"),
        ("FR", "axle 1 right"),
        ("RL", "axle 2 left"),
        ("RR", "axle 2 right"),
        ("front left", "axle 1 left"),
        ("Left-Rear", "axle 2 left"),
        ("vorne links", "axle 1 left"),
        ("Hinten rechts außen", "axle 2 right outer"),
        ("arrière droit", "axle 2 right"),
        ("delantera izquierda", "axle 1 left"),
        ("Ersatzrad", "spare"),
        ("middle left", None),
        ("5", None),
    ],
)
def test_wheels_by_front_and_rear_mean_one_of_two_axles(text: str, meant: str | None) -> None:
    assert wheel_meant(text) == meant
    if meant is not None:
        assert str(Position.parse(meant)) == meant


def test_words_of_wheels_are_proposed_to_be_looked_through() -> None:
    frame = pl.DataFrame({"Plate": ["x"] * 5, "Rad": ["VL", "VR", "HL", "HR", " VL "]})
    found = inspect_source(frame)
    wheel = found.mapping.columns[1]
    meant = {"VL": "axle 1 left", "VR": "axle 1 right", "HL": "axle 2 left", "HR": "axle 2 right"}
    assert (wheel.to, dict(wheel.words), found.unread) == ("position", meant, {})
    text = found.to_toml()
    assert "two axles only" in text
    assert dict(read_mapping(text).columns[1].words) == meant


def test_words_that_are_no_wheels_are_listed_beside_those_that_are() -> None:
    frame = pl.DataFrame({"Plate": ["x"] * 3, "Position": ["FL", "axle 1 right", "somewhere"]})
    found = inspect_source(frame)
    assert dict(found.mapping.columns[1].words) == {"FL": "axle 1 left"}
    assert found.unread == {"Position": ("somewhere",)}


def test_no_nonsense_is_hinted() -> None:
    found = inspect_source(
        pl.DataFrame({**WHEELS, "Filiale": [1, 2], "Hersteller": [1, 2], "tyre_presure": [1, 2]})
    )
    assert found.unmapped == {"Filiale": (), "Hersteller": (), "tyre_presure": ("tyre.pressure",)}


def test_a_table_without_vehicles_says_so() -> None:
    text = inspect_source(pl.DataFrame({"position": ["axle 1 left"]})).to_toml()
    assert "map one to vehicle_id" in text
    assert read_mapping(text).columns == ()
    assert "vehicle_id" not in inspect_source(pl.DataFrame(WHEELS)).to_toml()


def test_few_different_texts_are_kept_to_sum_up_by() -> None:
    frame = pl.DataFrame(
        {
            "vehicle_id": [str(number // 4) for number in range(40)],
            "Filiale": ["Nord", "Süd"] * 20,
            "Note": [f"note {number}" for number in range(40)],
            "Code": ["1", "2"] * 20,
            "Country": ["home"] * 40,
            "Price": [1.0] * 40,
            "Empty": [None] * 40,
        },
        schema_overrides={"Empty": pl.String},
    )
    found = inspect_source(frame)
    assert found.mapping.keep == ("Filiale",)
    assert set(found.unmapped) == {"Note", "Code", "Country", "Price", "Empty"}
    assert read_mapping(found.to_toml()).keep == ("Filiale",)


def test_a_column_named_as_its_field_comes_before_one_that_may_be_it() -> None:
    found = inspect_source(pl.DataFrame({**WHEELS, "Wheel position": ["x", "y"], "Plate": ["p", "q"]}))
    assert found.mapping.columns == ()
    assert set(found.unmapped) == {"Wheel position", "Plate"}


def test_marks_and_dates_that_the_mapping_may_settle_are_told(tmp_path: Path) -> None:
    path = tmp_path / "fleet.csv"
    path.write_text("FIN;Rad;Erstzulassung;Gesamtmasse kg\nA;VL;03.04.2021;1.250\nA;VR;03.04.2021;1.250\n")
    text = inspect_source(path).to_toml()
    assert 'dates = "day first" or "month first"' in text
    assert 'decimal = "," or "."' in text
    settled = 'dates = "day first"\ndecimal = ","\n' + text
    made = read_mapping(settled)
    assert (made.dates, made.decimal, len(made.columns)) == ("day first", ",", 4)
