"""How records are made, altered, compared and stored."""

from __future__ import annotations

import copy
import pickle
from datetime import date, datetime
from types import MappingProxyType
from typing import Any

import attrs
import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stemlore import model
from stemlore.errors import RecordError, UnknownFieldError
from stemlore.model import FIELDS, Assembly, Axle, Job, Sensor, Tyre, Vehicle, Wheel, Work, change, given_text
from stemlore.model._record import read_field
from stemlore.model._spec import unit_suffix
from stemlore.notation import DateSpan, TyreSize
from stemlore.units import DIMENSIONLESS

RECORDS = [
    getattr(model, name)
    for name in model.__all__
    if hasattr(getattr(model, name), "__stemlore_specs__") and isinstance(getattr(model, name), type)
]


def faults_of(make: Any, *args: Any, **values: Any) -> dict[str, str]:
    with pytest.raises(RecordError) as caught:
        make(*args, **values)
    return {fault.path: str(fault) for fault in caught.value.faults}


def test_a_reading_is_held_in_the_unit_of_its_field() -> None:
    tyre = Tyre(pressure="2.5 bar", tread_depth_main_grooves="4/32 in", ambient_temperature="68 degF")
    # 1 bar = 100 kPa; 4/32 in = 0.125 in of 25.4 mm; 68 degF = 20 degC
    assert tyre.pressure == 250.0
    assert tyre.tread_depth_main_grooves == 3.175
    assert tyre.ambient_temperature == 20.0
    assert tyre.tyre_temperature is None


def test_a_pint_quantity_is_taken() -> None:
    tyre = Tyre(pressure=pint.Quantity(36, "psi"), ambient_temperature=pint.Quantity(-5.0, "degC"))
    assert tyre == Tyre(pressure="36 psi", ambient_temperature="-5 °C")
    assert given_text(tyre, "pressure") == "36 pound_force_per_square_inch"


@pytest.mark.parametrize("number", [2.5, 2, 0, float("nan")])
def test_a_bare_number_is_refused_and_shown_how(number: float) -> None:
    told = faults_of(Tyre, pressure=number)
    assert "has no unit" in told["pressure"]
    assert "kPa" in told["pressure"]


@pytest.mark.parametrize("number", [float("nan"), float("inf"), float("-inf")])
def test_a_quantity_that_is_not_finite_is_missing(number: float) -> None:
    assert Tyre(pressure=pint.Quantity(number, "bar")).pressure is None


def test_numbers_that_are_not_finite_are_missing_when_stored() -> None:
    tyre = model.from_stored(Tyre, {"pressure": float("inf"), "tread_depth_main_grooves": float("nan")})
    assert tyre == Tyre()


def test_stored_values_are_derived_and_contradict_as_given_ones_do() -> None:
    size = TyreSize.parse("205/55 R16 91V")
    tyre = model.from_stored(Tyre, {"size": size}, {"size": "205/55R16 91V"})
    assert tyre.load_index == 91
    assert given_text(tyre, "size") == "205/55R16 91V"
    assert set(faults_of(model.from_stored, Tyre, {"size": size, "load_index": 90})) == {"load_index"}


def test_all_faults_are_told_at_once_with_advice() -> None:
    told = faults_of(
        Tyre,
        presure="2.5 bar",
        pressure="2.5 mm",
        tread_depth_main_grooves="-1 mm",
        ambient_temperature="-300 degC",
        size="205-55",
        load_index="91",
        speed_symbol="I",
        construction="radiall",
        studded="yes",
        manufactured="4.6.2018",
        tread_depth_at_wear_bar=3,
    )
    assert set(told) == {
        "presure",
        "pressure",
        "tread_depth_main_grooves",
        "ambient_temperature",
        "size",
        "load_index",
        "speed_symbol",
        "construction",
        "studded",
        "manufactured",
        "tread_depth_at_wear_bar",
    }
    assert "did you mean pressure" in told["presure"]
    assert "length" in told["pressure"]
    assert "below 0 mm" in told["tread_depth_main_grooves"]
    assert "did you mean radial?" in told["construction"]
    assert "whole number" in told["load_index"]


def test_a_needed_field_must_be_given() -> None:
    assert faults_of(Assembly) == {"position": "position: must be given"}
    assert set(faults_of(Axle, number=None, fitment="twin")) == {"number", "fitment"}
    assert set(faults_of(Axle, number=0)) == {"number"}
    assert set(faults_of(Axle, number="x")) == {"number"}  # told once


@pytest.mark.parametrize(
    ("value", "why"),
    [
        (True, "whole number"),
        (91.0, "whole number"),
        (-1, "below 0"),
        (2**60, "too great"),
    ],
)
def test_what_is_no_integer_is_refused(value: object, why: str) -> None:
    assert why in faults_of(Tyre, load_index=value)["load_index"]


