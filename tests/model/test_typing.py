"""What type checkers let callers write."""

from __future__ import annotations

import subprocess
import sys
from datetime import date
from pathlib import Path

import pint
import pytest

from stemlore.errors import NotationError, UnitError
from stemlore.model import Assembly, Position, _converters, job, maker, vehicle
from stemlore.notation import DateSpan, RimSize, TyreIdentificationNumber, TyreSize, ValveCode

pytest.importorskip("mypy")

_CODE = """
from datetime import date
import pint
from stemlore.model import Assembly, Axle, Job, Position, Tyre, Valve, Vehicle, change
tyre = Tyre(pressure="2.5 bar", manufactured=date(2018, 1, 1), size="205/55 R16 91V")
Tyre(pressure=pint.Quantity(2.5, "bar"))
assembly = Assembly(position="axle 1 left", tyre=tyre, valve=Valve(code="TR413"), own={"xa.a": 1})
Job(vehicle=Vehicle(axles=[Axle(number=1)], permitted_sizes=["205/55 R16"]), assemblies=[assembly])
stored: float | None = change(tyre, pressure=None).pressure
Tyre(pressure=2.5)  # wrong
Tyre(presure="2.5 bar")  # wrong
Assembly(position=1)  # wrong
Axle()  # wrong
"""


def test_callers_may_write_units_but_no_bare_numbers(tmp_path: Path) -> None:
    file = tmp_path / "calls.py"
    file.write_text(_CODE)
    run = subprocess.run(
        [sys.executable, "-m", "mypy", "--strict", "--cache-dir", str(tmp_path / "cache"), str(file)],
        capture_output=True,
        text=True,
        check=False,
        cwd=tmp_path,
    )
    told = [int(line.split(":")[1]) for line in run.stdout.splitlines() if line.startswith("calls.py:")]
    wrong = [number for number, line in enumerate(_CODE.splitlines(), 1) if line.endswith("# wrong")]
    assert sorted(set(told)) == wrong, run.stdout + run.stderr


@pytest.mark.parametrize(
    ("name", "text", "stored"),
    [
        ("to_mm", "1 in", 25.4),
        ("to_kpa", "2.5 bar", 250.0),
        ("to_kg", "3.5 t", 3500.0),
        ("to_km", "1 mi", 1.609344),
        ("to_km_h", "10 m/s", 36.0),
        ("to_deg_c", "32 degF", 0.0),
        ("to_deg", "25 deg", 25.0),
        ("to_years", "18 month", 1.5),
        ("to_mhz", "433920 kHz", 433.92),
        ("to_nm", "100 N.cm", 1.0),
    ],
)
def test_converters_stand_alone(name: str, text: str, stored: float) -> None:
    convert = getattr(_converters, name)
    assert convert(text) == stored
    assert convert(None) is None
    with pytest.raises(UnitError):
        convert("1 oz/min")


def test_converters_of_notations_take_value_text_and_nothing() -> None:
    for convert, text, cls in (
        (_converters.to_tyre_size, "205/55 R16", TyreSize),
        (_converters.to_rim_size, "6.5Jx16", RimSize),
        (_converters.to_valve_code, "TR413", ValveCode),
        (_converters.to_identification_number, "2318", TyreIdentificationNumber),
        (_converters.to_date, "2018", DateSpan),
    ):
        value = convert(text)  # type: ignore[operator]
        assert isinstance(value, cls)
        assert convert(value) == value  # type: ignore[operator]
        assert convert(None) is None  # type: ignore[operator]
    assert _converters.to_date(date(2018, 1, 1)) == DateSpan.parse("2018-01-01")
    assert _converters.to_kpa(pint.Quantity(1, "bar")) == 100.0
    assert _converters.to_own(None) == {}
    assert _converters.to_own({"xa.a": 1}) == {"xa.a": 1}
    with pytest.raises(NotationError):
        _converters.to_position("left")


def test_converters_of_lists_give_tuples() -> None:
    assert vehicle.to_axles([vehicle.Axle(number=1)]) == (vehicle.Axle(number=1),)
    assert vehicle.to_tyre_sizes(["205/55 R16", TyreSize.parse("205/55 R16")])[0] == TyreSize.parse(
        "205/55 R16"
    )
    assert maker.to_positions(["spare"]) == (Position(spare=True),)
    assert job.to_assemblies([Assembly(position="spare")]) == (Assembly(position="spare"),)
    assert job.to_makers([]) == ()
