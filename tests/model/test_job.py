"""Jobs: places of assemblies and makers' instructions."""

from __future__ import annotations

import pytest

from stemlore import check, rulebook
from stemlore.errors import RecordError
from stemlore.model import (
    NO_INSTRUCTION,
    Assembly,
    Axle,
    Job,
    MakerInstruction,
    Position,
    Tyre,
    Vehicle,
    Work,
)


def paths(error: RecordError) -> list[str]:
    return [fault.path for fault in error.faults]


def job(*words: str, axles: tuple[Axle, ...] = ()) -> Job:
    return Job(vehicle=Vehicle(axles=axles), assemblies=[Assembly(position=word) for word in words])


def test_assemblies_stand_in_order_of_position() -> None:
    made = job("spare", "axle 2 left", "axle 1 right", "axle 1 left")
    assert [str(item.position) for item in made.assemblies] == [
        "axle 1 left",
        "axle 1 right",
        "axle 2 left",
        "spare",
    ]
    assert made == job("axle 1 left", "axle 1 right", "axle 2 left", "spare")
    assert made.at("axle 2 left") is made.assemblies[2]
    assert made.at(Position.at(3, "left")) is None


def test_a_position_is_taken_once() -> None:
    with pytest.raises(RecordError) as caught:
        job("axle 1 left", "axle 1 right", "axle 1 left")
    assert paths(caught.value) == ["assemblies[2].position"]
    assert "already assemblies[0]" in str(caught.value)


def test_positions_fit_the_axles() -> None:
    axles = (
        Axle(number=1, fitment="single"),
        Axle(number=2, fitment="dual"),
        Axle(number=3, fitment="centre"),
        Axle(number=4),
    )
    fits = ("axle 1 left", "axle 2 right inner", "axle 3 centre", "axle 4 left outer", "spare")
    assert len(job(*fits, axles=axles).assemblies) == 5
    wrong = ("axle 1 left inner", "axle 2 right", "axle 3 left", "axle 1 centre", "axle 5 left")
    with pytest.raises(RecordError) as caught:
        job(*wrong, axles=axles)
    assert paths(caught.value) == [f"assemblies[{index}].position" for index in range(5)]
    assert "no axle 5" in str(caught.value)
    assert "1, 2, 3, 4" in str(caught.value)


def test_wheels_of_one_axle_are_of_one_fitment() -> None:
    with pytest.raises(RecordError, match="axle 2 right inner is dual, but others on axle 2 are single"):
        job("axle 2 left", "axle 2 right inner")
    with pytest.raises(RecordError, match="centre"):
        job("axle 1 left", "axle 1 centre", axles=(Axle(number=1),))


def test_makers_are_merged_per_position() -> None:
    made = Job(
        assemblies=[Assembly(position="axle 1 left"), Assembly(position="axle 2 left")],
        makers=[
            MakerInstruction(
                source="manual A, page 3",
                issued_by="vehicle_maker",
                wheel_fixing_torque_min="110 N.m",
                wheel_fixing_torque_max="120 N.m",
            ),
            MakerInstruction(source="manual B, page 9", positions=["axle 2 left"], cold_pressure="2.7 bar"),
        ],
    )
    front, rear = made.maker_at("axle 1 left"), made.maker_at(Position.at(2, "left"))
    assert (front.wheel_fixing_torque_min, front.wheel_fixing_torque_max) == (110.0, 120.0)
    assert front.cold_pressure is None
    assert front.source == "manual A, page 3"
    assert front.issued_by == "vehicle_maker"
    assert rear.cold_pressure == 270.0
    assert rear.wheel_fixing_torque_min == 110.0
    assert rear.source == "manual A, page 3; manual B, page 9"
    assert rear.issued_by is None
    assert made.maker_at("axle 1 left") is front
    assert made.instructions_at("axle 2 left") == {
        "wheel_fixing_torque_min": (110.0, "manual A, page 3"),
        "wheel_fixing_torque_max": (120.0, "manual A, page 3"),
        "cold_pressure": (270.0, "manual B, page 9"),
    }


def test_without_instructions_one_empty_instance_is_shared() -> None:
    assert Job().maker_at("axle 1 left") is NO_INSTRUCTION
    only_rear = Job(makers=[MakerInstruction(source="m", positions=["axle 2 left"], cold_pressure="2 bar")])
    assert only_rear.maker_at("axle 1 left") is NO_INSTRUCTION
    assert not only_rear.instructions_at("axle 1 left")


