"""Jobs to JSON and back, and the JSON Schema of both."""

from __future__ import annotations

import json
from typing import Any

import jsonschema
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from stemlore.errors import DocumentError
from stemlore.interchange import JOB_SCHEMA, job_schema, job_to_json, read_job
from stemlore.model import (
    Assembly,
    Axle,
    Event,
    Job,
    Position,
    Tyre,
    Valve,
    Vehicle,
    change,
    plain_values,
)
from stemlore.provenance import fingerprint_of
from stemlore.testing import strategies

SCHEMA = job_schema()
VALIDATOR = jsonschema.Draft202012Validator(SCHEMA)

_TEXT = st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=8).filter(str.strip)


_OWN = st.dictionaries(
    st.from_regex(r"xa(\.[a-z]\w{0,4}){1,2}", fullmatch=True, alphabet="abcxyz_09."),
    st.one_of(
        _TEXT, st.booleans(), st.integers(-(2**53), 2**53), st.floats(allow_nan=False, allow_infinity=False)
    ),
    max_size=2,
)


def with_own(job: Job, own: dict[str, Any], others: dict[str, Any]) -> Job:
    """Return the job with fields of packs, its own and the assemblies'."""
    assemblies = [change(assembly, own=others) for assembly in job.assemblies]
    return change(job, own=own, assemblies=assemblies)


jobs = st.builds(with_own, strategies.jobs(work=strategies.works(tool_class=_TEXT)), _OWN, _OWN)


@settings(max_examples=60, suppress_health_check=list(HealthCheck), deadline=None)
@given(jobs)
def test_writing_and_reading_is_the_identity(job: Job) -> None:
    text = job_to_json(job)
    again = read_job(text)
    assert again == job
    assert job_to_json(again) == text
    assert read_job(job_to_json(job, indent=2)) == job
    assert fingerprint_of(plain_values(again)) == fingerprint_of(plain_values(job))
    VALIDATOR.validate(json.loads(text))


def test_what_is_written_is_plain_and_sorted() -> None:
    job = Job(
        vehicle=Vehicle(
            axles=[Axle(number=2, permitted_mass="1.1 t"), Axle(number=1)], design_speed="210 km/h"
        ),
        assemblies=[
            Assembly(position="spare", tyre=Tyre(pressure="60 psi")),
            Assembly(position=Position.at(1, "left"), valve=Valve(code="TR413"), own={"xa.a": True}),
        ],
        event=Event(on="2024-03-15"),
    )
    assert json.loads(job_to_json(job)) == {
        "schema": "stemlore.job/1",
        "vehicle": {
            "design_speed_km_h": 210.0,
            "axles": [{"number": 1}, {"number": 2, "permitted_mass_kg": 1100.0}],
        },
        "assemblies": [
            {
                "position": "axle 1 left",
                "valve": {"code": "TR413", "table_code": "TR413"},
                "own": {"xa.a": True},
            },
            # 60 psi = 60 x 6.894757293 kPa
            {"position": "spare", "tyre": {"pressure_kpa": 413.685438}},
        ],
        "event": {"on": "2024-03-15"},
    }
    assert job_to_json(Job()) == '{"schema":"stemlore.job/1"}'
    assert job_to_json(Job(), indent=2) == '{\n  "schema": "stemlore.job/1"\n}'


def test_the_order_of_wheels_does_not_show() -> None:
    wheels = [
        Assembly(position=place, tyre=Tyre(pressure="2 bar")) for place in ("axle 1 left", "axle 1 right")
    ]
    assert job_to_json(Job(assemblies=wheels)) == job_to_json(Job(assemblies=wheels[::-1]))


def test_the_schema_is_a_schema() -> None:
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    assert json.loads(json.dumps(SCHEMA)) == SCHEMA
    tyre = SCHEMA["$defs"]["Tyre"]["properties"]
    assert tyre["tread_depth_main_grooves_mm"]["minimum"] == 0
    assert tyre["tyre_temperature_deg_c"]["minimum"] == -273.15
    assert "minimum" not in SCHEMA["$defs"]["Sensor"]["properties"]["angle_deg"]
    assert SCHEMA["properties"]["schema"] == {"const": JOB_SCHEMA}


def _with_tyre(**values: Any) -> dict[str, Any]:
    return {"schema": JOB_SCHEMA, "assemblies": [{"position": "spare", "tyre": values}]}


