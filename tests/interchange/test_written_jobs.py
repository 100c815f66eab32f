"""Jobs to JSON and back, and the JSON Schema of both."""

from __future__ import annotations

import json
from typing import Any

import jsonschema
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from stemlore.errors import DocumentError, RecordError
from stemlore.interchange import JOB_SCHEMA, job_schema, job_to_json, read_job
from stemlore.model import (
    Assembly,
    Axle,
    Event,
    FieldSpec,
    Job,
    MakerInstruction,
    Position,
    Sensor,
    Tyre,
    Valve,
    Vehicle,
    Wheel,
    Work,
    plain_values,
    specs_of,
)
from stemlore.notation import DateSpan
from stemlore.provenance import fingerprint_of

SCHEMA = job_schema()
VALIDATOR = jsonschema.Draft202012Validator(SCHEMA)

_NOTATIONS = {
    "size": ["205/55 R16 91V", "LT245/75 R16 120/116S", "315/80 R22.5 156/150L", "195 R14 C"],
    "identification_number": ["DOT U2LL LMLR 2318", "2318", "DOT 408", "408\u25c1"],
    "rim": ["6.5Jx16 H2 ET45", "8.25x22.5", "7.5V-20"],
    "code": ["TR413", "TR600HP", "TR413CH"],
}
_TEXT = st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=8).filter(str.strip)


def values_of(spec: FieldSpec) -> st.SearchStrategy[Any]:
    """Return a strategy of values for a field, as its constructor takes them."""
    if spec.kind == "number":
        least = -1e6 if spec.least is None else spec.least
        return st.floats(least, 1e6, allow_nan=False).map(lambda number: f"{number:.7f} {spec.unit}")
    if spec.kind == "integer":
        return st.integers(1, 279)
    if spec.kind == "word":
        return st.sampled_from(spec.words)
    if spec.kind == "flag":
        return st.booleans()
    if spec.kind == "date":
        day = st.dates()
        if spec.path == "event.on":
            return day
        return st.one_of(day, day.map(lambda day: DateSpan.parse(day.isoformat()[:7])))
    if spec.kind == "notation":
        return st.sampled_from(_NOTATIONS[spec.name])
    return _TEXT


def records(cls: type[Any], **fixed: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    """Return a strategy of records with any of their fields."""
    free = {
        name: values_of(spec)
        for name, spec in specs_of(cls).items()
        if name not in fixed and spec.kind not in ("record", "records", "own")
    }

    def make(values: dict[str, Any]) -> Any:
        try:
            return cls(**values)
        except RecordError:  # a drawn contradiction
            return None

    return st.fixed_dictionaries(fixed, optional=free).map(make).filter(lambda made: made is not None)


_OWN = st.dictionaries(
    st.from_regex(r"xa(\.[a-z]\w{0,4}){1,2}", fullmatch=True, alphabet="abcxyz_09."),
    st.one_of(
        _TEXT, st.booleans(), st.integers(-(2**53), 2**53), st.floats(allow_nan=False, allow_infinity=False)
    ),
    max_size=2,
)
_POSITIONS = [
    "axle 1 left",
    "axle 1 right",
    "axle 2 left outer",
    "axle 2 left inner",
    "axle 3 centre",
    "spare",
]
_PAIRS = [name for name in specs_of(MakerInstruction) if name.endswith(("_min", "_max"))]

assemblies = st.lists(st.sampled_from(_POSITIONS), unique=True, max_size=3).flatmap(
    lambda places: st.tuples(
        *(
            records(
                Assembly,
                position=st.just(place),
                tyre=records(Tyre),
                wheel=records(Wheel),
                valve=records(Valve),
                sensor=records(Sensor),
                work=records(Work),
                own=_OWN,
            )
            for place in places
        )
    )
)
jobs = st.builds(
    Job,
    vehicle=records(
        Vehicle,
        permitted_sizes=st.lists(st.sampled_from(_NOTATIONS["size"]), max_size=2),
    ),
    assemblies=assemblies,
    event=records(Event),
    makers=st.lists(
        st.builds(
            MakerInstruction,
            source=_TEXT,
            positions=st.lists(st.sampled_from(_POSITIONS), max_size=2),
            cold_pressure=st.just("2.5 bar"),
            valve_nut_torque_min=st.just("4 N.m"),
            valve_nut_torque_max=st.just("4.5 N.m"),
        ),
        max_size=2,
    ),
    own=_OWN,
)


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
