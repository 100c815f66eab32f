"""Every load index against the rule of eighty mantissas, and against published slips."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest

from stemlore.tables import table

# Load of the indices 0 to 79 before it is cut: 45 kg and about 3 % a step. They follow the R 80
# series of ISO 3:1973 (45, 46.2, 47.5 ...) with the halves and quarters that R 80 rounds away.
MANTISSAS = (
    *(45, 46.25, 47.5, 48.75, 50, 51.5, 53, 54.5, 56, 58),
    *(60, 61.5, 63, 65, 67, 69, 71, 73, 75, 77.5),
    *(80, 82.5, 85, 87.5, 90, 92.5, 95, 97.5, 100, 103),
    *(106, 109, 112, 115, 118, 121.5, 125, 128.5, 132, 136),
    *(140, 145, 150, 155, 160, 165, 170, 175, 180, 185),
    *(190, 195, 200, 206, 212, 218, 224, 230, 236, 243),
    *(250, 257.5, 265, 272.5, 280, 290, 300, 307.5, 315, 325),
    *(335, 345, 355, 365, 375, 387.5, 400, 412.5, 425, 437.5),
)
LOADS = table("load_index").lookup_map("load_kg")


def by_rule(index: int) -> float:
    """Cut to one decimal below 100 kg, to whole kilograms above."""
    load = MANTISSAS[index % 80] * 10.0 ** (index // 80)
    return math.floor(load * 10) / 10 if load < 100 else float(math.floor(load))


@pytest.mark.parametrize("index", sorted(LOADS, key=int))  # type: ignore[arg-type]
def test_load_follows_the_rule(index: int) -> None:
    assert LOADS[index] == by_rule(index)


def test_which_indices_have_a_source() -> None:
    # above 180 only the end of the scale was seen in a document
    assert set(LOADS) == {*range(181), 279}


def test_loads_rise_and_stay_near_a_geometric_series() -> None:
    loads = [LOADS[index] for index in range(181)]
    assert all(a < b for a, b in pairwise(loads))  # type: ignore[operator]
    # eighty steps make ten times the load: R 80 of ISO 3
    for index, load in LOADS.items():
        assert load == pytest.approx(45 * 10 ** (index / 80), rel=0.02)  # type: ignore[operator]


def test_91_is_615_kg() -> None:
    # every published table; also an owner manual of 2006
    assert table("load_index").lookup(91).value == 615.0
    assert table("load_index").lookup(91).unit == "kg"
    assert LOADS[91] == 615.0


# Farm press, tractor manuals, a chamber of agriculture and a car encyclopaedia, each on its own.
@pytest.mark.parametrize(
    ("index", "load"),
    [
        (142, 2650),
        (155, 3875),
        (157, 4125),
        (158, 4250),
        (159, 4375),
        (165, 5150),
        (168, 5600),
        (279, 136000),
    ],
)
def test_single_values_told_elsewhere(index: int, load: int) -> None:
    assert LOADS[index] == load


# Slips of published tables: index, load as misprinted, load as others print it.
@pytest.mark.parametrize(
    ("index", "slip", "right"),
    [
        (53, 205, 206),
        (62, 165, 265),
        (135, 2190, 2180),
        (61, 265, 257),
        (83, 478, 487),
        (24, 85, 90),
        (26, 90, 95),
        (40, 136, 140),
        (70, 280, 335),
        (97, 670, 730),
        (75, 386, 387),
        (103, 857, 875),
        (105, 924, 925),
        (161, 4620, 4625),
    ],
)
def test_published_slips_are_not_ours(index: int, slip: int, right: int) -> None:
    assert LOADS[index] == right
    assert LOADS[index] != slip