@pytest.mark.parametrize(
    "document",
    [
        {"schema": JOB_SCHEMA},
        {"schema": JOB_SCHEMA, "vehicle": None, "assemblies": None, "own": None},
        _with_tyre(pressure="2,5 bar", tread_depth_main_grooves="4/32 in", tread_depth_whole_tread='1/8"'),
        _with_tyre(pressure="250kPa", tread_depth_at_wear_bar_mm=1.6, ambient_temperature="-10 °C"),
        _with_tyre(pressure=None, pressure_kpa=250),
        _with_tyre(pressure="2.5 kgf/cm2", pressure_kpa=None),
        _with_tyre(manufactured="2018-W23", load_index=91.0, studded=False, speed_symbol="V"),
        _with_tyre(manufactured="2018-06-04/2018-07"),
        {"schema": JOB_SCHEMA, "vehicle": {"axles": [{"number": 1}], "permitted_sizes": ["205/55 R16"]}},
        {
            "schema": JOB_SCHEMA,
            "makers": [{"source": "m", "positions": ["spare"]}],
            "own": {"xa.a": 1, "xa.b": None},
        },
    ],
)
def test_documents_that_are_read_satisfy_the_schema(document: dict[str, Any]) -> None:
    assert read_job(json.dumps(document))
    VALIDATOR.validate(document)


@pytest.mark.parametrize(
    "document",
    [
        [],
        {},
        {"schema": "stemlore.job/2"},
        {"schema": JOB_SCHEMA, "rulebook": "DE"},
        {"schema": JOB_SCHEMA, "assemblies": {}},
        {"schema": JOB_SCHEMA, "assemblies": [{}]},
        {"schema": JOB_SCHEMA, "assemblies": [{"position": None}]},
        {"schema": JOB_SCHEMA, "assemblies": [None]},
        {"schema": JOB_SCHEMA, "makers": [{"cold_pressure": "2 bar"}]},
        {"schema": JOB_SCHEMA, "vehicle": {"axles": [{"number": 0}]}},
        {"schema": JOB_SCHEMA, "vehicle": {"category": "Q"}},
        {"schema": JOB_SCHEMA, "own": {"chain": 1}},
        {"schema": JOB_SCHEMA, "own": {"xa.a": []}},
        _with_tyre(pressure=2.5),
        _with_tyre(pressure="2.5"),
        _with_tyre(pressure="bar"),
        _with_tyre(pressure="2.5 bar", pressure_kpa=250),
        _with_tyre(pressure_kpa="250"),
        _with_tyre(pressure_kpa=True),
        _with_tyre(pressure_kpa=-1),
        _with_tyre(pressure_bar=2.5),
        _with_tyre(presure="2.5 bar"),
        _with_tyre(studded="no"),
        _with_tyre(load_index=91.5),
        _with_tyre(load_index="91"),
        _with_tyre(manufactured="4.6.2018"),
        _with_tyre(manufactured=2018),
        _with_tyre(size=205),
        _with_tyre(construction="radiall"),
    ],
)
def test_documents_that_are_refused_break_the_schema(document: Any) -> None:
    with pytest.raises(DocumentError):
        read_job(json.dumps(document))
    assert not VALIDATOR.is_valid(document)


def _mutations(document: Any) -> st.SearchStrategy[Any]:
    junk = st.sampled_from([None, 1, -1.5, "x", "2 bar", True, [], {}, ["x"], {"x": 1}])
    text = json.dumps(document)
    keys = [
        key
        for key in ("pressure", "position", "number", "schema", "tyre", "assemblies", "axles")
        if key in text
    ]

    def swapped(key: str, value: Any) -> Any:
        def walk(node: Any) -> Any:
            if isinstance(node, dict):
                return {name: value if name == key else walk(inner) for name, inner in node.items()}
            return [walk(inner) for inner in node] if isinstance(node, list) else node

        return walk(document)

    return st.builds(swapped, st.sampled_from(keys), junk)


@given(
    _mutations(
        {
            "schema": JOB_SCHEMA,
            "vehicle": {"axles": [{"number": 1}]},
            "assemblies": [{"position": "axle 1 left", "tyre": {"pressure": "2 bar"}}],
        }
    )
)
def test_what_is_read_is_always_valid_by_the_schema(document: Any) -> None:
    try:
        read_job(json.dumps(document))
    except DocumentError:
        return
    VALIDATOR.validate(document)
