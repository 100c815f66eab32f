"""Fingerprints: of what is there, not of how it was written down."""

from __future__ import annotations

import attrs
import pytest

from stemlore.model import (
    Assembly,
    Axle,
    Event,
    Job,
    MakerInstruction,
    Tyre,
    Valve,
    Vehicle,
    Wheel,
    change,
    plain_values,
)
from stemlore.model._record import meaning, record
from stemlore.provenance import canonical_json, fingerprint_of
from stemlore.rules import check
from stemlore.rules.plain import plain_job


def wheels():
    return [
        Assembly(position="axle 1 left", tyre=Tyre(pressure="2.5 bar", studded=False)),
        Assembly(position="axle 1 right", tyre=Tyre(tread_depth_main_grooves="3.2 mm")),
        Assembly(position="axle 10 left", tyre=Tyre(manufactured="2018-W23")),
        Assembly(position="spare", valve=Valve(cap="dust")),
    ]


def job(assemblies=None, axles=(1, 10), **more):
    vehicle = Vehicle(category="M1", axles=[Axle(number=number, fitment="single") for number in axles])
    return Job(vehicle=vehicle, assemblies=wheels() if assemblies is None else assemblies, **more)


def print_of(of):
    return fingerprint_of(plain_job(of))


def test_the_order_in_which_wheels_and_axles_were_given_does_not_matter():
    assert print_of(job(list(reversed(wheels())), (10, 1))) == print_of(job())


def test_how_a_value_was_written_does_not_matter():
    other = wheels()
    other[0] = Assembly(position="Axle 1 left", tyre=Tyre(pressure="250 kPa", studded=False))
    assert print_of(job(other)) == print_of(job())


@pytest.mark.parametrize(
    "more",
    [
        {"event": Event()},
        {"event": Event(on=None)},
        {"makers": []},
        {"own": {}},
        {
            "assemblies": [
                *wheels()[:3],
                Assembly(position="spare", valve=Valve(cap="dust", code=None), wheel=Wheel()),
            ]
        },
    ],
)
def test_what_is_absent_is_left_out(more):
    assert print_of(job(**more)) == print_of(job())


@pytest.mark.parametrize(
    "altered",
    [
        lambda: change(job(), event=Event(on="2024-06-01")),
        lambda: change(job(), own={"xa.colour": "red"}),
        lambda: change(job(), makers=[MakerInstruction(source="M", cold_pressure="2 bar")]),
        lambda: change(job(), vehicle=Vehicle(category="N1", axles=job().vehicle.axles)),
        lambda: job(wheels()[:3]),
        lambda: job([*wheels()[:3], Assembly(position="spare")]),
        lambda: job(
            [Assembly(position="axle 1 left", tyre=Tyre(pressure="2.51 bar", studded=False)), *wheels()[1:]]
        ),
        lambda: job(
            [Assembly(position="axle 1 left", tyre=Tyre(pressure="2.5 bar", studded=True)), *wheels()[1:]]
        ),
        lambda: job([Assembly(position="axle 1 left", tyre=Tyre(pressure="2.5 bar")), *wheels()[1:]]),
        lambda: job(
            [
                *wheels()[:2],
                Assembly(position="axle 10 left", tyre=Tyre(manufactured="2018-06-04")),
                wheels()[3],
            ]
        ),
    ],
)
def test_what_is_there_matters(altered):
    assert print_of(altered()) != print_of(job())


def test_false_and_zero_are_values():
    falsy = Job(assemblies=[Assembly(position="axle 1 left", tyre=Tyre(studded=False, pressure="0 kPa"))])
    tyre = plain_job(falsy)["assemblies"][0]["tyre"]
    assert list(tyre.values()) == [False, 0.0] or set(tyre.values()) == {False}
    assert len(tyre) == 2


def test_plain_values_have_a_canonical_form():
    assert canonical_json(plain_job(job())) == canonical_json(plain_job(job(list(reversed(wheels())))))
    assert plain_job(Job()) == {"assemblies": []}


def test_a_new_optional_field_that_is_absent_changes_no_old_fingerprint():
    @record("before", level="none")
    @attrs.frozen(kw_only=True, slots=False)
    class Before:
        depth: float | None = attrs.field(default=None, metadata=meaning("depth", unit="mm"))

    @record("after", level="none")
    @attrs.frozen(kw_only=True, slots=False)
    class After:
        depth: float | None = attrs.field(default=None, metadata=meaning("depth", unit="mm"))
        width: float | None = attrs.field(default=None, metadata=meaning("width", unit="mm"))

    one, two = Before(depth="3 mm"), After(depth="3 mm")
    assert plain_values(one) == plain_values(two)
    assert plain_values(After(depth="3 mm", width="1 mm")) != plain_values(one)


def test_a_report_s_fingerprint_is_of_job_and_book(packs):
    folder = packs([{}])
    first = check(job(), packs.book(folder)).fingerprint
    assert check(job(list(reversed(wheels()))), packs.book(folder)).fingerprint == first
    assert check(Job(), packs.book(folder)).fingerprint != first
    assert check(job(), packs.book(folder, on="2024-06-02")).fingerprint != first
    other = packs([{"advice": "Another word."}], folder="other")
    assert check(job(), packs.book(other)).fingerprint != first