def test_instructions_that_differ_name_both_sources() -> None:
    def two(first: list[str], second: list[str], pressure: str) -> Job:
        return Job(
            makers=[
                MakerInstruction(source="manual A", positions=first, cold_pressure="2.5 bar"),
                MakerInstruction(source="manual B", positions=second, cold_pressure=pressure),
            ]
        )

    for first, second, where in (
        ([], [], "every position"),
        ([], ["spare"], "spare"),
        (["axle 1 left", "axle 2 left"], ["axle 2 left"], "axle 2 left"),
    ):
        with pytest.raises(RecordError) as caught:
            two(first, second, "2.7 bar")
        (fault,) = caught.value.faults
        assert fault.path == "makers[1].cold_pressure"
        assert "'manual B' says 270 kPa" in fault.message
        assert "'manual A' (makers[0]) says 250 kPa" in fault.message
        assert fault.message.endswith(f"for {where}")
        assert len(two(first, second, "250 kPa").makers) == 2
    assert len(two(["axle 1 left"], ["axle 2 left"], "2.7 bar").makers) == 2


def test_an_instruction_names_its_source_and_pairs_its_bounds() -> None:
    with pytest.raises(RecordError) as caught:
        MakerInstruction(cold_pressure="2 bar")
    assert paths(caught.value) == ["source"]
    with pytest.raises(RecordError) as caught:
        MakerInstruction(
            source="m",
            valve_nut_torque_min="4 N.m",
            sensor_nut_torque_max="8 N.m",
            valve_core_torque_min="0.4 N.m",
            valve_core_torque_max="0.2 N.m",
        )
    assert paths(caught.value) == ["valve_nut_torque_max", "sensor_nut_torque_min", "valve_core_torque_min"]
    one = MakerInstruction(source="m", valve_nut_torque_min="8 N.m", valve_nut_torque_max="8 N.m")
    assert one.valve_nut_torque_min == one.valve_nut_torque_max == 8.0


def test_positions_of_an_instruction_are_a_sorted_set() -> None:
    made = MakerInstruction(source="m", positions=["spare", "axle 1 left", "spare"])
    assert [str(position) for position in made.positions] == ["axle 1 left", "spare"]
    assert made.applies_to(Position(spare=True))
    assert not made.applies_to(Position.at(1, "right"))


def test_an_empty_job_is_a_job() -> None:
    assert Job() == Job(vehicle=None, assemblies=None, own=None)
    assert Job(assemblies=[Assembly(position="spare", tyre=Tyre(studded=True))]) != Job()


VEHICLE_MAKER = {
    "source": "vehicle papers",
    "issued_by": "vehicle_maker",
    "wheel_fixing_torque_min": "110 N.m",
    "wheel_fixing_torque_max": "120 N.m",
}
"""Who tells something else at the same wheel."""


@pytest.mark.parametrize(
    ("tellers", "issuer", "outcome"),
    [
        (["wheel_maker"], "wheel_maker", "pass"),
        (["tyre_maker"], "tyre_maker", "pass"),
        (["vehicle_maker"], "vehicle_maker", "fail"),
        (["sensor_maker"], "sensor_maker", "fail"),
        (["vehicle_maker", "wheel_maker"], "wheel_maker", "pass"),
        (["wheel_maker", "vehicle_maker"], "wheel_maker", "pass"),
        (["sensor_maker", "vehicle_maker"], "vehicle_maker", "fail"),
        (["vehicle_maker", None], None, "unknown"),
        ([None], None, "unknown"),
        ([None, "tyre_maker"], "tyre_maker", "pass"),
    ],
)
@pytest.mark.parametrize("is_first", [True, False])
def test_who_issued_the_ceiling_counts_whoever_tells_the_rest(
    tellers: list[str | None], issuer: str | None, outcome: str, is_first: bool
) -> None:
    told = [
        MakerInstruction(source=f"paper {n}", issued_by=each, seating_pressure_max="400 kPa")
        for n, each in enumerate(tellers)
    ]
    other = MakerInstruction(**VEHICLE_MAKER)
    work = Work(tyre_demounted=True, seating_pressure="390 kPa")
    made = Job(
        assemblies=[Assembly(position="axle 1 left", work=work)],
        makers=[other, *told] if is_first else [*told, other],
    )
    assert made.maker_at("axle 1 left").issued_by == issuer
    report = check(made, rulebook("US", on="2026-11-25"))
    (found,) = [
        each.outcome.name.lower()
        for each in report.findings
        if each.rule == "world.bead.seating_pressure" and str(each.subject.position) == "axle 1 left"
    ]
    assert found == outcome
    frames = pytest.importorskip("stemlore.audit.frames")
    (row,) = frames.frame_of([made]).filter(side="left").to_dicts()
    assert (row["maker_issued_by"], row["maker_seating_pressure_max_kpa"]) == (issuer, 400.0)
