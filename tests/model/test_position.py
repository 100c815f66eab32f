"""Positions on a vehicle."""

from __future__ import annotations

import copy
import itertools
import pickle

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stemlore.errors import NotationError, RecordError
from stemlore.model import Position

_SHAPES = [("left", "single"), ("left", "outer"), ("left", "inner"), ("centre", "single")]
_SHAPES += [("right", place) for place in ("single", "outer", "inner")]

positions = st.one_of(
    st.just(Position(spare=True)),
    st.builds(
        lambda axle, shape: Position.at(axle, shape[0], place=shape[1]),
        st.integers(1, 99),
        st.sampled_from(_SHAPES),
    ),
)


@pytest.mark.parametrize(
    ("text", "made", "written"),
    [
        ("axle 1 left", Position.at(1, "left"), "axle 1 left"),
        ("  AXLE  02 Right  Inner ", Position.at(2, "right", place="inner"), "axle 2 right inner"),
        ("axle 1 centre", Position.at(1, "centre"), "axle 1 centre"),
        ("axle 1 center", Position.at(1, "centre"), "axle 1 centre"),
        ("axle 1 left single", Position.at(1, "left"), "axle 1 left"),
        ("Spare", Position(spare=True), "spare"),
    ],
)
def test_words_are_read_and_written(text: str, made: Position, written: str) -> None:
    assert Position.parse(text) == made
    assert str(made) == written


@pytest.mark.parametrize(
    ("text", "at", "why"),
    [
        ("", 0, "empty"),
        ("front left", 0, "axle"),
        ("axle", 4, "number"),
        ("axle 0 left", 5, "1 to 99"),
        ("axle -1 left", 5, "1 to 99"),
        ("axle ² left", 5, "1 to 99"),
        ("axle 1", 6, "side"),
        ("axle 1 upper", 7, "left, right or centre"),
        ("axle 1 left middle", 12, "inner or outer"),
        ("axle 1 centre inner", 14, "inner or outer"),
        ("axle 1 left inner twice", 18, "nothing more"),
        ("spare 2", 6, "nothing follows"),
        ("axle 1 left" + " " * 60, 60, "too long"),
    ],
)
def test_what_is_no_position_says_where_and_why(text: str, at: int, why: str) -> None:
    with pytest.raises(NotationError, match=why) as caught:
        Position.parse(text)
    assert caught.value.position == at
    assert Position.parse(caught.value.suggestion)


def test_text_is_needed() -> None:
    with pytest.raises(NotationError, match="text is needed"):
        Position.parse(7)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("values", "paths"),
    [
        ({"axle": 1, "spare": True}, {"spare"}),
        ({"spare": "yes"}, {"spare"}),
        ({"axle": 0, "side": "up", "place": "under"}, {"axle", "side", "place"}),
        ({"axle": True, "side": "left"}, {"axle"}),
        ({"axle": 1, "side": "centre", "place": "inner"}, {"place"}),
        ({}, {"axle", "side"}),
    ],
)
def test_impossible_values_are_all_told(values: dict[str, object], paths: set[str]) -> None:
    with pytest.raises(RecordError) as caught:
        Position(**values)  # type: ignore[arg-type]
    assert {fault.path for fault in caught.value.faults} == paths


@given(positions)
def test_writing_and_reading_is_the_identity(position: Position) -> None:
    assert Position.parse(str(position)) == position
    assert pickle.loads(pickle.dumps(position)) == position
    assert copy.deepcopy(position) == position
    assert hash(Position.parse(str(position))) == hash(position)


def test_order_is_front_to_rear_left_to_right_outer_before_inner_spare_last() -> None:
    words = [
        "axle 1 left",
        "axle 1 right",
        "axle 2 left outer",
        "axle 2 left inner",
        "axle 2 right outer",
        "axle 2 right inner",
        "axle 10 centre",
        "spare",
    ]
    ordered = [Position.parse(word) for word in words]
    assert sorted(set(ordered)) == ordered
    for one, other in itertools.pairwise(ordered):
        assert one < other
        assert one <= other
        assert other > one
        assert other >= one
        assert not other < one
    with pytest.raises(TypeError):
        assert ordered[0] < "axle 1 left"  # type: ignore[operator]
