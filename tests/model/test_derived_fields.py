"""Fields that follow from others, and what contradicts itself."""

from __future__ import annotations

import pytest

from stemlore.errors import RecordError
from stemlore.model import Axle, Event, Tyre, Valve, Vehicle, change
from stemlore.notation import DateSpan


def test_the_size_gives_service_and_construction() -> None:
    tyre = Tyre(size="LT245/75 R16 120/116S")
    assert (tyre.load_index, tyre.load_index_dual, tyre.speed_symbol) == (120, 116, "S")
    assert tyre.construction == "radial"
    assert tyre == Tyre(size="LT245/75 R16 120/116S", load_index=120)
    assert Tyre(size="205/55 R16").load_index is None
    assert Tyre(size="205/55 R16", load_index=94).load_index == 94
    assert Tyre(size="205/55 R16 91V", load_index_dual=88).load_index_dual == 88


def test_a_contradiction_is_a_fault_of_each_field() -> None:
    with pytest.raises(RecordError) as caught:
        Tyre(size="205/55 R16 91V", load_index=94, speed_symbol="H", construction="diagonal")
    told = {fault.path: fault for fault in caught.value.faults}
    assert set(told) == {"load_index", "speed_symbol", "construction"}
    assert told["load_index"].message == "94 contradicts the size, which says 91"
    assert "leave load_index out" in told["load_index"].advice


def test_change_derives_anew() -> None:
    tyre = Tyre(size="205/55 R16 91V", identification_number="2318")
    changed = change(tyre, size="225/45 R17 94W")
    assert (changed.load_index, changed.speed_symbol) == (94, "W")
    assert changed.manufactured == tyre.manufactured
    assert change(tyre, size=None) == Tyre(identification_number="2318")
    assert change(tyre, identification_number=None).manufactured is None
    assert change(tyre, load_index=None).load_index == 91
    with pytest.raises(RecordError, match="contradicts the size"):
        change(tyre, load_index=90)


def test_the_identification_number_gives_the_date() -> None:
    # week 23 of 2018 is 4 to 10 June by ISO 8601
    assert Tyre(identification_number="DOT U2LL LMLR 2318").manufactured == DateSpan.parse("2018-W23")
    assert Tyre(identification_number="DOT U2LL LMLR").manufactured is None
    # a date that fits the number stays as given, also one week later (49 CFR 574.5 counts full weeks)
    for fits in ("2018-06-06", "2018", "2018-W24"):
        assert Tyre(identification_number="2318", manufactured=fits).manufactured == DateSpan.parse(fits)
    for wrong in ("2018-W22", "2018-W26", "2008-W23"):
        with pytest.raises(RecordError, match="contradicts the identification number"):
            Tyre(identification_number="2318", manufactured=wrong)


def test_the_code_gives_the_number_in_tables() -> None:
    assert Valve(code="TR413CH").table_code == "TR413"
    assert Valve(code="TR413CH", table_code="TR413") == Valve(code="TR413CH")
    with pytest.raises(RecordError, match="contradicts the valve code"):
        Valve(code="TR413", table_code="TR414")
    assert change(Valve(code="TR413"), code="TR600HP").table_code == "TR600HP"


def test_the_axles_tell_of_twin_wheels() -> None:
    single, dual, open_ = (
        Axle(number=1, fitment="single"),
        Axle(number=2, fitment="dual"),
        Axle(number=3),
    )
    assert Vehicle(axles=[single, dual]).twin_wheels is True
    assert Vehicle(axles=[dual, open_]).twin_wheels is True
    assert Vehicle(axles=[single, open_]).twin_wheels is None
    assert Vehicle(axles=[single]).twin_wheels is False
    assert Vehicle().twin_wheels is None
    assert Vehicle(axles=[single, open_], twin_wheels=True).twin_wheels is True
    with pytest.raises(RecordError, match="false contradicts the fitment of the axles, which says true"):
        Vehicle(axles=[single, dual], twin_wheels=False)
    assert change(Vehicle(axles=[single, dual]), axles=[single]).twin_wheels is False


def test_axles_stand_in_order_and_once() -> None:
    vehicle = Vehicle(axles=(Axle(number=number) for number in (2, 1)))
    assert [axle.number for axle in vehicle.axles] == [1, 2]
    assert vehicle.axle(2) == Axle(number=2)
    assert vehicle.axle(3) is None
    with pytest.raises(RecordError) as caught:
        Vehicle(axles=[Axle(number=1), Axle(number=2), Axle(number=1)])
    assert [str(fault) for fault in caught.value.faults] == ["axles[2].number: axle 1 is already axles[0]"]


def test_a_visit_has_one_day() -> None:
    assert Event(on="2024-03-15").on == DateSpan.parse("2024-03-15")
    with pytest.raises(RecordError, match="more than one day"):
        Event(on="2024-03")
