"""Documents of jobs: what is read, what is refused and how it is told."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stemlore.errors import DocumentError
from stemlore.interchange import JOB_SCHEMA, read_job
from stemlore.interchange._records import Slots
from stemlore.model import Assembly, Axle, Job, MakerInstruction, Tyre, Vehicle, given_text

_WHEEL = {
    "position": "axle 1 left",
    "tyre": {"size": "205/55 R16 91V", "pressure": "2.4 bar", "tread_depth_main_grooves_mm": 5.2},
    "wheel": {"material": "steel", "rim": "6.5Jx16 H2"},
    "valve": {"code": "TR413", "fitted": "2023-10-14"},
    "sensor": {"fitted": False},
    "work": {"valve_renewed": True},
    "own": {"xa.chain_kit": "5 mm"},
}


def doc(**parts: Any) -> dict[str, Any]:
    return {"schema": JOB_SCHEMA, **parts}


def refused(source: Any) -> dict[str, str]:
    with pytest.raises(DocumentError) as caught:
        read_job(source)
    return {fault.path: f"{fault.message} ({fault.advice})" for fault in caught.value.faults}


def test_a_whole_document_is_read() -> None:
    job = read_job(
        json.dumps(
            doc(
                vehicle={
                    "category": "M1",
                    "gross_mass": "1.9 t",
                    "axles": [{"number": 1, "fitment": "single"}],
                    "permitted_sizes": ["205/55 R16", "225/45 R17"],
                },
                assemblies=[_WHEEL, {"position": "spare"}],
                event={"on": "2024-03-15"},
                makers=[{"source": "manual, p. 3", "positions": ["spare"], "cold_pressure": "4.2 bar"}],
                own={"xa.loan": True},
            )
        )
    )
    assert isinstance(job, Job)
    assert job.vehicle.gross_mass == 1900.0
    assert job.vehicle.twin_wheels is False
    assert [str(size) for size in job.vehicle.permitted_sizes] == ["205/55 R16", "225/45 R17"]
    wheel = job.at("axle 1 left")
    assert wheel is not None
    assert wheel.tyre == Tyre(size="205/55 R16 91V", pressure="240 kPa", tread_depth_main_grooves="5.2 mm")
    assert given_text(wheel.tyre, "pressure") == "2.4 bar"
    assert given_text(wheel.tyre, "tread_depth_main_grooves") is None
    assert wheel.valve.table_code == "TR413"
    assert wheel.own == {"xa.chain_kit": "5 mm"}
    assert job.maker_at("spare").cold_pressure == 420.0
    assert job.own == {"xa.loan": True}


@pytest.mark.parametrize("wrap", [str, str.encode, lambda text: bytearray(text.encode()), json.loads])
def test_text_bytes_and_mappings_are_one_document(wrap: Any) -> None:
    text = json.dumps(doc(assemblies=[_WHEEL]))
    assert read_job(wrap(text)) == read_job(text)


def test_a_path_is_a_file(tmp_path: Path) -> None:
    file = tmp_path / "job.json"
    file.write_bytes(b"\xef\xbb\xbf" + json.dumps(doc()).encode())  # with a byte order mark
    assert read_job(file) == Job()
    file.write_text("{")
    with pytest.raises(DocumentError, match=r"job\.json: 1 fault"):
        read_job(file)


def test_null_is_missing_everywhere() -> None:
    wheel = {"position": "spare", "tyre": {"pressure": None, "pressure_kpa": 240}, "wheel": None, "own": None}
    assert read_job(doc(vehicle=None, assemblies=[wheel], event=None, makers=None, own=None)) == Job(
        assemblies=[Assembly(position="spare", tyre=Tyre(pressure="240 kPa"))]
    )


def test_what_was_given_is_not_shared_with_the_caller() -> None:
    tyre = {"pressure": "2.4 bar"}
    job = read_job(doc(assemblies=[{"position": "spare", "tyre": tyre}]))
    tyre["pressure"] = "9 bar"
    assert given_text(job.assemblies[0].tyre, "pressure") == "2.4 bar"


def test_numbers_under_the_unit_are_settled_and_bounded() -> None:
    def tyre(**values: Any) -> Any:
        return doc(assemblies=[{"position": "spare", "tyre": values}])

    # 240 kPa as another program may write it
    job = read_job(tyre(pressure_kpa=240.00000000000003, load_index=91.0))
    assert job.assemblies[0].tyre == Tyre(pressure="240 kPa", load_index=91)
    assert read_job(tyre(pressure_kpa=240)) == read_job(tyre(pressure="2.4 bar"))
    at = "assemblies[0].tyre."
    for values, key, why in (
        ({"pressure_kpa": "240"}, "pressure_kpa", "not a number"),
        ({"pressure_kpa": True}, "pressure_kpa", "not a number"),
        ({"pressure_kpa": [240]}, "pressure_kpa", "not a number"),
        ({"pressure_kpa": -1}, "pressure_kpa", "below 0 kPa"),
        ({"pressure_kpa": 10**400}, "pressure_kpa", "finite"),
        ({"pressure_kpa": float("nan")}, "pressure_kpa", "finite"),
        ({"tyre_temperature_deg_c": -274}, "tyre_temperature_deg_c", "below -273.15"),
        ({"pressure": "-1 kPa"}, "pressure", "below 0 kPa"),
        ({"pressure": 2.4}, "pressure", "write '2.4 kPa', or use pressure_kpa"),
        ({"pressure": "2.4"}, "pressure", "write '2.4 kPa', or use pressure_kpa"),
        ({"pressure": "2.4 mm"}, "pressure", "length"),
        ({"pressure": ["2.4 bar"]}, "pressure", "not a quantity"),
        ({"pressure": {}}, "pressure", "not a quantity"),
        ({"pressure": "2.4 bar", "pressure_kpa": 240}, "pressure_kpa", "pressure gives the same reading"),
        ({"load_index": 91.5}, "load_index", "whole number"),
        ({"load_index": "91"}, "load_index", "whole number"),
        ({"studded": 1}, "studded", "true or false"),
        ({"speed_symbol": ["V"]}, "speed_symbol", "not a word"),
        ({"manufactured": 2018}, "manufactured", "not a date"),
        ({"manufactured": [2018]}, "manufactured", "not a date"),
        ({"size": {}}, "size", "write it as text"),
    ):
        told = refused(tyre(**values))
        assert set(told) == {at + key}
        assert why in told[at + key]


def test_all_faults_come_at_once_with_their_paths() -> None:
    told = refused(
        doc(
            vehicle={"categry": "M1", "axles": [{"number": 1, "fitment": "dual"}, {"fitment": "x"}, 7]},
            assemblies=[
                {"position": "axle 1 left inner", "tyre": {"presure": "2 bar", "size": "205-55"}},
                {"tyre": {"pressure": 2}, "wheels": {}},
                {"position": "axle 1 left inner", "sensor": {"battery_age": "2 s"}},
                {"position": "front"},
                "axle 2 left",
                {"position": "spare", "own": {"chain": 1}, "tyre": [], "work": {"restraint": "cag"}},
            ],
            makers=[
                {"source": "A", "cold_pressure": "2 bar"},
                {"cold_pressure": "2 bar"},
                {"source": "B", "cold_pressure": "3 bar"},
                {"source": "C", "valve_nut_torque_min": "4 N.m"},
            ],
            event={"on": "2024-03"},
            own=[],
            rulebook="DE",
        )
    )
    assert set(told) == {
        "vehicle.categry",
        "vehicle.axles[1].number",
        "vehicle.axles[1].fitment",
        "vehicle.axles[2]",
        "assemblies[0].tyre.presure",
        "assemblies[0].tyre.size",
        "assemblies[1].position",
        "assemblies[1].tyre.pressure",
        "assemblies[1].wheels",
        "assemblies[2].position",
        "assemblies[2].sensor.battery_age",
        "assemblies[3].position",
        "assemblies[4]",
        "assemblies[5].own['chain']",
        "assemblies[5].tyre",
        "assemblies[5].work.restraint",
        "makers[1].source",
        "makers[2].cold_pressure",
        "makers[3].valve_nut_torque_max",
        "event.on",
        "own",
        "rulebook",
    }
    assert "did you mean category" in told["vehicle.categry"]
    assert "did you mean pressure" in told["assemblies[0].tyre.presure"]
    assert "did you mean wheel" in told["assemblies[1].wheels"]
    assert "already assemblies[0]" in told["assemblies[2].position"]
    assert "did you mean cage?" in told["assemblies[5].work.restraint"]
    assert "'A' (makers[0])" in told["makers[2].cold_pressure"]


def test_contradictions_are_told_where_they_are() -> None:
    wheel = {"position": "axle 2 left", "tyre": {"size": "205/55 R16 91V", "load_index": 94}}
    told = refused(doc(vehicle={"axles": [{"number": 1}, {"number": 1}]}, assemblies=[wheel]))
    assert set(told) == {"vehicle.axles[1].number", "assemblies[0].tyre.load_index"}
    told = refused(doc(vehicle={"axles": [{"number": 1}]}, assemblies=[{"position": "axle 2 left"}]))
    assert set(told) == {"assemblies[0].position"}


def test_lists_and_objects_are_not_mixed_up() -> None:
    told = refused(
        doc(assemblies={"position": "spare"}, makers="A", vehicle={"permitted_sizes": "205/55 R16"})
    )
    assert set(told) == {"assemblies", "makers", "vehicle.permitted_sizes"}
    told = refused(doc(vehicle={"permitted_sizes": ["205/55 R16", 7, None]}, makers=[None]))
    assert set(told) == {"vehicle.permitted_sizes[1]", "vehicle.permitted_sizes[2]", "makers[0]"}


@pytest.mark.parametrize(
    ("given_schema", "why"),
    [
        ({}, 'write "schema": "stemlore.job/1"'),
        ({"schema": "stemlore.job/2"}, "this release reads stemlore.job/1"),
        ({"schema": "stemlor.job/1"}, "did you mean stemlore.job/1?"),
        ({"schema": 1}, 'write "schema": "stemlore.job/1"'),
        ({"schema": None}, "not a job's schema"),
        ({"schema": "report"}, 'write "schema"'),
    ],
)
def test_the_schema_must_be_ours(given_schema: dict[str, Any], why: str) -> None:
    told = refused({**given_schema, "vehicle": {"category": "Q"}})
    assert set(told) == {"schema", "vehicle.category"}
    assert why in told["schema"]


@pytest.mark.parametrize(
    ("body", "why"),
    [
        (b"", "is empty"),
        (b" \n", "is empty"),
        (b"[]", "is a list, not an object"),
        (b'"x"', "is text"),
        (b"null", "is null"),
        (b"true", "is true or false"),
        (b"7", "is a number"),
        (b'{"schema": "stemlore.job/1",\n "own": {,}}', "not JSON at line 2, column 10"),
        (b'{"schema": "stemlore.job/1"', "not JSON at line 1, column 28"),
        (b'{"schema": "stemlore.job/1"} {}', "not JSON at line 1, column 30"),
        (b"{'schema': 1}", "not JSON at line 1, column 2"),
        (b'{"schema": "stemlore.job/1", "x": NaN}', "NaN is not a number in JSON"),
        (b'{"schema": "stemlore.job/1", "x": -Infinity}', "-Infinity is not a number in JSON"),
        (b'{"x": 1e999}', "not JSON: Number out of range"),
        (b'{"x": "\\ud800"}', "not JSON"),
        ("{}".encode("utf-16"), "is written in UTF-16"),
        ("{}".encode("utf-32"), "is written in UTF-32"),
        ("{}".encode("utf-16-be"), "is written in UTF-16 or UTF-32"),
        ('{"x": "caf\u00e9",\n "y": 1}'.encode("latin-1"), "not UTF-8 at line 1, column 11"),
        (b"[" * 100_000, "nested deeper than 32"),
        (b'{"a":' * 100_000, "nested deeper than 32"),
        (b" " * (10 * 1024**2 + 1), "longer than 10 MiB"),
        ("job.json", "looks like the name of a file"),
        ('{"x": "\ud800"}', "half a character (surrogate) at line 1, column 8"),
        (None, "a NoneType is not a document"),
        (7, "a int is not a document"),
        ([], "a list is not a document"),
    ],
)  # fmt: skip
def test_what_is_no_document_is_refused_with_its_place(body: Any, why: str) -> None:
    with pytest.raises(DocumentError) as caught:
        read_job(body)
    assert why in str(caught.value)


def test_a_file_that_cannot_be_read_chains_the_cause(tmp_path: Path) -> None:
    for path in (tmp_path / "missing.json", tmp_path):
        with pytest.raises(DocumentError, match="cannot be read") as caught:
            read_job(path)
        assert isinstance(caught.value.__cause__, OSError)
    with pytest.raises(DocumentError, match="cannot be read"):
        read_job(Path("a\0b"))
    big = tmp_path / "big.json"
    big.write_bytes(b" " * (10 * 1024**2 + 1))
    with pytest.raises(DocumentError, match="longer than 10 MiB"):
        read_job(big)


def test_deep_values_are_refused_by_depth() -> None:
    deep: Any = {}
    for _ in range(40):
        deep = {"a": [deep]}
    told = refused(doc(own={"xa.deep": deep}))
    assert "nested deeper than 32" in told["own"]
    text = json.dumps(doc(vehicle=deep))
    assert "nested deeper than 32" in refused(text)["vehicle"]
    endless: dict[str, Any] = doc()
    endless["vehicle"] = [endless, endless]
    assert "nested deeper than 32" in refused(endless)["vehicle[0]"]


@pytest.mark.parametrize(
    ("body", "path"),
    [
        ('{"schema": "stemlore.job/1", "schema": "stemlore.job/1"}', "schema"),
        ('{"schema": "stemlore.job/1", "event": {"kind": "repair", "kind": "repair"}}', "event.kind"),
        ('{"schema": "stemlore.job/1", "event": {"kind": "repair", "\\u006bind": null}}', "event.kind"),
        ('{"schema": "stemlore.job/1", "event": {}, "event": null}', "event"),
        (
            '{"schema": "stemlore.job/1", '
            '"assemblies": [{"position": "spare", "own": {"xa.a": 1, "xa.a": ": "}}]}',
            "assemblies[0].own.xa.a",
        ),
        (
            '{"schema": "stemlore.job/1", "vehicle": {"axles": [{"number": 1}, {"number": 2, "number": 3}]}}',
            "vehicle.axles[1].number",
        ),
    ],
)
def test_a_key_that_stands_twice_is_told_with_its_path(body: str, path: str) -> None:
    assert set(refused(body)) == {path}
    assert set(refused(body.encode())) == {path}


def test_duplicates_are_told_beside_other_faults() -> None:
    told = refused('{"schema": "stemlore.job/1", "x": {"a": 1, "a": 2}, "event": {"kind": "x", "kind": "y"}}')
    assert set(told) == {"x", "x.a", "event.kind"}


def test_colons_in_text_are_no_duplicates() -> None:
    job = read_job('{"schema": "stemlore.job/1", "makers": [{"source": "manual: page 3: table 1"}]}')
    assert job == Job(makers=[MakerInstruction(source="manual: page 3: table 1")])


_json = st.recursive(
    st.one_of(
        st.none(), st.booleans(), st.integers(), st.floats(allow_nan=False, allow_infinity=False), st.text()
    ),
    lambda inner: st.one_of(
        st.lists(inner, max_size=3),
        st.dictionaries(
            st.sampled_from(
                ["vehicle", "axles", "number", "assemblies", "position", "tyre", "own", "event", "x.y", "on"]
            ),
            inner,
            max_size=4,
        ),
    ),
    max_leaves=12,
)


@given(_json)
def test_any_json_gives_a_job_or_a_document_error(value: Any) -> None:
    text = json.dumps({"schema": JOB_SCHEMA, **value} if isinstance(value, dict) else value)
    job, faults = None, ()
    try:
        job = read_job(text)
    except DocumentError as error:
        faults = error.faults
    assert isinstance(job, Job) or faults


@given(st.binary(max_size=40))
def test_any_bytes_give_a_job_or_a_document_error(body: bytes) -> None:
    with pytest.raises(DocumentError):
        read_job(body)


def test_an_error_that_is_not_about_the_value_is_not_hidden() -> None:
    with pytest.raises(TypeError, match="a mistake of ours"):
        Slots(Tyre).refused("size", "205/55 R16", TypeError("a mistake of ours"), "tyre")


def test_an_own_value_is_text_number_or_flag() -> None:
    told = refused(doc(own={"xa.a": [1], "b": 1, "xa.c": {"d": 1}}))
    assert set(told) == {"own['xa.a']", "own['b']", "own['xa.c']"}
    assert read_job(doc(own={"xa.a": None})) == Job()
    assert read_job(doc(vehicle={"axles": [{"number": 2}]})).vehicle == Vehicle(axles=[Axle(number=2)])