def test_words_are_read_loosely_and_held_exactly() -> None:
    assert Work(restraint="Bolted on-vehicle").restraint == "bolted_on_vehicle"
    assert Vehicle(category="m1").category == "M1"
    assert "is not a word" in faults_of(Vehicle, category=1)["category"]
    assert "one of" in faults_of(Vehicle, category="q9")["category"]


def test_text_is_trimmed_and_never_empty() -> None:
    assert Work(tool_class=" type II class A ").tool_class == "type II class A"
    assert "leave the field out" in faults_of(Work, tool_class=" ")["tool_class"]


def test_half_a_character_is_no_text() -> None:
    assert "half a character" in faults_of(Work, tool_class="\ud800")["tool_class"]


def test_a_number_beyond_all_bounds_is_refused() -> None:
    assert "too great" in faults_of(Tyre, pressure="9e305 MPa")["pressure"]
    assert unit_suffix(None) == unit_suffix(DIMENSIONLESS) == ""


def test_flags_are_true_or_false_only() -> None:
    assert Tyre(studded=False).studded is False
    assert set(faults_of(Tyre, studded=1, retread=0)) == {"studded", "retread"}


def test_dates_are_days_spans_or_text() -> None:
    assert Vehicle(first_registration=date(2018, 6, 4)).first_registration == DateSpan.day(date(2018, 6, 4))
    assert Vehicle(first_registration="2018-W23") == Vehicle(first_registration=DateSpan.week(2018, 23))
    assert "time of day" in faults_of(Vehicle, manufactured=datetime(2018, 6, 4, 12))["manufactured"]
    assert "not a date" in faults_of(Vehicle, manufactured=2018)["manufactured"]


def test_notations_are_values_or_text() -> None:
    assert Tyre(size=TyreSize.parse("205/55 R16")) == Tyre(size="205/55 R16")
    assert "write it as text" in faults_of(Tyre, size=205)["size"]
    sizes = Vehicle(permitted_sizes=("205/55 R16 91V", TyreSize.parse("225/45 R17"))).permitted_sizes
    assert [str(size) for size in sizes] == ["205/55 R16 91V", "225/45 R17"]
    told = faults_of(Vehicle, permitted_sizes=["205/55 R16", "x", 7])
    assert set(told) == {"permitted_sizes[1]", "permitted_sizes[2]"}
    assert set(faults_of(Vehicle, permitted_sizes="205/55 R16")) == {"permitted_sizes"}


def test_nested_records_are_of_their_class() -> None:
    assert "not a Tyre" in faults_of(Assembly, position="spare", tyre=Wheel())["tyre"]
    assert set(faults_of(Vehicle, axles=[Axle(number=1), Wheel()])) == {"axles[1]"}


def test_fields_of_packs_are_kept_read_only() -> None:
    assembly = Assembly(position="spare", own={"xa.chain_kit": "5 mm", "xa.n": float("nan"), "xa.x": None})
    assert assembly.own == {"xa.chain_kit": "5 mm"}
    with pytest.raises(TypeError):
        assembly.own["xa.other"] = 1  # type: ignore[index]
    told = faults_of(
        Assembly,
        position="spare",
        own={"chain": 1, 7: 1, "xa.l": [1], ".y": 1, "xa.": 1, "xa.B": 1, "xa.c\n": 1, "xa.d": "\ud800"},
    )
    assert len(told) == 8
    assert set(faults_of(Job, own=["xa.chain"])) == {"own"}


def test_a_record_cannot_be_altered_but_changed() -> None:
    tyre = Tyre(pressure="2.5 bar", studded=True)
    with pytest.raises(attrs.exceptions.FrozenInstanceError):
        tyre.pressure = 2.0  # type: ignore[misc]
    changed = change(tyre, pressure="36 psi", studded=None)
    assert changed == Tyre(pressure="36 psi")
    assert given_text(changed, "pressure") == "36 psi"
    assert tyre.pressure == 250.0
    with pytest.raises(RecordError, match="presure"):
        change(tyre, presure="2 bar")
    assert set(faults_of(change, tyre, pressure=2, size="x")) == {"pressure", "size"}


def test_change_takes_a_needed_field_and_defaults() -> None:
    assembly = Assembly(position="axle 1 left", tyre=Tyre(studded=True), own={"xa.a": 1})
    assert change(assembly, position="spare").position.spare
    assert change(assembly, tyre=None, own=None) == Assembly(position="axle 1 left")
    assert faults_of(change, assembly, position=None) == {"position": "position: must be given"}


def test_evolve_of_attrs_does_not_read_stored_numbers_again() -> None:
    # stored numbers bear no unit: attrs.evolve must not take them for readings
    with pytest.raises(RecordError, match="no unit"):
        attrs.evolve(Tyre(pressure="2.5 bar"), studded=True)


def test_equality_and_hash_ignore_how_a_reading_was_given() -> None:
    one, other = Tyre(pressure="2.5 bar"), Tyre(pressure="250 kPa")
    assert one == other
    assert hash(one) == hash(other)
    assert given_text(one, "pressure") == "2.5 bar"
    assert given_text(other, "pressure") == "250 kPa"
    assert given_text(one, "size") is None
    assert given_text(Tyre(studded=True), "studded") is None
    assert one != Tyre(pressure="2.6 bar")
    assert hash(Assembly(position="spare", own={"xa.a": 1})) == hash(Assembly(position="spare"))


def test_repr_can_be_read_back() -> None:
    tyre = Tyre(size="205/55 R16 91V", pressure="36 psi", identification_number="2318", studded=False)
    assert eval(repr(tyre), {"Tyre": Tyre}) == tyre
    job = Job(
        assemblies=[Assembly(position="spare", own={"xa.a": 1})], vehicle=Vehicle(axles=[Axle(number=1)])
    )
    assert eval(repr(job), dict(vars(model))) == job


@pytest.mark.parametrize("protocol", range(pickle.HIGHEST_PROTOCOL + 1))
def test_pickle_keeps_value_and_what_was_given(protocol: int) -> None:
    job = Job(
        assemblies=[
            Assembly(
                position="axle 1 left", tyre=Tyre(pressure=pint.Quantity(2.5, "bar")), own={"xa.a": "5 mm"}
            ),
            Assembly(position="spare", tyre=Tyre(pressure="60 psi")),
        ],
        own={"xa.b": True},
    )
    job.maker_at("spare")
    again = pickle.loads(pickle.dumps(job, protocol))
    assert again == job
    assert isinstance(again.own, MappingProxyType)
    assert given_text(again.assemblies[1].tyre, "pressure") == "60 psi"
    assert given_text(again.assemblies[0].tyre, "pressure") == "2.5 bar"


def test_copies_are_the_record_itself() -> None:
    tyre = Tyre(pressure="2.5 bar")
    assert copy.copy(tyre) is tyre
    assert copy.deepcopy(tyre) is tyre


@pytest.mark.parametrize("cls", RECORDS, ids=lambda cls: cls.__name__)
def test_every_field_says_what_it_is(cls: type[Any]) -> None:
    specs = model.specs_of(cls)
    assert list(specs) == [attribute.name for attribute in attrs.fields(cls)]
    for spec in specs.values():
        assert spec.meaning
        assert spec.meaning == spec.meaning.strip(". ")
        if spec.kind in ("record", "records") or cls is Job:
            continue
        assert spec.how.endswith(".")
        assert 0 < spec.walk <= 80 or spec.kind == "own"
        assert FIELDS[spec.path] is spec
        assert bool(spec.words) == (spec.kind == "word")
        assert (spec.unit is not None) == (spec.kind == "number")


def test_columns_carry_the_unit() -> None:
    assert FIELDS["tyre.tread_depth_main_grooves"].column == "tyre_tread_depth_main_grooves_mm"
    assert FIELDS["tyre.ambient_temperature"].wire_number == "ambient_temperature_deg_c"
    assert FIELDS["vehicle.design_speed"].column == "vehicle_design_speed_km_h"
    assert FIELDS["work.valve_nut_torque"].wire_number == "valve_nut_torque_nm"
    assert FIELDS["sensor.battery_age"].wire_number == "battery_age_years"
    assert FIELDS["tyre.size"].column == "tyre_size"
    assert FIELDS["tyre.size"].wire_number == ""
    assert FIELDS["tyre.size"].name == "size"
    columns = [spec.column for spec in FIELDS.values()]
    assert len(set(columns)) == len(columns)


def test_an_unknown_field_names_near_ones() -> None:
    with pytest.raises(UnknownFieldError) as caught:
        model.field_spec("tyre.tread_depth")
    assert any(near.startswith("tyre.tread_") for near in caught.value.near)
    assert model.field_spec("tyre.pressure").unit is not None
    assert read_field(Tyre, "pressure", "2 bar") == 200.0


@given(
    st.floats(0, 1e4, allow_nan=False).map(lambda number: f"{number:.3f}"),
    st.sampled_from(["kPa", "bar", "psi", "MPa"]),
)
def test_any_pressure_with_a_unit_is_read_and_survives(number: str, unit: str) -> None:
    tyre = Tyre(pressure=f"{number} {unit}")
    assert tyre.pressure is not None
    assert tyre.pressure >= 0
    assert pickle.loads(pickle.dumps(tyre)) == tyre
    assert model.from_stored(Tyre, {"pressure": tyre.pressure}) == tyre
    assert change(Tyre(), pressure=f"{tyre.pressure!r} kPa") == tyre


@given(
    st.dictionaries(
        st.text(max_size=12), st.one_of(st.none(), st.integers(), st.text(), st.floats()), max_size=5
    )
)
def test_whatever_is_given_gives_a_record_or_all_its_faults(values: dict[str, Any]) -> None:
    sensor, faults = None, ()
    try:
        sensor = Sensor(**values)
    except RecordError as error:
        faults = error.faults
    assert isinstance(sensor, Sensor) or faults
    assert {fault.path for fault in faults} <= set(values)
